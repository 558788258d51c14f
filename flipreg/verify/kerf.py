"""Where the profile programs go round, and the pieces that they go round."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.regions import label
from flipreg.cut.surface import CHORD_MM, chords
from flipreg.job.layout import Layout
from flipreg.job.setup import Section
from flipreg.path import Path
from flipreg.verify.below import fed_below
from flipreg.verify.section import SectionCut, SectionCuts, passed, seen_over

__all__ = ["Kerf", "Piece", "kerf_of", "profile_rows"]

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

_LEAST_TOOLS = 4.0
"""A piece is larger than this many squares of the profile cutter's diameter; smaller ones are chips. Ours."""
_LIFT_TOOLS = 6.0
"""A way over the top from cut to cut that is at most this many diameters long goes over a tab; ours."""
_LEVEL_ARC = 2
"""Normal of arcs in the XY plane."""
_WITHIN_MM = 1e-6
"""Grids are clipped to a section to within this; millimetres, ours."""


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A piece of wood that the kerf goes round, as far as the section goes.

    Attributes
    ----------
    cells : bool array, shape of the grid
        Its cells.
    at_mm : (x, y)
        Mean of their centres.
    area_mm2 : float
        Their area.
    goes_on : bool
        Whether it reaches the line where this section meets another one, and goes on there.
    """

    cells: Bools
    at_mm: tuple[float, float]
    area_mm2: float
    goes_on: bool


@dataclass(frozen=True, slots=True, eq=False)
class Kerf:
    """The band that the profile cutters pass, whatever their depth there.

    Attributes
    ----------
    front, back : float32 arrays, shape of the grid
        Z that each face's profile programs alone leave, from their own face: below 0 where they pass.
    cells : bool array, shape of the grid
        Where the profile cutter of either face passes.
    blank : bool array, shape of the grid
        The wood outside it that reaches the edge of what is looked at.
    part : bool array, shape of the grid
        The cells of all pieces.
    pieces : tuple of Piece
        What it goes round, the largest first.
    """

    front: Singles
    back: Singles
    cells: Bools
    blank: Bools
    part: Bools
    pieces: tuple[Piece, ...]


def kerf_of(section: SectionCuts, layout: Layout) -> Kerf | None:
    """Return the kerf of a section; None where no program is named as a profile."""
    if not any(cut.is_profile for cut in section.cuts):
        return None
    front, back = (
        passed([cut for cut in section.of(is_front=is_front) if cut.is_profile], section.grid)
        for is_front in (True, False)
    )
    passes = (np.minimum(front, back) < 0.0) | _lifted_over(section)
    labels, count = label(~passes)
    outer, at_limit = _at_borders(labels, section, layout)
    cells = np.bincount(labels.ravel(), minlength=count + 1)
    widest_mm = max(cut.tool.diameter_mm for cut in section.cuts if cut.is_profile)
    pieces = []
    for number in np.flatnonzero(cells * section.grid.cell_mm2 > _LEAST_TOOLS * widest_mm**2).tolist():
        if number == 0 or number in outer:
            continue
        mine = labels == number
        rows, columns = np.nonzero(mine)
        x_mm, y_mm = section.grid.centres_mm(rows, columns).mean(axis=0).tolist()
        area_mm2 = float(cells[number]) * section.grid.cell_mm2
        pieces.append(Piece(mine, (x_mm, y_mm), area_mm2, number in at_limit))
    pieces.sort(key=lambda piece: -piece.area_mm2)
    part = np.zeros_like(passes)
    for piece in pieces:
        part |= piece.cells
    return Kerf(front, back, passes, np.isin(labels, outer), part, tuple(pieces))


def profile_rows(cut: SectionCut) -> Bools:
    """Return the motions of a profile program that cut along the edge, shape (n,): fed below the face, or lifts."""
    return np.logical_or(fed_below(cut.path), _lifts(cut))


def _lifts(cut: SectionCut) -> Bools:
    """Return the motions that go over a tab at the face or above it, from cut to cut, shape (n,).

    Such a way is short, and goes on in the direction of the cuts before and after it; a way to another contour does
    not, but for chance.
    """
    path = cut.path
    out = np.zeros(len(path), np.bool_)
    fed = np.flatnonzero(fed_below(path))
    moved = np.hypot(*(path.end[:, :2] - path.start[:, :2]).T)
    moves = np.flatnonzero((moved > _WITHIN_MM) | path.is_arc)
    if len(fed) < 2 or not len(moves):
        return out
    last, first = fed[:-1], fed[1:]
    # Of each motion its way along, so that a lift's is a difference.
    way = np.cumsum(np.nan_to_num(moved))
    short = (first - last > 1) & (way[first - 1] - way[last] <= _LIFT_TOOLS * cut.tool.diameter_mm)
    before = moves[np.maximum(np.searchsorted(moves, last, side="right") - 1, 0)]
    after = moves[np.minimum(np.searchsorted(moves, first), len(moves) - 1)]
    over = path.start[first, :2] - path.end[last, :2]
    goes_on = _is_along(over, _heading(path.take(before), at_end=True))
    goes_on &= _is_along(over, _heading(path.take(after), at_end=False))
    lift = short & goes_on
    number = np.searchsorted(fed, np.arange(len(path)), side="right")
    between = (number > 0) & (number < len(fed))
    out[between] = lift[number[between] - 1]
    out[fed] = False
    return out


def _heading(path: Path, *, at_end: bool) -> Floats:
    """Return the direction of motions in the plan, at their start or end, shape (n, 2)."""
    heading = path.end[:, :2] - path.start[:, :2]
    round_ = path.is_arc & (path.normal == _LEVEL_ARC)
    out = ((path.end if at_end else path.start) - path.centre)[round_, :2]
    side = np.sign(path.sweep_deg[round_])
    heading[round_] = np.column_stack([-out[:, 1] * side, out[:, 0] * side])
    return heading


def _is_along(way: Floats, heading: Floats) -> Bools:
    """Return whether ways go within 45 degrees of a direction."""
    least = np.hypot(*way.T) * np.hypot(*heading.T) / np.sqrt(2.0)
    along: Floats = (way * heading).sum(axis=1)
    out: Bools = np.greater_equal(along, least)
    return out


def _lifted_over(section: SectionCuts) -> Bools:
    """Return the cells over which profile cutters are lifted out of the wood."""
    cells = np.zeros(section.grid.shape, np.bool_)
    for cut in (cut for cut in section.cuts if cut.is_profile):
        rows = _lifts(cut)
        if bool(rows.any()):
            for start, end in chords(cut.path.take(rows), CHORD_MM):
                cells |= seen_over(section.grid, start, end, cut.cutter.radius_mm)
    return cells


def _at_borders(
    labels: NDArray[np.int32], section: SectionCuts, layout: Layout
) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Return the numbers of what is blank, and of what reaches the line where this section meets another.

    Blank is what goes on beyond the grid. What reaches no more than the blank's edges is a piece like any other, unless
    nothing goes on.
    """
    grid = section.grid
    low_x, low_y, high_x, high_y = layout.section_box_mm(section.bend)
    first_x, first_y = grid.x_mm - grid.step_mm / 2, grid.y_mm - grid.step_mm / 2
    borders = [
        (labels[:, 0], first_x - low_x, False),
        (labels[:, -1], high_x - first_x - grid.step_mm * grid.shape[1], False),
        (labels[0], first_y - low_y, 0 in _limits(section, layout)),
        (labels[-1], high_y - first_y - grid.step_mm * grid.shape[0], -1 in _limits(section, layout)),
    ]
    none = np.empty(0, np.int32)
    on = np.concatenate([none, *(cells for cells, beyond_mm, _ in borders if beyond_mm > _WITHIN_MM)])
    at_edge = np.concatenate([none, *(cells for cells, _, is_limit in borders if not is_limit)])
    ends = [cells for cells, beyond_mm, is_limit in borders if is_limit and beyond_mm <= _WITHIN_MM]
    outer = on if bool(on.any()) else at_edge
    return np.unique(outer[outer > 0]), np.unique(np.concatenate([none, *ends]))


def _limits(section: SectionCuts, layout: Layout) -> list[int]:
    """Return the rows of the grid, 0 and -1, beyond which the wood goes on as another section."""
    if section.bend is not None:
        return [0] if section.bend.section is Section.FAR else [-1]
    return [edge for edge, bend in ((0, layout.near), (-1, layout.far)) if bend is not None]
