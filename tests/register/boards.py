"""Faces of the kinds that real jobs show: lattices, rows, panels, pockets, letters, notches."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from tests.register.shapes import STILL, Mill, offset_ring, rounded

Floats = NDArray[np.float64]


def lattice(columns: int, rows: int, pitch: float, left: float = 12.7, low: float = 12.7) -> Floats:
    """Return points of a lattice, shape (n, 2)."""
    x, y = np.meshgrid(left + pitch * np.arange(columns), low + pitch * np.arange(rows))
    return np.column_stack([x.ravel(), y.ravel()])


def drilled(points: Floats, move: Isometry = STILL, *, name: str = "holes.nc", depth: float = 20.0) -> FaceProgram:
    """Return a program of holes."""
    mill = Mill()
    for x, y in move.apply(points):
        mill.drill(x, y, depth)
    return mill.program(name, 1.0)


def ringed(points: Floats, sizes: Sequence[float], move: Isometry = STILL, *, name: str = "pads.nc") -> FaceProgram:
    """Return a program of oblong rings round places, shallow."""
    mill = Mill()
    for (x, y), size in zip(points, sizes, strict=True):
        pad = rounded(1.6 * size, size, size / 2.01, x - 0.8 * size, y - size / 2)
        mill.contour(move.apply(pad), (0.2,))
    return mill.program(name, 0.2)


def board(move: Isometry = STILL, *, back: bool = False) -> list[FaceProgram]:
    """Return a face of a board with holes and pads on a lattice of 2.54 mm; all holes are drilled from the front.

    Each face has pads round most holes, of several sizes, and some of its own; four holes at the corners are drilled
    from both, and shifted by three pitches along X three of them still meet.
    """
    random = np.random.default_rng(7)
    places = lattice(24, 14, 2.54)
    used = places[random.permutation(len(places))[:60]]
    sizes = random.choice([1.2, 1.5, 1.8, 2.1], len(used))
    both = np.arange(60) < 40
    own = ~both & (np.arange(60) % 2 == int(back))
    pads = both | own
    fixing = np.array([[12.7, 12.7], [20.32, 12.7], [27.94, 12.7], [12.7, 40.64]])
    programs = [ringed(used[pads], sizes[pads].tolist(), move), drilled(fixing, move, name="fixing.nc")]
    return programs if back else [*programs, drilled(used)]


def panel(columns: int, rows: int, pitch: float, move: Isometry = STILL) -> list[FaceProgram]:
    """Return a perforated panel, drilled through."""
    return [drilled(lattice(columns, rows, pitch, 20.0, 30.0), move)]


LETTER = np.array([[0, 0], [4, 12], [8, 0], [6.5, 4.5], [1.5, 4.5]], float)
"""A letter of straight strokes, 8 mm wide, our own."""


def lettered(at: Floats, move: Isometry = STILL) -> FaceProgram:
    """Return a program that engraves letters with a ring above each, half a millimetre deep."""
    mill = Mill()
    for x, y in at:
        stroke = move.apply(LETTER + np.array([x, y]))
        mill.lines(np.column_stack([stroke, np.full(len(stroke), -0.5)]))
        (centre,) = move.apply(np.array([[x + 4.0, y + 16.0]]))
        mill.bore(float(centre[0]), float(centre[1]), 1.2, 0.5, 1)
    return mill.program("letters.nc", 1.0)


def profiled(
    ring: Floats, tool: float | None, move: Isometry = STILL, *, radius: float | None = None, depth: float = 11.0
) -> FaceProgram:
    """Return a program that cuts a profile out with a tool of a radius, whether it is told or not."""
    path = offset_ring(ring, radius if radius is not None else (tool or 0.0) / 2)
    return Mill().contour(move.apply(path), (5.0, depth)).program("profile.nc", tool)


