"""Flipping a program, seen from outside: what the outside contract and the frames of the design promise.

The source's motions are mirrored here, point by point, with nothing of the package but `interpret`, and compared
with the motions of the flipped text.
"""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import flipreg
from tests.commands.laws import EXACT, assert_is_flip, assert_same_points, flipped, mirrored
from tests.commands.programs import CYCLES, INVERSE_TIME, NUMBER, OUTSIDE_XY, PLANE, TWO_WORK_OFFSETS, drawn_programs
from tests.motions import motions, sampled

ALL = PLANE | INVERSE_TIME | CYCLES | OUTSIDE_XY

each_program = pytest.mark.parametrize("text", ALL.values(), ids=ALL.keys())
each_axis = pytest.mark.parametrize("axis", list(flipreg.FlipAxis), ids=lambda axis: axis.name)


@each_axis
@each_program
def test_every_motion_of_the_flip_is_the_mirror_of_its_source(text: str, axis: flipreg.FlipAxis) -> None:
    datum_mm = ("25.4", "0") if axis is flipreg.FlipAxis.Y else ("0", "25.4")
    after = motions(flipped(text, axis, datum_mm))
    assert_is_flip(motions(text), after, axis, datum_mm, EXACT)


@each_axis
@each_program
def test_a_datum_that_also_moves_along_the_axis_is_obeyed(text: str, axis: flipreg.FlipAxis) -> None:
    datum_mm = ("101.6", "-50.8")
    after = motions(flipped(text, axis, datum_mm))
    assert_is_flip(motions(text), after, axis, datum_mm, EXACT)


@each_program
def test_arcs_of_the_xy_plane_turn_the_other_way(text: str) -> None:
    before, after = motions(text), motions(flipped(text, flipreg.FlipAxis.Y, ("0", "0")))
    in_xy = before.is_arc & (before.normal == 2)
    assert after.normal[in_xy].tolist() == before.normal[in_xy].tolist()
    assert after.sweep_deg[in_xy] == pytest.approx(-before.sweep_deg[in_xy], abs=1e-9)


def test_arcs_along_the_flip_axis_keep_their_sense_and_those_across_it_turn() -> None:
    # A mirror x -> -x turns circles of planes that hold the X axis the other way round, and no others.
    for axis, turning in ((flipreg.FlipAxis.Y, "arcs in ZX"), (flipreg.FlipAxis.X, "arcs in YZ")):
        for name in ("arcs in ZX", "arcs in YZ"):
            before, after = motions(ALL[name]), motions(flipped(ALL[name], axis, ("0", "0")))
            factor = -1 if name == turning else 1
            assert after.sweep_deg.tolist() == pytest.approx((factor * before.sweep_deg).tolist(), abs=1e-9)
            assert after.normal[after.is_arc].tolist() == before.normal[before.is_arc].tolist()


@each_axis
@each_program
def test_flipping_twice_gives_the_motions_of_the_source(text: str, axis: flipreg.FlipAxis) -> None:
    back = ("100", "3") if axis is flipreg.FlipAxis.Y else ("3", "100")
    front = ("100", "-3") if axis is flipreg.FlipAxis.Y else ("-3", "100")
    once = flipped(text, axis, back)
    twice = flipped(once.decode("latin-1"), axis, front)
    before, after = motions(text), motions(twice)
    assert_same_points(sampled(before), sampled(after), EXACT)
    assert before.sweep_deg.tolist() == pytest.approx(after.sweep_deg.tolist(), abs=1e-9)
    assert before.compensation.tolist() == after.compensation.tolist()
    assert before.normal[before.is_arc].tolist() == after.normal[after.is_arc].tolist()


@each_program
def test_the_reported_deviation_of_a_decimal_flip_is_rounding_noise(text: str) -> None:
    produced = flipreg.flip(flipreg.parse(text), axis=flipreg.FlipAxis.Y, datum_mm=(Decimal(254), Decimal(0)))
    assert 0 <= produced.largest_deviation_mm <= EXACT


def test_a_metric_datum_in_an_inch_program_is_off_by_no_more_than_reported() -> None:
    # 10 mm is no finite decimal in inches, so the words are rounded and something is left over.
    text = PLANE["inches"]
    datum_mm = (Decimal(10), Decimal(0))
    produced = flipreg.flip(flipreg.parse(text), axis=flipreg.FlipAxis.Y, datum_mm=datum_mm)
    before, after = motions(text), motions(produced.text)
    off = np.abs(mirrored(before.end, flipreg.FlipAxis.Y, ("10", "0")) - after.end)
    assert 1e-9 < np.nanmax(off) <= produced.largest_deviation_mm + 1e-9
    assert produced.largest_deviation_mm < 0.002


def test_a_cycle_whose_depth_axis_would_be_mirrored_is_refused_at_its_line() -> None:
    # D, from section 3.5.16 of the standard: R below the bottom is an error, and the mirror of a hole along Y
    # comes out of the other face.
    text = "G21 G90 G18 G98 F100\nG0 X3 Y3 Z3\nG81 Z1 X2 Y-2 R1\nG80\nM2\n"
    with pytest.raises(flipreg.RefusedError) as caught:
        flipped(text, flipreg.FlipAxis.X, ("0", "0"))
    assert caught.value.location.line == 3
    assert_is_flip(
        motions(text),
        motions(flipped(text, flipreg.FlipAxis.Y, ("10", "0"))),
        flipreg.FlipAxis.Y,
        ("10", "0"),
        EXACT,
    )


@pytest.mark.parametrize(
    "text",
    [
        "G21 G90 F100\nG0 X1 Y1 Z1\nG1 X[1+2]\nM2\n",
        "#1=3\nG21 G90 F100\nG0 X1 Y1 Z1\nG1 X#1 Y2\nM2\n",
        "G21 G90 F100\nG0 X1 Y1 Z1\nG1 Y[2*3]\nM2\n",
        "G21 G90 F100\nG0 X1 Y1 Z1\nG[1+1] X5 I[4/2]\nM2\n",
        "G21 G90 F100\nG0 X1 Y1 Z1\nG91 G1 XABS[-3]\nM2\n",
        "#1=1\nG21 G90 F100\nG0 X1 Y1 Z1\nG1 X#1 #1=5\nX#1\nM2\n",
    ],
)
def test_an_expression_is_carried_right_or_refused(text: str) -> None:
    result = flipped_or_refused(text)
    if isinstance(result, flipreg.RefusedError):
        column = result.location.column - 1
        assert text.splitlines()[result.location.line - 1][column] in "XYIG#"
    else:
        assert_is_flip(motions(text), motions(result), flipreg.FlipAxis.Y, ("20", "0"), EXACT)


def test_work_offsets_are_kept_or_a_second_one_is_refused_at_its_word() -> None:
    # The mirror of the numbers is right only if the second zero was mirrored too, which nobody can know here.
    result = flipped_or_refused(TWO_WORK_OFFSETS)
    if isinstance(result, flipreg.RefusedError):
        assert (result.location.line, result.location.column) == (3, 1)
    else:
        assert motions(result).work_offset.tolist() == motions(TWO_WORK_OFFSETS).work_offset.tolist()


def flipped_or_refused(text: str) -> bytes | flipreg.RefusedError:
    try:
        return flipped(text, flipreg.FlipAxis.Y, ("20", "0"))
    except flipreg.RefusedError as refusal:
        return refusal


@pytest.mark.parametrize("block", ["G28", "G30 Z1 Y2", "G53 G0 X1", "G30 Y0 Z0"])
@pytest.mark.parametrize("behind", ["M2", "G0 X7 Y2 Z5\nG1 X8\nM2"])
def test_a_machine_position_that_parks_is_kept_byte_for_byte_and_named(block: str, behind: str) -> None:
    source = f"G21 G90 F100\nG0 X0 Y0 Z5\nX3\n{block}\n{behind}\n"
    datum_mm = (Decimal(0), Decimal(0))
    made = flipreg.flip(flipreg.parse(source), axis=flipreg.FlipAxis.Y, datum_mm=datum_mm)
    assert block in made.text.decode("latin-1").split("\n")
    code = block.split()[0]
    assert f"{code} in line 4 of the source kept as it is: a machine position does not move" in made.notes
    assert_is_flip(motions(source), motions(made.text), flipreg.FlipAxis.Y, ("0", "0"), EXACT)


def test_the_point_on_the_way_to_a_machine_position_is_mirrored() -> None:
    # 3.5.8: the words of G28 are a point of the program; only the place after it is the machine's.
    text = flipped("G21 G90 F100\nG0 X0 Y0 Z5\nG28 X1\nM2\n", flipreg.FlipAxis.Y, ("0", "0"))
    assert b"\nG28 X-1\nM2\n" in text


def test_a_note_tells_a_machine_position_that_is_kept_from_one_with_another_point_on_the_way() -> None:
    source = flipreg.parse("G21 G90\nG0 X0 Y0 Z5\nG28 X1\nG28 X0\nG28 Z5\nG28 G91 X0 Y0\nG28 Y2 X3\nM2\n")
    made = flipreg.flip(source, axis=flipreg.FlipAxis.Y, datum_mm=(Decimal(0), Decimal(0)))
    moved = "the point on the way is moved, and the machine position that it leads to is not"
    assert made.notes == (
        "G28 in lines 4, 5, 6 of the source kept as it is: a machine position does not move",
        f"G28 in lines 3, 7 of the source: {moved}",
    )


@pytest.mark.parametrize(
    ("block", "axis"),
    [
        ("G28 X1\nG1 Y3", flipreg.FlipAxis.Y),
        ("G28\nG1 Z-1 Y3", flipreg.FlipAxis.Y),
        ("G30 Z1 Y2\nG1 X3", flipreg.FlipAxis.X),
        ("G53 G0 X1\nG1 Z-1", flipreg.FlipAxis.Y),
        ("G53 G1 X1", flipreg.FlipAxis.Y),
    ],
)
def test_what_is_cut_at_a_machine_position_along_a_mirrored_axis_is_refused(block: str, axis: flipreg.FlipAxis) -> None:
    with pytest.raises(flipreg.RefusedError) as caught:
        flipped(f"G21 G90 F100\nG0 X0 Y0 Z5\n{block}\nM2\n", axis, ("0", "0"))
    assert caught.value.location.line == 3 + block.count("\n")


def test_what_is_cut_at_a_machine_position_along_an_axis_that_stays_is_kept() -> None:
    # A flip about Y with its zero at Y0 leaves Y and Z as they are, wherever the machine stands in them.
    source = "G21 G90 F100\nG0 X0 Y0 Z5\nX1\nG30 Z1 Y2\nG1 X3\nM2\n"
    after = motions(flipped(source, flipreg.FlipAxis.Y, ("0", "0")))
    assert_is_flip(motions(source), after, flipreg.FlipAxis.Y, ("0", "0"), EXACT)


@pytest.mark.parametrize("block", ["G92.3", "G10 L2 P1 X1"])
def test_a_program_that_cannot_be_carried_is_refused_with_its_line(block: str) -> None:
    with pytest.raises(flipreg.RefusedError) as caught:
        flipped(f"G21 G90 F100\nG0 X0 Y0 Z5\n{block}\nM2\n", flipreg.FlipAxis.Y, ("0", "0"))
    assert caught.value.location.line == 3


def test_a_half_circle_in_radius_format_stays_one() -> None:
    # Its centre depends on the last bit of the chord, so it gets a tolerance of its own, in millimetres.
    text = "G21 G90 G17\nG0 X13 Y22 Z0\nG3 X15 R1 F100\nG2 Y24 R1\nG91 G2 X0.2 R0.1\nG90 G3 X10 Y24 R-2.6\nM2\n"
    after = motions(flipped(text, flipreg.FlipAxis.Y, ("25.4", "0")))
    assert_is_flip(motions(text), after, flipreg.FlipAxis.Y, ("25.4", "0"), 1e-6)


@settings(max_examples=25, deadline=None)
@given(
    text=drawn_programs(distance_modes=["G90", "G91"]),
    axis=st.sampled_from(list(flipreg.FlipAxis)),
    datum=st.tuples(NUMBER, NUMBER),
)
def test_any_program_of_lines_and_arcs_flips_to_its_mirror(
    text: str, axis: flipreg.FlipAxis, datum: tuple[Decimal, Decimal]
) -> None:
    datum_mm = (str(datum[0]), str(datum[1]))
    assert_is_flip(motions(text), motions(flipped(text, axis, datum_mm)), axis, datum_mm, 1e-8)
