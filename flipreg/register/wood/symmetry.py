"""The search for lines in which a surface mirrors itself: first roughly in all directions, then near the best ones.

What is minimised is the median difference between heights and their mirror images, so that lead-ins, tabs and whatever
else one side alone has pull at nothing.
"""

from collections.abc import Sequence
from math import radians

import numpy as np
from numpy.typing import NDArray

from flipreg.register.wood.mirror_line import MirrorLine
from flipreg.register.wood.tip_surface import LEVEL, TipSurface

__all__ = ["FaceShape", "median_size"]

Floats = NDArray[np.float64]

_FEWEST_SHAPED = 200
"""Fewest points at which the surface rises enough to tell a line (chosen)."""
_COARSE_POINTS = 1_500
"""Points of the face that each line of the rough search is tried on (chosen)."""
_COARSE_DEG = 5.0
"""Directions of the rough search differ by this (chosen): the close search reaches half as far."""
_COARSE_OFFSETS = 25
"""Lines that are tried in each of these directions (chosen)."""
_OFF_CENTRE_SHARE = 0.1
"""A centre line passes within this share of the width from the middle of what is cut (chosen): the edge of the cut is
symmetric too."""
_TRIED = 8
"""The best of the rough search that are looked at closely (chosen)."""
_RASTER_CELLS = 150
"""Cells along the longer side of the raster that the rough search looks heights up in (chosen)."""


class FaceShape:
    """The surface of a face and what is needed to try lines on it.

    Parameters
    ----------
    surface : TipSurface
        Of the face.
    """

    def __init__(self, surface: TipSurface) -> None:
        self.surface = surface
        self.xy_mm, self.z_mm = surface.points_mm[:, :2], surface.points_mm[:, 2]
        self._raster = _Raster(surface)

    def width(self, line: MirrorLine) -> float:
        """Return how wide the face is across a line."""
        return float(np.ptp(self.xy_mm @ line.normal))

    def shaped(self, line: MirrorLine, most: int) -> NDArray[np.intp]:
        """Return points where the surface rises across a line, more of them where it rises more; none if too few."""
        rise = np.abs(self.surface.slope @ line.normal)
        weight = np.where(rise > LEVEL, np.minimum(rise, 1.0), 0.0)
        if int(np.count_nonzero(weight)) < _FEWEST_SHAPED:
            return np.empty(0, np.intp)
        # In an order that has nothing to do with the passes, so that no pass is left out by the stride.
        order = np.random.default_rng(1).permutation(len(weight))
        total = np.cumsum(weight[order])
        at = np.arange(0.5, most) * (total[-1] / most)
        return np.unique(order[np.searchsorted(total, at)])

    def candidates(self) -> list[MirrorLine]:
        """Return the lines that fit best, in all directions, roughly; the best first."""
        pivot = (float(self._raster.centre[0]), float(self._raster.centre[1]))
        tried: list[tuple[float, MirrorLine]] = []
        for turn in np.arange(0.0, 180.0, _COARSE_DEG).tolist():
            line = MirrorLine(pivot, radians(turn), 0.0)
            rows = self.shaped(line, _COARSE_POINTS)
            if not len(rows):
                continue
            reach = _OFF_CENTRE_SHARE * self.width(line)
            moved = [line.moved(offset) for offset in np.linspace(-reach, reach, _COARSE_OFFSETS).tolist()]
            tried.append(self.best(rows, moved))
        count = len(tried)
        # Neighbours all round: a direction is tried again where none beside it fits better.
        best = [
            tried[i]
            for i in range(count)
            if tried[i][0] <= min(tried[i - 1][0], tried[(i + 1) % count][0]) and np.isfinite(tried[i][0])
        ]
        return [line for _, line in sorted(best, key=lambda one: one[0])[:_TRIED]]

    def best(self, rows: NDArray[np.intp], lines: Sequence[MirrorLine]) -> tuple[float, MirrorLine]:
        """Return the line about which heights and mirror images differ least, and by how much: the median.

        Heights come from the raster; the median is infinite with little overlap.
        """
        normal = np.array([line.normal for line in lines])
        shift = np.array([line.offset + line.normal @ np.array(line.pivot) for line in lines])
        x, y = self.xy_mm[rows].T
        twice = 2.0 * (normal @ np.stack([x, y]) - shift[:, np.newaxis])
        residual = self.z_mm[rows] - self._raster.at(x - twice * normal[:, :1], y - twice * normal[:, 1:])
        np.abs(residual, out=residual)
        residual[np.isnan(residual)] = np.inf
        sizes = np.median(residual, axis=1)
        least = int(np.argmin(sizes))
        return float(sizes[least]), lines[least]

    def residuals(self, rows: NDArray[np.intp], line: MirrorLine) -> Floats:
        """Return the differences of heights and mirror images, shape (n,); NaN where there is no image."""
        height, _ = self.surface.at(line.mirrored(self.xy_mm[rows]))
        return np.asarray(self.z_mm[rows] - height)

    def zoomed(self, line: MirrorLine) -> MirrorLine:
        """Return the best line near one, by a grid that shrinks."""
        rows = self.shaped(line, _COARSE_POINTS)
        step = 2 * _OFF_CENTRE_SHARE * self.width(line) / (_COARSE_OFFSETS - 1)
        turn = radians(_COARSE_DEG) / 2
        for _ in range(4):
            tries = [line.moved(i * step / 2, j * turn / 2) for i in range(-3, 4) for j in range(-3, 4)]
            _, line = self.best(rows, tries)
            step, turn = step / 3, turn / 3
        return line


def median_size(residual: Floats) -> float:
    """Return the median size of differences, shape (n,); those without a mirror image count as large."""
    return float(np.median(np.nan_to_num(np.abs(residual), nan=np.inf)))


class _Raster:
    """The surface on a grid, for the coarse search: heights of the nearest cell's plane."""

    def __init__(self, surface: TipSurface) -> None:
        low, high = surface.points_mm[:, :2].min(axis=0), surface.points_mm[:, :2].max(axis=0)
        self.step = float(max(high - low)) / _RASTER_CELLS
        self.low = low
        shape = np.ceil((high - low) / self.step).astype(np.int64) + 1
        xs, ys = np.meshgrid(*(np.arange(n) for n in shape), indexing="ij")
        places = low + self.step * np.stack([xs.ravel(), ys.ravel()], axis=1)
        height, gradient = surface.at(places)
        self._width, self._height = int(shape[1]), height
        self._rise_x, self._rise_y = (self.step * gradient).T.copy()
        self._shape = shape
        known = np.isfinite(height)
        self.centre = places[known].mean(axis=0) if known.any() else (low + high) / 2

    def at(self, x: Floats, y: Floats) -> Floats:
        """Return heights at places of any shape; NaN outside."""
        x, y = (x - self.low[0]) / self.step, (y - self.low[1]) / self.step
        i, j = np.rint(x), np.rint(y)
        outside = (i < 0) | (j < 0) | (i >= self._shape[0]) | (j >= self._shape[1])
        cell = (i * self._width + j).astype(np.intp)
        cell[outside] = 0
        x -= i
        y -= j
        height = self._height.take(cell)
        height += x * self._rise_x.take(cell) + y * self._rise_y.take(cell)
        height[outside] = np.nan
        return height
