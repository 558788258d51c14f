"""Thickness, pieces and holding against their definitions, cell by cell in plain Python."""

from decimal import Decimal

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.holding import bridges
from flipreg.cut.labelled import label
from flipreg.cut.thickness import LEAST_LEFT_MM, BothFaces
from flipreg.cut.tool import Cutter
from flipreg.geometry.isometry import Isometry
from tests.cut.bruteforce import polyline
from tests.cut.faces import both_faces

Cell = tuple[int, int]
Bools = NDArray[np.bool_]

SEEDS = range(20)


def neighbours(cell: Cell, shape: tuple[int, ...]) -> list[Cell]:
    row, column = cell
    around = [(row - 1, column), (row + 1, column), (row, column - 1), (row, column + 1)]
    return [(r, c) for r, c in around if 0 <= r < shape[0] and 0 <= c < shape[1]]


def flood(faces: BothFaces, allowed: Bools) -> list[set[Cell]]:
    """Return the pieces of wood within the allowed cells: neighbours with wood at one height hang together."""
    top, bottom = faces.front_mm.tolist(), faces.back_mm.tolist()
    left = {(r, c) for r, c in np.argwhere(allowed).tolist() if top[r][c] - bottom[r][c] > LEAST_LEFT_MM}
    pieces = []
    while left:
        piece, open_cells = set(), [min(left)]
        left.discard(open_cells[0])
        while open_cells:
            cell = open_cells.pop()
            piece.add(cell)
            for other in neighbours(cell, faces.grid.shape):
                shared = min(top[cell[0]][cell[1]], top[other[0]][other[1]]) - max(
                    bottom[cell[0]][cell[1]], bottom[other[0]][other[1]]
                )
                if other in left and shared > LEAST_LEFT_MM:
                    left.discard(other)
                    open_cells.append(other)
        pieces.append(piece)
    return pieces


def random_faces(rng: np.random.Generator) -> BothFaces:
    """Few levels, so that floors often meet exactly, and many cells are cut through."""
    shape = (int(rng.integers(1, 13)), int(rng.integers(1, 15)))
    front = -rng.choice([0.0, 3.0, 6.0, 10.0], shape).astype(np.float32)
    back = (rng.choice([0.0, 3.0, 7.0, 10.0], shape) - 10.0).astype(np.float32)
    return BothFaces(Grid(2.0, -3.0, 0.5, shape), front, back, 10.0)


def cells(where: Bools) -> set[Cell]:
    return {(r, c) for r, c in np.argwhere(where).tolist()}


@pytest.mark.parametrize("seed", SEEDS)
def test_pieces_are_those_of_a_flood(seed: int) -> None:
    faces = random_faces(np.random.default_rng(seed))
    found_pieces = faces.pieces()
    found = [cells(found_pieces.named([number])) for number in range(1, found_pieces.count + 1)]
    assert sorted(map(sorted, found)) == sorted(map(sorted, flood(faces, np.ones(faces.grid.shape, np.bool_))))


@pytest.mark.parametrize("seed", SEEDS)
def test_wood_that_is_left_and_cuts_that_meet_are_the_cells_that_the_words_say(seed: int) -> None:
    faces = random_faces(np.random.default_rng(seed))
    left = faces.front_mm - faces.back_mm
    np.testing.assert_array_equal(faces.is_left, left > 0.0)
    met = (left <= 0.0) & (faces.front_mm > -10.0) & (faces.back_mm < 0.0)
    np.testing.assert_array_equal(~faces.is_left & ~faces.is_through, met)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_joins_pieces_is_found_by_a_flood(seed: int) -> None:
    rng = np.random.default_rng(seed)
    faces = random_faces(rng)
    kerf = rng.random(faces.grid.shape) < 0.5
    numbers = label(~kerf).labels
    top, bottom = faces.front_mm.tolist(), faces.back_mm.tolist()
    expected = []
    for wood in flood(faces, kerf):
        beside: dict[int, int] = {}
        for r, c in wood:
            for row, column in neighbours((r, c), faces.grid.shape):
                shared = min(top[r][c], top[row][column]) - max(bottom[r][c], bottom[row][column])
                if numbers[row, column] and shared > LEAST_LEFT_MM:
                    beside[int(numbers[row, column])] = beside.get(int(numbers[row, column]), 0) + 1
        if len(beside) > 1:
            expected.append(beside)
    found = bridges(faces, kerf, numbers)
    assert len(found) == len(expected)
    for one in found:
        # Of more than two pieces those that it touches most.
        assert any(
            {one.one, one.other} <= {*beside}
            and min(beside[one.one], beside[one.other]) >= sorted(beside.values())[-2]
            for beside in expected
        )


@pytest.mark.parametrize("seed", range(8))
def test_thickness_is_the_blank_less_what_each_face_loses_whatever_the_flip(seed: int) -> None:
    rng = np.random.default_rng(seed)
    turn = Isometry.rotation(float(rng.choice([0.0, 90.0, 37.0, -120.5])))
    datum = Decimal(str(round(rng.uniform(-20, 20), 3))), Decimal(str(round(rng.uniform(-20, 20), 3)))
    flip = (Isometry.mirror_x if rng.random() < 0.5 else Isometry.mirror_y)(datum_mm=datum)
    over = flip @ turn if rng.random() < 0.5 else turn @ flip
    blank, front_top, back_top = rng.uniform(8, 20), rng.uniform(-5, 5), rng.uniform(-5, 5)
    front_way, over_way = rng.uniform(-8, 8, (2, 5, 2))
    front_deep, back_deep = rng.uniform(1, 9, 2)
    # The same place, in the numbers of the back: undone by hand, matrix transposed.
    back_way = (over_way - over.offset_mm[:2]) @ over.matrix
    front = polyline(np.column_stack([front_way, np.full(5, front_top - front_deep)]))
    back = polyline(np.column_stack([back_way, np.full(5, back_top - back_deep)]))
    grid = Grid(-9.0, -8.0, 0.5, (33, 37))
    faces = both_faces(
        [(front, Cutter.flat(3.0))],
        [(back, Cutter.flat(4.0))],
        over,
        grid,
        blank_mm=blank,
        front_top_mm=front_top,
        back_top_mm=back_top,
    )
    x, y = np.meshgrid(grid.xs_mm, grid.ys_mm)
    centres = shapely.points(x, y)
    to_front = shapely.distance(shapely.LineString(front_way), centres)
    to_back = shapely.distance(shapely.LineString(over_way), centres)
    expected = blank - np.where(to_front <= 1.5, front_deep, 0.0) - np.where(to_back <= 2.0, back_deep, 0.0)
    sure = (np.abs(to_front - 1.5) > 1e-4) & (np.abs(to_back - 2.0) > 1e-4)
    assert len(np.unique(np.round(expected, 6))) == 4
    np.testing.assert_allclose(faces.left_mm[sure], expected[sure], rtol=0, atol=1e-5)
