"""Arc centres moved a little, where rounding the ends made the two radii differ too much."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["balanced"]

Floats = NDArray[np.float64]

_USED_UP = 0.99
"""Part of the allowed difference beyond which rounding is made up for (chosen)."""

_LEAST_RATE = 0.1
"""How much the difference of the radii has to change per step of the centre for a step to be small (chosen)."""


def balanced(start: Floats, end: Floats, centre: Floats, allowed: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Return arc centres moved a little where rounding the ends made the two radii differ too much.

    A program may come with arcs whose radii differ by nearly all that is allowed; rounding then takes them
    over the limit. Moved along the chord by about as much as was rounded, the centre makes up for it.

    Parameters
    ----------
    start, end, centre : array, shape (k, 2)
        Positions; the ends are rounded already.
    allowed : array, shape (k,)
        Largest allowed difference of the radii.

    Returns
    -------
    centre : array, shape (k, 2)
    moved : bool array, shape (k,)
    """
    out, back = centre - start, centre - end
    radius, end_radius = np.hypot(out[:, 0], out[:, 1]), np.hypot(back[:, 0], back[:, 1])
    excess = radius - end_radius
    moved = np.abs(excess) > _USED_UP * allowed
    if not moved.any():
        return centre, moved
    chord = end - start
    chord = chord / np.maximum(np.hypot(chord[:, 0], chord[:, 1]), np.finfo(float).tiny)[:, None]
    direction = out / radius[:, None] - back / end_radius[:, None]
    rate = np.einsum("ij,ij->i", chord, direction)
    moved &= np.abs(rate) > _LEAST_RATE
    wanted = np.sign(excess) * _USED_UP * allowed
    step = np.where(moved, (wanted - excess) / np.where(moved, rate, 1.0), 0.0)
    return centre + step[:, None] * chord, moved
