"""The way back to where a pass starts, where it ran after another line in the source and says X or Y no more.

A slot that is run to and fro starts where the pass before it ended. Run again, it has to be led back there: straight up
to the height of the source's own last traverse across, and across at that height.
"""

from decimal import Decimal

import numpy as np

from flipreg.path import Kind, Path
from flipreg.rewrite.floor.passes import exact_mm
from flipreg.rewrite.text.junction import WayBack
from flipreg.rs274.code_numbers import G
from flipreg.rs274.interpret.whole import Whole
from flipreg.units import INCH

__all__ = ["way_back", "way_up"]

_SAME_MM = 1e-6
_INCH_DECIMALS = 6
_SAME_FRAME = ("inch", "work_offset", "length_offset")


def way_back(whole: Whole, first: int, axes: set[int], top_mm: float) -> WayBack | None:
    """Return the way that leads to where the source stands before a line.

    Where the line names X and Y it leads straight up to the height there, at which the source goes on across itself.

    Parameters
    ----------
    whole : Whole
        The source.
    first : int
        The line that is led to, from 1.
    axes : set of int
        What the line depends on: 0 for X, 1 for Y, 2 for Z.
    top_mm : float
        Height of the wood's surface.

    Returns
    -------
    WayBack or None
        None where such a way is not known to be one through the air: where the source has no traverse across above the
        surface with the same tool, offsets and unit, where it moves in increments or cutter compensation there, or
        where its numbers are changed by G92.
    """
    path, modes, block = whole.path, whole.modes, first - 1
    row = int(np.searchsorted(path.line, first))
    if row == len(path) or modes.incremental[block] or modes.cutter[block] != G.CUTTER_OFF:
        return None
    if int(modes.motion[block]) >= G.NO_MOTION or modes.origins(np.array([block])).any():
        return None
    if axes == {2} and path.start[row, 2] > top_mm + _SAME_MM:
        return _up(whole, block, float(path.start[row, 2]))
    across = _last_across(path, row)
    if across < 0 or not path.end[across, 2] > top_mm + _SAME_MM or path.tool[across] != path.tool[row]:
        return None
    before = int(path.line[across]) - 1
    if any(getattr(modes, name)[before] != getattr(modes, name)[block] for name in _SAME_FRAME):
        return None
    if any(before <= apart <= block for apart in modes.apart):
        return None
    place = path.start[row, :2]
    if np.isnan(place).any():
        return None
    height = exact_mm(float(path.end[across, 2]))
    is_inch = bool(modes.inch[block])
    x, y, z = (_spelled(value, is_inch=is_inch) for value in (*map(exact_mm, place.tolist()), height))
    return WayBack((b"G0 Z" + z, b"G0 X%s Y%s" % (x, y)), height)


def way_up(whole: Whole, first: int, before: int, top_mm: float) -> WayBack | None:
    """Return the way straight up before a traverse across that goes above the surface, where it starts in the wood.

    It came down to its height in the source, from nobody knows where, so that its height need not be one to go across
    at. The way leads to the highest that the program goes to itself with the same tool and offsets.

    Parameters
    ----------
    whole : Whole
        The source.
    first, before : int
        The first line of the pass that begins with the traverse, and the line it runs after; from 1.
    top_mm : float
        Height of the wood's surface.

    Returns
    -------
    WayBack or None
        None where the number of that height may mean another one: where the tool, its length or an offset changes on
        the way, where the numbers are increments, or beside cutter compensation; and where it is in the wood.
    """
    path, modes = whole.path, whole.modes
    row, there = int(np.searchsorted(path.line, first)), int(np.searchsorted(path.line, before, side="right")) - 1
    block = int(path.line[row]) - 1
    blocks = np.array([before - 1, *range(first - 1, block + 1)])
    if (modes.incremental[blocks] | (modes.cutter[blocks] != G.CUTTER_OFF)).any() or modes.origins(blocks).any():
        return None
    if any((getattr(modes, name)[blocks] != getattr(modes, name)[block]).any() for name in _SAME_FRAME):
        return None
    if any(each in modes.apart for each in blocks.tolist()) or path.tool[row] != path.tool[there]:
        return None
    if not path.end[row, 2] > top_mm + _SAME_MM:
        return None
    return _up(whole, block, _highest(whole, row))


def _up(whole: Whole, block: int, height_mm: float) -> WayBack:
    """Return the way straight up to a height, in the unit of a block."""
    height = exact_mm(height_mm)
    return WayBack((b"G0 Z" + _spelled(height, is_inch=bool(whole.modes.inch[block])),), height)


def _highest(whole: Whole, row: int) -> float:
    """Return the highest that a traverse goes to whose number means the same height as that of a row."""
    path, modes = whole.path, whole.modes
    if modes.apart:
        # What leads to another frame in between makes the same number another height.
        return float(path.end[row, 2])
    blocks = path.line - 1
    same = (path.kind == Kind.RAPID) & (path.cycle == 0) & (path.tool == path.tool[row])
    for name in _SAME_FRAME:
        same &= getattr(modes, name)[blocks] == getattr(modes, name)[blocks[row]]
    same[row] = True
    return float(np.nanmax(path.end[same, 2]))


def _last_across(path: Path, row: int) -> int:
    """Return the last traverse across at one height before a row, -1 where there is none."""
    while row > 0:
        row -= 1
        start, end = path.start[row], path.end[row]
        is_level = abs(end[2] - start[2]) <= _SAME_MM
        # From where nobody knows to a place that is known is a way across.
        is_across = not (np.abs(end[:2] - start[:2]) <= _SAME_MM).all()
        if path.kind[row] == Kind.RAPID and not path.cycle[row] and is_level and is_across:
            return row
    return -1


def _spelled(value_mm: Decimal, *, is_inch: bool) -> bytes:
    value = value_mm
    if is_inch:
        value = (value_mm / INCH).quantize(Decimal(1).scaleb(-_INCH_DECIMALS))
    return f"{value.normalize() + 0:f}".encode()
