"""Findings on programmed tabs: lifts of which no wood is left, and lifts that the other face's programs do not make."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.heightmap import height_map
from flipreg.findings import Finding, Status
from flipreg.names import bare_name
from flipreg.stock.sections.below import near_box
from flipreg.stock.sections.contours import Lift, at_own_floor, lifts, runs, walk
from flipreg.stock.sections.kerf import Kerf
from flipreg.stock.sections.remaining import RemainingStock
from flipreg.stock.sections.section import SectionCut, SectionCuts, passed
from flipreg.units import place_text

__all__ = ["lift_findings"]

_LEVEL_MM = 0.5
"""A contour is lifted where it is higher above its own floor than this (chosen)."""
_TO_A_RADIUS = 4.0
"""Cells to the cutter's radius where a program's own cuts are looked at (chosen)."""
_SAME_MM = 0.05
"""A pass this close to the lowest of its program at a place is that one (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class _Place:
    """A programmed lift and the cells under its middle."""

    cut: SectionCut
    lift: Lift
    rows: NDArray[np.intp]
    columns: NDArray[np.intp]
    at_mm: tuple[float, float]


def lift_findings(
    left: RemainingStock, section: SectionCuts, kerf: Kerf, opened_by: NDArray[np.int16]
) -> list[Finding]:
    """Return findings of the code 'holding' on the lifts of the programs that cut along the edge.

    Parameters
    ----------
    left : RemainingStock
        What is left.
    section : SectionCuts
        What cuts it.
    kerf : Kerf
        Its kerf.
    opened_by : int16 array, shape of the grid
        Number from 1 of the program after which a cell has no wood.
    """
    edges = [edge.cut for edge in kerf.edges]
    meant = [cut for cut in section.cuts if cut.is_profile or any(cut is one for one in edges)]
    places = [place for cut in meant for place in _places(cut, left, kerf)] if kerf.edges else []
    wood = left.faces.is_left
    told: set[tuple[str, int]] = set()
    out = []
    for place in places:
        if not len(place.lift.row) or bool(wood[place.rows, place.columns].any()):
            continue
        by = int(np.bincount(opened_by[place.rows, place.columns]).argmax())
        line = int(place.cut.path.line[place.lift.row[0]])
        key = place.cut.program.name, line
        if by == 0 or key in told:
            continue
        told.add(key)
        x_mm, y_mm = place.at_mm
        remover = _remover(section, by, place)
        out.append(
            Finding(
                "holding",
                Status.FAIL,
                f"{left.lead}no wood is left of the tab that {bare_name(place.cut.program.name)} leaves at "
                f"{place_text((x_mm, y_mm))}: {bare_name(remover.program.name)} of setup {remover.face.name!r} takes "
                "it away",
                place.cut.program.name,
                line,
                left.name,
                place.at_mm,
            )
        )
    stand = [place for place in places if bool(wood[place.rows, place.columns].any())]
    return [*out, *_missing(left, kerf, stand)]


def _remover(section: SectionCuts, by: int, place: _Place) -> SectionCut:
    """Return the program that leaves nothing of a tab: the one after which it is gone, or the other face's before it.

    The program that is lifted over the tab may itself cut down to what the other face has taken before.
    """
    last = section.cuts[by - 1]
    others = [cut for cut in section.cuts[: by - 1] if cut.face.is_front is not place.cut.face.is_front]
    if last is not place.cut or not others:
        return last
    cell = Grid(*place.at_mm, 0.01, (1, 1))
    near = [near_box(cut.path, place.at_mm, place.at_mm, cut.cutter.radius_mm) for cut in others]
    heights = [
        float(height_map(path, cut.cutter, cell, top_mm=0.0)[0, 0]) for path, cut in zip(near, others, strict=True)
    ]
    return others[int(np.argmin(heights))]


def _missing(left: RemainingStock, kerf: Kerf, places: list[_Place]) -> Iterator[Finding]:
    """Yield a finding for each face whose programs cut at full depth where the other face's leave tabs."""
    for is_front in (True, False):
        others = [edge for edge in kerf.profiles if edge.cut.face.is_front is not is_front]
        theirs = [place for place in places if place.cut.face.is_front is not is_front]
        if not others:
            continue
        lacking = [
            place
            for place in places
            if place.cut.face.is_front is is_front
            and len(place.lift.row)
            and not any(
                np.hypot(place.at_mm[0] - other.at_mm[0], place.at_mm[1] - other.at_mm[1])
                <= place.cut.tool.diameter_mm
                for other in theirs
            )
        ]
        if lacking:
            at = ", ".join(f"{place_text((lost.at_mm[0], lost.at_mm[1]))}" for lost in lacking[:4])
            more = f" and {len(lacking) - 4} more" if len(lacking) > 4 else ""
            face, other = ("front", "back") if is_front else ("back", "front")
            yield Finding(
                "holding",
                Status.WARN,
                f"{left.lead}the {face}'s programs leave tabs that the {other}'s do not, at {at}{more}; "
                f"there the {other} cuts down to its floor",
                section=left.name,
                at_mm=lacking[0].at_mm,
            )


def _places(cut: SectionCut, left: RemainingStock, kerf: Kerf) -> Iterator[_Place]:
    way = walk(cut)
    # Upper passes of a contour are not where it leaves tabs.
    grid = _coarser(left.grid, cut.cutter.radius_mm)
    own_mm = passed([cut], grid)
    row, column, inside = grid.cells_at(way.middle[:, :2])
    is_lowest = ~inside
    is_lowest[inside] = way.middle[inside, 2] <= own_mm[row[inside], column[inside]] + _SAME_MM
    for lift in lifts(cut, way, runs(way, at_own_floor(way, _LEVEL_MM) & is_lowest)):
        middle = 0.5 * (lift.start + lift.end)[:, :2]
        row, column, inside = left.grid.cells_at(_inner(middle, lift))
        row, column = row[inside], column[inside]
        # Where the program itself goes down to its floor it leaves no tab: the way only leads over its own cut.
        floor_mm = float(np.minimum(way.start[:, 2], way.end[:, 2])[way.is_low].min())
        own_row, own_column, known = grid.cells_at(left.grid.centres_mm(row, column))
        is_over = np.zeros(len(row), np.bool_)
        is_over[known] = own_mm[own_row[known], own_column[known]] > floor_mm + _LEVEL_MM
        at = kerf.cells[row, column] & is_over
        if bool(at.all()) and len(row):
            over = 0.5 * (lift.start[0] + lift.end[-1])
            yield _Place(cut, lift, row, column, (float(over[0]), float(over[1])))


def _coarser(grid: Grid, radius_mm: float) -> Grid:
    """Return a grid over the same place, as coarse as a cutter's own heights need it."""
    every = max(1, int(radius_mm / _TO_A_RADIUS / grid.step_mm))
    rows, columns = (-(-size // every) for size in grid.shape)
    return Grid(grid.x_mm, grid.y_mm, every * grid.step_mm, (rows, columns))


def _inner(middle: NDArray[np.float64], lift: Lift) -> NDArray[np.float64]:
    """Return the points of a lift's way in its middle third: its ends are the flanks of the tab."""
    length = np.hypot(*(lift.end - lift.start)[:, :2].T)
    moves = length > 0.0
    begin, stop = lift.start[0, :2], lift.end[-1, :2]
    if int(moves.sum()) < 3:
        return begin + np.array([[0.4], [0.5], [0.6]]) * (stop - begin)
    along = (np.cumsum(length) - 0.5 * length) / length.sum()
    inner = moves & (np.abs(along - 0.5) <= 1.0 / 6.0)
    return middle[inner] if bool(inner.any()) else 0.5 * (begin + stop)[np.newaxis]
