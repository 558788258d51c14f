"""Wood that stands so narrow between two cuts that it breaks out: walls, as the web is measured in the plane."""

from collections.abc import Iterator
from math import floor, log10

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.labelled import label
from flipreg.findings import Finding, Status
from flipreg.job.layout import Layout
from flipreg.stock.findings.web import LEAST_WEB_MM, LOOK
from flipreg.stock.sections.remaining import RemainingStock
from flipreg.stock.sections.section import MOST_CELLS
from flipreg.units import INCH_MM, length_text, limit_text, place_text

__all__ = ["wall_findings"]

Singles = NDArray[np.float32]
Bools = NDArray[np.bool_]

_HIGH_MM = 2.0
"""What stands up less is a ridge between passes or an edge, and no wall; millimetres (chosen)."""
_LONG_MM = 3.0
"""What is shorter is the tip of a corner or the place where two holes come near; millimetres (chosen)."""


def wall_findings(left: RemainingStock, layout: Layout) -> Iterator[Finding]:
    """Yield a finding of the code 'wall' if the part has wood that is narrower than any that stays, or may have it.

    What an opening of a surface by a square takes away stood narrower than the square: Serra, Image Analysis and
    Mathematical Morphology, 1982. The square is the largest of whole cells that is no wider than what stays.
    """
    least = layout.job.limits.least_web_mm
    least_mm = LEAST_WEB_MM if least is None else min(least, LEAST_WEB_MM)
    side = int(least_mm / left.grid.step_mm + 1e-6)
    if side < 2:
        if _is_cut_deep(left):
            yield _cannot_be_seen(left, layout, least_mm)
        return
    where = left.known & left.faces.is_left & ~left.kerf
    if bool(left.kerf.any()):
        where &= left.part
    up = np.where(left.known, left.faces.front_mm, np.float32(0.0))
    down = np.where(left.known, -left.faces.back_mm - np.float32(left.faces.blank_mm), np.float32(0.0))
    high = np.maximum(up - _opened(up, side), down - _opened(down, side))
    found = label(where & (high >= _HIGH_MM))
    cells, owner = found.where()
    rows, columns = np.divmod(cells, left.grid.shape[1])
    longest: tuple[float, int] = (0.0, 0)
    for number in range(1, found.count + 1):
        mine = owner == number
        long_mm = left.grid.step_mm * (1 + max(np.ptp(rows[mine]), np.ptp(columns[mine])))
        longest = max(longest, (float(long_mm), number))
    long_mm, number = longest
    if long_mm < _LONG_MM:
        return
    mine = np.flatnonzero(owner == number)
    middle = mine[len(mine) // 2 : len(mine) // 2 + 1]
    ((x_mm, y_mm),) = left.grid.centres_mm(rows[middle], columns[middle]).tolist()
    high_mm = float(high[rows[mine], columns[mine]].max())
    says = (
        f"{left.lead}a wall narrower than {limit_text(least_mm)} stands between cuts, {length_text(high_mm, 1)} high "
        f"and over {length_text(long_mm, 1)}, about {place_text((x_mm, y_mm))}; so narrow no wood stays, unless "
        "least_web in [check] says less"
    )
    yield Finding("wall", Status.FAIL, says, section=left.name, at_mm=(x_mm, y_mm))


def _is_cut_deep(left: RemainingStock) -> bool:
    """Return whether cuts of one face are as deep as walls are high."""
    faces = left.faces
    deep = (faces.front_mm <= -_HIGH_MM) | (faces.back_mm >= np.float32(_HIGH_MM - faces.blank_mm))
    return bool((deep & left.known).any())


def _cannot_be_seen(left: RemainingStock, layout: Layout, least_mm: float) -> Finding:
    grid = left.grid
    # Rounded down, so that the step that is named is small enough.
    unit_mm = INCH_MM if layout.job.inch else 1.0
    digit = 10.0 ** (floor(log10(least_mm / 2.0 / unit_mm)) - 1)
    step = floor(least_mm / 2.0 / unit_mm / digit + 1e-6) * digit
    says = (
        f"{left.lead}walls narrower than {limit_text(least_mm)} cannot be seen on a grid of "
        f"{limit_text(grid.step_mm)}"
    )
    settle = f"grid = {step:z.6g} in [check]"
    if grid.shape[0] * grid.shape[1] * (grid.step_mm / (step * unit_mm)) ** 2 > MOST_CELLS:
        says, settle = f"{says}, and on a finer one the maps would be too large", LOOK
    says = f"{says}; whether there are any would need {settle}"
    return Finding("wall", Status.NOT_DETERMINED, says, section=left.name, settle=settle)


def _opened(surface: Singles, side: int) -> Singles:
    """Return the highest surface under another one that squares of so many cells can touch everywhere from below."""
    # Beyond the grid the wood is not cut, however narrow the strip of it is that the grid shows.
    lowest = np.pad(surface, side - 1, constant_values=0.0)
    for axis in (0, 1):
        lowest = _least(lowest, side, axis)
    # The highest of the squares that a cell lies in: the least of what is turned upside down.
    below = -lowest
    for axis in (0, 1):
        below = _least(below, side, axis)
    return -below


def _least(values: Singles, side: int, axis: int) -> Singles:
    """Return the least of every so many neighbours along an axis, by doubling."""
    least, wide = np.moveaxis(values, axis, 0), 1
    while wide < side:
        step = min(wide, side - wide)
        least = np.minimum(least[:-step], least[step:])
        wide += step
    return np.moveaxis(least, 0, axis)
