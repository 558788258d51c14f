"""Where the controlled point stands while blocks are walked: axis offsets, unknown places, work offsets.

A `Path` is in one frame for each work offset: the numbers in force before any G92. After `G92 X7` the numbers are
others and the place is the same, so that an offset is carried that leads from numbers to places (NISTIR 6556,
3.5.18). Where the point is not known when G92 numbers it, those numbers define the frame.

Machine positions, probe trips and origins are not in a program. After such a block a coordinate is not known until
it is named again, and where the zero itself has moved to an unknown place, naming it would mix two frames.
"""

from dataclasses import dataclass
from math import isnan, nan
from typing import TypeVar

from flipreg.errors import FlipregError
from flipreg.rs274.interpret.frame import Frame, Point
from flipreg.rs274.interpret.position import stepped

__all__ = ["ControlledPoint", "UnplacedError"]

Item = TypeVar("Item")

_AXES = "XYZ"
_EVERYWHERE = sum(1 << 3 * index for index in range(9))
"""The bit of axis 0 in each of the nine work offsets."""


class UnplacedError(FlipregError):
    """A coordinate that has no place in the frame of the program's motions; says why, without a line.

    Attributes
    ----------
    letters : str
        The words that the message is about, the best first.
    """

    def __init__(self, message: str, letters: str) -> None:
        super().__init__(message)
        self.message = message
        self.letters = letters


@dataclass(slots=True)
class ControlledPoint:
    """The controlled point while blocks are walked one by one; fields as in `Frame` and `State`."""

    position_mm: list[float]
    assumed_zero: list[bool]
    work_offset: int
    offset_mm: list[float]
    stored_mm: list[float]
    is_from_offset: list[bool]
    forgotten: list[bool]
    named: int
    lost: int

    @classmethod
    def of(
        cls, position_mm: Point, assumed_zero: tuple[bool, bool, bool], work_offset: int, frame: Frame
    ) -> "ControlledPoint":
        """Return the controlled point that a state describes."""
        return cls(
            [*position_mm],
            [*assumed_zero],
            work_offset,
            [*frame.offset_mm],
            [*frame.stored_mm],
            [*frame.is_from_offset],
            [*frame.forgotten],
            frame.named,
            frame.lost,
        )

    def frame(self) -> Frame:
        """Return what is to be carried on."""
        return Frame(
            _triple(self.offset_mm),
            _triple(self.stored_mm),
            _triple(self.is_from_offset),
            _triple(self.forgotten),
            self.named,
            self.lost,
        )

    def place(self) -> Point:
        """Return the position."""
        return _triple(self.position_mm)

    def numbers(self) -> Point:
        """Return the position as the program would write it."""
        x, y, z = (stepped(p, -o) if o else p for p, o in zip(self.position_mm, self.offset_mm, strict=True))
        return x, y, z

    def name(self, axis: int, word_mm: float, *, incremental: bool) -> None:
        """Go along one axis to a number, or by an increment.

        Raises
        ------
        UnplacedError
            If the axis' zero has moved to an unknown place.
        """
        if incremental:
            if isnan(self.position_mm[axis]):
                if self.forgotten[axis]:
                    return
                self.assume_zero(axis)
            self.position_mm[axis] = stepped(self.position_mm[axis], word_mm)
        else:
            self.position_mm[axis] = self.at(axis, word_mm)
            self.forgotten[axis] = False
        self.named |= self._bit(axis)

    def at(self, axis: int, number_mm: float) -> float:
        """Return the place of a number.

        Raises
        ------
        UnplacedError
            If the axis' zero has moved to an unknown place.
        """
        if self.lost and self.lost & self._bit(axis):
            raise UnplacedError(
                f"{_AXES[axis]} has had another zero before, and how the two lie to each other is not in the "
                "program; make two programs of it",
                _AXES[axis],
            )
        offset = self.offset_mm[axis]
        return stepped(offset, number_mm) if offset else number_mm

    def assume_zero(self, axis: int) -> None:
        """Take program zero for a coordinate that was never named."""
        self.assumed_zero[axis] = True
        self.position_mm[axis] = self.offset_mm[axis]

    def name_level(self, axis: int) -> None:
        """Note that a canned cycle has brought an axis to a known place."""
        self.forgotten[axis] = False
        self.named |= self._bit(axis)

    def forget(self, axis: int) -> None:
        """Go along an axis to a place that is not in the program."""
        self.position_mm[axis] = nan
        self.forgotten[axis] = True

    def switch(self, work_offset: int) -> None:
        """Take another work offset: the point has other numbers there, and they are not known."""
        if work_offset == self.work_offset:
            return
        self.work_offset = work_offset
        for axis in range(3):
            if not isnan(self.position_mm[axis]):
                self.forget(axis)

    def set_axis_offset(self, axis: int, number_mm: float) -> None:
        """Give the point another number (G92).

        Raises
        ------
        UnplacedError
            If the point is not known, and the axis had numbers before.
        """
        here = self.position_mm[axis]
        if not isnan(here):
            self.offset_mm[axis] = stepped(here, -number_mm)
        elif self.named & (_EVERYWHERE << axis):
            raise UnplacedError(
                f"G92 numbers a point whose {_AXES[axis]} is not known here, so that how the numbers after it lie to "
                "those before is not in the program; make two programs of it",
                _AXES[axis],
            )
        else:
            self.position_mm[axis], self.offset_mm[axis] = number_mm, 0.0
            self.is_from_offset[axis], self.forgotten[axis] = True, False
        self.named |= self._bit(axis)

    def store(self) -> None:
        """Keep the offsets for G92.3."""
        self.stored_mm = [nan if own else o for own, o in zip(self.is_from_offset, self.offset_mm, strict=True)]

    def reset_axis_offsets(self) -> None:
        """Reset the axis offsets (G92.1, G92.2)."""
        for axis in range(3):
            if self.is_from_offset[axis]:
                self.lost |= self.named & (_EVERYWHERE << axis)
                self.is_from_offset[axis] = False
                self.forget(axis)
            self.offset_mm[axis] = 0.0

    def restore_axis_offsets(self) -> None:
        """Restore the axis offsets (G92.3).

        Raises
        ------
        UnplacedError
            If the program does not say what they were.
        """
        if any(map(isnan, self.stored_mm)):
            raise UnplacedError(
                "G92.3 brings back offsets that are not in the program; write G92 with the numbers instead", "G"
            )
        self.offset_mm = [*self.stored_mm]

    def move_origin(self, work_offset: int, axis: int) -> None:
        """Give a work offset another zero along an axis (G10 L2)."""
        self.lost |= self.named & (1 << 3 * (work_offset - 1) + axis)
        if work_offset == self.work_offset and not isnan(self.position_mm[axis]):
            self.forget(axis)

    def _bit(self, axis: int) -> int:
        return 1 << 3 * (self.work_offset - 1) + axis


def _triple(items: list[Item]) -> tuple[Item, Item, Item]:
    first, second, third = items
    return first, second, third
