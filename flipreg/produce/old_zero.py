"""Whether a flipped program still starts or ends over the front's zero, which is not its own."""

import numpy as np

from flipreg.geometry.isometry import Isometry
from flipreg.path import Path

__all__ = ["OldZero"]

_OVER_MM = 0.01
"""Nearer than this to zero a program stands over it, in millimetres (chosen)."""


class OldZero:
    """Looks, chunk after chunk, where the source of a flip first goes to and where it ends."""

    def __init__(self) -> None:
        self._first: tuple[float, float] | None = None
        self._last: tuple[float, float] | None = None

    def add(self, path: Path) -> None:
        """Look at the next motions of the source."""
        known = np.flatnonzero(np.isfinite(path.end[:, :2]).all(axis=1))
        if not known.size:
            return
        self._last = _pair(path, int(known[-1]))
        if self._first is None:
            self._first = _pair(path, int(known[0]))

    def notes(self, isometry: Isometry) -> tuple[str, ...]:
        """Return what to say of the flipped program: nothing where both zeros are at one place, or it stands elsewhere.

        Parameters
        ----------
        isometry : Isometry
            From the source's numbers to the new program's.
        """
        x_mm, y_mm, _ = isometry.offset_mm.tolist()
        if max(abs(x_mm), abs(y_mm)) <= _OVER_MM:
            return ()
        does = [
            verb for verb, at in (("starts", self._first), ("ends", self._last)) if at is not None and _is_zero(at)
        ]
        if not does:
            return ()
        return (
            f"it {' and '.join(does)} where the front's zero was, at X{x_mm:.6g} Y{y_mm:.6g}, and not over its own "
            "zero; flipreg home makes it do so",
        )


def _pair(path: Path, row: int) -> tuple[float, float]:
    x_mm, y_mm = path.end[row, :2].tolist()
    return x_mm, y_mm


def _is_zero(at_mm: tuple[float, float]) -> bool:
    return max(map(abs, at_mm)) <= _OVER_MM
