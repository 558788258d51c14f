"""Arcs against printed examples, outside libraries and sampled points.

Marks of sources: S read in the source, R read in a secondary source, P recomputed, D derived from the
standard's rules, M from memory.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from flipreg.geometry.arc import (
    arc_bounds,
    arc_length,
    arc_points,
    centre_from_radius,
    plane_axes,
    sweep_deg,
)

Floats = NDArray[np.float64]


def column(*values: float) -> Floats:
    return np.array(values, dtype=np.float64)


def rows(*points: tuple[float, ...]) -> Floats:
    return np.array(points, dtype=np.float64)


def sense(*turns: str) -> NDArray[np.bool_]:
    return np.array([turn == "G3" for turn in turns], dtype=np.bool_)


TURNS = st.sampled_from(["G2", "G3"])


@dataclass(frozen=True)
class Arc:
    """One arc in its plane's own axes; the R word, 0 for centre format, is the example's."""

    name: str
    start: tuple[float, float]
    end: tuple[float, float]
    centre: tuple[float, float]
    r: float
    turn: str
    sweep_deg: float

    def __str__(self) -> str:
        return self.name


# Worked examples of NISTIR 6556, section 3.5.3, and arcs derived from its rules.
NIST_ARCS = [
    Arc("A1, R, sweep P", (7, 7), (10, 16), (10, 11), 0, "G2", -143.1301),
    Arc("A2b, D", (0, 0), (10, 15), (19.8551, -2.4034), 20, "G2", -53.5764),
    Arc("A2c, D", (0, 0), (10, 15), (-9.8551, 17.4034), 20, "G3", 53.5764),
    Arc("A2d, D", (0, 0), (10, 15), (-9.8551, 17.4034), -20, "G2", -306.4236),
    Arc("A2e, D", (0, 0), (10, 15), (19.8551, -2.4034), -20, "G3", 306.4236),
    Arc("A3, Table 10, R, sweep P", (3, 1), (0, 1), (1.5, 7.8476), 7.01, "G2", -24.7114),
    Arc("A4, D", (10, 0), (0, 10), (0, 0), 10, "G3", 90),
    Arc("A5 in (z, x), D", (0, 10), (10, 0), (0, 0), 10, "G2", -90),
    Arc("A6 in (z, x), D", (0, 10), (10, 0), (10, 10), 10, "G3", 90),
    Arc("A7 in (z, x), D", (0, 0), (0, 10), (0, 5), 0, "G2", -180),
    Arc("A8 in (z, x), D", (0, 0), (0, 10), (0, 5), 0, "G3", 180),
    Arc("A9 in (y, z), D", (10, 0), (0, 10), (0, 0), 10, "G3", 90),
    Arc("A14, rule printed, D", (5, 5), (5, 5), (7, 5), 0, "G2", -360),
]


class TestPublishedExamples:
    @pytest.mark.parametrize("arc", NIST_ARCS, ids=str)
    def test_sweep_is_as_in_nistir_6556(self, arc: Arc) -> None:
        got = sweep_deg(rows(arc.start), rows(arc.end), rows(arc.centre), sense(arc.turn))
        # The printed centres have four decimals.
        assert got.tolist() == pytest.approx([arc.sweep_deg], abs=2e-4)

    @pytest.mark.parametrize("arc", [arc for arc in NIST_ARCS if arc.r], ids=str)
    def test_centre_of_radius_format_is_as_in_nistir_6556(self, arc: Arc) -> None:
        got = centre_from_radius(rows(arc.start), rows(arc.end), column(arc.r), sense(arc.turn), slack_mm=0.0)
        assert got[0].tolist() == pytest.approx(list(arc.centre), abs=6e-5)

    def test_the_reports_helix_has_its_lengths(self) -> None:
        """NISTIR 6556, section 3.5.3.2, A1b: from (7,7,0), lengths P."""
        got = arc_length(column(5, 5), column(-143.1301, -143.1301), column(0, 9))
        assert got.tolist() == pytest.approx([12.490458, 15.395179], abs=1e-6)

    def test_extremes_of_the_zx_half_circles_are_at_their_quadrant_points(self) -> None:
        """NISTIR 6556 A7 and A8 (D): G2 dips to z-5, G3 rises to z+5; axes (z, x)."""
        start, end, centre = rows((0, 0), (0, 0)), rows((0, 10), (0, 10)), rows((0, 5), (0, 5))
        got = arc_bounds(start, end, centre, column(-180, 180))
        assert got.tolist() == [[-5, 0, 0, 10], [0, 0, 5, 10]]

    def test_chord_longer_than_the_diameter_has_no_centre(self) -> None:
        """NISTIR 6556 A10 (D): chord 18.0278 needs R 9.0139."""
        start, end = rows((0, 0), (0, 0)), rows((10, 15), (10, 15))
        got = centre_from_radius(start, end, column(9, 9.0139), sense("G2", "G2"), slack_mm=0.001)
        assert np.isnan(got[0]).all()
        assert got[1].tolist() == pytest.approx([5, 7.5], abs=0.02)

    def test_radius_format_is_as_sensitive_as_the_standard_warns(self) -> None:
        """NISTIR 6556 A13 (D): R10 with chord 20 against 19.999 moves the centre by 0.1000."""
        start, end = rows((0, 0), (0, 0)), rows((20, 0), (19.999, 0))
        got = centre_from_radius(start, end, column(10, 10), sense("G3", "G3"), slack_mm=0.0)
        assert got[:, 1].tolist() == pytest.approx([0.0, 0.1000], abs=5e-5)

    def test_half_a_turn_in_inches_is_half_a_turn_in_millimetres(self) -> None:
        start, end = rows((-0.3125 * 25.4, 2.375 * 25.4)), rows((-0.3125 * 25.4, 2.875 * 25.4))
        got = centre_from_radius(start, end, column(0.25 * 25.4), sense("G3"), slack_mm=0.0)
        assert sweep_deg(start, end, got, sense("G3")).tolist() == pytest.approx([180.0], abs=1e-9)

    def test_short_and_long_arc_of_one_radius(self) -> None:
        """Check value A2 (P, svgpathtools 1.8.0)."""
        start, end = rows((0, 0), (0, 0)), rows((10, 10), (10, 10))
        both = sense("G3", "G3")
        centre = centre_from_radius(start, end, column(10, -10), both, slack_mm=0.0)
        sweep = sweep_deg(start, end, centre, both)
        assert centre.ravel().tolist() == pytest.approx([0, 10, 10, 0], abs=1e-12)
        assert sweep.tolist() == pytest.approx([90, 270], abs=1e-12)
        length = arc_length(column(10, 10), sweep, column(0, 0))
        assert length.tolist() == pytest.approx([15.707963, 47.123890], abs=5e-7)

    @pytest.mark.parametrize(
        ("angle_deg", "chord", "height", "length"),
        [
            (118.97953, 21, 6, 25.308373),
            (45, 0.97449536, 0.096919589, 1),
        ],
    )
    def test_segment_has_the_printed_rise_and_chord(
        self, angle_deg: float, chord: float, height: float, length: float
    ) -> None:
        """Check value A1: formulas Machinery's Handbook 31st ed. p. 83 (S), numbers S in a tutor's page."""
        radius = (chord**2 + 4 * height**2) / (8 * height)
        start, centre = rows((radius, 0)), rows((0, 0))
        end = arc_points(start, centre, column(angle_deg), column(1))
        middle = arc_points(start, centre, column(angle_deg), column(0.5))
        assert float(np.hypot(*(end - start)[0])) == pytest.approx(chord, rel=1e-7)
        assert float(np.hypot(*(middle - (start + end) / 2)[0])) == pytest.approx(height, rel=1e-6)
        assert arc_length(column(radius), column(angle_deg), column(0))[0] == pytest.approx(length, rel=1e-7)

    def test_helix_lengths(self) -> None:
        """Check value A4 (P)."""
        assert 5 * arc_length(column(10), column(360), column(3))[0] == pytest.approx(314.517160, abs=5e-7)
        assert arc_length(column(10), column(-90), column(-3))[0] == pytest.approx(15.991876, abs=5e-7)


class TestOutsideLibraries:
    @pytest.mark.parametrize("bulge", [1.0, 0.5, 0.414214, -0.414214, -0.5, 0.05, 2.0, -3.0])
    def test_centre_and_sweep_agree_with_ezdxf_bulge(self, bulge: float) -> None:
        """Check value A3, DXF bulge = tan(angle/4), negative clockwise (S); oracle: ezdxf.math."""
        # Both libraries take a second to load, which other test processes needn't.
        import ezdxf.math

        centre, _, _, radius = ezdxf.math.bulge_to_arc((0, 0), (10, 0), bulge)
        start, end, turn = rows((0, 0)), rows((10, 0)), np.array([bulge > 0])
        sweep = sweep_deg(start, end, rows((centre.x, centre.y)), turn)
        assert sweep[0] == pytest.approx(np.degrees(4 * np.arctan(bulge)), abs=1e-9)
        signed = column(radius if abs(bulge) <= 1 else -radius)
        got = centre_from_radius(start, end, signed, turn, slack_mm=1e-9)
        assert got[0].tolist() == pytest.approx([centre.x, centre.y], abs=1e-6)

    @given(
        st.tuples(st.floats(-500, 500), st.floats(-500, 500)),
        st.floats(1.01, 20),
        st.sampled_from([-1, 1]),
        TURNS,
        st.floats(0, 360),
    )
    def test_radius_format_agrees_with_svgpathtools(
        self, start: tuple[float, float], ratio: float, sign: int, turn: str, direction: float
    ) -> None:
        """Oracle: svgpathtools.Arc. In a right-handed frame its sweep flag 1 turns counter-clockwise."""
        import svgpathtools

        chord = 10 * np.exp(1j * np.radians(direction))
        radius = 5 * ratio
        flags = (sign < 0, turn == "G3")
        svg = svgpathtools.Arc(complex(*start), complex(radius, radius), 0, *flags, complex(*start) + chord)
        begin, end = rows(start), rows((start[0] + chord.real, start[1] + chord.imag))
        centre = centre_from_radius(begin, end, column(sign * radius), sense(turn), slack_mm=0.0)
        assert centre[0].tolist() == pytest.approx([svg.center.real, svg.center.imag], abs=1e-6)
        sweep = sweep_deg(begin, end, centre, sense(turn))
        assert sweep[0] == pytest.approx(svg.delta, abs=1e-6)
        low_x, high_x, low_y, high_y = svg.bbox()
        box = arc_bounds(begin, end, centre, sweep)
        assert box[0].tolist() == pytest.approx([low_x, low_y, high_x, high_y], abs=1e-6)
        middle = arc_points(begin, centre, sweep, column(0.3))
        expected = svg.point(0.3)
        assert middle[0].tolist() == pytest.approx([expected.real, expected.imag], abs=1e-6)


class TestSweep:
    def test_ends_equal_within_a_nanometre_make_a_full_turn(self) -> None:
        start, centre = rows((10, 0), (10, 0)), rows((0, 0), (0, 0))
        end = rows((10, 5e-10), (10, -5e-10))
        assert sweep_deg(start, end, centre, sense("G3", "G3")).tolist() == [360, 360]
        assert sweep_deg(start, end, centre, sense("G2", "G2")).tolist() == [-360, -360]

    def test_a_short_step_is_short_one_way_and_nearly_a_full_turn_the_other(self) -> None:
        start, end, centre = rows((10, 0)), rows((10, 0.001)), rows((0, 0))
        step = float(np.degrees(0.0001))
        assert sweep_deg(start, end, centre, sense("G3"))[0] == pytest.approx(step, rel=1e-6)
        assert sweep_deg(start, end, centre, sense("G2"))[0] == pytest.approx(step - 360, rel=1e-12)

    @pytest.mark.parametrize("step_mm", [1e-3, 1e-5, 1e-8])
    def test_a_step_backwards_is_nearly_a_full_turn_however_small(self, step_mm: float) -> None:
        start, end, centre = rows((0, -10)), rows((-step_mm, -10)), rows((0, 0))
        expected = 360 - float(np.degrees(np.arctan(step_mm / 10)))
        assert sweep_deg(start, end, centre, sense("G3"))[0] == pytest.approx(expected, abs=1e-12)

    def test_half_a_turn_keeps_the_direction_asked_for_whatever_the_sign_of_zero(self) -> None:
        start, centre = rows((5, 0.0), (5, -0.0), (5, 0.0)), rows((0, 0.0), (0, 0.0), (0, 0.0))
        end = rows((-5, 0.0), (-5, 0.0), (-5, -0.0))
        assert sweep_deg(start, end, centre, sense("G3", "G3", "G3")).tolist() == [180, 180, 180]
        assert sweep_deg(start, end, centre, sense("G2", "G2", "G2")).tolist() == [-180, -180, -180]

    @given(st.floats(0, 360), st.sampled_from([1.0, 57.3, 1000.0]))
    def test_float_noise_does_not_decide_between_no_turn_and_a_full_one(self, direction: float, radius: float) -> None:
        """Start and end in one direction, 0.001 mm apart along it: the same answer at every angle."""
        unit = np.array([[np.cos(np.radians(direction)), np.sin(np.radians(direction))]])
        centre = rows((123.456, -78.9))
        start, end = centre + radius * unit, centre + (radius + 0.001) * unit
        assert sweep_deg(start, end, centre, sense("G3")).tolist() == [360]
        assert sweep_deg(end, start, centre, sense("G2")).tolist() == [-360]

    def test_no_rows_give_no_rows(self) -> None:
        nothing = np.empty((0, 2))
        assert sweep_deg(nothing, nothing, nothing, sense()).shape == (0,)
        assert centre_from_radius(nothing, nothing, column(), sense(), slack_mm=0.0).shape == (0, 2)
        assert arc_bounds(nothing, nothing, nothing, column()).shape == (0, 4)


class TestCentreFromRadius:
    def test_within_the_slack_the_centre_is_the_middle_of_the_chord(self) -> None:
        start, end = rows((0, 0), (0, 0)), rows((20.0015, 0), (20.0025, 0))
        slack = column(0.002, 0.002)
        got = centre_from_radius(start, end, column(10, -10), sense("G2", "G2"), slack_mm=slack)
        assert got[0].tolist() == pytest.approx([10.00075, 0], abs=1e-12)
        assert np.isnan(got[1]).all()

    def test_equal_start_and_end_name_no_circle(self) -> None:
        """NISTIR 6556 A15 (D): an error in radius format."""
        got = centre_from_radius(rows((5, 5)), rows((5, 5)), column(2), sense("G2"), slack_mm=0.002)
        assert np.isnan(got).all()


class TestBounds:
    @given(st.floats(0, 360), st.floats(1, 360), TURNS, st.floats(0.1, 300))
    def test_box_is_the_box_of_points_on_the_arc(self, begin: float, extent: float, turn: str, radius: float) -> None:
        centre = rows((12.5, -40))
        start = arc_points(centre + rows((radius, 0)), centre, column(begin), column(1))
        sweep = column(extent if turn == "G3" else -extent)
        end = arc_points(start, centre, sweep, column(1))
        many = np.linspace(0, 1, 2001)
        n = len(many)
        samples = arc_points(np.repeat(start, n, 0), np.repeat(centre, n, 0), np.repeat(sweep, n), many)
        box = arc_bounds(start, end, centre, sweep)[0]
        expected = [*samples.min(axis=0).tolist(), *samples.max(axis=0).tolist()]
        assert box.tolist() == pytest.approx(expected, abs=radius * 2e-6)
        assert (box[:2] <= samples.min(axis=0) + 1e-9).all()
        assert (box[2:] >= samples.max(axis=0) - 1e-9).all()

    def test_full_circle_reaches_every_quadrant_exactly(self) -> None:
        got = arc_bounds(rows((3, 4)), rows((3, 4)), rows((0, 0)), column(-360))
        assert got.tolist() == [[-5, -5, 5, 5]]


def test_planes_are_named_as_the_standard_orders_their_axes() -> None:
    """NISTIR 6556, section 3.5.3.2 (R): XY, ZX and YZ, in these orders."""
    first, second = plane_axes(np.array([0, 1, 2], dtype=np.uint8))
    assert first.tolist() == [1, 2, 0]
    assert second.tolist() == [2, 0, 1]
