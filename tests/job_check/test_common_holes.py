import numpy as np
import pytest

from flipreg.geometry.pose import Pose
from flipreg.job_check.common_holes import CommonHoles, Entries, common_holes
from flipreg.program.setup_face import SetupFace
from tests.job.jobs import setup

HOLES = [(-60.0, 10.0, 0.0), (70.0, 40.0, 0.0), (20.0, 300.0, 0.0)]


def made(
    name: str, points: list[tuple[float, float, float]], pose: Pose | None = None, *, back: bool = False
) -> Entries:
    where = Pose() if pose is None else pose
    face = SetupFace(setup(name, flip_axis="y" if back else None), (), (), None, where, where)
    return Entries(face, lambda: np.array(points).reshape(-1, 3))


def common(one: Entries, other: Entries) -> CommonHoles:
    (found,) = common_holes([one, other], 0.1)
    return found


def test_two_common_holes_show_that_two_setups_agree() -> None:
    found = common(made("a", HOLES[:2]), made("b", [*HOLES[:2], (5.0, 5.0, 0.0)]))
    assert (found.one, found.other, found.agreeing, found.agrees) == ("a", "b", 2, True)


def test_one_common_hole_shows_nothing() -> None:
    found = common(made("a", HOLES), made("b", [HOLES[0], (500.0, 0.0, 0.0)]))
    assert (found.agreeing, found.agrees, found.apart_mm) == (1, False, None)


def test_holes_are_compared_where_the_poses_put_them() -> None:
    # Two setups of different tilt: only points on the hinge line, the X axis, stay where they are.
    on_the_line = [(-60.0, 0.0, 0.0), (70.0, 0.0, 0.0)]
    beside_it = [(-60.0, 30.0, 0.0), (70.0, 30.0, 0.0)]
    tilted = Pose.rotation("x", 12.0)
    assert common(made("a", on_the_line), made("b", on_the_line, tilted)).agrees
    assert not common(made("a", beside_it), made("b", beside_it, tilted)).agrees


@pytest.mark.parametrize("way_mm", [(0.0, 2.0), (-12.0, 9.0), (0.2, 0.0)])
def test_holes_that_lie_apart_alike_are_told_with_their_distance(way_mm: tuple[float, float]) -> None:
    found = common(made("a", HOLES), made("b", HOLES, Pose.translation(*way_mm)))
    assert (found.agrees, found.agreeing) == (False, 0)
    assert found.apart_mm == pytest.approx(np.hypot(*way_mm))


def test_holes_that_lie_apart_each_its_own_way_are_not_meant_as_one() -> None:
    scattered = [(x + 3.0 * turn, y - 2.0 * turn * turn, z) for turn, (x, y, z) in enumerate(HOLES, start=1)]
    assert common(made("a", HOLES), made("b", scattered)) == CommonHoles("a", "b", 0, None)


def test_opposite_faces_are_not_looked_at_for_common_holes() -> None:
    assert common_holes([made("a", HOLES), made("b", HOLES, back=True)], 0.1) == []
    assert len(common_holes([made("a", HOLES, back=True), made("b", HOLES, back=True)], 0.1)) == 1


def test_a_setup_without_holes_has_none_in_common() -> None:
    assert common(made("a", HOLES), made("b", [])) == CommonHoles("a", "b", 0, None)
