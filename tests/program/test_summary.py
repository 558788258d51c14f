"""What one program does, in figures, against programs small enough to work out by hand."""

from decimal import Decimal
from math import isnan, nan, pi

import pytest

import flipreg
from flipreg.produce.isometries import FlipAxis
from flipreg.produce.produce import flip
from flipreg.program.extent import Extent
from flipreg.program.face_program import face_program
from flipreg.program.summary import Summary, summarise
from flipreg.rs274.read import lines as lines_module
from flipreg.rs274.read.location import ProgramError


def summary(text: str) -> Summary:
    return summarise(flipreg.parse(text, source="front.ngc"))


TRAY = (
    "G21 G90\nT2 M6\nS12000 M3\nG0 X10 Y0 Z5\nG1 Z-1 F300\nX40 F600\nG3 X60 Y20 I0 J20\nG1 Y50\n"
    "G0 Z5\nT5 M6\nS8000 M4\nG0 X-5 Y-7\nG81 X0 Y0 Z-3 R1 F120\nX10\nG80\nG0 Z15\nM2\n"
)


def test_extents_are_of_cutting_and_of_all_motion() -> None:
    found = summary(TRAY)
    assert found.cutting == Extent((0.0, 0.0, -3.0), (60.0, 50.0, 5.0))
    assert found.moving == Extent((-5.0, -7.0, -3.0), (60.0, 50.0, 15.0))


def test_an_arc_counts_as_far_as_it_reaches() -> None:
    found = summary("G21 G90 F100\nG0 X10 Y0 Z0\nG3 X-10 Y0 I-10 J0\n")
    assert found.cutting == Extent((-10.0, 0.0, 0.0), (10.0, 10.0, 0.0))
    assert summary("G21 G90 G18 F100\nG0 X10 Y1 Z0\nG2 X-10 I-10 K0\n").cutting == Extent(
        (-10.0, 1.0, 0.0), (10.0, 1.0, 10.0)
    )
    assert summary("G21 G90 F100\nG0 X10 Y0 Z0\nG2 X10 I-2.5 Z-1\n").moving == Extent(
        (5.0, -2.5, -1.0), (10.0, 2.5, 0.0)
    )


def test_tools_feeds_speeds_and_offsets_are_those_that_are_used() -> None:
    found = summary(TRAY)
    assert found.tools == (2, 5)
    assert found.feed_mm_per_min == (120.0, 600.0)
    assert found.speed_rpm == (8000.0, 12000.0)
    assert found.work_offsets == (1,)
    assert summary("G21 G90\nG55 G0 X1\nG59.3 X2\nT9\nF9 S9 M3\n").work_offsets == (2, 9)
    unused = summary("G21 G90\nG55 G0 X1\nT9\nF9 S9 M3\n")
    assert (unused.tools, unused.feed_mm_per_min, unused.speed_rpm) == ((-1,), None, None)


def test_lengths_and_time_are_added_up() -> None:
    found = summary(TRAY)
    # Down 6 at 300; 30, a quarter of a circle of radius 20, 30 at 600; two holes of 4 at 120, from R1 to Z-3.
    assert found.cut_mm == pytest.approx(6 + 30 + 10 * pi + 30 + 2 * 4)
    assert found.cut_min == pytest.approx(6 / 300 + (60 + 10 * pi) / 600 + 8 / 120)
    assert found.drilled == 2


def test_the_length_of_a_helix_is_along_it() -> None:
    found = summary("G21 G90 F100\nG0 X5 Y0 Z0\nG3 X5 I-5 Z-3\n")
    assert found.cut_mm == pytest.approx(((10 * pi) ** 2 + 9) ** 0.5)
    assert found.cut_min == pytest.approx(found.cut_mm / 100)


def test_inverse_time_is_time() -> None:
    # Two moves of half a minute and a quarter of a minute.
    assert summary("G21 G90\nG0 X0 Y0 Z0\nG93 G1 X10 F2\nX50 F4\n").cut_min == pytest.approx(0.75)


def test_traverses_are_measured_where_both_ends_are_known() -> None:
    assert summary("G21 G90\nG0 X1 Y1 Z1\nX4 Y5\nZ3\n").rapid_mm == pytest.approx(5 + 2)


def test_a_feed_that_is_missing_leaves_the_time_open() -> None:
    assert isnan(summary("G21 G90\nG0 X0 Y0 Z0\nG1 X1\nX2 F100\n").cut_min)
    assert isnan(summary("G21 G90\nG0 X0 Y0 Z0\nG1 X1 F100\nF100 X2\nG91 G1 X1 F100\n").cut_min) is False


def test_a_feed_of_zero_leaves_the_time_open() -> None:
    assert isnan(summary("G21 G90\nG0 X0 Y0 Z0\nG1 X1 F0\n").cut_min)


def test_a_feed_that_is_missing_where_the_way_is_not_known_leaves_the_time_open_too() -> None:
    assert isnan(summary("G21 G90\nG1 X0 Y0 Z0\nG0 X1 F100\n").cut_min)


def test_an_axis_that_is_never_named_stands_still() -> None:
    found = summary("G21 G90\nG0 X0 Y0\nG1 X3 Y4 F100\nG2 X5 I1\n")
    assert found.cut_mm == pytest.approx(5 + pi)
    assert found.cut_min == pytest.approx((5 + pi) / 100)


def test_what_is_never_named_is_not_known() -> None:
    found = summary("G21 G90 F100\nG0 X1\nG1 X5\n")
    assert found.cutting is not None
    assert found.cutting.low_mm == pytest.approx((1.0, nan, nan), nan_ok=True)
    assert found.start_mm == pytest.approx((1.0, nan, nan), nan_ok=True)
    assert found.end_mm == pytest.approx((5.0, nan, nan), nan_ok=True)


def test_start_and_end_are_the_first_named_place_and_the_last_one() -> None:
    found = summary("G21 G90\nG0 Z5\nX1\nG0 X2 Y3 Z9\nX0 Y0\nM2\n")
    assert found.start_mm == (1.0, 3.0, 5.0)
    assert found.end_mm == (0.0, 0.0, 9.0)


@pytest.mark.parametrize(
    ("text", "unit", "stated"),
    [
        ("G21\nG0 X1\n", "mm", True),
        ("G20\nG0 X1\n", "inch", True),
        ("G0 X1\n", "mm", False),
        ("G21 G0 X1\nG20 X2\n", "mm and inch", True),
        ("G20\nG0 X1\nG21\n", "inch", True),
        ("(nothing)\n", "mm", False),
        ("G0 X1\nG20 X2\n", "mm and inch", True),
    ],
)
def test_the_unit_is_the_one_that_motions_are_written_in(text: str, unit: str, stated: object) -> None:
    found = summary(text)
    assert (found.unit, found.unit_stated) == (unit, stated)


def test_inches_are_millimetres_in_the_figures() -> None:
    found = summary("G20 G90\nG0 X0 Y0 Z0\nG1 X1 F10\n")
    assert found.cutting == Extent((0.0, 0.0, 0.0), (25.4, 0.0, 0.0))
    assert found.feed_mm_per_min == (254.0, 254.0)
    assert found.cut_min == pytest.approx(0.1)


def test_a_program_without_motion_has_no_extent() -> None:
    found = summary("(nothing)\n\nM2\n")
    assert (found.cutting, found.moving, found.motions, found.blocks) == (None, None, 0, 3)
    assert (found.tools, found.work_offsets, found.cut_mm, found.cut_min) == ((), (), 0.0, 0.0)
    assert all(map(isnan, (*found.start_mm, *found.end_mm)))


def test_only_traverses_cut_nothing() -> None:
    found = summary("G21 G90\nG0 X1 Y2 Z3\n")
    assert found.cutting is None
    assert found.moving == Extent((1.0, 2.0, 3.0), (1.0, 2.0, 3.0))


def test_small_chunks_make_the_same_summary(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = summary(TRAY)
    monkeypatch.setattr(lines_module, "CHUNK_BYTES", 16)
    assert summary(TRAY) == whole


def test_a_flip_keeps_lengths_and_time() -> None:
    back = flip(flipreg.parse(TRAY), axis=FlipAxis.Y, datum_mm=(Decimal(60), Decimal(0)))
    front, found = summary(TRAY), summarise(flipreg.parse(back.text))
    assert (found.cut_mm, found.cut_min) == pytest.approx((front.cut_mm, front.cut_min))
    assert found.cutting == Extent((0.0, 0.0, -3.0), (60.0, 50.0, 5.0))


def test_a_program_that_is_not_legal_has_no_summary() -> None:
    with pytest.raises(ProgramError):
        summary("G21 G90 G0 X1\nG99.5\n")


def test_a_face_program_is_interpreted_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lines_module, "CHUNK_BYTES", 16)
    face = face_program(flipreg.parse(TRAY, source="front.ngc"), tools_mm={2: 6.0, 5: 4.0})
    assert len(face.path) == summary(TRAY).motions
    assert face.path.line.tolist() == flipreg.interpret(flipreg.parse(TRAY)).line.tolist()
