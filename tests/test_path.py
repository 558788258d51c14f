"""Paths under isometries: transform the motion, transform points sampled from it, compare."""

from dataclasses import fields
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from flipreg.geometry.arc import plane_axes
from flipreg.geometry.isometry import Isometry
from flipreg.path import Compensation, Kind, Path
from tests.every import every
from tests.motions import motions

Floats = NDArray[np.float64]


def make_path(
    kind: NDArray[np.uint8],
    start: Floats,
    end: Floats,
    centre: Floats,
    normal: NDArray[np.uint8],
    sweep: Floats,
) -> Path:
    """Return a path whose other columns differ from row to row, so that a mixed-up row shows."""
    n = len(kind)
    count = np.arange(n)
    sides = [Compensation(k % 3 - 1) for k in range(n)]
    return Path(
        kind=kind,
        start=start,
        end=end,
        centre=centre,
        normal=normal,
        sweep_deg=sweep,
        feed_mm_per_min=np.linspace(100.0, 200.0, n),
        spindle_rpm=np.where(count % 2 == 0, 12000.0, -8000.0) + count,
        tool=count.astype(np.int32),
        compensation=np.array(sides, dtype=np.int8),
        work_offset=(1 + count % 9).astype(np.uint8),
        cycle=np.where(count % 4 == 3, 81, 0).astype(np.uint8),
        line=count.astype(np.int64) * 10 + 7,
    )


def arc_path(normal: int, sweep: float, *, rise: float = 4.0) -> Path:
    """Return one helical arc of radius 5 about an off-centre point, starting at an odd angle."""
    return arcs([(normal, (11.0, -7.0, 3.0), 5.0, 25.0, sweep, rise)])


def arcs(given_arcs: list[tuple[int, tuple[float, float, float], float, float, float, float]]) -> Path:
    """Return helical arcs from (normal, centre, radius, starting angle, sweep, rise)."""
    n = len(given_arcs)
    start, end, centre = np.empty((n, 3)), np.empty((n, 3)), np.empty((n, 3))
    for k, (normal, middle, radius, angle, sweep, rise) in enumerate(given_arcs):
        centre[k] = middle
        for point, turned, height in ((start, angle, 0.0), (end, angle + sweep, rise)):
            point[k, (normal + 1) % 3] = middle[(normal + 1) % 3] + radius * np.cos(np.radians(turned))
            point[k, (normal + 2) % 3] = middle[(normal + 2) % 3] + radius * np.sin(np.radians(turned))
            point[k, normal] = middle[normal] + height
    return make_path(
        kind=np.full(n, Kind.ARC, dtype=np.uint8),
        start=start,
        end=end,
        centre=centre,
        normal=np.array([arc[0] for arc in given_arcs], dtype=np.uint8),
        sweep=np.array([arc[4] for arc in given_arcs], dtype=np.float64),
    )


def sampled(path: Path, fraction: float) -> Floats:
    """Return where each motion is at a fraction of it, shape (n, 3), from the columns' documented meaning.

    By Rodrigues' formula in space and nothing from the package but the order of axes.
    """
    along = path.start + fraction * (path.end - path.start)
    first, second = plane_axes(path.normal)
    n = np.arange(len(path))
    axis = np.eye(3)[path.normal]
    spoke = path.start - path.centre
    angle = np.radians(path.sweep_deg * fraction)[:, np.newaxis]
    turned = (
        spoke * np.cos(angle)
        + np.cross(axis, spoke) * np.sin(angle)
        + axis * (axis * spoke).sum(axis=1)[:, np.newaxis] * (1 - np.cos(angle))
    )
    on_arc = along.copy()
    on_arc[n, first] = path.centre[n, first] + turned[n, first]
    on_arc[n, second] = path.centre[n, second] + turned[n, second]
    return np.where(path.is_arc[:, np.newaxis], on_arc, along)


def assert_square_closes(path: Path, isometry: Isometry) -> None:
    moved = path.transformed(isometry)
    for fraction in (0.0, 0.2, 0.5, 0.83, 1.0):
        expected = isometry.apply(sampled(path, fraction))
        np.testing.assert_allclose(sampled(moved, fraction), expected, atol=1e-8)
    np.testing.assert_allclose(moved.end, isometry.apply(path.end), atol=1e-9)


DATUM = (Decimal("81.5"), Decimal("-12.25"))
FLIPS = {
    "as it is": Isometry(),
    "turned like a page": Isometry.mirror_x(datum_mm=DATUM),
    "end over end": Isometry.mirror_y(datum_mm=DATUM),
}
AXIS_ALIGNED = [
    Isometry.translation(Decimal("3.5"), Decimal(-2), Decimal("1.25")) @ Isometry.rotation(turn) @ flip
    for flip in FLIPS.values()
    for turn in (0, 90, 180, 270)
]


class TestArcs:
    @every("isometry", AXIS_ALIGNED)
    @every("sweep", [90.0, -90.0, 250.0, -250.0, 360.0, -360.0])
    @every("normal", [0, 1, 2])
    def test_an_arc_of_any_plane_moves_as_its_points_do(self, normal: int, sweep: float, isometry: Isometry) -> None:
        assert_square_closes(arc_path(normal, sweep), isometry)

    @pytest.mark.parametrize("flip", FLIPS.values(), ids=FLIPS.keys())
    @pytest.mark.parametrize("sweep", [90.0, -250.0, 360.0])
    def test_a_flat_arc_moves_as_its_points_do_under_any_turn(self, sweep: float, flip: Isometry) -> None:
        assert_square_closes(arc_path(2, sweep), Isometry.rotation(3.7) @ flip)

    @pytest.mark.parametrize(
        ("isometry", "normals", "directions"),
        [
            (FLIPS["turned like a page"], [0, 1, 2], [1, -1, -1]),
            (FLIPS["end over end"], [0, 1, 2], [-1, 1, -1]),
            (Isometry.rotation(90), [1, 0, 2], [1, -1, 1]),
            (Isometry.rotation(180), [0, 1, 2], [-1, -1, 1]),
        ],
    )
    def test_planes_and_directions_are_those_worked_out_by_hand(
        self, isometry: Isometry, normals: list[int], directions: list[int]
    ) -> None:
        """From the axis orders of NISTIR 6556, section 3.5.3.2; derived, no source.

        Example: x -> -x leaves y and z, so a YZ arc keeps its direction, and in ZX and XY one axis of two turns
        round. A quarter turn takes y to -x: a YZ arc, y towards z, goes from -x towards z, that is
        from z towards x.
        """
        moved = arcs([(n, (0.0, 0.0, 0.0), 5.0, 0.0, 90.0, 0.0) for n in (0, 1, 2)]).transformed(isometry)
        assert moved.normal.tolist() == normals
        assert moved.sweep_deg.tolist() == [90.0 * direction for direction in directions]

    @given(
        st.lists(
            st.tuples(
                st.integers(0, 2),
                st.tuples(*[st.floats(-200, 200)] * 3),
                st.floats(0.01, 200),
                st.floats(0, 360),
                st.one_of(st.floats(0.01, 360), st.floats(-360, -0.01)),
                st.floats(-20, 20),
            ),
            min_size=1,
            max_size=5,
        ),
        st.sampled_from(list(FLIPS.values())),
        st.one_of(st.sampled_from([0.0, 90.0, 180.0, 270.0]), st.floats(-180, 180)),
        st.tuples(*[st.decimals(-500, 500, places=4)] * 3),
    )
    def test_transformed_arcs_are_the_arcs_through_transformed_points(
        self,
        drawn: list[tuple[int, tuple[float, float, float], float, float, float, float]],
        flip: Isometry,
        turn: float,
        shift: tuple[Decimal, Decimal, Decimal],
    ) -> None:
        isometry = Isometry.translation(*shift) @ Isometry.rotation(turn) @ flip
        if not isometry.is_axis_aligned:
            drawn = [(2, *rest) for _, *rest in drawn]  # type: ignore[misc]
        assert_square_closes(arcs(drawn), isometry)

    @pytest.mark.parametrize("normal", [0, 1])
    def test_an_upright_arc_turned_by_a_free_angle_is_refused_with_its_line(self, normal: int) -> None:
        flat_and_upright = Path.concatenate([arc_path(2, 90), arc_path(normal, 90)])
        with pytest.raises(ValueError, match=r"line 7: .*cannot be turned by this angle"):
            flat_and_upright.transformed(Isometry.rotation(3))

    def test_the_line_named_is_that_of_the_first_upright_arc(self) -> None:
        mixed = arcs([(n, (0.0, 0.0, 0.0), 5.0, 0.0, 90.0, 0.0) for n in (2, 2, 1, 0)])
        with pytest.raises(ValueError, match="line 27: "):
            mixed.transformed(Isometry.rotation(3))


class TestWholePaths:
    def straight(self) -> Path:
        start = np.array([[np.nan, np.nan, 5.0], [1.0, 2.0, 5.0], [1.0, 2.0, -3.0], [4.0, 2.0, -3.0]])
        end = np.array([[1.0, 2.0, 5.0], [1.0, 2.0, -3.0], [4.0, 2.0, -3.0], [4.0, np.nan, -3.0]])
        return make_path(
            kind=np.array([Kind.RAPID, Kind.LINE, Kind.LINE, Kind.RAPID], dtype=np.uint8),
            start=start,
            end=end,
            centre=np.full((4, 3), np.nan),
            normal=np.array([2, 1, 0, 2], dtype=np.uint8),
            sweep=np.zeros(4),
        )

    @every("isometry", AXIS_ALIGNED)
    def test_straight_motions_move_as_their_points_do_and_keep_what_is_unknown(self, isometry: Isometry) -> None:
        moved = self.straight().transformed(isometry)
        np.testing.assert_allclose(moved.start, isometry.apply(self.straight().start))
        np.testing.assert_allclose(moved.end, isometry.apply(self.straight().end))
        assert moved.sweep_deg.tolist() == [0, 0, 0, 0]
        assert np.isnan(moved.centre).all()

    def test_straight_motions_in_any_plane_may_be_turned_freely(self) -> None:
        moved = self.straight().transformed(Isometry.rotation(3))
        np.testing.assert_allclose(moved.end[1], Isometry.rotation(3).apply(np.array([[1.0, 2.0, -3.0]]))[0])
        assert moved.normal.tolist() == [2, 1, 0, 2]

    def test_compensation_changes_side_under_a_mirror_and_stays_under_a_turn(self) -> None:
        path = self.straight()
        assert path.compensation.tolist() == [-1, 0, 1, -1]
        assert path.transformed(FLIPS["end over end"]).compensation.tolist() == [1, 0, -1, 1]
        assert path.transformed(Isometry.rotation(180)).compensation.tolist() == [-1, 0, 1, -1]

    def test_what_is_no_geometry_stays_row_by_row(self) -> None:
        path = Path.concatenate([self.straight(), arc_path(2, 90)])
        moved = path.transformed(FLIPS["turned like a page"])
        for name in ("kind", "feed_mm_per_min", "spindle_rpm", "tool", "work_offset", "cycle", "line"):
            assert getattr(path, name).tolist() == getattr(moved, name).tolist(), name

    def test_column_types_survive_a_transform(self) -> None:
        path = self.straight()
        moved = path.transformed(FLIPS["turned like a page"])
        for field in fields(Path):
            assert getattr(path, field.name).dtype == getattr(moved, field.name).dtype, field.name

    def test_mirroring_twice_gives_the_path_back(self) -> None:
        flip = Isometry.mirror_x(datum_mm=(Decimal("81.5"), Decimal(0)))
        path = Path.concatenate([arc_path(n, -250) for n in (0, 1, 2)])
        twice = path.transformed(flip).transformed(flip)
        for name in ("start", "end", "centre", "normal", "sweep_deg", "compensation"):
            np.testing.assert_allclose(getattr(twice, name), getattr(path, name), atol=1e-12, err_msg=name)


class TestColumns:
    def test_columns_are_read_only(self) -> None:
        path = arc_path(2, 90)
        with pytest.raises(ValueError, match="read-only"):
            path.end[0, 0] = 1.0

    def test_a_column_of_another_length_is_refused_by_name(self) -> None:
        whole = arc_path(2, 90)
        columns = {field.name: getattr(whole, field.name) for field in fields(Path)}
        columns["tool"] = np.zeros(2, dtype=np.int32)
        with pytest.raises(ValueError, match=r"tool has shape \(2,\), expected \(1,\)"):
            Path(**columns)

    def test_cuts_and_arcs_are_told_apart(self) -> None:
        path = Path.concatenate([TestWholePaths().straight(), arc_path(2, 90)])
        assert path.is_cut.tolist() == [False, True, True, False, True]
        assert path.is_arc.tolist() == [False, False, False, False, True]

    def test_taken_rows_keep_their_order(self) -> None:
        path = TestWholePaths().straight()
        assert path.take(np.array([2, 0])).line.tolist() == [27, 7]
        assert path.take(path.is_cut).tool.tolist() == [1, 2]
        assert path.take(slice(1, 3)).tool.tolist() == [1, 2]

    def test_an_empty_path_can_be_joined_and_transformed(self) -> None:
        path = arc_path(2, 90)
        joined = Path.concatenate([Path.empty(), path])
        for field in fields(Path):
            assert getattr(joined, field.name).dtype == getattr(path, field.name).dtype, field.name
        assert len(joined) == 1
        assert len(Path.empty().transformed(Isometry.rotation(3))) == 0


def test_straight_motions_keep_the_plane_in_force_under_a_free_rotation() -> None:
    # 50 degrees brings the normal of the YZ plane nearer to Y than to X; a line has no plane to be turned.
    text = "G21 G90 G19\nG0 X1 Y2 Z3\nG18 X2\nG17 X3\n"
    path = motions(text)
    assert path.transformed(Isometry.rotation(50.0)).normal.tolist() == [0, 1, 2]


class TestBounds:
    """Lowest and highest of each motion, and of all."""

    # From nowhere up to Z 5, across, a half circle in XY over the top, a quarter in ZX below its ends.
    PROGRAM = "G21 G90 G17\nG0 Z5\nX10 Y0\nG1 Z-1 F100\nG3 X-10 I-10\nG18 G2 X-8 Z1 K2\nM2\n"

    def test_an_arc_counts_with_what_it_reaches_beyond_its_ends(self) -> None:
        path = motions(self.PROGRAM)
        low, high = path.bounds_mm()
        assert low[3].tolist() == pytest.approx([-10, 0, -1])
        assert high[3].tolist() == pytest.approx([10, 10, -1])

    def test_a_coordinate_that_one_end_has_counts_and_one_that_neither_has_is_unknown(self) -> None:
        low, high = motions(self.PROGRAM).bounds_mm()
        np.testing.assert_array_equal(low[0], [np.nan, np.nan, 5])
        assert (low[1].tolist(), high[1].tolist()) == ([10, 0, 5], [10, 0, 5])

    def test_extents_are_the_bounds_of_all_motions(self) -> None:
        path = motions(self.PROGRAM)
        low, high = path.bounds_mm()
        all_low, all_high = path.extents_mm()
        np.testing.assert_array_equal(all_low, np.nanmin(low, axis=0))
        np.testing.assert_array_equal(all_high, np.nanmax(high, axis=0))
        assert all_high.tolist() == pytest.approx([10, 10, 5])

    def test_no_motion_has_no_extents(self) -> None:
        assert np.isnan(np.stack(Path.empty().extents_mm())).all()


def test_rows_are_the_same_by_a_mask_by_their_numbers_and_as_a_slice() -> None:
    path = motions("G21 G90\nG0 X0 Y0 Z5\nG1 Z-1 F300\nG2 X2 Y0 I1 J0\nG1 X7 F200\n")
    taken = [path.take(rows) for rows in (np.array([False, True, True, False]), np.array([1, 2]), slice(1, 3))]
    assert [each.line.tolist() for each in taken] == [[3, 4]] * 3
    for name in ("kind", "start", "end", "centre", "sweep_deg", "feed_mm_per_min"):
        for other in taken[1:]:
            np.testing.assert_array_equal(getattr(taken[0], name), getattr(other, name))
