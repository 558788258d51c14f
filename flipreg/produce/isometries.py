"""The isometries of flips and shifts, from what a person says: an axis and a datum, a turn and a way."""

from decimal import Decimal
from enum import Enum

from flipreg.errors import UsageError
from flipreg.geometry.isometry import Isometry
from flipreg.rs274.code_groups import WORK_OFFSETS

__all__ = ["FlipAxis", "flip_isometry", "shift_isometry", "work_offset"]


class FlipAxis(Enum):
    """The line in the plane of the blank that it is turned over about."""

    X = "x"
    """End over end: y becomes -y."""
    Y = "y"
    """Like turning a page: x becomes -x."""


def flip_isometry(axis: FlipAxis, datum_mm: tuple[Decimal, Decimal]) -> Isometry:
    """Return the isometry that maps a face's program to the other face's; see `flip`."""
    mirror = Isometry.mirror_x if axis is FlipAxis.Y else Isometry.mirror_y
    try:
        return mirror(datum_mm=datum_mm)
    except ValueError as error:
        raise UsageError(str(error)) from None


def shift_isometry(
    *, by_mm: tuple[Decimal, Decimal, Decimal], turn_deg: float, about_mm: tuple[Decimal, Decimal]
) -> Isometry:
    """Return the isometry of a turn and a shift; see `shift`."""
    try:
        return Isometry.translation(*by_mm) @ Isometry.rotation(turn_deg, about_mm=about_mm)
    except ValueError as error:
        raise UsageError(str(error)) from None


def work_offset(name: str) -> int:
    """Return the number of a work offset, 1 for G54 to 9 for G59.3."""
    try:
        return WORK_OFFSETS.index(name.upper()) + 1
    except ValueError:
        raise UsageError(f"{name!r} is no work offset; expected one of {', '.join(WORK_OFFSETS)}") from None
