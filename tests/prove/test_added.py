"""Lines added to a program: its own text and motions stay, what is added is a traverse, and both ends are home."""

import re
from dataclasses import replace

import numpy as np
import pytest

from flipreg.errors import ProofError
from flipreg.path import Path
from flipreg.prove import Read
from flipreg.prove.added import ProvingAdded, compare_paths
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import State
from flipreg.rs274.read.scanner import Scanner
from tests.motions import motions
from tests.prove.reads import read

TEXT = "G21 G90 G17\nG0 X0 Y0 Z5\nG1 Z-1 F300\nX10\nG2 X20 Y10 I10 J0\nG0 Z9\nX3\n"
LINES = [2, 3, 4, 5, 6, 7]


def changed(path: Path, column: str, at: int | tuple[int, int], value: float) -> Path:
    values = getattr(path, column).copy()
    values[at] = value
    return replace(path, **{column: values})


def compared(ours: Path, theirs: Path, moved: tuple[int, ...] = ()) -> float:
    return compare_paths("front.ngc", ours, theirs, moved_start=np.isin(np.arange(len(ours)), moved))


def stops(ours: Path, theirs: Path, message: str, moved: tuple[int, ...] = ()) -> None:
    with pytest.raises(ProofError, match=f"^{re.escape(message)}; nothing was written$"):
        compared(ours, theirs, moved)


class TestPaths:
    @pytest.mark.parametrize("row", [0, 3, 5])
    @pytest.mark.parametrize(
        ("column", "words", "value"),
        [
            ("kind", "kind", 7),
            ("normal", "normal", 1),
            ("tool", "tool", 3),
            ("compensation", "compensation", 1),
            ("work_offset", "work offset", 2),
            ("cycle", "cycle", 81),
            ("sweep_deg", "sweep deg", 12.0),
            ("feed_mm_per_min", "feed", 299.0),
            ("spindle_rpm", "spindle rpm", 100.0),
        ],
    )
    def test_one_entry_that_differs_is_stopped(self, row: int, column: str, words: str, value: float) -> None:
        path = motions(TEXT)
        message = f"front.ngc:{LINES[row]}: the {words} of this motion would change"
        stops(path, changed(path, column, row, value), message)

    def test_numbers_are_the_same_within_noise(self) -> None:
        path = motions(TEXT)
        assert compared(path, path) == 0.0
        assert compared(path, changed(path, "feed_mm_per_min", 2, 300 + 1e-8)) == 0.0
        stops(path, changed(path, "feed_mm_per_min", 2, 300.00001), "front.ngc:4: the feed of this motion would change")
        slow = changed(path, "feed_mm_per_min", 2, 1e-6)
        message = "front.ngc:4: the feed of this motion would change"
        stops(slow, changed(path, "feed_mm_per_min", 2, 1e-6 + 1e-8), message)

    @pytest.mark.parametrize("column", ["start", "end"])
    @pytest.mark.parametrize("axis", [0, 1, 2])
    def test_a_place_off_along_any_axis_is_measured_and_past_the_tolerance_stopped(
        self, column: str, axis: int
    ) -> None:
        path = motions(TEXT)
        there = float(getattr(path, column)[2, axis])
        assert compared(path, changed(path, column, (2, axis), there - 0.0009)) == pytest.approx(0.0009, abs=1e-12)
        for off in (0.0011, -0.0011, np.nan):
            message = f"front.ngc:4: the {column} of this motion would change"
            stops(path, changed(path, column, (2, axis), there + off), message)

    def test_a_centre_off_is_stopped_and_so_is_one_where_there_was_none(self) -> None:
        path = motions(TEXT)
        message = "the centre of this motion would change"
        assert compared(path, changed(path, "centre", (3, 1), 0.0007)) == pytest.approx(0.0007, abs=1e-12)
        stops(path, changed(path, "centre", (3, 1), 0.0011), f"front.ngc:5: {message}")
        stops(path, changed(path, "centre", (3, 0), np.nan), f"front.ngc:5: {message}")
        stops(path, changed(path, "centre", (2, 0), 7.0), f"front.ngc:4: {message}")

    def test_a_place_that_was_not_known_may_be_known_now(self) -> None:
        path = motions(TEXT)
        unknown = changed(changed(path, "start", (0, 0), np.nan), "end", (0, 2), np.nan)
        known = changed(path, "start", (0, 0), 44.0)
        assert compared(unknown, known) == 0.0
        message = "front.ngc:2: the start of this motion would change"
        stops(known, unknown, message.replace("start", "end"))
        stops(changed(path, "start", (0, 0), 3.0), changed(path, "start", (0, 0), 44.0), message)

    def test_only_a_traverse_after_an_added_one_may_start_elsewhere(self) -> None:
        path = motions(TEXT)
        assert compared(path, changed(path, "start", (4, 0), 44.0), moved=(4,)) == 0.0
        stops(
            path,
            changed(path, "start", (2, 0), 44.0),
            "front.ngc:4: the start of this motion would change",
            moved=(2, 4),
        )
        stops(path, changed(path, "start", (5, 0), 44.0), "front.ngc:7: the start of this motion would change", (4,))
        stops(path, changed(path, "end", (4, 0), 44.0), "front.ngc:6: the end of this motion would change", (4,))

    def test_the_largest_deviation_is_told_whichever_comes_last(self) -> None:
        path = motions(TEXT)
        off = changed(changed(path, "end", (2, 0), 10.0008), "centre", (3, 0), 20.0002)
        assert compared(path, off) == pytest.approx(0.0008, abs=1e-9)

    def test_a_motion_lost_or_added_is_counted(self) -> None:
        path = motions(TEXT)
        fewer = path.take(slice(0, 5))
        stops(path, fewer, "front.ngc: 5 motions would be made where the source has 6")
        stops(fewer, path, "front.ngc: 6 motions would be made where the source has 5")

    def test_no_motions_are_the_same_as_none(self) -> None:
        nothing = motions(TEXT).take(slice(0, 0))
        assert compared(nothing, nothing) == 0.0


def proved(source: str, output: str, added: list[int]) -> float:
    proving = ProvingAdded("front.ngc")
    proving.add(output.encode(), read(source), added)
    return proving.finish()


class TestText:
    SOURCE = "G21 G90\nG0 X1 Y1 Z5\nG1 Z-1 F9 (cut)\nX2\nM2\n"
    OUTPUT = "G21 G90\nG0 X1 Y1 Z5\nG1 Z-1 F9 (cut)\nX2\nG90 G0 Z7\nX0 Y0\nM2\n"

    def test_the_source_with_traverses_added_is_right(self) -> None:
        assert proved(self.SOURCE, self.SOURCE, []) == 0.0
        assert proved(self.SOURCE, self.OUTPUT, [4, 5]) == 0.0
        assert proved(self.SOURCE[:-1], self.OUTPUT, [4, 5]) == 0.0
        assert proved("G21 G90\nG0 X1 Y1 Z5", "G21 G90\nG0 X1 Y1 Z5\nG20 G0 X1\n", [2]) == 0.0

    @pytest.mark.parametrize(
        ("right", "wrong"),
        [("X2", "X2 "), ("X2", "x2"), ("(cut)", "(CUT)"), ("M2", "M30"), ("G21 G90", "G90 G21"), ("X2\n", "")],
    )
    def test_any_byte_that_changes_is_stopped(self, right: str, wrong: str) -> None:
        added = [4, 5] if wrong else [3, 4]
        message = "front.ngc:1: the source's text would change; nothing was written"
        with pytest.raises(ProofError, match=f"^{re.escape(message)}$"):
            proved(self.SOURCE, self.OUTPUT.replace(right, wrong, 1), added)

    @pytest.mark.parametrize(
        "line",
        [
            *("G0 X0 M3", "G0 X0 F9", "G0 X0 (so)", "G0 X0 ; so"),
            *("G18 G0 X0", "G80", "T1", "G0 A0", "G53 G0 Z0", "G90.1 G0 X0"),
        ],
    )
    def test_an_added_line_that_holds_more_than_a_traverse_is_stopped(self, line: str) -> None:
        message = "front.ngc: an added line would hold more than a traverse; nothing was written"
        with pytest.raises(ProofError, match=f"^{re.escape(message)}$"):
            proved("G21 G90\nG0 X1 Y1 Z5\nM2\n", f"G21 G90\nG0 X1 Y1 Z5\n{line}\nM2\n", [2])

    @pytest.mark.parametrize("line", ["G0 X0 Y0 Z9", "G90 G0 X0", "G21 G0 Z7", "g0 z9", ""])
    def test_a_traverse_may_be_added(self, line: str) -> None:
        assert proved("G21 G90\nG0 X1 Y1 Z5\nM2\n", f"G21 G90\nG0 X1 Y1 Z5\n{line}\nM2\n", [2]) == 0.0

    def test_an_added_line_that_may_be_skipped_is_stopped(self) -> None:
        message = "front.ngc: an added line would be left out under block delete; nothing was written"
        with pytest.raises(ProofError, match=f"^{re.escape(message)}$"):
            proved("G21 G90\nG0 X1 Y1 Z5\nM2\n", "G21 G90\nG0 X1 Y1 Z5\n/G0 X7\nM2\n", [2])

    def test_an_added_line_that_cuts_is_stopped(self) -> None:
        message = "front.ngc: an added line would cut; nothing was written"
        source = "G21 G90\nG0 X1 Y1 Z5\nG1 X2 F9\nM2\n"
        with pytest.raises(ProofError, match=f"^{re.escape(message)}$"):
            proved(source, source.replace("M2", "X3\nM2"), [3])

    def test_a_mode_that_leaks_out_of_an_added_line_is_stopped(self) -> None:
        with pytest.raises(ProofError, match=r"^front\.ngc:4: the kind of this motion would change"):
            proved(self.SOURCE, self.SOURCE.replace("X2", "G0 Z-1\nX2"), [3])
        with pytest.raises(ProofError, match=r"^front\.ngc:4: the end of this motion would change"):
            proved(self.SOURCE.replace("X2", "G0 X2"), self.SOURCE.replace("X2", "G20 G0 Z5\nG0 X2"), [3])

    def test_the_way_on_from_an_added_traverse_may_start_there_in_the_next_chunk_too(self) -> None:
        first, second = "G21 G90\nG0 X1 Y1 Z5\n", "X2\nX3\n"
        proving = ProvingAdded("front.ngc")
        made = proving.add(f"{first}G0 X7\n".encode(), read(first), [2])
        assert made.path.end[:, 0].tolist() == [1, 7]
        whole = read(first + second)
        after = replace(read("G0 " + second), path=whole.path.take(slice(1, 3)))
        source = replace(after, blocks=replace(after.blocks, text=second.encode(), first_line=3))
        proving.add(second.encode(), source, [])
        assert proving.finish() == 0.0
        # Without the traverse in between the next motion has to start where it did.
        proving = ProvingAdded("front.ngc")
        proving.add(f"{first}".replace("X1", "X1.0009").encode(), read(first.replace("X1", "X1.0009")), [])
        with pytest.raises(ProofError, match="the start of this motion would change"):
            proving.add(second.encode(), replace(source, path=motions_from(4.0)), [])

    def test_the_largest_deviation_of_all_chunks_is_kept(self) -> None:
        proving = ProvingAdded("front.ngc")
        source = read("G21 G90\nG0 X1 Y1 Z5\n")
        off = replace(source, path=changed(source.path, "end", (0, 0), 1.0006))
        proving.add(source.blocks.text, off, [])
        nothing = replace(read("M8\n"), blocks=replace(read("M8\n").blocks, first_line=3))
        assert len(proving.add(b"M8\n", nothing, []).path) == 0
        assert proving.finish() == pytest.approx(0.0006, abs=1e-9)

    def test_what_is_not_legal_ends_early_or_is_not_whole_is_said(self) -> None:
        with pytest.raises(ProofError, match=r"^the output would not be legal, nothing was written:\nfront\.ngc:2:"):
            proved("G21 G90\nG0 X1\n", "G21 G90\nG0 X1 X2\n", [])
        with pytest.raises(ProofError, match=r"^front\.ngc: the output would end early; nothing was written$"):
            proved("G21\n", "%\nG21\n%\nG90\n", [])
        (empty,) = Scanner("front.ngc").scan(b"\n \n")
        modes, path, _ = interpret_blocks(empty, State())
        proving = ProvingAdded("front.ngc")
        proving.add(b"\n \n", Read(empty, modes, path), [])
        with pytest.raises(ProofError, match=r"^the output would not be whole, nothing was written:\nfront\.ngc:1:"):
            proving.finish()


def motions_from(x: float) -> Path:
    """Return two traverses that start elsewhere."""
    return motions(f"G21 G90\nG0 X{x} Y1 Z5\nX2\nX3\n").take(slice(1, 3))
