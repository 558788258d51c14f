"""What usually makes a zero lie off by just that much."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.units import INCH_MM, limit_text

__all__ = ["Cause", "at_the_cutters_edge", "cause_of_jog"]

Floats = NDArray[np.float64]

_EXACT_MM = 0.05
"""A distance is just that of a cutter within this, in millimetres (chosen): what is measured is exact to about 0.01."""


@dataclass(frozen=True, slots=True)
class Cause:
    """A usual reason for a zero in a wrong place.

    Attributes
    ----------
    code : str
        Its name.
    words : str
        What happened; a clause, begins lower case, no full stop.
    """

    code: str
    words: str


def at_the_cutters_edge(by_mm: Floats, diameters_mm: Sequence[float]) -> Cause | None:
    """Return the cause of a zero that is off by a tool's radius or diameter along one axis or along each.

    Parameters
    ----------
    by_mm : array, shape (2,)
        From where zero should be to where it is, along the program's axes.
    diameters_mm : sequence of float
        Of the tools that may have been in the spindle.
    """
    off = np.abs(by_mm)
    moved = off > _EXACT_MM
    if not moved.any():
        return None
    for diameter in sorted(set(diameters_mm)):
        for size, words in ((diameter / 2, "radius"), (diameter, "diameter")):
            if size > 2 * _EXACT_MM and bool((np.abs(off[moved] - size) <= _EXACT_MM).all()):
                axes = " and ".join(axis for axis, out in zip("XY", moved.tolist(), strict=True) if out)
                way = f"one tool {words} ({limit_text(size)}) out along {axes}"
                return Cause("cutter edge", f"it is {way}, as if zero had been taken at the cutter's edge")
    return None


def cause_of_jog(
    given_mm: Sequence[float],
    right_mm: Sequence[float],
    *,
    others_mm: Mapping[str, tuple[float, float]],
    diameters_mm: Sequence[float],
    tolerance_mm: float,
) -> Cause | None:
    """Return what usually makes one jog of another, None where it is nothing usual.

    Parameters
    ----------
    given_mm, right_mm : (X, Y)
        The jog that was said, and the one that is right, both from the same mark.
    others_mm : mapping
        The jogs of the other setups, by their names.
    diameters_mm : sequence of float
        Of the tools that may have been in the spindle.
    tolerance_mm : float
        Jogs that differ by no more are one.
    """
    given, right = np.asarray(given_mm), np.asarray(right_mm)

    def is_right(jog: Floats) -> bool:
        return float(np.hypot(*(jog - right))) <= tolerance_mm

    for name, other in others_mm.items():
        if float(np.hypot(*(np.asarray(other) - given))) <= 1e-9 and given.any():
            return Cause("jog of another setup", f"it is that of setup {name!r}")
    for signs, words in (((-1, 1), "X has"), ((1, -1), "Y has"), ((-1, -1), "X and Y have")):
        if is_right(given * signs):
            return Cause("jog sign", f"{words} the wrong sign")
    edge = at_the_cutters_edge(given - right, diameters_mm)
    if edge is not None:
        return edge
    if is_right(given[::-1]):
        return Cause("jog swapped", "X and Y are swapped")
    for factor, words in ((INCH_MM, "inches"), (1.0 / INCH_MM, "millimetres")):
        if is_right(given * factor):
            return Cause("jog unit", f"its numbers are {words}")
    return None
