"""Findings on openings: places without wood that are no kerf round a piece."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.heightmap import height_map
from flipreg.cut.labelled import label
from flipreg.cut.regions import Region, regions_of, widened
from flipreg.cut.thickness import Web
from flipreg.findings import Finding, Status
from flipreg.job.tool import ToolShape
from flipreg.names import bare_name
from flipreg.stock.cutting.release import Release
from flipreg.stock.sections.below import near_box
from flipreg.stock.sections.kerf import Kerf
from flipreg.stock.sections.permission import declared
from flipreg.stock.sections.reached import seen_over
from flipreg.stock.sections.remaining import RemainingStock
from flipreg.stock.sections.section import SectionCut, SectionCuts, passed_over
from flipreg.units import area_text, length_text, place_text

__all__ = ["LEAST_CELLS", "Openings", "breakthrough_findings", "openings"]

Bools = NDArray[np.bool_]

LEAST_CELLS = 4
"""Fewer cells in a row of their own are the grid's ragged edge (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Openings:
    """The places of a section without wood that are no kerf.

    Attributes
    ----------
    cells : bool array, shape of the grid
        Those that are meant and the kerf, as far as a cell is wide, and all that drills come over that may open the
        part: a drill's point leaves wood at the rim.
    wrong, edge, waste, either, meant, parted, unsure : tuple of Region
        Those in the part that nobody permitted, those that open its edge, those outside the part, those outside of the
        pieces that a kerf parts without going all round them, those that are permitted, the kerf where no program may
        part a piece off, and those in the way of a profile of which motions are left out, so that they may be kerf.
    by : tuple of str
        The programs whose permission was used.
    """

    cells: Bools
    wrong: tuple[Region, ...]
    edge: tuple[Region, ...]
    waste: tuple[Region, ...]
    either: tuple[Region, ...]
    meant: tuple[Region, ...]
    parted: tuple[Region, ...]
    unsure: tuple[Region, ...]
    by: tuple[str, ...]


def openings(
    left: RemainingStock, section: SectionCuts, kerf: Kerf, released: Sequence[Release], partial: Sequence[SectionCut]
) -> Openings:
    """Return the openings of a section.

    Parameters
    ----------
    left : RemainingStock
        What is left of it.
    section : SectionCuts
        What cut it.
    kerf : Kerf
        Its kerf.
    released : sequence of Release
        The pieces of it that come loose.
    partial : sequence of SectionCut
        The programs of which cuts are left out.
    """
    faces, grid = left.faces, left.grid
    gone = ~faces.is_left & left.known
    is_kerf = kerf.cells & gone
    # Along an edge the cuts of both faces may run out to nothing, within a cutter's width of the kerf.
    widest_mm = max(cut.tool.diameter_mm for cut in section.cuts)
    places = label(gone)
    along = places.named(places.under(is_kerf))
    if bool(is_kerf.any()):
        along &= widened(is_kerf, int(np.ceil(widest_mm / grid.step_mm)))
    places = label(gone & ~is_kerf & ~along)
    found = [one for one in regions_of(places, faces.left_mm, grid) if one.cells >= LEAST_CELLS]
    cells = np.zeros(grid.shape, np.bool_)
    by: dict[str, None] = {}
    asked = bool(found) or any(not edge.cut.is_profile for edge in kerf.edges)
    permitted, drilled = _permitted(section, left, by) if asked else (cells, cells)
    fallen = _beside_fallen(released, section, grid.shape)
    meant_cells = permitted | fallen
    part_numbers = {piece.number for piece in kerf.pieces} if _edges_may(kerf) else {*np.unique(kerf.numbers).tolist()}
    wrong: list[Region] = []
    edge: list[Region] = []
    waste: list[Region] = []
    meant: list[Region] = []
    unsure: list[Region] = []
    either: list[Region] = []
    beside = widened(is_kerf | along, 1)
    profiles = [cut for cut in partial if cut.is_profile]
    may_be_kerf = np.zeros(grid.shape, np.bool_)
    if found and profiles:
        may_be_kerf = passed_over(profiles, grid, around_mm=grid.reach_mm)
    for one in found:
        mine = places.named([one.number])
        if not bool((mine & ~meant_cells).any()):
            meant.append(one)
        elif not bool((mine & ~may_be_kerf).any()):
            unsure.append(one)
        elif part_numbers & {*np.unique(kerf.numbers[_rim(mine)]).tolist()} - {0} or not kerf.numbers.any():
            (edge if bool((mine & beside).any()) else wrong).append(one)
        else:
            (waste if kerf.is_all_round else either).append(one)
    parted = _parted(left, kerf, is_kerf & ~fallen, meant_cells)
    cells = places.named([one.number for one in (*meant, *unsure)]) | is_kerf | along | drilled
    return Openings(
        cells,
        tuple(wrong),
        tuple(edge),
        tuple(waste),
        tuple(either),
        tuple(meant),
        parted,
        tuple(unsure),
        tuple(by),
    )


def breakthrough_findings(
    left: RemainingStock, section: SectionCuts, found: Openings, web: Web | None
) -> Iterator[Finding]:
    """Yield findings of the code 'breakthrough': places without wood where there should be some.

    `web` is the thinnest wood of the section: where it is nothing, nothing passes.
    """
    if_meant = "if it is meant, say through = true at the program that makes it"
    wanting: tuple[tuple[Sequence[Region], Status, str], ...] = (
        (found.wrong, Status.FAIL, f"the part gets a hole there; {if_meant}"),
        (
            found.edge,
            Status.FAIL,
            f"the part's edge is open there, more than a cutter inside the kerf; {if_meant}",
        ),
        (
            found.parted,
            Status.FAIL,
            "they part a piece from the rest; if that is meant, say profile = true at the programs that cut along the "
            "part's edge, or may_fall where a piece is to be cut loose",
        ),
        (found.waste, Status.WARN, "that is outside the part"),
        (found.unsure, Status.NOT_DETERMINED, "whether that is the part's edge cannot be told"),
        (
            found.either,
            Status.NOT_DETERMINED,
            f"the kerf goes all round neither side, so whether that is the part cannot be told; {if_meant}",
        ),
    )
    for places, status, says in wanting:
        if places:
            yield _open(left, section, places, status, says)
    others = any(places for places, _, _ in wanting)
    if not others and (web is None or web.left_mm > 0.0):
        meant = ""
        if found.meant:
            many = "1 opening" if len(found.meant) == 1 else f"{len(found.meant)} openings"
            meant = f" and at {many} that {', '.join(found.by)} may make"
        yield Finding(
            "breakthrough",
            Status.PASS,
            f"{left.lead}no wood is missing but along the part's edge{meant}",
            section=left.name,
        )


def _open(
    left: RemainingStock, section: SectionCuts, found: Sequence[Region], status: Status, says: str
) -> Finding:
    worst = min(found, key=lambda one: one.least_mm)
    x_mm, y_mm = worst.at_mm
    places = "" if len(found) == 1 else f" at {len(found)} places"
    faces = left.faces
    row, column, _ = left.grid.cells_at(np.array([worst.at_mm]))
    at = int(row[0]), int(column[0])
    one_face = bool(faces.is_through[at])
    how = "cuts go through" if one_face else "cuts of both faces meet"
    cut = _opened_at(section, worst.at_mm)
    return Finding(
        "breakthrough",
        status,
        f"{left.lead}{how}{places} over {area_text(sum(part.area_mm2 for part in found))}, "
        f"deepest by {length_text(-worst.least_mm)} at {place_text((x_mm, y_mm))}; {says}",
        None if cut is None else cut.program.name,
        section=left.name,
        at_mm=(x_mm, y_mm),
    )


def _opened_at(section: SectionCuts, at_mm: tuple[float, float]) -> SectionCut | None:
    """Return the program that cuts lowest at a point of those of the face that cuts deeper there."""
    cell = Grid(*at_mm, 0.01, (1, 1))
    depths = [
        float(height_map(near_box(cut.path, at_mm, at_mm, cut.cutter.radius_mm), cut.cutter, cell, top_mm=0.0)[0, 0])
        for cut in section.cuts
    ]
    return section.cuts[int(np.argmin(depths))] if depths and min(depths) < 0.0 else None


def _permitted(section: SectionCuts, left: RemainingStock, by: dict[str, None]) -> tuple[Bools, Bools]:
    """Return the cells that programs may open, and of them those that drills come over.

    Programs may where the job says so, and drills in holes that are drilled from both faces.
    """
    grid = left.grid
    reach_mm = grid.reach_mm
    out, drilled = np.zeros(grid.shape, np.bool_), np.zeros(grid.shape, np.bool_)
    gone = ~left.faces.is_left
    for cut in section.cuts:
        if declared(cut).through:
            cells = passed_over([cut], grid, around_mm=reach_mm)
            if bool((cells & gone).any()):
                by[bare_name(cut.program.name)] = None
            out |= cells
            if cut.tool.shape is ToolShape.DRILL:
                drilled |= cells
    drills = [[cut for cut in section.of(is_front=side) if cut.tool.shape is ToolShape.DRILL] for side in (True, False)]
    if all(drills):
        front, back = (passed_over(cuts, grid, around_mm=reach_mm) for cuts in drills)
        both = front & back
        if bool((both & gone).any()):
            by["holes drilled from both faces"] = None
        out |= both
        drilled |= both
    return out, drilled


def _beside_fallen(released: Sequence[Release], section: SectionCuts, shape: tuple[int, int]) -> Bools:
    """Return the cells of pieces that may fall, and of the kerf round them."""
    out = np.zeros(shape, np.bool_)
    for one in released:
        if one.is_permitted:
            out |= one.piece.cells
    if not bool(out.any()):
        return out
    widest_mm = max(cut.tool.diameter_mm for cut in section.cuts)
    return widened(out, int(np.ceil(1.25 * widest_mm / section.grid.step_mm)))


def _edges_may(kerf: Kerf) -> bool:
    return any(edge.cut.is_profile for edge in kerf.edges)


def _parted(left: RemainingStock, kerf: Kerf, cells: Bools, permitted: Bools) -> tuple[Region, ...]:
    """Return the kerf where no program that passes may part a piece off."""
    meant = [edge for edge in kerf.edges if edge.cut.is_profile]
    if len(meant) == len(kerf.edges):
        return ()
    may = permitted.copy()
    for edge in meant:
        # The other face's kerf may be wider by as much.
        reach_mm = edge.cut.tool.diameter_mm
        may |= seen_over(left.grid, edge.way.start[edge.is_edge], edge.way.end[edge.is_edge], reach_mm)
    regions = regions_of(label(cells & ~may), left.faces.left_mm, left.grid)
    # What parts a piece off is as large as a cutter; less is where cuts run out over the edge of the kerf.
    narrowest_mm = min(edge.cut.tool.diameter_mm for edge in kerf.edges)
    return tuple(one for one in regions if one.area_mm2 > pi / 4.0 * narrowest_mm**2)


def _rim(cells: Bools) -> Bools:
    return widened(cells, 2) & ~cells

