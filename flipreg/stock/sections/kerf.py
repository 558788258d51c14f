"""The cuts that part pieces of wood, found from the wood and from each contour, whatever the job says of its programs.

Where the cutter's centre has no wood under it any more, a contour goes through. Such a place is an edge if the wood to
its left and to its right belongs to two pieces, or if one side is off the blank; else it is an opening. Tabs are places
of the contour, so they do not make one piece of two here.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.labelled import Labelled, label
from flipreg.cut.thickness import LEAST_LEFT_MM, BothFaces
from flipreg.stock.sections.contours import Lift, Walk, lifts, runs, walk
from flipreg.stock.sections.hanging import Borders, Hanging, hanging
from flipreg.stock.sections.reached import seen_over
from flipreg.stock.sections.section import SectionCut, SectionCuts

__all__ = ["ACROSS", "Kerf", "KerfEdge", "Piece", "is_edge", "kerf_of", "numbered"]

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Labels = NDArray[np.int32]

_ACROSS_TOOLS = 2.5
"""Wood beside a contour is looked for as far as this many diameters from its middle (chosen)."""
_FLOOR_MM = 0.05
"""A contour this close to the floor cuts it; millimetres (chosen)."""
ACROSS = (0.0, 0.3, -0.3, 0.6, -0.6, 0.9, -0.9)
"""Where across the cutter the wood is looked at, in radii (chosen). The other face's kerf may be narrower."""
_OUTSIDE = -1
"""Number of what lies off the blank."""


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A piece of wood that kerfs go round, as far as the section goes.

    Attributes
    ----------
    number : int
        Its number in `Kerf.numbers`.
    cells : bool array, shape of the grid
        Its cells.
    at_mm : (x, y)
        Mean of their centres.
    area_mm2 : float
        Their area.
    goes_on : bool
        Whether it reaches the line where this section meets another one, and goes on there.
    """

    number: int
    cells: Bools
    at_mm: tuple[float, float]
    area_mm2: float
    goes_on: bool


@dataclass(frozen=True, slots=True, eq=False)
class KerfEdge:
    """The edge places of one program.

    Attributes
    ----------
    cut : SectionCut
        The program.
    way : Walk
        Its way.
    is_edge : bool array
        Which chords of the way run along an edge, those over tabs included.
    tabs : tuple of Lift
        Its ways over tabs.
    """

    cut: SectionCut
    way: Walk
    is_edge: Bools
    tabs: tuple[Lift, ...]

    @property
    def rows(self) -> NDArray[np.intp]:
        """Rows of the program's path that run along an edge or over a tab of it."""
        return np.unique(np.concatenate([self.way.row[self.is_edge], *(one.row for one in self.tabs)]))


@dataclass(frozen=True, slots=True, eq=False)
class Kerf:
    """The band that parts pieces from each other.

    Attributes
    ----------
    cells : bool array, shape of the grid
        Where it is: no wood is left, or a tab.
    tabs : bool array, shape of the grid
        The places of it over which a cutter is lifted.
    numbers : int32 array, shape of the grid
        Of each cell the number of its piece, the blank included; 0 in the kerf, in openings and in chips.
    blank : int
        The number of the blank; 0 if nothing is left of it.
    part : bool array, shape of the grid
        The cells of all pieces.
    pieces : tuple of Piece
        What it goes round, the largest first.
    edges : tuple of KerfEdge
        By program, those with edge places only.
    """

    cells: Bools
    tabs: Bools
    numbers: Labels
    blank: int
    part: Bools
    pieces: tuple[Piece, ...]
    edges: tuple[KerfEdge, ...]

    @property
    def profiles(self) -> tuple[KerfEdge, ...]:
        """The edges of the programs that may part the part off; of all programs where none of those does."""
        return tuple(edge for edge in self.edges if edge.cut.is_profile) or self.edges

    @property
    def is_all_round(self) -> bool:
        """Whether kerfs go all round every piece; else it reaches the blank's border, and any side may be the part."""
        return not any(bool(np.any(side)) for piece in self.pieces for side in _border(piece.cells))


def _border(cells: Bools) -> tuple[Bools, Bools, Bools, Bools]:
    return cells[0], cells[-1], cells[:, 0], cells[:, -1]


def kerf_of(section: SectionCuts, faces: BothFaces, borders: Borders, off: Bools) -> Kerf:
    """Return the kerf of a section.

    Parameters
    ----------
    section : SectionCuts
        What is cut of it.
    faces : BothFaces
        What all programs together leave, right at the centres.
    borders : Borders
        Of its grid.
    off : bool array, shape of the grid
        Cells of pieces that have come loose, none of which is the blank.
    """
    grid, none = section.grid, np.zeros(section.grid.shape, np.bool_)
    through = ~faces.is_left
    if not bool(through.any()):
        return Kerf(none, none, none.astype(np.int32), 0, none, (), ())
    ways = []
    for cut in section.cuts:
        way = walk(cut)
        goes = _goes(cut, way, faces)
        if bool(goes.any()):
            ways.append((cut, way, goes))
    found = [(cut, way, goes, lifts(cut, way, runs(way, goes))) for cut, way, goes in ways]
    lifted = none.copy()
    for cut, _, _, over in found:
        lifted |= _over(grid, over, cut.cutter.radius_mm)
    found_pieces, blank, now = numbered(section, faces, borders, through | lifted, off)
    numbers = found_pieces.labels
    widest_mm = max(cut.tool.diameter_mm for cut in section.cuts)
    edges = []
    for cut, way, goes, over in found:
        at = is_edge(way, goes, numbers, faces)
        if bool(at.any()):
            edges.append(KerfEdge(cut, way, at, tuple(one for one in over if _joins_edges(way, at, one))))
    cells = none.copy()
    lifted_over = {True: none.copy(), False: none.copy()}
    for edge in edges:
        at = edge.is_edge
        band = seen_over(grid, edge.way.start[at], edge.way.end[at], edge.cut.cutter.radius_mm + grid.reach_mm)
        cells |= band & through
        lifted_over[edge.cut.face.is_front] |= _over(grid, edge.tabs, edge.cut.cutter.radius_mm)
    bands = {is_front: over_tabs.copy() for is_front, over_tabs in lifted_over.items()}
    all_tabs = [one for edge in edges for one in edge.tabs]
    for edge in edges if all_tabs else ():
        reach_mm = edge.cut.cutter.radius_mm + grid.reach_mm
        low = edge.way.is_low & _comes_near(edge.way, all_tabs, widest_mm + reach_mm)
        bands[edge.cut.face.is_front] |= seen_over(grid, edge.way.start[low], edge.way.end[low], reach_mm)
    # A tab is as wide as the narrower kerf, where both faces cut there; beside it lies a ledge of one of the pieces.
    both = bands[True] & bands[False]
    tabs = none.copy()
    for over_tabs in lifted_over.values():
        places = label(over_tabs)
        shared = places.named(places.under(both & over_tabs))
        tabs |= np.where(shared, both, over_tabs) & over_tabs
    if bool((lifted & ~tabs & ~through).any()):
        found_pieces, blank, now = numbered(section, faces, borders, through | tabs, off)
        numbers = found_pieces.labels
    cells |= tabs
    pieces = _pieces(section, found_pieces, blank, now)
    part = found_pieces.named([piece.number for piece in pieces])
    return Kerf(cells, tabs, numbers, blank, part, pieces, tuple(edges))


def numbered(
    section: SectionCuts, faces: BothFaces, borders: Borders, without: Bools, off: Bools | None = None
) -> tuple[Labelled, int, Hanging]:
    """Return the pieces of wood without some cells, the number of the blank, and how they hang."""
    now = hanging(faces, borders, None, off, without)
    cells = np.bincount(now.group, weights=now.cells, minlength=now.count + 1)
    narrowest_mm = min(cut.tool.diameter_mm for cut in section.cuts)
    is_chip = cells * section.grid.cell_mm2 <= pi / 4.0 * narrowest_mm**2
    group = np.where(is_chip[now.group], 0, now.group).astype(np.int32)
    blank = 0 if now.is_last_left else int(group[now.held].max(initial=0))
    return now.pieces.renumbered(group), blank, now


def _comes_near(way: Walk, tabs: Sequence[Lift], reach_mm: float) -> Bools:
    """Return which chords come within a reach of the boxes round tabs."""
    low, high = np.minimum(way.start, way.end)[:, :2], np.maximum(way.start, way.end)[:, :2]
    out = np.zeros(len(way.row), np.bool_)
    for one in tabs:
        ends = np.concatenate([one.start, one.end])[:, :2]
        near = (high >= ends.min(axis=0) - reach_mm) & (low <= ends.max(axis=0) + reach_mm)
        out |= near.all(axis=1)
    return out


def _over(grid: Grid, tabs: Sequence[Lift], radius_mm: float) -> Bools:
    """Return the cells that a cutter passes over tabs."""
    if not tabs:
        return np.zeros(grid.shape, np.bool_)
    starts, ends = np.concatenate([one.start for one in tabs]), np.concatenate([one.end for one in tabs])
    return seen_over(grid, starts, ends, radius_mm)


def is_edge(way: Walk, asked: Bools, numbers: Labels, faces: BothFaces) -> Bools:
    """Return which of the chords asked about have different pieces to their left and right."""
    out = np.zeros(len(asked), np.bool_)
    rows = np.flatnonzero(asked & (way.length > 1e-6))
    if len(rows):
        left, right = (_beside(way, rows, side, numbers, faces) for side in (1.0, -1.0))
        out[rows] = (left != right) & (left != 0) & (right != 0)
    return out


def _beside(way: Walk, rows: NDArray[np.intp], side: float, numbers: Labels, faces: BothFaces) -> Labels:
    """Return the number of the first wood on one side of chords, 0 where none is near."""
    grid = faces.grid
    at, heading = way.middle[rows, :2], way.heading[rows]
    normal = side * np.column_stack([-heading[:, 1], heading[:, 0]])
    found = np.zeros(len(rows), np.int32)
    step = max(grid.step_mm, way.diameter_mm / 12.0)
    for reach in np.arange(step, _ACROSS_TOOLS * way.diameter_mm, step).tolist():
        row, column, inside = grid.cells_at(at + reach * normal)
        here = np.full(len(rows), _OUTSIDE, np.int32)
        here[inside] = numbers[row[inside], column[inside]]
        found = np.where(found == 0, here, found)
    return found


def _goes(cut: SectionCut, way: Walk, faces: BothFaces) -> Bools:
    """Return which chords are fed below the face at what is the floor in the end, with no wood left somewhere across.

    The other face's kerf may be narrower, and the middle of this one lie on its rim.
    Passes above the floor, and finishing passes that run out over the kerf, are no part of its contours.
    """
    out = np.zeros(len(way.row), np.bool_)
    low = np.flatnonzero(way.is_low)
    lowest, heading, middle = np.minimum(way.start[low, 2], way.end[low, 2]), way.heading[low], way.middle[low, :2]
    normal = 0.5 * way.diameter_mm * np.column_stack([-heading[:, 1], heading[:, 0]])
    goes = np.zeros(len(low), np.bool_)
    for share in ACROSS:
        row, column, inside = faces.grid.cells_at(middle + share * normal)
        cells = row[inside], column[inside]
        front, back = faces.front_mm[cells], faces.back_mm[cells]
        floor = front if cut.face.is_front else -faces.blank_mm - back
        at_floor = lowest[inside] <= floor + _FLOOR_MM
        goes[inside] |= at_floor & (front - back <= LEAST_LEFT_MM)
        if share == 0.0:
            goes |= ~inside
    out[low] = goes
    return out


def _joins_edges(way: Walk, at: Bools, over: Lift) -> bool:
    """Return whether a tab lies between places that are edges: the nearest chords beside it are."""
    edges = np.flatnonzero(at)
    if not len(edges):
        return False
    near = way.diameter_mm
    ends = np.stack([over.start[0, :2], over.end[-1, :2]])
    points = np.concatenate([way.start[edges, :2], way.end[edges, :2]])
    return all(float(np.hypot(*(points - end).T).min()) <= near for end in ends)


def _pieces(section: SectionCuts, found: Labelled, blank: int, now: Hanging) -> tuple[Piece, ...]:
    grid = section.grid
    cells = found.cells
    out = []
    for number in np.flatnonzero(cells).tolist():
        if number in (0, blank):
            continue
        mine = found.named([number])
        size = int(cells[number])
        x_mm, y_mm = float(mine.sum(axis=0) @ grid.xs_mm) / size, float(mine.sum(axis=1) @ grid.ys_mm) / size
        out.append(Piece(number, mine, (x_mm, y_mm), size * grid.cell_mm2, bool(now.goes_on[number])))
    return tuple(sorted(out, key=lambda piece: -piece.area_mm2))
