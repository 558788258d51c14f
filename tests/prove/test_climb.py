"""Contours that run the other way round: each word, entry and place that could be wrong, one by one."""

import re
from collections.abc import Sequence
from dataclasses import replace

import pytest

import flipreg
from flipreg.errors import ProofError
from flipreg.prove.climb import prove_turned
from flipreg.rs274.interpret.whole import Whole, read_whole
from tests.every import every

TEXT = """G21 G90 G17 T1 M6 S900 M3 (front)
G0 X60 Y60 Z5
G1 Z-1 F90
X70 F600
G0 Z5 M8
X-6 Y4
G1 Z-2 F300
F900
G3 X0 Y10 I0 J6
G1 Y20
X40
Y0
X0
Y10
G3 X-6 Y16 I-6 J0
G0 Z5
X0 Y0
M2
"""
"""An open cut, and a rectangle with an arc into it and an arc out of it, which start and end in different places."""

TURNED = """G21 G90 G17 T1 M6 S900 M3 (front)
G0 X60 Y60 Z5
G1 Z-1 F90
X70 F600
G0 Z5 M8
X-6 Y16
G1 Z-2 F300
F900
G2 X0 Y10 I0 J-6
G1 Y0
X40
Y20
X0
Y10
G2 X-6 Y4 I-6 J0
G0 Z5
X0 Y0
M2
"""
LINES = [2, 3, 4, 5, 6, 7, 9, 10, 11, 12, 13, 14, 15, 16, 17]
"""The line of each motion; rows 6 to 12 are turned round."""

RUN = ((6, 12),)


def whole(text: str) -> Whole:
    return read_whole(flipreg.parse(text, source="front.ngc"))


def changed(row: int, column: str, value: float, axis: int | None = None) -> Whole:
    """Return the right output, but for one entry of its motions."""
    output = whole(TURNED)
    values = getattr(output.path, column).copy()
    values[row if axis is None else (row, axis)] = value
    return replace(output, path=replace(output.path, **{column: values}))


def proved(output: Whole | str, *, source: str = TEXT, runs: Sequence[tuple[int, int]] = RUN) -> float:
    return prove_turned(whole(source), whole(output) if isinstance(output, str) else output, runs, [])


def stops(message: str, output: Whole | str, *, source: str = TEXT, runs: Sequence[tuple[int, int]] = RUN) -> None:
    with pytest.raises(ProofError, match=f"^{re.escape(message)}; nothing was written$"):
        proved(output, source=source, runs=runs)


def test_a_contour_with_all_its_motions_turned_round_is_right() -> None:
    assert proved(TURNED) < 1e-9


def test_the_approach_may_be_the_first_motion_of_all() -> None:
    source, output = (text.replace("G0 X60 Y60 Z5\nG1 Z-1 F90\nX70 F600\n", "") for text in (TEXT, TURNED))
    source, output = (text.replace("G0 Z5 M8\nX", "G0 Z5 X") for text in (source, output))
    assert proved(output, source=source, runs=((2, 8),)) < 1e-9


class TestWords:
    @pytest.mark.parametrize(
        ("right", "wrong", "message"),
        [
            ("G17", "G17 G64", "front.ngc:1: a word would change"),
            ("S900 M3", "S900 M4", "front.ngc:1: a word would change"),
            ("M8", "T8", "front.ngc:5: a word would change"),
            ("M8", "M9", "front.ngc:5: a word would change"),
            ("Z5 M8\nX-6", "Z5\nM8 X-6", "front.ngc:5: a word would change"),
            ("(front)", "(back)", "front.ngc:1: a comment would change"),
            ("X40\n", "/X40\n", "front.ngc:1: lines would be lost or added"),
            ("M2\n", "M2\n\n", "front.ngc:1: lines would be lost or added"),
            ("X0 Y0\n", "\n", "front.ngc:1: motions would be lost or added"),
        ],
    )
    def test_what_changes_is_stopped(self, right: str, wrong: str, message: str) -> None:
        assert right in TURNED
        stops(message, TURNED.replace(right, wrong, 1))

    def test_a_comment_stays_in_its_line(self) -> None:
        moved = TURNED.replace(" (front)", "").replace("G0 X60", "(front) G0 X60")
        stops("front.ngc:1: a comment would move to another line", moved)

    def test_what_follows_the_end_stays(self) -> None:
        source, output = (f"%\n{text}%\nafter\n" for text in (TEXT, TURNED))
        assert proved(output, source=source) < 1e-9
        stops("front.ngc:1: lines would be lost or added", output.replace("after", "later"), source=source)

    def test_a_parameter_setting_stays(self) -> None:
        source, output = (text.replace("G17", "G17 #1=5") for text in (TEXT, TURNED))
        assert proved(output, source=source) < 1e-9
        stops("front.ngc:1: a parameter setting would change", output.replace("#1=5", "#1=6"), source=source)


class TestClaims:
    def test_what_is_claimed_has_to_be_one_stretch_of_cuts_with_a_contour(self) -> None:
        for runs in (((5, 13),), ((6, 13),), ((4, 12),), ((6, 99),), ((6, 12), (6, 12))):
            stops("front.ngc:1: what is turned round would not be one stretch of cutting", TURNED, runs=runs)
        for first, last in ((1, 2), (6, 10), (8, 12), (12, 12)):
            message = "something would be turned round that is no closed contour"
            stops(f"front.ngc:{LINES[first]}: {message}", TURNED, runs=((first, last),))
        stops("front.ngc:10: this contour would not be turned round, and nobody told", TURNED, runs=())


class TestTurned:
    @every("row", [6, 9, 12])
    @every(
        "column, called, value",
        [
            ("kind", "kind", 7),
            ("normal", "normal", 1),
            ("tool", "tool", 3),
            ("compensation", "compensation", 1),
            ("work_offset", "work_offset", 2),
            ("cycle", "cycle", 81),
            ("spindle_rpm", "spindle", 901),
            ("sweep_deg", "sweep", 33.0),
            ("feed_mm_per_min", "feed", 899.99),
            ("feed_mm_per_min", "feed", 900.01),
        ],
    )
    def test_one_entry_that_differs_is_stopped(self, row: int, column: str, called: str, value: float) -> None:
        message = f"front.ngc:{LINES[row]}: the {called} of a turned motion would change"
        stops(message, changed(row, column, value))

    @pytest.mark.parametrize(
        ("row", "column", "axis"),
        [(6, "centre", 0), (6, "start", 0), (8, "end", 1), (9, "start", 2), (12, "end", 0), (12, "centre", 1)],
    )
    def test_a_place_off_is_measured_and_past_the_tolerance_stopped(self, row: int, column: str, axis: int) -> None:
        there = float(getattr(whole(TURNED).path, column)[row, axis])
        assert proved(changed(row, column, there - 0.0009, axis)) == pytest.approx(0.0009, abs=1e-9)
        message = f"front.ngc:{LINES[row]}: the {column} of a turned motion would change"
        for wrong in (there + 0.0011, there - 0.0011, float("nan")):
            stops(message, changed(row, column, wrong, axis))


class TestRest:
    @every("row", [1, 4, 5, 13, 14])
    @every(
        "column, called, value",
        [
            ("kind", "kind", 7),
            ("normal", "normal", 1),
            ("tool", "tool", 3),
            ("compensation", "compensation", 1),
            ("work_offset", "work_offset", 2),
            ("cycle", "cycle", 81),
            ("spindle_rpm", "spindle_rpm", 900.00001),
            ("sweep_deg", "sweep_deg", 0.1),
            ("feed_mm_per_min", "feed", 299.9999),
        ],
    )
    def test_one_entry_that_differs_is_stopped(self, row: int, column: str, called: str, value: float) -> None:
        stops(f"front.ngc:{LINES[row]}: the {called} of this motion would change", changed(row, column, value))

    @pytest.mark.parametrize(
        ("row", "column", "axis"),
        [
            # An open cut, the way out of it and the height of the way to the contour and away.
            *((1, "end", 0), (2, "end", 1), (2, "start", 2), (3, "end", 0), (3, "start", 1), (4, "start", 0)),
            *((4, "end", 2), (5, "end", 2), (5, "start", 2), (13, "start", 2), (13, "end", 2), (14, "end", 1)),
        ],
    )
    def test_a_place_off_is_measured_and_past_the_tolerance_stopped(self, row: int, column: str, axis: int) -> None:
        there = float(getattr(whole(TURNED).path, column)[row, axis])
        assert proved(changed(row, column, there - 0.0009, axis)) == pytest.approx(0.0009, abs=1e-9)
        message = f"front.ngc:{LINES[row]}: the {column} of this motion would change"
        for wrong in (there + 0.0011, there - 0.0011, float("nan")):
            stops(message, changed(row, column, wrong, axis))

    def test_a_way_from_an_unknown_place_is_a_way_across(self) -> None:
        # After the change of zero nobody knows where the tool is; what is before that may not move.
        source, output = (text.replace("G0 Z5 M8\nX", "G0 Z5 M8\nG55 G0 Z5 X") for text in (TEXT, TURNED))
        assert proved(output, source=source) < 1e-9
        wrong = whole(output)
        end = wrong.path.end.copy()
        end[3, 0] += 1
        wrong = replace(wrong, path=replace(wrong.path, end=end))
        stops("front.ngc:5: the end of this motion would change", wrong, source=source)

    def test_a_cut_on_the_way_to_a_contour_is_not_lost(self) -> None:
        head, tail = "G21 G90 G17 S900 M3\nG0 Z5\n", "G0 Z5\nM2\n"
        source = f"{head}X0 Y10\nG1 Z-2 F300\nX5\nY20\nX40\nY0\nX5\nY10\n{tail}"
        output = f"{head}X0 Y10\nG1 Z-2 F300\nX5\nY0\nX40\nY20\nX5\nY10\n{tail}"
        runs = ((4, 8),)
        assert proved(output, source=source, runs=runs) < 1e-9
        message = "the end of this motion would change"
        stops(f"front.ngc:3: {message}", output.replace("X0 Y10", "X5 Y10"), source=source, runs=runs)

    def test_a_motion_stays_in_its_line(self) -> None:
        source, output = (text.replace("G0 X60 Y60 Z5\n", "G0 X60 Z5\nM8 Y60\nM9\n") for text in (TEXT, TURNED))
        runs = ((7, 13),)
        assert proved(output, source=source, runs=runs) < 1e-9
        moved = output.replace("M8 Y60\nM9\n", "M8\nM9 Y60\n")
        stops("front.ngc:1: motions would be lost or added", moved, source=source, runs=runs)


TABBED = "G21 G90 G17 S900 M3\nG0 X0 Y0 Z5\nG1 Z-2 F90\n{}G1 Z-3 F600\nG0 Z5\nM2\n"


class TestDescents:
    """A tab is climbed over at one feed, and come down from at another."""

    SOURCE = TABBED.format("X20 F600\nX22 Z-1\nX24\nX26 Z-2 F90\nX40 F600\nY20\nX0\nY0\n")
    OUTPUT = TABBED.format("Y20 F600\nX40\nY0\nX26\nX24 Z-1 F90\nX22 F600\nX20 Z-2 F90\nX0 F600\n")

    def test_a_way_down_as_slow_as_before_is_right(self) -> None:
        assert proved(self.OUTPUT, source=self.SOURCE, runs=((2, 9),)) < 1e-9

    def test_a_way_down_faster_than_any_of_its_own_contour_is_stopped(self) -> None:
        # The plunge after the contour is as fast, and has nothing to say about it.
        fast = self.OUTPUT.replace("X20 Z-2 F90\nX0 F600", "X20 Z-2 F600\nX0 F600")
        stops(
            "front.ngc:4: a turned contour would go down faster than its source",
            fast,
            source=self.SOURCE,
            runs=((2, 9),),
        )
