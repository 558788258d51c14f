"""Which motions come below the face that is up."""

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path

__all__ = ["below_face", "fed_below"]

_UPRIGHT = 2
"""Arcs of any other normal stand upright, and may dip between their ends."""


def below_face(path: Path) -> NDArray[np.bool_]:
    """Return the motions that may come below z = 0, shape (n,).

    An upright arc counts if its whole circle does, for both its ends may lie above the face.
    """
    lowest = np.minimum(path.start[:, 2], path.end[:, 2])
    upright = np.flatnonzero(path.is_arc & (path.normal != _UPRIGHT))
    if len(upright):
        out = np.abs(path.start[upright] - path.centre[upright])
        out[np.arange(len(upright)), path.normal[upright]] = 0.0
        lowest[upright] = np.minimum(lowest[upright], path.centre[upright, 2] - np.hypot.reduce(out, axis=1))
    return np.less(lowest, 0.0)


def fed_below(path: Path) -> NDArray[np.bool_]:
    """Return the motions that are fed and may come below z = 0, shape (n,)."""
    return np.logical_and(path.is_cut, below_face(path))
