"""Poses in space against their laws, scipy, pytransform3d and printed angles.

Marks of sources: S read in the source's own text, P recomputed with Python, M from memory; definitions need no source.
"""

from math import acos, atan, atan2, cos, degrees, hypot, radians, sin, sqrt, tan
from typing import Literal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from pytransform3d.transformations import concat, invert_transform, transform, transform_from, vectors_to_points
from scipy.spatial.transform import Rotation

from flipreg.geometry.pose import Pose

Floats = NDArray[np.float64]
Axis = Literal["x", "y", "z"]

LENGTHS = st.floats(-2000, 2000)
ANGLES = st.one_of(st.floats(-720, 720), st.sampled_from([0.0, 90.0, -90.0, 180.0, 270.0, 450.0]))
AXES: st.SearchStrategy[Axis] = st.sampled_from(["x", "y", "z"])
POINTS: st.SearchStrategy[Floats] = st.lists(st.tuples(*[st.floats(-1000, 1000)] * 3), min_size=2, max_size=5).map(
    np.array
)


@st.composite
def poses(draw: st.DrawFn) -> Pose:
    """Draw a few rotations about lines somewhere, and a shift."""
    pose = Pose.translation(draw(LENGTHS), draw(LENGTHS), draw(LENGTHS))
    for _ in range(draw(st.integers(1, 3))):
        about = (draw(LENGTHS), draw(LENGTHS), draw(LENGTHS))
        pose = Pose.rotation(draw(AXES), draw(ANGLES), about_mm=about) @ pose
    return pose


def homogeneous(pose: Pose) -> Floats:
    """Return a pose as pytransform3d has it."""
    return np.asarray(transform_from(pose.matrix, np.array(pose.offset_mm)))


class TestLaws:
    @given(poses(), POINTS)
    def test_distances_are_kept(self, pose: Pose, points: Floats) -> None:
        before = np.linalg.norm(points[1:] - points[:-1], axis=1)
        moved = pose.apply(points)
        assert np.linalg.norm(moved[1:] - moved[:-1], axis=1).tolist() == pytest.approx(before.tolist(), abs=1e-8)

    @given(poses())
    def test_handedness_is_kept(self, pose: Pose) -> None:
        x, y, z = pose.turn(np.eye(3))
        assert np.cross(x, y).tolist() == pytest.approx(z.tolist(), abs=1e-9)

    @given(poses(), POINTS)
    def test_the_inverse_undoes_it_on_either_side(self, pose: Pose, points: Floats) -> None:
        for there_and_back in (~pose @ pose, pose @ ~pose):
            assert np.abs(there_and_back.apply(points) - points).max() < 1e-8

    @given(poses(), poses(), POINTS)
    def test_a_product_applies_the_right_factor_first(self, outer: Pose, inner: Pose, points: Floats) -> None:
        expected = outer.apply(inner.apply(points))
        assert np.abs((outer @ inner).apply(points) - expected).max() < 1e-7

    @given(poses())
    def test_a_pose_differs_by_nothing_from_itself(self, pose: Pose) -> None:
        assert pose.differs_by(pose) == pytest.approx((0.0, 0.0), abs=1e-6)

    def test_directions_are_not_shifted(self) -> None:
        pose = Pose.translation(10.0, 20.0, 30.0)
        assert pose.turn(np.array([[1.0, 2.0, 3.0]])).tolist() == [[1.0, 2.0, 3.0]]


class TestConstruction:
    def test_a_mirror_is_refused(self) -> None:
        with pytest.raises(ValueError, match="cannot mirror"):
            Pose(((-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)))

    def test_a_scaling_is_refused(self) -> None:
        with pytest.raises(ValueError, match="orthogonal"):
            Pose(((25.4, 0.0, 0.0), (0.0, 25.4, 0.0), (0.0, 0.0, 25.4)))

    @pytest.mark.parametrize("offset_mm", [(float("nan"), 0.0, 0.0), (0.0, 0.0, float("inf"))])
    def test_numbers_that_are_not_finite_are_refused(self, offset_mm: tuple[float, float, float]) -> None:
        with pytest.raises(ValueError, match="finite"):
            Pose(offset_mm=offset_mm)

    def test_an_angle_that_is_not_finite_is_refused(self) -> None:
        with pytest.raises(ValueError, match="finite angle"):
            Pose.rotation("x", float("inf"))

    @pytest.mark.parametrize("axis", ["x", "y", "z"])
    def test_right_angles_are_exact(self, axis: Axis) -> None:
        entries = {abs(entry) for row in Pose.rotation(axis, 270.0, about_mm=(1.0, 2.0, 3.0)).rows for entry in row}
        assert entries == {0.0, 1.0}

    def test_half_turns_about_x_and_y_are_the_flips_of_a_blank(self) -> None:
        # R6: definitions.
        assert Pose.rotation("x", 180.0).matrix.tolist() == np.diag([1.0, -1.0, -1.0]).tolist()
        assert Pose.rotation("y", 180.0).matrix.tolist() == np.diag([-1.0, 1.0, -1.0]).tolist()


class TestOtherLibraries:
    @given(AXES, ANGLES)
    def test_a_rotation_is_that_of_scipy(self, axis: Axis, turn_deg: float) -> None:
        expected = Rotation.from_euler(axis, turn_deg, degrees=True).as_matrix()
        assert np.abs(Pose.rotation(axis, turn_deg).matrix - expected).max() < 1e-9

    @given(poses())
    def test_the_angle_is_that_of_scipy(self, pose: Pose) -> None:
        expected = degrees(Rotation.from_matrix(pose.matrix).magnitude())
        assert pose.turn_deg == pytest.approx(expected, abs=1e-5)

    @given(poses(), poses(), POINTS)
    def test_products_and_inverses_are_those_of_pytransform3d(self, outer: Pose, inner: Pose, points: Floats) -> None:
        # concat takes the transform that is applied first as its first argument.
        expected = transform(
            concat(homogeneous(inner), invert_transform(homogeneous(outer))), vectors_to_points(points)
        )[:, :3]
        assert np.abs((~outer @ inner).apply(points) - expected).max() < 1e-6


class TestPrintedAngles:
    def test_twelve_degrees_about_y(self) -> None:
        # R1 (P): the active, right-handed rotation by +12 degrees about Y.
        expected = [[0.978148, 0.0, 0.207912], [0.0, 1.0, 0.0], [-0.207912, 0.0, 0.978148]]
        assert np.abs(Pose.rotation("y", 12.0).matrix - expected).max() < 5e-7

    @pytest.mark.parametrize(
        ("turn_deg", "bar", "height"),
        [
            (12.0, 5.0, 1.03956),  # R1, P
            (12.0, 100.0, 20.7912),  # R1, P
            (23.0 + 41.0 / 60.0, 5.0, 2.0084),  # R2: US Army TC 9-524 App. C, S
            (34.0 + 25.0 / 60.0, 5.0, 2.826),  # R2: Handbook of Machining and Metalworking Calculations ch. 4, S
        ],
    )
    def test_a_sine_bar_rises_by_the_printed_height(self, turn_deg: float, bar: float, height: float) -> None:
        end = Pose.rotation("x", turn_deg).apply(np.array([[0.0, bar, 0.0]]))[0]
        digits = len(str(height).partition(".")[2])
        assert float(end[2]) == pytest.approx(height, abs=0.5000001 * 10.0**-digits)

    def test_a_length_along_the_slope_and_in_plan(self) -> None:
        # R1 (P): 100 mm along the slope are 97.8148 mm in plan; 100 mm in plan are 102.2341 mm along the slope.
        assert float(Pose.rotation("x", 12.0).apply(np.array([[0.0, 100.0, 0.0]]))[0, 1]) == pytest.approx(
            97.8148, abs=5e-5
        )
        assert float(Pose.rotation("x", 12.0).apply(np.array([[0.0, 102.2341, 0.0]]))[0, 1]) == pytest.approx(
            100.0, abs=5e-5
        )

    def test_two_tilts_make_the_printed_compound_angle(self) -> None:
        # R3: Machinery's Handbook, 31st ed. 2020, pp. 121-122 (S): a face tilted by A along X and by B along Y.
        a, b = 47.0 + 14.0 / 60.0, 38.0 + 10.0 / 60.0
        # Turned about its own X after the tilt about Y, so that the slope along Y is that of B.
        second = degrees(atan(tan(radians(b)) * cos(radians(a))))
        normal = (Pose.rotation("y", -a) @ Pose.rotation("x", second)).turn(np.array([[0.0, 0.0, 1.0]]))[0]
        assert (-normal[:2] / normal[2]).tolist() == pytest.approx([1.0812, 0.78598], abs=5e-5)
        assert degrees(atan2(normal[1], normal[0])) + 180.0 == pytest.approx(36.0 + 0.9 / 60.0, abs=0.1 / 60.0)
        assert degrees(acos(normal[2])) == pytest.approx(53.0 + 12.0 / 60.0, abs=0.5 / 60.0)

    def test_a_tilt_on_a_turned_table_makes_the_printed_compound_angle(self) -> None:
        # R3, other case (S): cot C = sqrt(cot²A + cot²B), tan R = cot B / cot A for A = 27, B = 36 degrees.
        c, r = 22.0 + 38.6 / 60.0, 35.0 + 2.5 / 60.0
        line = (Pose.rotation("z", r) @ Pose.rotation("y", -c)).turn(np.array([[1.0, 0.0, 0.0]]))[0]
        rise = float(line[2])
        assert degrees(atan2(rise, line[0])) == pytest.approx(27.0, abs=0.2 / 60.0)
        assert degrees(atan2(rise, line[1])) == pytest.approx(36.0, abs=0.2 / 60.0)
        assert degrees(atan(1 / sqrt(1 / tan(radians(27)) ** 2 + 1 / tan(radians(36)) ** 2))) == pytest.approx(
            c, abs=0.1 / 60.0
        )

    def test_a_small_tilt_through_a_thickness(self) -> None:
        # R7 (P): 0.1 degrees through 20 mm shift by 0.0349 mm.
        end = Pose.rotation("x", 0.1).apply(np.array([[0.0, 0.0, -20.0]]))[0]
        assert hypot(float(end[0]), float(end[1])) == pytest.approx(0.0349, abs=5e-5)
        assert hypot(float(end[0]), float(end[1])) == pytest.approx(20.0 * sin(radians(0.1)), abs=1e-12)
