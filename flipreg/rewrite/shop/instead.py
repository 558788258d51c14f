"""The places over which a program starts and ends, and where it does nothing else: home leads over zero instead.

A program that was flipped about a datum away from its zero starts and ends over the front's zero. Nothing depends on
such a place if the way there and the way on are traverses at the safe height, and the way on names X and Y.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isfinite

import numpy as np

from flipreg.path import Kind, Path
from flipreg.rewrite.shop.home_start import BY_MACHINE, LOST
from flipreg.rewrite.text.events import MACHINE, Event
from flipreg.rs274.interpret.state import Modes
from flipreg.rs274.read.blocks import EXPRESSION, Blocks

__all__ = ["Stop", "end_stop", "led_over_zero", "lines_that_wait", "start_stop", "with_zeros"]

_SAME = 1e-6
_STOPS = (0, 1, 6, 60, 98, 99)
"""M codes that stop at a place, or let somebody do something there."""
_WAIT = 40
_NOT_NAMED = "name X and Y there in G90 as numbers, on one line"
_LOW = "ask for less height, or raise it in the source"


@dataclass(frozen=True, slots=True)
class Stop:
    """A place over which a program starts, or ends.

    Attributes
    ----------
    line : int
        The line of the traverse that leads there.
    at_mm : two floats
        Where it is, in the program's numbers.
    why_kept : str
        Why it can't lead over zero instead; '' if it can.
    """

    line: int
    at_mm: tuple[float, float]
    why_kept: str = ""


def start_stop(
    events: Sequence[Event], heights: Sequence[float | str], waits: Sequence[int], safe_mm: float
) -> Stop | None:
    """Return the place other than zero that a program goes to first and leaves by a traverse, None without one.

    Parameters
    ----------
    events : sequence of Event
        The program's, up to the first cut that comes after the first motion along X or Y.
    heights : sequence of float or str
        What is known of the height before each of them, as `heights_of` tells it.
    waits : sequence of int
        The lines up to there where the program stops or waits, as `lines_that_wait` tells them.
    safe_mm : float
        The safe height.
    """
    across = [number for number, event in enumerate(events) if event.is_across]
    there = next((number for number in across if all(map(isfinite, events[number].end_mm[:2]))), None)
    on = next((number for number in across if there is not None and number > there), None)
    if there is None or on is None or not (events[there].is_rapid and (events[on].is_rapid or events[on].is_cycle)):
        return None
    between = [event for event in events[there + 1 : on] if event.moves]
    if any(not event.is_rapid for event in between) or _is_zero(events[there].end_mm):
        return None
    x, y, _ = events[there].end_mm
    why = _why_kept(events, heights, waits, (there, on), safe_mm)
    return Stop(events[there].line, (x, y), why)


def _why_kept(
    events: Sequence[Event],
    heights: Sequence[float | str],
    waits: Sequence[int],
    ways: tuple[int, int],
    safe_mm: float,
) -> str:
    there, on = ways
    first, last = events[there], events[on]
    if not _names_both(first) or any(event.is_across for event in events[:there]):
        return _NOT_NAMED
    if not _names_both(last, literally=False):
        return f"line {last.line} goes on from there; name X and Y in it in G90"
    if all(abs(a - b) <= _SAME for a, b in zip(first.end_mm[:2], last.end_mm[:2], strict=True)):
        return f"line {last.line} leads there again; take one of the two out"
    for event, before in zip(events[there : on + 1], heights[there : on + 1], strict=True):
        is_low = isinstance(before, float) and before < safe_mm - _SAME
        goes_low = 2 in event.axes and event.moves and not (event.is_cycle or event.end_mm[2] >= safe_mm - _SAME)
        if is_low or goes_low:
            return f"line {event.line} is lower than Z{safe_mm:g} mm; {_LOW}"
        if event.moves_zero or (event.sets_offsets and (event is last or before != BY_MACHINE)) or before == LOST:
            return f"line {event.line} sets a tool or an offset there; set it before"
    if any(first.line <= line < last.line for line in waits):
        return f"the program stops there before line {last.line}; let it stop elsewhere"
    return ""


def _names_both(event: Event, *, literally: bool = True) -> bool:
    if event.incremental or not event.axes >= {0, 1}:
        return False
    return not literally or _is_literal(event.blocks, event.block)


def _is_literal(blocks: Blocks, block: int) -> bool:
    rows = _rows(blocks, block)
    return rows.size == 2 and bool((blocks.decimals[rows] != EXPRESSION).all())


def _rows(blocks: Blocks, block: int) -> "np.ndarray[tuple[int], np.dtype[np.int64]]":
    """Return the rows of X and Y of a block."""
    return np.flatnonzero((blocks.block == block) & np.isin(blocks.letter, np.frombuffer(b"XY", np.uint8)))


def lines_that_wait(blocks: Blocks) -> list[int]:
    """Return the lines of a chunk where something stops the program, or lets it wait."""
    values = blocks.mantissa / 10.0**np.minimum(blocks.decimals, 18)
    codes = (blocks.letter == ord("M")) & np.isin(values, _STOPS)
    waits = (blocks.letter == ord("G")) & (np.rint(values * 10) == _WAIT)
    lines: list[int] = (blocks.block[codes | waits] + blocks.first_line).tolist()
    return lines


def end_stop(blocks: Blocks, modes: Modes, path: Path, *, is_high: bool) -> Stop | None:
    """Return the place other than zero where a program ends, if its last motion is that of the chunk; None without one.

    Parameters
    ----------
    blocks, modes, path
        The chunk.
    is_high : bool
        Whether it crosses at the safe height or above it.
    """
    x, y, _ = path.end[-1].tolist()
    if path.kind[-1] != Kind.RAPID or _is_zero((x, y)):
        return None
    block = int(path.line[-1]) - blocks.first_line
    apart = modes.apart.get(block)
    across = np.abs(path.end[-1, :2] - path.start[-1, :2]) > _SAME
    if (apart is not None and apart.code in MACHINE) or not (isfinite(x) and isfinite(y) and across.any()):
        return None
    why = "" if is_high else f"the way there is lower than the safe height; {_LOW}"
    if modes.incremental[block] or not _is_literal(blocks, block):
        why = _NOT_NAMED
    return Stop(int(path.line[-1]), (x, y), why)


def _is_zero(at_mm: Sequence[float]) -> bool:
    return abs(at_mm[0]) <= _SAME and abs(at_mm[1]) <= _SAME


def led_over_zero(events: Sequence[Event], stops: Sequence[Stop]) -> list[Event]:
    """Return a program's first events as they are once these places are zero."""
    lines = {stop.line for stop in stops}
    return [
        replace(event, end_mm=(0.0, 0.0, event.end_mm[2])) if event.line in lines and event.moves else event
        for event in events
    ]


def with_zeros(blocks: Blocks, text: bytes, block: int) -> bytes:
    """Return the text of a chunk with the X and Y of a block naming zero, with the decimals that they had.

    What comes after the block may have been changed before; the block and what comes before it is as in the chunk.
    """
    for row in _rows(blocks, block)[::-1].tolist():
        start, end = int(blocks.number[row]), int(blocks.end[row])
        point, decimals = b"." in text[start:end], int(blocks.decimals[row])
        text = text[:start] + b"0" + (b"." if point else b"") + b"0" * decimals + text[end:]
    return text
