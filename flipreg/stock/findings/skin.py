"""Findings on skins: contours along a part's edge that do not go through, each looked at down to its own floor."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.job.layout import Layout
from flipreg.stock.sections.contours import Lift, Walk, at_own_floor, lifts, runs, walk
from flipreg.stock.sections.hanging import Borders
from flipreg.stock.sections.kerf import ACROSS, Kerf, is_edge, numbered
from flipreg.stock.sections.reached import seen_over
from flipreg.stock.sections.remaining import RemainingStock
from flipreg.stock.sections.section import SectionCut, SectionCuts
from flipreg.units import area_text, length_text, place_text

__all__ = ["skin_findings"]

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]

_LEVEL_MM = 0.05
"""A contour this close to its own floor goes all the way down there, and is no tab (chosen)."""
_LEAST_CELLS = 4
"""Fewer cells are the grid's ragged edge (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class _Floor:
    """The chords of one program at the floor of their own contour, the wood under each (less than 0 if none), lifts."""

    cut: SectionCut
    way: Walk
    at: NDArray[np.intp]
    left_mm: Floats
    lifts: list[Lift]


def skin_findings(left: RemainingStock, section: SectionCuts, kerf: Kerf, layout: Layout) -> Iterator[Finding]:
    """Yield findings of the code 'skin': whether the contours that may part the part off go through."""
    floors = [one for cut in section.cuts if cut.is_profile and (one := _floor(cut, left, kerf)) is not None]
    if not floors:
        return
    faces, grid = left.faces, left.grid
    half_mm = faces.blank_mm / 2.0
    edges = {id(edge.cut): edge for edge in kerf.edges}
    least = min(
        (
            -float(one.left_mm[edges[id(one.cut)].is_edge[one.at] & (one.left_mm <= 0.0)].max(initial=-np.inf))
            for one in floors
            if id(one.cut) in edges
        ),
        default=np.inf,
    )
    # Where a contour leaves wood, it is an edge if it would part two pieces without that wood.
    thin = [one.left_mm > 0.0 for one in floors]
    band = np.zeros(grid.shape, np.bool_)
    for one, rows in zip(floors, thin, strict=True):
        at = one.at[rows]
        band |= seen_over(grid, one.way.start[at], one.way.end[at], one.cut.cutter.radius_mm)
        for lift in one.lifts if bool(rows.any()) else ():
            band |= seen_over(grid, lift.start, lift.end, one.cut.cutter.radius_mm)
    worst: tuple[float, Floats] | None = None
    skin = np.zeros(grid.shape, np.bool_)
    if bool(band.any()):
        pieces, _, _ = numbered(section, faces, Borders.of(section, layout), band | kerf.cells | ~faces.is_left)
        numbers = pieces.labels
        for one, rows in zip(floors, thin, strict=True):
            asked = np.zeros(len(one.way.row), np.bool_)
            asked[one.at[rows]] = True
            along = is_edge(one.way, asked, numbers, faces)[one.at] & rows
            # A shallow groove round something is a groove, beside contours that do go through.
            if np.isfinite(least):
                along &= one.left_mm < half_mm
            if bool(along.any()):
                at = one.at[along]
                skin |= seen_over(grid, one.way.start[at], one.way.end[at], one.cut.cutter.radius_mm)
                most = int(np.where(along, one.left_mm, -np.inf).argmax())
                if worst is None or one.left_mm[most] > worst[0]:
                    worst = float(one.left_mm[most]), one.way.middle[one.at[most], :2]
        skin &= faces.is_left & ~kerf.tabs
    if worst is not None and int(skin.sum()) >= _LEAST_CELLS:
        x_mm, y_mm = worst[1].tolist()
        yield Finding(
            "skin",
            Status.FAIL,
            f"{left.lead}the profile cuts leave a skin of up to {length_text(worst[0])} over "
            f"{area_text(float(skin.sum()) * grid.cell_mm2)}, thickest at {place_text((x_mm, y_mm))}",
            section=left.name,
            at_mm=(x_mm, y_mm),
        )
    elif np.isfinite(least):
        yield Finding(
            "skin",
            Status.PASS,
            f"{left.lead}the profile cuts go through everywhere but at tabs, by "
            f"{length_text(max(0.0, least))} or "
            "more",
            section=left.name,
        )
    else:
        yield Finding(
            "skin",
            Status.NOT_DETERMINED,
            f"{left.lead}the profile cuts part nothing off; it would need the cut that closes the way round, "
            "or those of both faces over each other",
            section=left.name,
        )


def _floor(cut: SectionCut, left: RemainingStock, kerf: Kerf) -> _Floor | None:
    way = walk(cut)
    is_deep = at_own_floor(way, _LEVEL_MM)
    rows = np.flatnonzero(is_deep & (way.length > 1e-6))
    if not len(rows):
        return None
    faces = left.faces
    at, heading = way.middle[rows, :2], way.heading[rows]
    # The least wood across the kerf is what joins both sides of it.
    least = np.full(len(rows), np.inf)
    on_tab = np.zeros(len(rows), np.bool_)
    known = np.ones(len(rows), np.bool_)
    for share in ACROSS:
        off = share * way.diameter_mm / 2.0 * np.column_stack([-heading[:, 1], heading[:, 0]])
        row, column, inside = faces.grid.cells_at(at + off)
        cells = row[inside], column[inside]
        least[inside] = np.minimum(least[inside], faces.front_mm[cells] - faces.back_mm[cells])
        on_tab[inside] |= kerf.tabs[cells]
        known[inside] &= left.known[cells]
    asked = ~on_tab & known & np.isfinite(least)
    over = lifts(cut, way, runs(way, is_deep))
    return _Floor(cut, way, rows[asked], least[asked], over) if bool(asked.any()) else None
