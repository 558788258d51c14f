import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flipreg.path import Path
from flipreg.rs274.read.habit import Habit
from flipreg.rs274.read.location import ProgramError
from tests.rs274.reading import modes_of, path_of


def arc_after(block: str, *, at: str = "X0 Y0 Z0", head: str = "G21 G17 G90 F100") -> Path:
    return path_of(f"{head} G0 {at}\n{block}\n").take(slice(1, 2))


def error_of(block: str, *, at: str = "X0 Y0 Z0", head: str = "G21 G17 G90") -> tuple[int, str]:
    with pytest.raises(ProgramError) as caught:
        arc_after(block, at=at, head=head)
    assert caught.value.location.line == 2
    return caught.value.location.column, caught.value.message


def test_the_reports_arc_by_centre() -> None:
    # NISTIR 6556, 3.5.3.2: centre and end as printed there; the sweep follows from them.
    arc = arc_after("G2 X10 Y16 I3 J4 Z9", at="X7 Y7 Z9")
    assert arc.centre.tolist() == [[10, 11, 9]]
    assert arc.end.tolist() == [[10, 16, 9]]
    assert arc.sweep_deg[0] == pytest.approx(-180 + math.degrees(math.atan2(3, 4)), abs=1e-9)


def test_the_reports_session_arc_by_radius() -> None:
    # NISTIR 6556, table 10: centre (1.5, 7.8476) is printed there.
    arc = arc_after("G2 X0 R7.01 Z0.5", at="X3 Y1 Z0")
    np.testing.assert_allclose(arc.centre, [[1.5, 7.8476, 0]], atol=5e-5)


@pytest.mark.parametrize(
    ("block", "at", "centre", "sweep"),
    [
        ("G17 G3 X0 Y10 R10", "X10 Y0 Z0", (0, 0, 0), 90),
        ("G18 G2 X0 Z10 R10", "X10 Y0 Z0", (0, 0, 0), -90),
        ("G18 G3 X0 Z10 R10", "X10 Y0 Z0", (10, 0, 10), 90),
        ("G18 G2 X10 Z0 I5 K0", "X0 Y0 Z0", (5, 0, 0), -180),
        ("G18 G3 X10 Z0 I5 K0", "X0 Y0 Z0", (5, 0, 0), 180),
        ("G19 G3 Y0 Z10 R10", "X0 Y10 Z0", (0, 0, 0), 90),
        ("G17 G2 X5 Y5 I2", "X5 Y5 Z0", (7, 5, 0), -360),
        ("G17 G3 X-10 R-10", "X10 Y0 Z0", (0, 0, 0), 180),
    ],
)
def test_arcs_turn_in_the_direction_that_their_plane_gives(
    block: str, at: str, centre: tuple[float, float, float], sweep: float
) -> None:
    # NISTIR 6556, 4.3.6.1: X to Y, Z to X, Y to Z.
    arc = arc_after(block, at=at)
    np.testing.assert_allclose(arc.centre[0], centre, atol=1e-7)
    assert arc.sweep_deg[0] == pytest.approx(sweep, abs=1e-6)


@given(
    st.sampled_from([("G17", "XY", "IJ"), ("G18", "ZX", "KI"), ("G19", "YZ", "JK")]),
    st.sampled_from(["G2", "G3"]),
    st.integers(1, 359),
    st.integers(0, 359),
    st.floats(0.5, 100),
)
def test_turning_the_start_by_the_sweep_leads_to_the_end(
    plane: tuple[str, str, str], code: str, turn: int, direction: int, radius: float
) -> None:
    axes, offsets = plane[1], plane[2]
    sense = 1 if code == "G3" else -1
    u, v = (-radius * f(math.radians(direction)) for f in (math.cos, math.sin))
    angle = math.radians(direction + sense * turn)
    end_u, end_v = u + radius * math.cos(angle), v + radius * math.sin(angle)
    block = f"{plane[0]} {code} {axes[0]}{end_u:.9f} {axes[1]}{end_v:.9f} {offsets[0]}{u:.9f} {offsets[1]}{v:.9f}"
    arc = arc_after(block)
    assert arc.sweep_deg[0] == pytest.approx(sense * turn, abs=1e-5)
    first, second = "XYZ".index(axes[0]), "XYZ".index(axes[1])
    begin = complex(*(arc.start - arc.centre)[0, [first, second]])
    end = complex(*(arc.end - arc.centre)[0, [first, second]])
    turned = begin * np.exp(1j * math.radians(arc.sweep_deg[0]))
    assert abs(turned - end) < 1e-7


def test_a_helix_keeps_its_centre_at_the_height_of_its_start() -> None:
    arc = arc_after("G3 X10 Y0 Z-5 I5", at="X0 Y0 Z3")
    assert arc.centre.tolist() == [[5, 0, 3]]
    assert arc.end.tolist() == [[10, 0, -5]]


def test_offsets_are_increments_in_absolute_distance_mode_too() -> None:
    assert arc_after("G3 X11 I5", at="X1 Y1 Z0").centre.tolist() == [[6, 1, 0]]


def test_with_g90_1_the_centre_is_a_position() -> None:
    assert arc_after("G90.1 G3 X11 I6 J1", at="X1 Y1 Z0").centre.tolist() == [[6, 1, 0]]
    assert arc_after("G91 G90.1 G3 X10 I6 J1", at="X1 Y1 Z0").centre.tolist() == [[6, 1, 0]]
    assert arc_after("G91.1 G3 X11 I5", at="X1 Y1 Z0", head="G90.1").centre.tolist() == [[6, 1, 0]]


def test_radii_may_differ_by_what_usual_machines_take_in_the_programs_units() -> None:
    # Common practice, no source: 0.0127 mm, or 0.0005 in; NISTIR 6556, 3.5.3.2 allows 0.002 mm and 0.0002 in.
    assert len(arc_after("G2 X10 Y0 I5.00635")) == 1
    assert error_of("G2 X10 Y0 I5.00636")[0] == 11
    assert len(arc_after("G2 X10 Y0 I5.00025", head="G20")) == 1
    assert error_of("G2 X10 Y0 I5.00026", head="G20")[0] == 11


@pytest.mark.parametrize(
    ("head", "block", "habit"),
    [
        ("G21", "G2 X10 Y0 I5.0009", None),
        ("G21", "G2 X10 Y0 I5.001", None),
        # Three decimals explain 2 * sqrt(2) * 0.001 mm.
        ("G21", "G2 X10.000 Y0 I5.0013", Habit.UNEQUAL_RADII),
        ("G21", "G2 X10.0026 Y0 I5.000", Habit.UNEQUAL_RADII),
        ("G21", "G2 X10.002 Y0.0 I4.9997", Habit.UNEQUAL_RADII),
        ("G21", "G2 X9.998 Y0.005 I5.0", None),
        ("G21", "G2 X9.9973 Y0 I5", Habit.UNEQUAL_RADII),
        ("G21", "G2 X9.997 Y0 I5", Habit.UNEQUAL_RADII),
        ("G21", "G2 X9 Y3.004 I5.", Habit.ROUNDED_RADII),
        ("G20", "G2 X10 Y0 I5.00009", None),
        ("G20", "G2 X9. Y3.0004 I5", Habit.ROUNDED_RADII),
        ("G20", "G2 X10.0002 Y0 I4.9999", Habit.UNEQUAL_RADII),
        ("G20", "G2 X10.00025 Y0 I5.", Habit.UNEQUAL_RADII),
    ],
)
def test_what_rounding_explains_is_read_and_what_it_does_not_is_noticed(
    head: str, block: str, habit: Habit | None
) -> None:
    modes = modes_of(f"{head} G0 X0 Y0 Z0\n{block}\n")
    assert [each.habit for each in modes.habits] == ([habit] if habit else [])


def test_radii_that_differ_are_both_given_with_what_is_allowed() -> None:
    _, message = error_of("G2 X10 Y0 I5.5")
    assert all(part in message for part in ("5.5000 mm", "4.5000 mm", "0.002 mm"))
    _, message = error_of("G2 X10 Y0 I5.5", head="G20")
    assert all(part in message for part in ("5.50000 in", "4.50000 in", "0.0002 in"))


def test_a_radius_a_little_short_of_half_the_chord_makes_half_a_turn() -> None:
    arc = arc_after("G2 X10 Y0 R4.999")
    assert arc.centre.tolist() == [[5, 0, 0]]
    assert arc.sweep_deg[0] == -180
    column, message = error_of("G2 X10 Y0 R4.99")
    assert column == 11
    assert "4.9900 mm" in message
    assert "5.0000 mm" in message


@pytest.mark.parametrize(
    ("block", "column"),
    [
        ("G2 R1", 4),
        ("G2 Z1 R1", 1),
        ("G2 X1", 1),
        ("X1 Y1 G2", 7),
        ("G18 G2 X1 J1", 11),
        ("G2 X1 R2 I1", 7),
        ("G2 X0 Y0 R2", 10),
        ("G2 X1 Y0 R0", 10),
        ("G2 X1 I.5 K1", 11),
        ("G2 X1 I0", 7),
        ("G90.1 G2 X1 I.5", 13),
    ],
)
def test_an_arc_that_names_no_circle_is_an_error_at_its_word(block: str, column: int) -> None:
    assert column == error_of(block)[0]


def test_a_zero_offset_along_the_normal_is_harmless() -> None:
    assert arc_after("G2 X1 I.5 K0").centre.tolist() == [[0.5, 0, 0]]


def test_an_arc_from_an_unknown_point_is_an_error() -> None:
    for lines in (1, 10):
        with pytest.raises(ProgramError, match="Y is not known") as caught:
            path_of("G90 G0 X1 F1\nG2 X2 Y1 I.5\n", lines=lines)
        assert (caught.value.location.line, caught.value.location.column) == (2, 1)
    with pytest.raises(ProgramError, match="not known"):
        path_of("G91 G2 X2 Y1 I.5\n")


def test_a_known_plane_is_enough_for_an_arc() -> None:
    path = path_of("G0 X0 Y0\nG2 X1 I.5\nG2 X2 I.5 Z-1\n")
    np.testing.assert_array_equal(path.centre[1:], [[0.5, 0, math.nan], [1.5, 0, math.nan]])


def test_arcs_of_different_planes_stand_in_one_chunk() -> None:
    path = path_of("G0 X0 Y0 Z0\nG17 G3 X1 Y1 I1\nG18 G3 X2 Z1 I1\nG19 G3 Y2 Z2 J1\nG1 X0 F1\n")
    assert path.normal.tolist() == [2, 2, 1, 0, 0]
    np.testing.assert_allclose(path.centre[1:4], [[1, 0, 0], [2, 1, 0], [2, 2, 1]])
    assert np.isnan(path.centre[[0, 4]]).all()
    assert path.sweep_deg[[0, 4]].tolist() == [0, 0]
