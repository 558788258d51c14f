"""Isometries of the plane against their laws, shapely and scipy, and exact decimals.

Marks of sources: P recomputed with Python; definitions need no source.
"""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from flipreg.geometry.isometry import Isometry

Floats = NDArray[np.float64]

LENGTHS = st.decimals(-1000, 1000, places=4)
ANGLES = st.one_of(st.floats(-720, 720), st.sampled_from([0.0, 90.0, -90.0, 180.0, 270.0, 450.0]))


@st.composite
def isometries(draw: st.DrawFn) -> Isometry:
    """Draw a rotation, perhaps after a mirror, then a shift."""
    shift = Isometry.translation(draw(LENGTHS), draw(LENGTHS), draw(LENGTHS))
    turn = Isometry.rotation(draw(ANGLES), about_mm=(draw(LENGTHS), draw(LENGTHS)))
    datum = (draw(LENGTHS), draw(LENGTHS))
    first = draw(st.sampled_from([Isometry(), Isometry.mirror_x(datum_mm=datum), Isometry.mirror_y(datum_mm=datum)]))
    # The Z shift is put in last: drawn only through products, a product that drops it would go unseen.
    return replace(shift @ turn @ first, dz_mm=draw(LENGTHS))


POINTS: st.SearchStrategy[Floats] = st.lists(st.tuples(*[st.floats(-1000, 1000)] * 3), min_size=2, max_size=6).map(
    np.array
)


def pair(x: str, y: str) -> tuple[Decimal, Decimal]:
    return Decimal(x), Decimal(y)


def image(isometry: Isometry, x: float, y: float) -> list[float]:
    point: list[float] = isometry.apply(np.array([[x, y]]))[0].tolist()
    return point


class TestLaws:
    @given(isometries(), POINTS)
    def test_distances_are_kept(self, isometry: Isometry, points: Floats) -> None:
        before = np.linalg.norm(points[1:] - points[:-1], axis=1)
        moved = isometry.apply(points)
        after = np.linalg.norm(moved[1:] - moved[:-1], axis=1)
        assert after.tolist() == pytest.approx(before.tolist(), abs=1e-9)

    @given(isometries(), isometries())
    def test_determinants_multiply(self, outer: Isometry, inner: Isometry) -> None:
        assert (outer @ inner).determinant == outer.determinant * inner.determinant

    @given(isometries(), isometries(), POINTS)
    def test_a_product_applies_the_right_factor_first(self, outer: Isometry, inner: Isometry, points: Floats) -> None:
        expected = outer.apply(inner.apply(points))
        np.testing.assert_allclose((outer @ inner).apply(points), expected, atol=1e-8)

    @given(isometries(), POINTS)
    def test_an_inverse_undoes_from_both_sides(self, isometry: Isometry, points: Floats) -> None:
        np.testing.assert_allclose((~isometry).apply(isometry.apply(points)), points, atol=1e-8)
        np.testing.assert_allclose((isometry @ ~isometry).apply(points), points, atol=1e-8)
        np.testing.assert_allclose((~isometry @ isometry).apply(points), points, atol=1e-8)

    @given(isometries(), POINTS)
    def test_increments_turn_as_differences_of_points_do(self, isometry: Isometry, points: Floats) -> None:
        expected = np.diff(isometry.apply(points), axis=0)
        np.testing.assert_allclose(isometry.turn(np.diff(points, axis=0)), expected, atol=1e-8)

    @given(isometries(), POINTS)
    def test_signed_area_changes_sign_under_a_mirror_only(self, isometry: Isometry, points: Floats) -> None:
        corner = np.concatenate([points[:2], [[3.0, 5.0, 0.0]]])
        (a, b), (c, d) = np.diff(corner, axis=0)[:, :2]
        (e, f), (g, h) = np.diff(isometry.apply(corner), axis=0)[:, :2]
        assert e * h - f * g == pytest.approx(isometry.determinant * (a * d - b * c), abs=1e-6)

    @given(LENGTHS, LENGTHS)
    def test_a_flip_about_a_line_done_twice_is_nothing(self, x: Decimal, y: Decimal) -> None:
        page = Isometry.mirror_x(datum_mm=(x, Decimal(0)))
        end_over_end = Isometry.mirror_y(datum_mm=(Decimal(0), y))
        assert page @ page == Isometry()
        assert end_over_end @ end_over_end == Isometry()

    @given(isometries())
    def test_a_turned_isometry_gives_back_its_angle(self, isometry: Isometry) -> None:
        turn = np.radians(isometry.turn_deg)
        assert image(isometry, 1, 0) == pytest.approx(
            [np.cos(turn) + float(isometry.dx_mm), np.sin(turn) + float(isometry.dy_mm)], abs=1e-9
        )


class TestOutsideLibraries:
    @given(ANGLES, LENGTHS, LENGTHS)
    def test_rotation_agrees_with_shapely_and_scipy(self, turn: float, x: Decimal, y: Decimal) -> None:
        """Oracles: shapely.affinity.rotate about a point; scipy Rotation about +Z."""
        ours = Isometry.rotation(turn, about_mm=(x, y))
        theirs = shapely.affinity.rotate(shapely.Point(7, 3), turn, origin=(float(x), float(y)))
        assert image(ours, 7, 3) == pytest.approx([theirs.x, theirs.y], abs=1e-8)
        matrix = Rotation.from_euler("z", turn, degrees=True).as_matrix()[:2, :2]
        np.testing.assert_allclose(ours.matrix, matrix, atol=1e-12)

    @given(LENGTHS, LENGTHS)
    def test_mirrors_about_a_line_agree_with_shapely(self, x: Decimal, y: Decimal) -> None:
        """Oracle: shapely.affinity.scale by -1 about a point of the line."""
        # Only the datum's doubled distance to the line counts, so the line x = c is the datum (2c, 0).
        about = (float(x), float(y))
        page = Isometry.mirror_x(datum_mm=(2 * x, Decimal(0)))
        theirs = shapely.affinity.scale(shapely.Point(7, 3), xfact=-1, yfact=1, origin=about)
        assert image(page, 7, 3) == pytest.approx([theirs.x, theirs.y], abs=1e-9)
        end_over_end = Isometry.mirror_y(datum_mm=(Decimal(0), 2 * y))
        theirs = shapely.affinity.scale(shapely.Point(7, 3), xfact=1, yfact=-1, origin=about)
        assert image(end_over_end, 7, 3) == pytest.approx([theirs.x, theirs.y], abs=1e-9)

    def test_a_flip_is_the_plan_of_a_half_turn_in_space(self) -> None:
        """Check value R6: the half-turn about X is diag(1, -1, -1), in plan a mirror; oracle: scipy."""
        about_x = Rotation.from_euler("x", 180, degrees=True).as_matrix()
        about_y = Rotation.from_euler("y", 180, degrees=True).as_matrix()
        np.testing.assert_allclose(np.diag([1, -1, -1]), about_x, atol=1e-12)
        np.testing.assert_allclose(Isometry.mirror_y(datum_mm=pair("0", "0")).matrix, about_x[:2, :2], atol=1e-12)
        np.testing.assert_allclose(Isometry.mirror_x(datum_mm=pair("0", "0")).matrix, about_y[:2, :2], atol=1e-12)


class TestCheckValues:
    def test_rotation_by_twelve_degrees(self) -> None:
        """Check value R1 (P): sin 0.207911691, cos 0.978147601; 100 mm gives 97.8148 and 20.7912."""
        ours = Isometry.rotation(12)
        expected = [0.978147601, -0.207911691, 0.207911691, 0.978147601]
        assert ours.matrix.ravel().tolist() == pytest.approx(expected, abs=5e-10)
        assert image(ours, 100, 0) == pytest.approx([97.8148, 20.7912], abs=5e-5)

    def test_mirror_about_a_vertical_line(self) -> None:
        """Check value R6 (definition, P): (10, 5) about x = 50 is (90, 5)."""
        assert image(Isometry.mirror_x(datum_mm=pair("100", "0")), 10, 5) == [90, 5]

    def test_mirror_about_a_slanting_line(self) -> None:
        """Check value R6 (P): (7, 3) about the line through (2, 1) at 30 degrees."""
        there = Isometry.translation(Decimal(2), Decimal(1)) @ Isometry.rotation(30)
        mirror = there @ Isometry.mirror_y(datum_mm=pair("0", "0")) @ ~there
        assert mirror.determinant == -1
        assert image(mirror, 7, 3) == pytest.approx([6.23205081, 4.33012702], abs=5e-9)
        assert image(mirror @ mirror, 7, 3) == pytest.approx([7, 3], abs=1e-12)

    @pytest.mark.parametrize(("turn", "length", "off"), [(0.05, 300, 0.2618), (0.1, 20, 0.0349)])
    def test_small_turns_throw_the_far_end(self, turn: float, length: float, off: float) -> None:
        """Check value R7 (P)."""
        assert image(Isometry.rotation(turn), length, 0)[1] == pytest.approx(off, abs=5e-5)

    def test_the_contracts_datum_formulas(self) -> None:
        """DESIGN section 4: front = (X - x, Y + y) for a page turn, (X + x, Y - y) end over end."""
        datum = pair("120", "15")
        x, y = image(Isometry.mirror_x(datum_mm=datum), 30, 40)
        assert [120 - x, 15 + y] == [30, 40]
        x, y = image(Isometry.mirror_y(datum_mm=datum), 30, 40)
        assert [120 + x, 15 - y] == [30, 40]


class TestExactNumbers:
    def test_a_mirror_of_written_decimals_is_the_decimal_a_person_would_write(self) -> None:
        mirror = Isometry.mirror_x(datum_mm=(2 * Decimal("12.7"), Decimal(0)))
        assert Decimal("25.3") == -Decimal("0.1") + mirror.dx_mm
        assert 2 * 12.7 - 0.1 != 25.3  # what binary floats would have said

    @given(LENGTHS, LENGTHS, LENGTHS, LENGTHS)
    def test_products_and_inverses_of_mirrors_and_quarter_turns_are_exact(
        self, a: Decimal, b: Decimal, c: Decimal, d: Decimal
    ) -> None:
        both = Isometry.mirror_x(datum_mm=(a, b)) @ Isometry.rotation(90, about_mm=(c, d))
        # By hand: the quarter turn about (c, d) is (c + d - y, d - c + x), the mirror (a - x, y - b).
        assert (a - c - d, d - c - b) == (both.dx_mm, both.dy_mm)
        assert both.matrix.tolist() == [[0, 1], [1, 0]]
        assert (~both @ both).dx_mm == 0
        assert (~both @ both).dy_mm == 0

    @pytest.mark.parametrize("quarters", range(-4, 9))
    def test_quarter_turns_have_no_float_dust(self, quarters: int) -> None:
        ours = Isometry.rotation(90 * quarters)
        assert {0.0, 1.0} == {abs(value) for value in ours.matrix.ravel().tolist()}
        assert ours.is_axis_aligned
        assert ours.keeps_axes == (quarters % 2 == 0)

    def test_a_free_turn_is_not_axis_aligned(self) -> None:
        assert not Isometry.rotation(3).is_axis_aligned
        assert not Isometry.rotation(90.000001).is_axis_aligned

    @given(st.sampled_from([0, 90, 180, 270]), LENGTHS)
    def test_equal_maps_built_in_different_ways_compare_equal(self, turn: int, x: Decimal) -> None:
        shift = Isometry.translation(x, Decimal(0))
        quarter = Isometry.rotation(turn)
        assert quarter @ shift == (quarter @ shift @ ~quarter) @ quarter
        assert hash(quarter @ shift) == hash((quarter @ shift @ ~quarter) @ quarter)

    def test_written_zeros_have_no_sign(self) -> None:
        """An exact offset of zero must print as 0, whichever way it was made."""
        made = [
            Isometry.mirror_x(datum_mm=pair("0", "0")),
            ~Isometry(),
            Isometry.rotation(180) @ Isometry.rotation(180),
            Isometry.rotation(90, about_mm=pair("0", "0")),
            ~Isometry.mirror_y(datum_mm=pair("0", "0")),
        ]
        for isometry in made:
            for offset in (isometry.dx_mm, isometry.dy_mm, isometry.dz_mm):
                assert not offset.is_signed(), f"{offset} in {isometry}"

    def test_images_on_the_mirror_line_carry_no_negative_zero(self) -> None:
        moved = Isometry.mirror_x(datum_mm=pair("0", "0")).apply(np.zeros((1, 3)))
        assert np.signbit(moved)[0].tolist() == [False, False, False]


class TestUnknownCoordinates:
    """Before its first X word a program's X is not known: NaN must not spread to what is known."""

    def test_a_mirror_keeps_the_other_coordinate(self) -> None:
        moved = Isometry.mirror_x(datum_mm=pair("10", "0")).apply(np.array([[np.nan, 2, 3]]))
        np.testing.assert_array_equal(moved, [[np.nan, 2, 3]])

    def test_a_quarter_turn_carries_the_unknown_to_the_other_axis(self) -> None:
        moved = Isometry.rotation(90).apply(np.array([[np.nan, 2, 3]]))
        np.testing.assert_array_equal(moved, [[-2, np.nan, 3]])

    def test_a_free_turn_knows_neither_but_keeps_z(self) -> None:
        moved = Isometry.rotation(3).apply(np.array([[np.nan, 2, 3]]))
        np.testing.assert_array_equal(moved, [[np.nan, np.nan, 3]])


class TestRefusals:
    @pytest.mark.parametrize(
        "entries", [(2.0, 0.0, 0.0, 1.0), (1.0, 0.5, 0.0, 1.0), (0.0, 0.0, 0.0, 0.0), (1.0, 0.0, 1.0, 0.0)]
    )
    def test_a_matrix_that_does_not_keep_distances_is_refused(self, entries: tuple[float, float, float, float]) -> None:
        with pytest.raises(ValueError, match="orthogonal"):
            Isometry(*entries)

    def test_numbers_that_are_not_finite_are_refused(self) -> None:
        with pytest.raises(ValueError, match="finite"):
            Isometry(dx_mm=Decimal("nan"))
        with pytest.raises(ValueError, match="finite"):
            Isometry.rotation(float("inf"))


class TestDepth:
    """The Z shift of an isometry, by numbers: the laws hold as well for one that loses it or turns it round."""

    def test_a_shift_moves_points_up_by_its_z(self) -> None:
        moved = Isometry.translation(Decimal(1), Decimal(2), Decimal("3.5")).apply(np.array([[10.0, 20.0, 30.0]]))
        assert moved.tolist() == [[11.0, 22.0, 33.5]]

    def test_products_add_the_z_of_both(self) -> None:
        outer, inner = Isometry(dz_mm=Decimal("1.25")), Isometry(dz_mm=Decimal("0.5"))
        assert (outer @ inner).dz_mm == Decimal("1.75")

    def test_the_inverse_goes_down_where_the_isometry_goes_up(self) -> None:
        assert (~Isometry(dz_mm=Decimal("1.25"))).dz_mm == Decimal("-1.25")

    def test_directions_keep_their_z(self) -> None:
        assert Isometry(dz_mm=Decimal(5)).turn(np.array([[1.0, 2.0, 3.0]])).tolist() == [[1.0, 2.0, 3.0]]
