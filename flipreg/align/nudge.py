"""What to do when the blank does not lie as planned: push an end, or move the program instead.

Everything is in the frame of the program that is about to run, in millimetres and degrees. Which way is said
as at a machine whose X grows to the right and whose Y grows away from the person, with the axis beside it.
"""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from flipreg.align.marking_sheet import TableSide
from flipreg.geometry.isometry import Isometry
from flipreg.units import length_text, shown_now

__all__ = ["Correction", "Nudge", "correction", "nudge", "way"]

Floats = NDArray[np.float64]

_NOTHING_MM = 0.0005
"""A push below this rounds to 0.000."""


@dataclass(frozen=True, slots=True)
class Correction:
    """The shift that the program needs where the blank stays as it lies: a turn, then a move.

    Attributes
    ----------
    turn_deg : float
        Counter-clockwise positive, with five decimals: a third of a micrometre over two metres.
    about_mm : pair of Decimal
        The point to turn about: the planned position of the reference mark.
    by_mm : pair of Decimal
        The move after the turn, with four decimals.
    """

    turn_deg: float
    about_mm: tuple[Decimal, Decimal]
    by_mm: tuple[Decimal, Decimal]

    @property
    def is_nothing(self) -> bool:
        """Whether the program would stay where it is, to the decimals that are written."""
        return self.turn_deg == 0.0 and not any(self.by_mm)

    @property
    def isometry(self) -> Isometry:
        """The correction as an isometry, from planned to touched."""
        return Isometry.translation(*self.by_mm) @ Isometry.rotation(self.turn_deg, about_mm=self.about_mm)


@dataclass(frozen=True, slots=True)
class Nudge:
    """How to push the blank until it lies as planned.

    Attributes
    ----------
    hold : str
        The mark that stays where it is while the other end is pushed.
    push : str or None
        The mark at the end that is pushed, None where there is nothing to turn or nothing known about it.
    push_mm : (float, float)
        How far that end has to go, along the program's axes.
    turn_deg : float
        The turn that this makes, counter-clockwise positive.
    move_mm : (float, float)
        How far the whole blank has to go after that; or program zero the other way.
    """

    hold: str
    push: str | None
    push_mm: tuple[float, float]
    turn_deg: float
    move_mm: tuple[float, float]

    @property
    def words(self) -> tuple[str, ...]:
        """What to do at the bench, one step a text."""
        steps: list[str] = []
        push = way(self.push_mm)
        if self.push is not None and push:
            direction = "counter-clockwise" if self.turn_deg > 0 else "clockwise"
            steps.append(
                f"hold the blank at {self.hold!r} and push its end at {self.push!r} {push}; "
                f"that turns it by {abs(self.turn_deg):z.4f}° {direction}"
            )
        whole = way(self.move_mm)
        if whole:
            steps.append(
                f"{'then ' if steps else ''}push the whole blank {whole}, or leave it, bring the pointer to "
                f"{self.hold!r} and set program zero from there again"
            )
        return tuple(steps)


def correction(motion: Isometry, about_mm: tuple[float, float]) -> Correction:
    """Return a rigid motion as a turn about a point and a move, in numbers that can be written down."""
    turn_deg = round(motion.turn_deg, 5) + 0.0
    x_mm, y_mm = (round(Decimal(repr(value)), 6) for value in about_mm)
    image = motion.apply(np.array([[float(x_mm), float(y_mm)]]))[0]
    dx_mm, dy_mm = (round(Decimal(repr(value)), 4) + 0 for value in (image - (float(x_mm), float(y_mm))).tolist())
    return Correction(turn_deg, (x_mm, y_mm), (dx_mm, dy_mm))


def nudge(motion: Isometry, planned_mm: dict[str, tuple[float, float]], hold: str, *, turns: bool) -> Nudge:
    """Return how to push the blank back to where it was planned.

    Parameters
    ----------
    motion : Isometry
        From planned to touched.
    planned_mm : dict
        The touched marks by name, where they were planned.
    hold : str
        The mark to hold.
    turns : bool
        Whether the motion's rotation is known.
    """
    names = list(planned_mm)
    planned = np.array([planned_mm[name] for name in names])
    lies = motion.apply(planned)
    row = names.index(hold)
    gap = planned[row] - lies[row]
    far = int(np.hypot(*(planned - planned[row]).T).argmax())
    push = (planned[far] - planned[row]) - (lies[far] - lies[row])
    if not turns or far == row or float(np.hypot(*push)) < _NOTHING_MM:
        return Nudge(hold, None, (0.0, 0.0), 0.0, (float(gap[0]), float(gap[1])))
    return Nudge(hold, names[far], (float(push[0]), float(push[1])), -motion.turn_deg, (float(gap[0]), float(gap[1])))


def way(distance_mm: tuple[float, float]) -> str:
    """Return a distance in the plane in words; nothing along an axis where it would be written as zero.

    Examples
    --------
    >>> way((0.3, -0.02))
    '0.30 mm to the right (X+) and 0.02 mm towards you (Y-)'
    """
    x_mm, y_mm = distance_mm
    parts: list[str] = []
    if _is_something(x_mm):
        parts.append(f"{_size(x_mm)} {(TableSide.RIGHT if x_mm > 0 else TableSide.LEFT).value}")
    if _is_something(y_mm):
        parts.append(f"{_size(y_mm)} {(TableSide.FAR if y_mm > 0 else TableSide.NEAR).value}")
    return " and ".join(parts)


def _is_something(length_mm: float) -> bool:
    """Return whether a length is more than zero to the decimals it is written with."""
    return float(shown_now().number(abs(length_mm), _decimals(length_mm))) > 0.0


def _size(length_mm: float) -> str:
    return length_text(abs(length_mm), _decimals(length_mm))


def _decimals(length_mm: float) -> int:
    """Return two decimals of millimetres, or three where two would say next to nothing."""
    return 2 if abs(length_mm) >= 0.0195 else 3
