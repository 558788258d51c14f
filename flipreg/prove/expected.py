"""What the output should do: the source's motions moved, each work offset's by the isometry of its own zero."""

from collections.abc import Mapping
from dataclasses import fields
from typing import NamedTuple

import numpy as np

from flipreg.errors import ProofError
from flipreg.geometry.isometry import Isometry
from flipreg.path import Path

__all__ = ["Expected"]

_NOISE_MM = 1e-6
"""Points that two ways of reckoning put no further apart are the same, in millimetres (chosen)."""


class Expected(NamedTuple):
    """Isometries from the source's frames to the output's.

    Attributes
    ----------
    isometry : Isometry
        That of every work offset without one of its own.
    others : mapping from int to Isometry
        Those of the other work offsets, 1 for G54 to 9 for G59.3.
    """

    isometry: Isometry
    others: Mapping[int, Isometry] = {}

    def of(self, work_offset: int) -> Isometry:
        """Return the isometry of a work offset."""
        return self.others.get(work_offset, self.isometry)

    def moved(self, path: Path) -> Path:
        """Return the source's motions as the output should make them.

        Raises
        ------
        ValueError
            If an arc would end up in no main plane.
        ProofError
            If the points of a free turn are not where its matrix puts them.
        """
        if not self.others:
            return _moved(path, self.isometry)
        used = np.unique(path.work_offset).tolist()
        if len(used) < 2:
            return _moved(path, self.of(used[0]) if used else self.isometry)
        rows = [np.flatnonzero(path.work_offset == work_offset) for work_offset in used]
        parts = [_moved(path.take(row), self.of(offset)) for row, offset in zip(rows, used, strict=True)]
        back = np.argsort(np.concatenate(rows), kind="stable")
        joined = Path.concatenate(parts)
        return Path(*(getattr(joined, column.name)[back] for column in fields(Path)))


def _moved(path: Path, isometry: Isometry) -> Path:
    """Return motions moved by one isometry.

    The rewriter moves the points of a free turn by the same isometry, so that the proof multiplies its matrix out.
    """
    moved = path.transformed(isometry)
    if abs(isometry.xx) in (0.0, 1.0):
        return moved
    offset_mm = float(isometry.dx_mm), float(isometry.dy_mm), float(isometry.dz_mm)
    for source, image in ((path.start, moved.start), (path.end, moved.end), (path.centre, moved.centre)):
        x_mm = isometry.xx * source[:, 0] + isometry.xy * source[:, 1] + offset_mm[0]
        y_mm = isometry.yx * source[:, 0] + isometry.yy * source[:, 1] + offset_mm[1]
        wanted = np.column_stack([x_mm, y_mm, source[:, 2] + offset_mm[2]])
        if not np.allclose(image, wanted, rtol=0.0, atol=_NOISE_MM, equal_nan=True):
            raise ProofError("the points of this turn are not where its matrix puts them")
    return moved
