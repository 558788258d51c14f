"""How low a program crosses from zero to its first place, a way that is new where lines are added at its start."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf, isnan, nan

from flipreg.rewrite.shop.home_start import LOST, START, HomeStart, heights_of
from flipreg.rewrite.text.events import Event

__all__ = ["LowWay", "low_way_from_zero"]

_SAME = 1e-6


@dataclass(frozen=True, slots=True)
class LowWay:
    """A way across that is lower than the safe height.

    Attributes
    ----------
    line : int
        Its line.
    height_mm : float
        Its lowest height; NaN if nobody knows it.
    """

    line: int
    height_mm: float


def low_way_from_zero(events: Sequence[Event], start: HomeStart, safe_mm: float) -> LowWay | None:
    """Return the lowest way from zero to the first place, None if all of it is high or the source's own.

    Parameters
    ----------
    events : sequence of Event
        The program's, at least up to the first cut that comes after the first motion along X or Y.
    start : HomeStart
        Where the way over zero goes.
    safe_mm : float
        The safe height.
    """
    if start.is_home:
        return None
    ways = [way for way in _ways(events, start.line) if not way.height_mm >= safe_mm - _SAME]
    return min(ways, key=lambda way: -inf if isnan(way.height_mm) else way.height_mm, default=None)


def _ways(events: Sequence[Event], first_line: int) -> Iterator[LowWay]:
    """Yield the motions across until X, Y and Z are all where the source has them."""
    left, at = {0, 1}, [0.0, 0.0]
    for event, before in zip(events, heights_of(events), strict=True):
        if not left and before != START:
            return
        across = event.axes & {0, 1} if event.axes else {0, 1}
        if event.line < first_line or not (event.moves and across):
            continue
        there = [event.end_mm[axis] if axis in across else at[axis] for axis in (0, 1)]
        if not all(abs(a - b) <= _SAME for a, b in zip(at, there, strict=True)):
            yield LowWay(event.line, _lowest(event, before))
        left, at = left - across, there


def _lowest(event: Event, before: float | str) -> float:
    """Return the lowest height of a motion across, infinite for one that is high without a number."""
    end = event.end_mm[2]
    if before == LOST:
        return nan
    # Where the height is still that of the start, the added lines have raised the tool.
    height = before if isinstance(before, float) else inf
    if event.is_cycle:
        # It rises to where it begins to drill before it crosses, and ends there or higher.
        return max(height, end)
    is_lower = 2 in event.axes and not event.by_machine and end < height
    return end if is_lower else height
