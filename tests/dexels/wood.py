"""The wood as a grid of vertical dexels: one interval of wood over the centre of each cell, in the blank frame."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.dexels.bench import Blank, Cutter, Floats

NOTHING = 1e-4
"""Wood thinner than this, in millimetres, is none."""

_RUB = 0.02
"""How much slimmer, in millimetres, a cutter is taken for what it meets: along the wall of a cut it only rubs."""


class Wood:
    def __init__(self, blank: Blank, grid: float) -> None:
        x0, y0, x1, y1 = blank.box
        self.grid = grid
        nx, ny = round((x1 - x0) / grid), round((y1 - y0) / grid)
        # A grid that the blank's size isn't a multiple of is stretched by less than a cell.
        self.x = x0 + (np.arange(nx) + 0.5) * (x1 - x0) / nx
        self.y = y0 + (np.arange(ny) + 0.5) * (y1 - y0) / ny
        self.high = np.zeros((ny, nx))
        self.low = np.full((ny, nx), -blank.real)
        self.thickness = blank.real

    def copy(self) -> "Wood":
        other = object.__new__(Wood)
        other.__dict__.update(self.__dict__)
        other.high, other.low = self.high.copy(), self.low.copy()
        return other

    @property
    def left(self) -> Floats:
        """Thickness of the wood in every cell; 0 where there is none."""
        thick = self.high - self.low
        left: Floats = np.where(thick > NOTHING, thick, 0.0)
        return left

    @property
    def there(self) -> NDArray[np.bool_]:
        there: NDArray[np.bool_] = self.high - self.low > NOTHING
        return there

    def cell(self, x: Floats, y: Floats) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return row and column of the cells that places lie in; places beside the grid are in its nearest cell."""
        columns = np.round((x - self.x[0]) / (self.x[1] - self.x[0])).astype(int)
        rows = np.round((y - self.y[0]) / (self.y[1] - self.y[0])).astype(int)
        return np.clip(rows, 0, len(self.y) - 1), np.clip(columns, 0, len(self.x) - 1)

    def cut(self, way: Floats, cutter: Cutter, *, from_back: bool) -> float:
        """Sweep a cutter along a way (n, 3) in the blank frame; return the deepest wood that it meets at once."""
        deepest = 0.0
        starts, ends = (way[:-1], way[1:]) if len(way) > 1 else (way, way)
        for start, end in zip(starts, ends, strict=True):
            deepest = max(deepest, self._stroke(start, end, cutter, 1.0 if not from_back else -1.0))
        return deepest

    def _stroke(self, start: Floats, end: Floats, cutter: Cutter, out: float) -> float:
        """Cut along a straight line, from the front (`out` is 1) or the back (-1)."""
        reach = cutter.radius
        columns = _between(self.x, min(start[0], end[0]) - reach, max(start[0], end[0]) + reach)
        rows = _between(self.y, min(start[1], end[1]) - reach, max(start[1], end[1]) + reach)
        if columns.start >= columns.stop or rows.start >= rows.stop:
            return 0.0
        px, py = self.x[columns][None, :], self.y[rows][:, None]
        high, low = self.high[rows, columns], self.low[rows, columns]
        wood = high - low > NOTHING
        surface, slim = _swept(px, py, start, end, _Swept(cutter, out, self.grid / 4))
        if out < 0:
            met = np.where(wood, np.minimum(slim, high) - low, 0.0)
            np.maximum(low, surface, out=low)
        else:
            met = np.where(wood, high - np.maximum(slim, low), 0.0)
            np.minimum(high, surface, out=high)
        return float(max(0.0, met.max()))


def _between(centres: Floats, low: float, high: float) -> slice:
    return slice(int(np.searchsorted(centres, low - 1e-9)), int(np.searchsorted(centres, high + 1e-9)))


@dataclass(frozen=True)
class _Swept:
    cutter: Cutter
    out: float
    step: float
    """How far apart the places of a slanting stroke are that are looked at."""


def _swept(px: Floats, py: Floats, start: Floats, end: Floats, how: _Swept) -> list[Floats]:
    """Heights, in the blank frame, of the surfaces that a straight stroke of the cutter and of a slimmer one leave."""
    out, cutter = how.out, how.cutter
    dx, dy, dz = end - start
    flat = math.hypot(dx, dy)
    if flat < 1e-9:
        tips = [(start[0], start[1], min(out * start[2], out * end[2]))]
    elif abs(dz) < 1e-9:
        share = np.clip(((px - start[0]) * dx + (py - start[1]) * dy) / flat**2, 0.0, 1.0)
        away = np.hypot(px - start[0] - share * dx, py - start[1] - share * dy)
        return [np.asarray(out * (out * start[2] + cutter.rise(away + slimmer))) for slimmer in (0.0, _RUB)]
    else:
        number = math.ceil(flat / how.step) + 1
        tips = [(start[0] + s * dx, start[1] + s * dy, out * (start[2] + s * dz)) for s in np.linspace(0, 1, number)]
    surfaces = [np.full(np.broadcast(px, py).shape, np.inf) for _ in range(2)]
    for x, y, z in tips:
        away = np.hypot(px - x, py - y)
        for lowest, slimmer in zip(surfaces, (0.0, _RUB), strict=True):
            np.minimum(lowest, z + cutter.rise(away + slimmer), out=lowest)
    return [out * lowest for lowest in surfaces]
