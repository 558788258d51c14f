"""How the blank seems to be turned over between two faces: worked out from what they share, or guessed."""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import Face
from flipreg.register.check import check

__all__ = ["Turning", "turning"]

Floats = NDArray[np.float64]

_ROUNDING_MM = 0.002
"""A datum that was worked out may be rounded by so much (chosen): far below what a jog can be set to."""


@dataclass(frozen=True, slots=True)
class Turning:
    """How the blank is turned over.

    Attributes
    ----------
    front_from_back : Isometry
        From the back programs' numbers to the front programs'; it mirrors.
    says : str
        How it is known, and what to look at.
    """

    front_from_back: Isometry
    says: str


def turning(
    front: Face, back: Face, *, tolerance_mm: float, thickness_mm: float | None, boxes_mm: tuple[Floats, Floats]
) -> Turning:
    """Return how the blank is turned over from the front to the back.

    Parameters
    ----------
    front, back : sequence of FaceProgram
        The programs of each face.
    tolerance_mm : float
        Largest deviation that counts as one part.
    thickness_mm : float or None
        Thickness of the blank, where somebody said it.
    boxes_mm : pair of float64, shape (4,)
        What each face cuts, for a guess where they share nothing.
    """
    report = check(front, back, tolerance_mm=tolerance_mm, thickness_mm=thickness_mm)
    choice = report.flip.choice
    if choice.axis not in ("x", "y") or choice.datum_mm is None:
        why = "nothing that both faces cut shows it"
        if choice.axis == "none":
            why = "the back carries the front's own numbers, not mirrored: flipreg flip makes a back program"
        return Turning(_over_each_other(*boxes_mm), f"{why}; say how you turn the blank over")
    datum = (_rounded(choice.datum_mm[0]), _rounded(choice.datum_mm[1]))
    mirror = Isometry.mirror_x if choice.axis == "y" else Isometry.mirror_y
    seen = ~mirror(datum_mm=datum)
    is_shown, others = report.verdict is Status.PASS, len(report.flip.alternatives)
    says = "worked out from what both faces cut" if is_shown else "the likeliest, and not shown by the programs"
    if others:
        says += f"; {others} other {'way fits' if others == 1 else 'ways fit'} as well"
    return Turning(seen, f"{says}; is it how you turn the blank over?")


def _over_each_other(front_mm: Floats, back_mm: Floats) -> Isometry:
    """Return the turn like a page that brings the middle of the back's cuts over the middle of the front's."""
    (fx, fy), (bx, by) = ((box[:2] + box[2:]) / 2 for box in (front_mm, back_mm))
    return ~Isometry.mirror_x(datum_mm=(_rounded(fx + bx), _rounded(fy - by)))


def _rounded(value_mm: float) -> Decimal:
    """Return the shortest decimal that is near enough."""
    near = value_mm
    for decimals in range(4):
        near = round(float(value_mm), decimals)
        if abs(near - value_mm) <= _ROUNDING_MM:
            break
    return Decimal(repr(near + 0.0))
