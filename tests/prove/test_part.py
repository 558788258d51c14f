"""Lines of a program put into another one: what may be added or taken away, and what not."""

import re
from dataclasses import replace

import numpy as np
import pytest

from flipreg.errors import ProofError
from flipreg.prove.part import compare_part
from tests.prove.reads import read

TEXT = "G21 G90 G17\nG0 X0 Y0 Z5 (front)\nG1 Z-1 F90\nM8 X5 F300\nG0 Z5\n"


def compared(output: str, added: tuple[int, ...] = (), *, source: str = TEXT, moved_start: bool = False) -> float:
    return compare_part(read(source), read(output), added, moved_start=moved_start)


def stops(
    message: str, output: str, added: tuple[int, ...] = (), *, source: str = TEXT, moved_start: bool = False
) -> None:
    with pytest.raises(ProofError, match=f"^{re.escape(message)}; nothing was written$"):
        compared(output, added, source=source, moved_start=moved_start)


def test_the_same_lines_are_right_and_so_are_lines_without_their_framing() -> None:
    assert compared(TEXT) == 0.0
    assert compared(TEXT, source=f"O12\n{TEXT}M2\n") == 0.0
    assert compared(TEXT, source=TEXT.replace("G0 Z5\n", "G0 Z5 M30\n")) == 0.0


@pytest.mark.parametrize(
    ("right", "wrong", "line"),
    [
        ("X5", "X6", 4),
        ("X5", "Y5", 4),
        ("X5", "", 4),
        ("F300", "", 4),
        ("F300", "F300 S9", 5),
        ("M8", "M3", 4),
        ("M8", "T8", 4),
        ("G17", "", 1),
        ("G17", "G18", 1),
        ("G17", "G17 G64", 2),
        ("F300\nG0", "F300\nG1", 5),
        ("F300\nG0 Z5", "F300\nG0 Z5 F2", 5),
        # The coolant would run a motion early; a line would be skipped, or not be skipped any more.
        ("\nM8 X5", " M8\nX5", 4),
        ("M8 X5", "/M8 X5", 4),
    ],
)
def test_a_word_that_changes_is_stopped_at_its_line(right: str, wrong: str, line: int) -> None:
    assert TEXT.count(right) == 1
    stops(f"front.ngc:{line}: a word would change", TEXT.replace(right, wrong))


def test_a_line_that_may_be_skipped_stays_one() -> None:
    source = TEXT.replace("M8 X5", "/M8 X5")
    assert compared(source, source=source) == 0.0
    stops("front.ngc:4: a word would change", TEXT, source=source)


def test_comments_and_settings_stay() -> None:
    stops("front.ngc:1: a comment would change", TEXT.replace("(front)", "(back)"))
    stops("front.ngc:1: a comment would change", TEXT.replace("G1 Z-1", "G1 Z-1 (so)"))
    stops("front.ngc:1: a parameter setting would change", TEXT.replace("M8", "#1=5 M8"))


def test_a_line_that_cuts_may_not_be_added() -> None:
    text = TEXT.replace("G0 Z5\n", "X6\nG0 Z5\n")
    stops("front.ngc: an added line would cut", text, (4,))


def test_only_the_way_on_from_added_lines_and_the_first_may_start_elsewhere() -> None:
    source, output = read(TEXT), read(TEXT)
    start = output.path.start.copy()
    start[0, 0] = 33.0
    known = source.path.start.copy()
    known[0, 0] = 5.0
    ours = replace(source, path=replace(source.path, start=known))
    theirs = replace(output, path=replace(output.path, start=start))
    assert compare_part(ours, theirs, (), moved_start=True) == 0.0
    with pytest.raises(ProofError, match=r"^front\.ngc:2: the start of this motion would change"):
        compare_part(ours, theirs, (), moved_start=False)
    way = TEXT.replace("F300\nG0 Z5\n", "F300\nG0 Z4\nG0 Z5\n")
    assert compared(way, (4,), moved_start=True) == 0.0
    stops("front.ngc:5: the start of this motion would change", way, (4,), moved_start=False)


def test_an_unknown_value_equals_no_known_one() -> None:
    ours = read(TEXT)
    values = ours.modes.values.copy()
    values[8] = np.nan
    unknown = replace(ours, modes=replace(ours.modes, values=values))
    assert compare_part(unknown, unknown, (), moved_start=False) == 0.0
    with pytest.raises(ProofError, match="a word would change"):
        compare_part(ours, unknown, (), moved_start=False)
