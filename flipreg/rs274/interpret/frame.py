"""What numbers mean: how they lie to places, and which places are not known."""

from math import nan
from typing import NamedTuple

__all__ = ["Frame", "Point"]

Point = tuple[float, float, float]


class Frame(NamedTuple):
    """How numbers lie to places; `Frame()` before the first block.

    Attributes
    ----------
    offset_mm : three floats
        Place = number + offset, from G92.
    stored_mm : three floats
        The offsets that G92.3 brings back (parameters 5211 to 5213); NaN where the program did not set them.
    is_from_offset : three bools
        Axes whose frame is that of a G92 at an unknown point.
    forgotten : three bools
        Axes that were known and are not any more.
    named, lost : int
        A bit for each axis of each work offset, 3 * (offset - 1) + axis: whether it was ever known, and whether
        its zero has moved since to a place that is not in the program.
    """

    offset_mm: Point = (0.0, 0.0, 0.0)
    stored_mm: Point = (nan, nan, nan)
    is_from_offset: tuple[bool, bool, bool] = (False, False, False)
    forgotten: tuple[bool, bool, bool] = (False, False, False)
    named: int = 0
    lost: int = 0

    @property
    def is_plain(self) -> bool:
        """Whether numbers are places."""
        return not any(self.offset_mm)
