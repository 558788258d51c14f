"""Motions as straight ways, for what happens at one point of a face."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.surface import is_known
from flipreg.geometry.chords import flatten
from flipreg.path import Path

__all__ = ["Ways"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_CHORD_MM = 0.02
"""How far arcs may be from the chords that stand for them; millimetres (chosen)."""
_STILL_MM2 = 1e-12
"""A way that goes less far in XY, squared, is vertical (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Ways:
    """Motions as straight ways, in order: ends of shape (n, 3), and of each its line and whether it is fed."""

    start: Floats
    end: Floats
    line: NDArray[np.int64]
    is_cut: Bools

    @classmethod
    def of(cls, path: Path) -> "Ways":
        """Return the known motions that come below the face."""
        low = np.minimum(path.start[:, 2], path.end[:, 2])
        some = path.take(np.flatnonzero(is_known(path) & ((low < 0.0) | path.is_arc)))
        if not bool(some.is_arc.any()):
            return cls(some.start, some.end, some.line, some.is_cut)
        arcs = some.start, some.end, some.centre, some.normal, some.sweep_deg, some.is_arc
        end, row = flatten(*arcs, _CHORD_MM)
        start = np.concatenate([some.start[:1], end[:-1]])
        first = np.concatenate([[True], row[1:] != row[:-1]])
        start[first] = some.start[row[first]]
        return cls(start, end, some.line[row], some.is_cut[row])

    def over(self, at_mm: tuple[float, float]) -> tuple[Floats, Floats]:
        """Return how near each way comes to a point seen from above, and the tip's height there; shape (n,) each."""
        way = self.end[:, :2] - self.start[:, :2]
        square = (way * way).sum(axis=1)
        from_start = np.array(at_mm) - self.start[:, :2]
        # A way straight down is where its lower end is.
        still = np.where(self.end[:, 2] < self.start[:, 2], 1.0, 0.0)
        moves = square > _STILL_MM2
        share = np.where(moves, (from_start * way).sum(axis=1) / np.where(moves, square, 1.0), still)
        share = np.clip(share, 0.0, 1.0)
        away = from_start - share[:, np.newaxis] * way
        return np.hypot(away[:, 0], away[:, 1]), self.start[:, 2] + share * (self.end[:, 2] - self.start[:, 2])
