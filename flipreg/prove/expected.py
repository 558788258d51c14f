"""What the output should do: the source's motions moved, each work offset's by the isometry of its own zero."""

from collections.abc import Mapping
from dataclasses import fields
from typing import NamedTuple

import numpy as np

from flipreg.geometry.isometry import Isometry
from flipreg.path import Path

__all__ = ["Expected"]


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
        """
        if not self.others:
            return path.transformed(self.isometry)
        used = np.unique(path.work_offset).tolist()
        if len(used) < 2:
            return path.transformed(self.of(used[0]) if used else self.isometry)
        rows = [np.flatnonzero(path.work_offset == work_offset) for work_offset in used]
        parts = [path.take(row).transformed(self.of(offset)) for row, offset in zip(rows, used, strict=True)]
        back = np.argsort(np.concatenate(rows), kind="stable")
        joined = Path.concatenate(parts)
        return Path(*(getattr(joined, column.name)[back] for column in fields(Path)))
