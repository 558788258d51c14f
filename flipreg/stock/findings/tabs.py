"""What holds each piece after a setup: the tabs, found on the section's grid and measured on a finer one of their own.

On both grids the surfaces are nowhere above the wood, so that figures err to the thin side, on the finer one by less.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.holding import Bridge, bridges
from flipreg.cut.surface import CHORD_MM, Surface
from flipreg.cut.thickness import BothFaces
from flipreg.stock.cutting.parting import Stage
from flipreg.stock.sections.below import below_face, near_box
from flipreg.stock.sections.kerf import Kerf
from flipreg.stock.sections.remaining import PartSupport
from flipreg.stock.sections.section import SectionCut, SectionCuts

__all__ = ["held_after"]

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]

_FINE_MM = 0.1
"""Step of the finer grids (chosen): widths are then right to two tenths of a millimetre."""
_ABOVE_MM = 0.01
"""What runs higher than this above all wood takes nothing of it (chosen), above the rounding of the maps."""
_MOST_CELLS = 400_000
"""Cells of a finer grid (chosen)."""
_AROUND_CELLS = 2
"""Cells of the section's grid that a finer one goes beyond a tab, to see where it ends (chosen)."""


def held_after(stage: Stage, section: SectionCuts, kerf: Kerf, thickness_mm: float) -> list[PartSupport]:
    """Return how the pieces of a section hang after a setup.

    Parameters
    ----------
    stage : Stage
        The section after the setup.
    section : SectionCuts
        What cuts it.
    kerf : Kerf
        The kerf that all setups make.
    thickness_mm : float
        Of the blank.
    """
    if not kerf.pieces:
        return []
    faces = stage.thin
    # Where no tab is, the kerf is through, or all of its floor is there yet.
    between = kerf.cells & ~kerf.tabs
    wood = faces.is_left & between
    is_floor = 2 * int(wood.sum()) > int(between.sum())
    floor_mm = float((faces.front_mm[wood] - faces.back_mm[wood]).min()) if is_floor else None
    found = [] if floor_mm is not None else _measured(stage, section, kerf, thickness_mm)
    out = []
    for piece in kerf.pieces:
        is_joined = stage.hanging.is_held_at(piece.cells)
        tabs = tuple(
            one.tab
            for one in found
            if piece.number in (one.one, one.other)
            and _reaches(one.one + one.other - piece.number, kerf.blank, found, without=piece.number)
        )
        holds = tabs if is_joined else ()
        out.append(PartSupport(stage.face.name, section.name, piece.at_mm, piece.area_mm2, is_joined, floor_mm, holds))
    return out


def _reaches(start: int, blank: int, found: Sequence[Bridge], *, without: int) -> bool:
    """Return whether tabs lead from a piece to the blank, past another piece."""
    seen, ahead = {without}, [start]
    while ahead:
        number = ahead.pop()
        if number == blank:
            return True
        if number not in seen:
            seen.add(number)
            ahead += [one.one + one.other - number for one in found if number in (one.one, one.other)]
    return False


def _measured(stage: Stage, section: SectionCuts, kerf: Kerf, thickness_mm: float) -> list[Bridge]:
    last = max(number for number, cut in enumerate(section.cuts) if cut.face is stage.face)
    cuts = section.cuts[: last + 1]
    out: list[Bridge] = []
    for bridge in bridges(stage.thin, kerf.cells, kerf.numbers):
        fine = _finer(bridge, cuts, stage.thin, kerf, thickness_mm)
        out += fine or [bridge]
    return out


def _finer(
    bridge: Bridge, cuts: Sequence[SectionCut], coarse: BothFaces, kerf: Kerf, thickness_mm: float
) -> list[Bridge]:
    """Return a bridge measured on a finer grid; none where that shows none."""
    grid = coarse.grid
    x_low, y_low, x_high, y_high = bridge.box_mm
    around = _AROUND_CELLS * grid.step_mm
    low, high = (x_low - around, y_low - around), (x_high + around, y_high + around)
    step = max(_FINE_MM, float(np.sqrt((high[0] - low[0]) * (high[1] - low[1]) / _MOST_CELLS)))
    if step >= grid.step_mm:
        return []
    fine = Grid.covering(low, high, step)
    rows, columns = (
        np.clip(np.rint((at - first) / grid.step_mm).astype(np.intp), 0, size - 1)
        for at, first, size in ((fine.ys_mm, grid.y_mm, grid.shape[0]), (fine.xs_mm, grid.x_mm, grid.shape[1]))
    )
    there = np.ix_(rows, columns)
    kerf_cells = kerf.cells[there]
    seen = BothFaces(fine, coarse.front_mm[there], coarse.back_mm[there], thickness_mm)
    wood = kerf_cells & seen.is_left
    surfaces = []
    for side in (True, False):
        height = seen.front_mm if side else np.float32(-thickness_mm) - seen.back_mm
        # What runs above all wood of the kerf takes nothing of it.
        top_mm = float(height.max(where=wood, initial=-np.inf))
        mine = [cut for cut in cuts if cut.face.is_front is side]
        grown = [cut.cutter.grown(fine.reach_mm + CHORD_MM) for cut in mine]
        surface = Surface(fine, grown, top_mm=0.0)
        for cut, cutter in zip(mine, grown, strict=True):
            path = near_box(cut.path, low, high, cutter.radius_mm)
            surface.cut(path.take(below_face(path, top_mm + _ABOVE_MM)), cutter)
        surfaces.append(surface.heights_mm.copy())
    # Where the section's own maps know no wood, there is none here.
    front = np.where(np.isfinite(seen.front_mm), surfaces[0], -np.inf).astype(np.float32)
    faces = BothFaces(fine, front, np.float32(-thickness_mm) - surfaces[1], thickness_mm)
    found = bridges(faces, kerf_cells, kerf.numbers[there])
    return [
        one
        for one in found
        if (one.one, one.other) == (bridge.one, bridge.other) and _overlap(one.box_mm, bridge.box_mm)
    ]


def _overlap(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    return one[0] <= other[2] and one[2] >= other[0] and one[1] <= other[3] and one[3] >= other[1]
