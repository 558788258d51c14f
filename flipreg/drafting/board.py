"""Where the blank lies round what is cut: how it is turned on the table, its edges and its centre line.

Places are in the front programs' numbers, or in the blank's directions: across, towards the right edge of the front,
and along, away from the near end; both in millimetres, and along from where the front's zero is.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.drafting.unit import Unit
from flipreg.errors import UsageError
from flipreg.job.blank import Edge

__all__ = ["Board", "Interval", "board_round"]

Floats = NDArray[np.float64]

_MARGIN = (10.0, 0.375)
"""Wood that is left round the cuts, in a job of millimetres and in one of inches (chosen), told as a guess."""
_STEP = (5.0, 0.25)
"""Sizes of a guessed blank are multiples of this (chosen)."""
_TAPE = (0.5, 0.0625)
"""What a tape is read to, in a job of millimetres and in one of inches (chosen)."""
_NEAR = (100.0, 4.0)
"""A zero that is farther than this from the cuts is not taken to be on the blank (chosen)."""
_OFF_MIDDLE = 0.1
"""A zero that lies farther off the middle of the cuts than this share of their width is not meant for the middle of
the blank (chosen): a blank with such a zero in its middle would be more than a fifth wider than the cuts need."""
_SAME_MM = 1e-6
QUARTER_TURNS = 3
"""How a blank lies on the table whose length is along the programs' X: its near end at the lowest X."""


@dataclass(frozen=True, slots=True)
class Interval:
    """From a lower to a higher place, in millimetres."""

    low: float
    high: float

    @property
    def middle(self) -> float:
        """Half-way."""
        return (self.low + self.high) / 2

    def has(self, place: float) -> bool:
        """Tell whether a place is in it, its ends included."""
        return self.low - _SAME_MM <= place <= self.high + _SAME_MM


@dataclass(frozen=True, slots=True)
class Board:
    """A blank and how it lies.

    Attributes
    ----------
    is_turned : bool
        Whether its length is along the programs' X.
    across, along : Interval
        Its edges and its ends.
    centre : float
        Its centre line, in the direction across.
    edge : Edge
        The edge that lines are measured from.
    """

    is_turned: bool
    across: Interval
    along: Interval
    centre: float

    @property
    def edge(self) -> Edge:
        """The edge at the left, or the one nearest to who stands at the programs' lowest Y."""
        return Edge.RIGHT if self.is_turned else Edge.LEFT

    @property
    def centre_line_mm(self) -> float:
        """How far the centre line is from that edge."""
        return self.across.high - self.centre if self.edge is Edge.RIGHT else self.centre - self.across.low

    def place(self, point_mm: tuple[float, float]) -> tuple[float, float]:
        """Return where a point of the front programs is: across and along."""
        return _place(point_mm, is_turned=self.is_turned)

    def has(self, point_mm: tuple[float, float]) -> bool:
        """Tell whether a point of the front programs is on it."""
        across, along = self.place(point_mm)
        return self.across.has(across) and self.along.has(along)


def board_round(
    box_mm: Floats, zeros_mm: Sequence[tuple[float, float]], size_mm: tuple[float, float] | None, unit: Unit
) -> Board:
    """Return a blank that holds all cuts.

    Parameters
    ----------
    box_mm : float64, shape (4,)
        xmin, ymin, xmax, ymax of all that is cut.
    zeros_mm : sequence of (x, y)
        The program zeros, the front's first.
    size_mm : (length, width) or None
        The blank's, where somebody said it.
    unit : Unit
        The job's.

    Raises
    ------
    UsageError
        If the cuts don't fit on a blank of that size.
    """
    wide, high = (float(size) for size in box_mm[2:] - box_mm[:2])
    is_turned = wide > high
    if size_mm is not None:
        is_turned = _is_turned(wide, high, size_mm, unit)
    corners = [_place((float(x), float(y)), is_turned=is_turned) for x, y in (box_mm[:2], box_mm[2:])]
    cuts = [Interval(min(ends), max(ends)) for ends in zip(*corners, strict=True)]
    zeros = [_place(zero, is_turned=is_turned) for zero in zeros_mm]
    margin_mm = unit.of(*_MARGIN)
    sides = [_side(cut, at, margin_mm) for cut, at in zip(cuts, zeros[0], strict=True)]
    if 0 in sides:
        sides = [0, 0]
    near = Interval(-unit.of(*_NEAR), unit.of(*_NEAR))
    on_it = [zero for zero in zeros if all(near.has(_beyond(cut, at)) for cut, at in zip(cuts, zero, strict=True))]
    spans = []
    for axis, (cut, side) in enumerate(zip(cuts, sides, strict=True)):
        size = None if size_mm is None else size_mm[1 - axis]
        places = [cut.low, cut.high, *(at[axis] for at in on_it)]
        direction = _Direction(cut, Interval(min(places), max(places)), zeros[0][axis], is_across=axis == 0)
        spans.append(direction.from_edge(side, size, unit) if side else direction.round(size, unit))
    across, along = spans
    centre = zeros[0][0]
    fifth = (across.high - across.low) / 5
    if not across.low + fifth <= centre <= across.high - fifth:
        centre = across.middle
    return Board(is_turned, across, along, unit.written(centre))


@dataclass(frozen=True, slots=True)
class _Direction:
    """What is known of one direction: the cuts, the cuts with the zeros that are on the blank, the front's zero."""

    cut: Interval
    inner: Interval
    zero: float
    is_across: bool

    def from_edge(self, side: int, size_mm: float | None, unit: Unit) -> Interval:
        """Return a blank whose lower (-1) or higher (1) end is at the front's zero."""
        far = self.cut.high if side < 0 else self.cut.low
        size = size_mm or unit.up(abs(far - self.zero) + unit.of(*_MARGIN), step_mm=unit.of(*_STEP))
        return Interval(self.zero, self.zero + size) if side < 0 else Interval(self.zero - size, self.zero)

    def round(self, size_mm: float | None, unit: Unit) -> Interval:
        """Return a blank round the cuts: across, the zero is in its middle where it is near that of the cuts."""
        off_middle = abs(self.zero - self.cut.middle)
        about_zero = self.is_across and off_middle <= _OFF_MIDDLE * (self.cut.high - self.cut.low)
        margin_mm, step_mm = unit.of(*_MARGIN), unit.of(*_STEP)
        if size_mm is not None:
            half = size_mm / 2
            middle = self.zero if about_zero else self.cut.middle
            round_it = Interval(middle - half, middle + half)
            if not (round_it.has(self.cut.low) and round_it.has(self.cut.high)):
                middle = self.cut.middle
            # The zero, at which a mark is drawn, comes a whole number of small steps from the end.
            step_mm = unit.of(*_TAPE)
            low = self.zero + round((middle - half - self.zero) / step_mm) * step_mm
            found = Interval(low, low + size_mm)
            holds_cut = found.has(self.cut.low) and found.has(self.cut.high)
            return found if holds_cut else Interval(middle - half, middle + half)
        if about_zero:
            reach = max(self.inner.high - self.zero, self.zero - self.inner.low)
            half = unit.up(reach + margin_mm, step_mm=step_mm / 2)
            return Interval(self.zero - half, self.zero + half)
        low = unit.down(self.inner.low - margin_mm, step_mm=step_mm)
        return Interval(low, low + unit.up(self.inner.high + margin_mm - low, step_mm=step_mm))


def _is_turned(wide: float, high: float, size_mm: tuple[float, float], unit: Unit) -> bool:
    length, width = size_mm
    ways = [
        turned
        for turned, (along, across) in ((False, (high, wide)), (True, (wide, high)))
        if along <= length + _SAME_MM and across <= width + _SAME_MM
    ]
    if not ways:
        cut = f"{unit.text(wide)} in X and {unit.text(high)} in Y"
        raise UsageError(
            f"the cuts reach over {cut}, rim of the cutter included, and don't fit on a blank of {unit.text(length)} "
            f"× {unit.text(width)}; --blank wants length, width and thickness, as 370mm,240mm,22mm"
        )
    return ways[0] if len(ways) == 1 else (wide > high) is (length >= width)


def _side(cut: Interval, zero: float, margin_mm: float) -> int:
    """Return -1 or 1 where the zero lies a little outside of the cuts, as a blank's edge does; else 0."""
    if 0.0 <= cut.low - zero <= 2 * margin_mm:
        return -1
    return 1 if 0.0 <= zero - cut.high <= 2 * margin_mm else 0


def _beyond(cut: Interval, at: float) -> float:
    """Return how far a place is beyond the cuts, negative below them."""
    return at - cut.high if at > cut.high else min(0.0, at - cut.low)


def _place(point_mm: tuple[float, float], *, is_turned: bool) -> tuple[float, float]:
    x_mm, y_mm = point_mm
    return (-y_mm, x_mm) if is_turned else (x_mm, y_mm)
