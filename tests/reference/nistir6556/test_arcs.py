"""Arcs A1 to A15 of the reference: NISTIR 6556 section 3.5.3 (centre and radius format), section 4.3.6.1.

R: input and result are printed in the report. RI: the input is, the result was computed from its rules.
D: both were made from a rule the report states. Printed to four decimals, so half a unit of that is allowed.
"""

from typing import NamedTuple

import numpy as np
import pytest

from flipreg.path import Kind
from tests.motions import INCH, helix_length, motions, sampled
from tests.reference.nistir6556.strictly import error_by_the_report, strict_motions

_PRINTED = 5e-5
"""Half a unit of the last printed digit."""

UNKNOWN = float("nan")


class Arc(NamedTuple):
    """One worked arc: where it starts, the block, and what it must be, in the order x, y, z."""

    start: tuple[float, float, float]
    block: str
    normal: int
    centre: tuple[float, float]
    radius: float
    sweep_deg: float
    end: tuple[float, float, float]


XY, ZX, YZ = 2, 1, 0

ARCS = {
    "A1 R": Arc((7, 7, 9), "G17 G2 x 10 y 16 i 3 j 4 z 9", XY, (10, 11), 5, -143.1301, (10, 16, 9)),
    "A1b RI": Arc((7, 7, 0), "G17 G2 x 10 y 16 i 3 j 4 z 9", XY, (10, 11), 5, -143.1301, (10, 16, 9)),
    "A2b D": Arc((0, 0, 0), "G17 G2 x 10 y 15 r 20 z 5", XY, (19.8551, -2.4034), 20, -53.5764, (10, 15, 5)),
    "A2c D": Arc((0, 0, 0), "G17 G3 x10 y15 r20", XY, (-9.8551, 17.4034), 20, 53.5764, (10, 15, 0)),
    "A2d D": Arc((0, 0, 0), "G17 G2 x10 y15 r-20", XY, (-9.8551, 17.4034), 20, -306.4236, (10, 15, 0)),
    "A2e D": Arc((0, 0, 0), "G17 G3 x10 y15 r-20", XY, (19.8551, -2.4034), 20, 306.4236, (10, 15, 0)),
    "A3 R": Arc((3, 1, 0), "g2 x[6-[4*3/2]] r 7.01 z0.5", XY, (1.5, 7.8476), 7.01, -24.7114, (0, 1, 0.5)),
    "A4 D": Arc((10, 0, 0), "G17 G3 x0 y10 r10", XY, (0, 0), 10, 90, (0, 10, 0)),
    "A5 D": Arc((10, 0, 0), "G18 G2 x0 z10 r10", ZX, (0, 0), 10, -90, (0, 0, 10)),
    "A6 D": Arc((10, 0, 0), "G18 G3 x0 z10 r10", ZX, (10, 10), 10, 90, (0, 0, 10)),
    "A7 D": Arc((0, 0, 0), "G18 G2 x10 z0 i5 k0", ZX, (0, 5), 5, -180, (10, 0, 0)),
    "A8 D": Arc((0, 0, 0), "G18 G3 x10 z0 i5 k0", ZX, (0, 5), 5, 180, (10, 0, 0)),
    "A9 D": Arc((0, 10, 0), "G19 G3 y0 z10 r10", YZ, (0, 0), 10, 90, (0, 0, 10)),
    "A14 D, rule printed": Arc((5, 5, 0), "G17 G2 x5 y5 i2", XY, (7, 5), 2, -360, (5, 5, 0)),
}
"""Centres are given in the order of the plane's ordered pair: (X, Y), (Z, X), (Y, Z)."""

PAIR = {XY: [0, 1], ZX: [2, 0], YZ: [1, 2]}


def program(start: tuple[float, float, float], block: str, units: str = "G21") -> str:
    x, y, z = start
    return f"{units} G17 G90 G94 F100\nG0 X{x} Y{y} Z{z}\n{block}\nM2\n"


@pytest.mark.parametrize("arc", ARCS.values(), ids=ARCS.keys())
def test_an_arc_has_the_centre_radius_sweep_and_end_of_the_worked_example(arc: Arc) -> None:
    path = motions(program(arc.start, arc.block))
    (row,) = np.flatnonzero(path.is_arc)
    pair = PAIR[arc.normal]
    assert path.normal[row] == arc.normal
    assert path.centre[row][pair] == pytest.approx(arc.centre, abs=_PRINTED)
    assert np.hypot(*(path.start[row] - path.centre[row])[pair]) == pytest.approx(arc.radius, abs=_PRINTED)
    assert path.sweep_deg[row] == pytest.approx(arc.sweep_deg, abs=_PRINTED)
    assert path.start[row].tolist() == pytest.approx(arc.start, abs=1e-9)
    assert path.end[row].tolist() == pytest.approx(arc.end, abs=1e-9)


@pytest.mark.parametrize("arc", ARCS.values(), ids=ARCS.keys())
def test_turning_the_start_about_the_centre_by_the_sweep_gets_to_the_end(arc: Arc) -> None:
    path = motions(program(arc.start, arc.block))
    (row,) = np.flatnonzero(path.is_arc)
    # A1 to A9 and A14 are exact in their numbers, so the two ways to the end agree far below the limit.
    assert sampled(path)[row, -1].tolist() == pytest.approx(arc.end, abs=1e-9)


def test_the_centre_lies_at_the_height_of_the_start_along_the_normal() -> None:
    path = motions(program((7, 7, 0), "G17 G2 x 10 y 16 i 3 j 4 z 9"))
    (row,) = np.flatnonzero(path.is_arc)
    assert path.centre[row].tolist() == pytest.approx([10, 11, 0], abs=1e-9)


def test_the_helix_of_a1b_is_as_long_as_computed() -> None:
    # RI; the projected arc is 12.490458.
    path = motions(program((7, 7, 0), "G17 G2 x 10 y 16 i 3 j 4 z 9"))
    (row,) = np.flatnonzero(path.is_arc)
    assert helix_length(path, int(row)) == pytest.approx(15.395179, abs=5e-7)
    assert abs(np.radians(path.sweep_deg[row])) * 5 == pytest.approx(12.490458, abs=5e-7)


@pytest.mark.parametrize(
    ("block", "extreme_z"),
    [("G18 G2 x10 z0 i5 k0", -5), ("G18 G3 x10 z0 i5 k0", 5)],
    ids=["A7 D", "A8 D"],
)
def test_an_arc_of_the_zx_plane_bulges_to_the_side_its_direction_says(block: str, extreme_z: float) -> None:
    path = motions(program((0, 0, 0), block))
    (row,) = np.flatnonzero(path.is_arc)
    middle = sampled(path)[row, 4]
    assert middle.tolist() == pytest.approx([5, 0, extreme_z], abs=1e-9)


def test_a_missing_offset_counts_as_zero() -> None:
    # D, from lines n0190, n0320 and n0590 of program C.1, which close only that way.
    path = motions(program((32.5, 0, 0), "G2 X32.5 J2.5"))
    (row,) = np.flatnonzero(path.is_arc)
    assert path.centre[row].tolist() == pytest.approx([32.5, 2.5, 0], abs=1e-12)
    assert path.sweep_deg[row] == -360


def test_centre_offsets_are_increments_in_absolute_and_in_incremental_mode() -> None:
    # Section 3.5.17: I, J are always increments; with G91 the end point is one too.
    absolute = motions(program((7, 7, 0), "G90 G2 X10 Y16 I3 J4"))
    incremental = motions(program((7, 7, 0), "G91 G2 X3 Y9 I3 J4"))
    assert sampled(incremental)[-1].ravel().tolist() == pytest.approx(sampled(absolute)[-1].ravel().tolist(), abs=1e-9)
    assert absolute.end[-1].tolist() == pytest.approx([10, 16, 0])


def test_an_arc_in_inches_is_the_same_arc_25_4_times_as_large() -> None:
    path = motions(program((7, 7, 0), "G17 G2 x 10 y 16 i 3 j 4 z 9", units="G20"))
    (row,) = np.flatnonzero(path.is_arc)
    assert path.centre[row].tolist() == pytest.approx([10 * INCH, 11 * INCH, 0])
    assert path.end[row].tolist() == pytest.approx([10 * INCH, 16 * INCH, 9 * INCH])
    assert path.sweep_deg[row] == pytest.approx(-143.1301, abs=_PRINTED)


@pytest.mark.parametrize("block", ["G2 x10 y0 i5.0009", "G2 x10 y0 i4.9991"], ids=["A11 D", "A11 D, mirrored"])
def test_radii_within_0_002_mm_of_each_other_are_legal(block: str) -> None:
    assert Kind.ARC in strict_motions(program((0, 0, 0), block)).kind


@pytest.mark.parametrize("block", ["G2 x10 y0 i5.0011", "G2 x10 y0 i4.9989"], ids=["A11 D", "A11 D, mirrored"])
def test_radii_more_than_0_002_mm_apart_are_an_error_on_the_arcs_line(block: str) -> None:
    assert error_by_the_report(program((0, 0, 0), block), is_habit=True).location.line == 3


def test_the_limit_in_inches_is_0_0002_and_no_conversion_of_the_other() -> None:
    # A12 D: 0.0002 in is 0.00508 mm, so an arc 0.00018 in out (0.0046 mm) is legal in inches only.
    assert Kind.ARC in strict_motions(program((0, 0, 0), "G2 x10 y0 i5.00009", units="G20")).kind
    error = error_by_the_report(program((0, 0, 0), "G2 x10 y0 i5.00011", units="G20"), is_habit=True)
    assert error.location.line == 3


def test_a_radius_too_short_for_its_chord_is_an_error() -> None:
    # A10 D: the chord is 18.0278, so R must be at least 9.0139.
    assert error_by_the_report(program((0, 0, 0), "G17 G2 x10 y15 r9")).location.line == 3


@pytest.mark.parametrize(
    ("chord", "off_chord"), [(20.0, 0.0), (19.999, 0.1)], ids=["A13 D, half circle", "A13 D, just less"]
)
def test_a_near_half_circle_in_radius_format_puts_its_centre_where_computed(chord: float, off_chord: float) -> None:
    path = motions(program((0, 0, 0), f"G17 G3 x{chord} y0 r10"))
    (row,) = np.flatnonzero(path.is_arc)
    # Exact for 19.999: sqrt(100 - 9.9995**2) = 0.0999988; a turn of at most 180 degrees counter-clockwise
    # from (0,0) to the right has its centre on the left, at +Y.
    assert path.centre[row].tolist() == pytest.approx([chord / 2, off_chord, 0], abs=_PRINTED)
    assert path.sweep_deg[row] == pytest.approx(2 * np.degrees(np.arcsin(chord / 20)), abs=_PRINTED)


def test_a_full_circle_in_radius_format_is_an_error() -> None:
    # A15 D, rule printed: the end point equals the current point.
    assert error_by_the_report(program((5, 5, 0), "G17 G2 x5 y5 r2")).location.line == 3


@pytest.mark.parametrize(
    ("sense", "from_axis", "to_axis"),
    [
        ("G17 G3", "X", "Y"),
        ("G17 G2", "Y", "X"),
        ("G18 G3", "Z", "X"),
        ("G18 G2", "X", "Z"),
        ("G19 G3", "Y", "Z"),
        ("G19 G2", "Z", "Y"),
    ],
)
def test_the_short_arc_about_zero_turns_from_axis_to_axis_as_the_table_of_directions_says(
    sense: str, from_axis: str, to_axis: str
) -> None:
    # Section 4.3.6.1 and the table of section 4.2 of the reference.
    start = [10.0 if axis == from_axis else 0.0 for axis in "XYZ"]
    path = motions(f"G21 G90 F100\nG0 X{start[0]} Y{start[1]} Z{start[2]}\n{sense} {from_axis}0 {to_axis}10 R10\nM2\n")
    (row,) = np.flatnonzero(path.is_arc)
    assert path.centre[row].tolist() == pytest.approx([0, 0, 0], abs=1e-9)
    assert abs(path.sweep_deg[row]) == pytest.approx(90)
    assert path.end[row].tolist() == pytest.approx([10.0 if axis == to_axis else 0.0 for axis in "XYZ"])
