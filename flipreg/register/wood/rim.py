"""The rim: the edge of a part that is cut partly from each face, as evidence of register.

Where the cuts of both faces pass the parting height, the walls of both belong to one edge: at any height that both
reach, the level curve of the front's surface and that of the back's coincide if the faces are in register. It needs the
thickness and the tools, and no contour that both programs go round: the ends of a thousand passes will do.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.surface import Surface
from flipreg.cut.thickness import BothFaces
from flipreg.cut.tool import Cutter
from flipreg.path import Path
from flipreg.register.faces.placement import Placement
from flipreg.register.wood.wall import Swept, Walls, walls_at
from flipreg.register.wood.wall_fit import WallFit, fit_walls

__all__ = ["Rim", "rim"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Bools = NDArray[np.bool_]

Cuts = Sequence[tuple[Path, Cutter]]

_STEPS_MM = (0.25, 0.5, 1.0, 2.0)
"""Steps that a map may have, the finest first that is not too large (chosen)."""
_MOST_CELLS = 2_000_000
"""Cells of a map that nobody has made before (chosen): 8 MB each, some tenths of a second."""
_LEAST_SHARED_MM = 0.1
"""Walls that share less height than this are no edge of both; millimetres (chosen): about what Z zeros are true to."""
_MOST_LEVELS = 4
"""Heights at which the rim is compared (chosen): walls are alike at neighbouring heights, and each costs as much."""
_TRIED_LEVELS = 64
"""Heights among which those are chosen (chosen)."""
_FEW_CELLS = 0.02
"""A height that so small a share of the edge reaches is not looked at (chosen)."""
_UNIFORM = 1.0 / np.sqrt(12.0)
"""Standard deviation of what lies anywhere between 0 and 1 (GUM, 4.3.7)."""
_UNEXPLAINED_MM = 0.1
"""Walls of one edge lie no farther apart than this beyond their scallops; median, in millimetres (chosen)."""
_MOST_STEPPED, _LEAST_AGREEING = 0.1, 0.5
"""Where more of the walls stand beside one of the other face, or fewer where one is, it is another edge (chosen)."""
_MARGIN_MM = 6.0
"""How far from where both faces cut walls are looked for: as far as the faces may be off; millimetres (chosen)."""


@dataclass(frozen=True, slots=True)
class Rim:
    """How the edges that both faces cut lie to one another, in the front's program frame.

    Attributes
    ----------
    about_mm : (float, float)
        The middle of the edge.
    dx_mm, dy_mm, turn_deg : float
        Where the back lies less where it should: the shift of that middle, and the turn about it, counter-clockwise.
    dx_uncertainty_mm, dy_uncertainty_mm, turn_uncertainty_deg : float
        Standard uncertainties (k = 1). Millimetres where the walls say nothing: two parallel ones along themselves.
    residual_mm : float
        Median distance between the walls that remains.
    gap_mm : float
        By how much the back leaves more wood than the front all round: the tools' diameters, or an allowance.
    step_mm : float
        The distance that all but a twentieth of the walls stay within, where the faces lie as they were said to.
    stepover_mm : float
        How far apart the passes lie that leave scallops, of the face with the wider ones; 0 where none does.
    heights_mm : tuple of float
        Heights at which they were compared, Z from the front face.
    length_mm : float
        Length of edge that was compared, over all heights.
    grid_mm : float
        Step of the maps that show where edges are.
    """

    about_mm: tuple[float, float]
    dx_mm: float
    dy_mm: float
    turn_deg: float
    dx_uncertainty_mm: float
    dy_uncertainty_mm: float
    turn_uncertainty_deg: float
    residual_mm: float
    gap_mm: float
    step_mm: float
    stepover_mm: float
    heights_mm: tuple[float, ...]
    length_mm: float
    grid_mm: float


def rim(
    front: Cuts, back: Cuts, placement: Placement, *, thickness_mm: float, step_mm: float | None = None
) -> Rim | None:
    """Compare the edge that two faces cut.

    Parameters
    ----------
    front, back : sequence of (Path, Cutter)
        The cuts of each face in its own program frame, Z zero on the face that is cut.
    placement : Placement
        Where the back lies in the front's frame.
    thickness_mm : float
        Of the blank, over 0.
    step_mm : float, optional
        Step of the maps; else 0.25 mm, or the first of 0.5, 1 and 2 mm, or more, that keeps them under 2 million cells.

    Returns
    -------
    Rim or None
        None where the faces cut no common edge, or walls that coincide no better than those of two edges.

    Raises
    ------
    ValueError
        If the thickness is not over 0.
    """
    if not thickness_mm > 0.0:
        raise ValueError(f"a blank has a thickness over 0 mm, got {thickness_mm}")
    over, under = list(Swept.of(front)), list(Swept.of(back, placement))
    grid = _grid(over, under, step_mm)
    if grid is None:
        return None
    maps: list[Singles] = []
    for swept in (over, under):
        surface = Surface(grid, [one.cutter for one in swept], top_mm=0.0)
        for one in swept:
            surface.sweep(one.start_mm, one.end_mm, one.cutter)
        maps.append(surface.heights_mm)
    return _compared(BothFaces(grid, maps[0], np.float32(-thickness_mm) - maps[1], thickness_mm), over, under)


def _grid(front: Sequence[Swept], back: Sequence[Swept], step_mm: float | None) -> Grid | None:
    """Return a grid over where both faces cut, with a margin; None where they have no place in common."""
    boxes: list[tuple[Floats, Floats]] = []
    for swept in (front, back):
        low, high = np.full(2, np.inf), np.full(2, -np.inf)
        for one in swept:
            cuts = np.minimum(one.start_mm[:, 2], one.end_mm[:, 2]) < 0.0
            ends = np.concatenate([one.start_mm[cuts, :2], one.end_mm[cuts, :2]])
            if len(ends):
                low = np.minimum(low, ends.min(axis=0) - one.cutter.radius_mm)
                high = np.maximum(high, ends.max(axis=0) + one.cutter.radius_mm)
        boxes.append((low, high))
    low = np.maximum(boxes[0][0], boxes[1][0]) - _MARGIN_MM
    high = np.minimum(boxes[0][1], boxes[1][1]) + _MARGIN_MM
    if not bool((low < high).all()):
        return None
    area = float(np.prod(high - low))
    enough = [step for step in _STEPS_MM if area <= _MOST_CELLS * step**2]
    step = step_mm or (enough[0] if enough else float(np.sqrt(area / _MOST_CELLS)))
    return Grid.covering((float(low[0]), float(low[1])), (float(high[0]), float(high[1])), step)


def _compared(faces: BothFaces, front: Sequence[Swept], back: Sequence[Swept]) -> Rim | None:
    levels, near = _levels(faces)
    if not levels:
        return None
    thickness = faces.blank_mm
    walls: tuple[list[Walls], list[Walls]] = ([], [])
    below = np.asarray(-faces.back_mm - np.float32(thickness), dtype=np.float32)
    for level in levels:
        walls[0].append(walls_at(level, faces.front_mm, faces.grid, front, near))
        walls[1].append(walls_at(-thickness - level, below, faces.grid, back, near))
    fit = fit_walls(Walls.together(walls[0]), Walls.together(walls[1]))
    if fit is None:
        return None
    cell = faces.grid.step_mm**2
    area = [float(np.count_nonzero(heights < -_LEAST_SHARED_MM)) * cell for heights in (faces.front_mm, below)]
    passes = [_scallops(swept, cut) for swept, cut in zip((front, back), area, strict=True)]
    # Walls stand near some wall or other wherever the back lies, and one corner of two parts of any size may coincide.
    is_explained = fit.residual_mm <= hypot(*(height for _, height in passes)) + _UNEXPLAINED_MM
    if not is_explained or fit.stepped > _MOST_STEPPED or fit.agreeing < _LEAST_AGREEING:
        return None
    return _rim(fit, levels, passes, faces.grid.step_mm, sum(map(_length, walls[0])))


def _scallops(swept: Sequence[Swept], area_mm2: float) -> tuple[float, float]:
    """Return the stepover of the passes that cover what a face cuts, and how far its scallops stand out.

    A ball of radius r leaves them s²/8r high between passes a stepover s apart; a cutter with a sharp corner leaves
    none in a wall. Of several cutters the one that leaves least has made the wall.
    """
    left: list[tuple[float, float]] = []
    for radius in {one.cutter.corner_radius_mm for one in swept}:
        same = [one for one in swept if one.cutter.corner_radius_mm == radius]
        steps = [(one.end_mm - one.start_mm)[np.minimum(one.start_mm[:, 2], one.end_mm[:, 2]) < 0.0] for one in same]
        length = sum(float(np.hypot(step[:, 0], step[:, 1]).sum()) for step in steps)
        step_mm = min(area_mm2 / max(length, 1e-9), 2.0 * radius)
        left.append((0.0, 0.0) if radius == 0.0 else (step_mm**2 / (8.0 * radius), step_mm))
    height, step_mm = min(left)
    return step_mm, height


def _levels(faces: BothFaces) -> tuple[list[float], Bools]:
    """Return the heights that most of the edge of both faces reaches, and the cells around it."""
    from scipy.ndimage import binary_dilation

    bottom = np.maximum(faces.front_mm, np.float32(-faces.blank_mm))
    top = np.minimum(faces.back_mm, np.float32(0.0))
    cut = np.logical_and(faces.front_mm < -_LEAST_SHARED_MM, faces.back_mm > _LEAST_SHARED_MM - faces.blank_mm)
    edge = np.logical_and(cut, top - bottom > _LEAST_SHARED_MM)
    near = binary_dilation(edge, iterations=max(1, round(_MARGIN_MM / faces.grid.step_mm)))
    low, high = bottom[edge].astype(np.float64), top[edge].astype(np.float64)
    found: list[float] = []
    least = max(_FEW_CELLS * len(low), 1.0)
    while len(found) < _MOST_LEVELS and len(low) >= least:
        tries = np.quantile((low + high) / 2, np.linspace(0.0, 1.0, _TRIED_LEVELS))
        reached = np.array([np.count_nonzero((low < level) & (level < high)) for level in tries.tolist()])
        # Of heights that as much of the edge reaches the middle one: it is farthest from floors.
        equal = np.flatnonzero(reached >= 0.98 * reached.max())
        level = float(tries[equal[len(equal) // 2]])
        crossed = (low < level) & (level < high)
        if int(crossed.sum()) < least:
            break
        found.append(level)
        low, high = low[~crossed], high[~crossed]
    return found, near


def _length(walls: Walls) -> float:
    """Return the length of walls in millimetres, from the distances of neighbouring points."""
    apart = np.hypot(*np.diff(walls.at_mm, axis=0).T)
    return float(apart[(np.diff(walls.loop) == 0) & (apart < 5.0)].sum())


def _rim(
    fit: WallFit, levels: Sequence[float], passes: Sequence[tuple[float, float]], step_mm: float, length_mm: float
) -> Rim:
    size = np.abs(fit.apart_mm)
    # All along a wall the nearest pass may be as far away as anywhere in between: its points do not show that.
    scallops = hypot(*(height for _, height in passes)) * _UNIFORM
    reach = max(1.0, float(np.hypot(*np.ptp(fit.at_mm, axis=0))) / 2.0)
    # Single points lie wrong where a wall ends, or where two meet.
    worst_mm = float(np.sort(size)[int(0.95 * (len(size) - 1))])
    return Rim(
        about_mm=(float(fit.about_mm[0]), float(fit.about_mm[1])),
        dx_mm=float(fit.shift_mm[0]),
        dy_mm=float(fit.shift_mm[1]),
        turn_deg=fit.turn_deg,
        dx_uncertainty_mm=float(np.hypot(fit.uncertainty[0], scallops)),
        dy_uncertainty_mm=float(np.hypot(fit.uncertainty[1], scallops)),
        turn_uncertainty_deg=float(np.hypot(fit.uncertainty[2], np.degrees(scallops / reach))),
        residual_mm=fit.residual_mm,
        gap_mm=fit.gap_mm,
        step_mm=worst_mm,
        stepover_mm=max(step for step, _ in passes),
        heights_mm=tuple(levels),
        length_mm=length_mm,
        grid_mm=step_mm,
    )
