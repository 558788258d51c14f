"""Cuts that meet in the wood although the edge is cut much deeper from both faces than it needs."""

from dataclasses import replace

import numpy as np
import pytest

from flipreg.findings import Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from flipreg.register.check import check
from tests.register.boards import drilled, profiled
from tests.register.shapes import PADDLE, PADDLE_HOLES, PAGE, STILL, Mill, offset_ring, paddle, ring

HOLES = np.array(PADDLE_HOLES)
"""12.1 mm deep from each face in wood of 22 mm."""
DEPTHS = (11.5, 16.0, 22.5)
"""Of the edge, from each face."""


def verdict(front: list[FaceProgram], back: list[FaceProgram], thickness: float | None = None) -> Status:
    return check(front, back, flip=PAGE, tolerance_mm=0.2, thickness_mm=thickness).verdict


@pytest.mark.parametrize("depth", DEPTHS)
def test_a_hole_that_is_off_stops_a_pass_however_far_the_cuts_of_the_edge_overlap(depth: float) -> None:
    def faces(moved: np.ndarray) -> tuple[list[FaceProgram], list[FaceProgram]]:
        return (
            [*paddle(depths=(depth,), holes=()), drilled(HOLES, depth=12.1)],
            [*paddle(PAGE, depths=(depth,), holes=()), drilled(moved, PAGE, depth=12.1, name="back.nc")],
        )

    assert verdict(*faces(HOLES)) is Status.PASS
    one = np.arange(len(HOLES))[:, np.newaxis] == 2
    for off in (0.4, 4.0):
        assert verdict(*faces(HOLES + one * np.array([off, 0.0]))) is not Status.PASS
    for off in (0.4, 12.0):
        assert verdict(*faces(HOLES + np.array([off, 0.0]))) is not Status.PASS
    # Where the wood is known to be thicker than both holes are deep, they are two by design.
    if depth == 16.0:
        assert verdict(*faces(HOLES + np.array([2.0, 0.0])), thickness=2.0 * depth - 1.0) is Status.PASS


WINDOWS = {
    "small": ring((60, 30), (90, 30), (90, 60), (60, 60)),
    "large": ring((40, 20), (140, 20), (140, 62), (40, 62)),
    "long": ring((60, 30), (120, 30), (120, 37), (60, 37)),
}


@pytest.mark.parametrize("window", WINDOWS)
@pytest.mark.parametrize("depth", [11.5, 16.0, None])
def test_an_opening_that_is_off_its_like_stops_a_pass(window: str, depth: float | None) -> None:
    """A depth of None: the front alone cuts the edge, right through."""

    def face(wall: np.ndarray, move: Isometry, edge: float) -> list[FaceProgram]:
        opening = Mill().contour(move.apply(offset_ring(wall, -3.0, join_style="mitre")), (12.1,))
        return [profiled(PADDLE, 6.0, move, depth=edge), opening.program("window.nc", 6.0)]

    wall = WINDOWS[window]
    front = face(wall, STILL, depth or 23.0)
    if depth is None:
        front, shared = [*front, drilled(HOLES)], [drilled(HOLES, PAGE, name="back.nc")]
    # Farther apart they may be recesses by design, where the wood may be thicker than both are deep.
    for off in (0.0, 0.4, 4.0, 12.0)[: 3 if depth == 16.0 else 4]:
        moved = wall + np.array([off, 0.0])
        back = face(moved, PAGE, depth) if depth else [face(moved, PAGE, 23.0)[1], *shared]
        may_be_recesses = off > 5.0 and window == "long" and depth is None
        assert (verdict(front, back) is Status.PASS) is (off == 0.0 or may_be_recesses)


def test_recesses_of_both_faces_over_one_another_are_asked_about_only_where_they_may_meet() -> None:
    def face(depth: float, off: float, move: Isometry) -> list[FaceProgram]:
        wall = WINDOWS["small"] + np.array([off, 0.0])
        recess = Mill().contour(move.apply(offset_ring(wall, -3.0, join_style="mitre")), (depth,))
        return [profiled(PADDLE, 6.0, move, depth=11.5), recess.program("recess.nc", 6.0)]

    for depth, is_asked in ((4.0, False), (6.0, True)):
        assert (verdict(face(depth, 0.0, STILL), face(depth, 2.0, PAGE)) is not Status.PASS) is is_asked
    assert verdict(face(6.0, 0.0, STILL), face(6.0, 2.0, PAGE), thickness=22.5) is Status.PASS


def test_rows_of_blind_holes_in_both_faces_beside_one_another_stop_no_pass() -> None:
    row = np.array([[30.0 + 16.0 * number, 30.0] for number in range(5)])

    def face(off: float, move: Isometry) -> list[FaceProgram]:
        return [profiled(PADDLE, 6.0, move, depth=9.5), drilled(row + np.array([off, off]), move, depth=7.0)]

    for off in (8.0, 20.0):
        assert verdict(face(0.0, STILL), face(off, PAGE)) is Status.PASS


def test_rows_of_holes_that_stay_in_the_wood_find_no_datum() -> None:
    rows = np.array([[x, 20.0 + 32.0 * number] for x in (20.0, 200.0) for number in range(7)])
    back = drilled(rows + np.array([0.0, 12.0]), PAGE, depth=7.0)
    for thickness, is_asked in ((12.0, False), (18.0, True)):
        report = check([drilled(rows, depth=7.0)], [back], axis="y", tolerance_mm=0.2, thickness_mm=thickness)
        assert (report.in_register is not True) is is_asked


def test_edges_of_one_size_tell_how_thick_the_wood_is_by_the_shallowest() -> None:
    """Eight equal openings, each with its own share of the depth from either face."""

    def face(depths: tuple[float, ...], move: Isometry) -> list[FaceProgram]:
        mill = Mill()
        for number, depth in enumerate(depths):
            x = 40.0 * number
            mill.contour(move.apply(ring((x, 0), (x + 2, 0), (x + 2, 90), (x, 90))), (depth,))
        return [mill.program("openings.nc", None)]

    front = (15.4, 22.3, 15.4, 7.6, 7.6, 13.8, 11.8, 7.6)
    back = (7.6, 22.3, 7.6, 15.4, 15.4, 9.7, 11.0, 15.4)
    assert verdict(face(front, STILL), face(back, PAGE)) is Status.PASS


def test_an_opening_in_a_rebate_that_is_off_stops_a_pass() -> None:
    wall = ring((40, 20), (140, 20), (140, 62), (40, 62))

    def face(off: float, move: Isometry, *, rebated: bool) -> list[FaceProgram]:
        programs, there = [], wall + np.array([off, 0.0])
        for far, depth in [(1.0, 5.0)] * rebated + [(-1.0, 12.1)]:
            way = move.apply(offset_ring(there, far))
            programs.append(Mill().contour(way, (depth,)).program(f"{depth:g}.nc", 2.0))
        return [profiled(PADDLE, 6.0, move, depth=11.5), *programs]

    front = face(0.0, STILL, rebated=False)
    assert verdict(front, face(0.0, PAGE, rebated=True)) is Status.PASS
    assert verdict(front, face(0.3, PAGE, rebated=True)) is not Status.PASS


@pytest.mark.parametrize("which", [0, 1])
def test_an_opening_that_is_off_stops_a_pass_though_one_subprogram_cuts_it_and_a_right_one(which: int) -> None:
    """Both begin in the same line, and are told apart by where they lie."""
    windows = [ring((30.0, y), (50.0, y), (50.0, y + 12.0), (30.0, y + 12.0)) for y in (20.0, 50.0)]

    def face(off: float, move: Isometry) -> list[FaceProgram]:
        mill = Mill()
        for number, wall in enumerate(windows):
            there = offset_ring(wall + np.array([off * (number == which), 0.0]), -3.0, join_style="mitre")
            mill.contour(move.apply(there), (12.1,))
        program = mill.program("windows.nc", 6.0)
        path = replace(program.path, line=np.full(len(program.path), 7))
        return [profiled(PADDLE, 6.0, move, depth=11.5), replace(program, path=path)]

    assert verdict(face(0.0, STILL), face(0.0, PAGE)) is Status.PASS
    assert verdict(face(0.0, STILL), face(2.0, PAGE)) is not Status.PASS
