"""The lines of straight slots, as evidence across themselves: where a slot ends in the air its ends show nothing.

A housing, a kerf or a fret slot is cut from edge to edge of the wood, and how far the tool runs on beyond it differs
from face to face. The line along which it goes is the same for both, whatever the tools; it fixes the back across
itself and in turn, and never along itself.
"""

from math import degrees, radians

import numpy as np
from numpy.typing import NDArray

from flipreg.register.decision.directions import PoseEstimate
from flipreg.register.faces.landmarks import LandmarkKind, Landmarks
from flipreg.register.faces.near import thinned
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.agreement import NEAR_MM
from flipreg.register.placing.chance import log10_false_alarms
from flipreg.register.placing.coincidence import Pull
from flipreg.register.placing.evidence import FEW, LIKELY_CHANCE
from flipreg.register.placing.landing import uncertainties
from flipreg.register.placing.matching import Faces
from flipreg.register.placing.vote import piled_up

__all__ = ["slot_line_estimates"]

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Rows = NDArray[np.intp]

_PARALLEL = float(np.sin(radians(1.0)))
"""Slots that differ in direction by more than a degree are not one slot (chosen)."""
_UPRIGHT = float(np.cos(radians(5.0)))
"""A slot says something about one direction if it runs along X or Y within five degrees (chosen)."""
_MOST = 400
"""Ends of slots of each face that are compared (chosen), to bound the time."""
_LEAST = 3
"""So few lines beat no chance that they may not be (chosen)."""
_CLEARLY = 0.75
"""Where another shift lays so many lines on one another as well, none is shown (chosen): the slots repeat."""


def slot_line_estimates(faces: Faces, placement: Placement, axis: str) -> list[PoseEstimate]:
    """Return what the lines of slots that run along X, and of those that run along Y, show at a placement.

    Parameters
    ----------
    faces : Faces
        Both faces.
    placement : Placement
        Where the back was said to lie: lines are looked for within 5 mm of that.
    axis : str
        The flip axis, 'x' or 'y'.

    Returns
    -------
    list of PoseEstimate
        Of the slots along X, which fix Y, and along Y, which fix X: at most one each.
    """
    both = faces.comparable
    ends = (thinned(np.flatnonzero(side.kind == LandmarkKind.END), _MOST) for side in (both.front, both.back))
    ours, theirs = (side.take(rows) for side, rows in zip((both.front, both.back), ends, strict=True))
    if faces.front.is_empty or len(ours) == 0 or len(theirs) == 0:
        return []
    found: list[PoseEstimate] = []
    for along in (0, 1):
        estimate = _estimate(faces, ours, theirs, placement, along, axis)
        if estimate is not None:
            found.append(estimate)
    return found


def _estimate(
    faces: Faces, ours: Landmarks, theirs: Landmarks, placement: Placement, along: int, axis: str
) -> PoseEstimate | None:
    """Return what the slots show that run along X (0) or Y (1); None where chance or a pitch explains it."""
    both = faces.comparable
    normal = np.array([0.0, 1.0]) if along == 0 else np.array([1.0, 0.0])
    ours = ours.take(np.abs(_parts(ours.direction)[:, along]) >= _UPRIGHT)
    way = _parts(theirs.direction) @ placement.matrix.T
    upright = np.abs(way[:, along]) >= _UPRIGHT
    there, way = placement.apply(theirs.centre_mm[upright]), way[upright]
    if len(ours) == 0 or len(there) == 0:
        return None
    ours_way = _parts(ours.direction)
    # From each end of the back to each line of the front.
    across = np.stack([-ours_way[:, 1], ours_way[:, 0]], axis=1)
    gap = ((there[np.newaxis] - ours.centre_mm[:, np.newaxis]) * across[:, np.newaxis]).sum(axis=2)
    parallel = np.abs(across @ way.T) <= _PARALLEL
    front, back = np.nonzero(parallel & (np.abs(gap) <= NEAR_MM))
    off = gap[front, back] * (across[front] @ normal)
    if len(off) == 0:
        return None
    tried = piled_up(np.column_stack([off, np.zeros(len(off))]), both.gate_mm, most=8)[:, 0]
    near = np.abs(off - tried[:, np.newaxis]) <= both.gate_mm
    lines = _number(ours.centre_mm @ normal, both.gate_mm)
    counts = np.array([len(np.unique(lines[front[row]])) for row in near])
    best = int(counts.argmax())
    rivals = counts[np.abs(tried - tried[best]) > 2.0 * both.gate_mm]
    least = min(lines.max(), _number(there @ normal, both.gate_mm).max()) + 1
    count = min(int(counts[best]), int(least))
    chance = min(1.0, 2.0 * both.gate_mm * (lines.max() + 1) / float(both.size_mm[1 - along] + 20.0 * both.gate_mm))
    alarms = log10_false_alarms(count, int(least), chance, 2.0 * NEAR_MM / both.gate_mm)
    if count < _LEAST or alarms > LIKELY_CHANCE or bool((rivals >= _CLEARLY * count).any()):
        return None
    front, back = front[near[best]], back[near[best]]
    # Each end of the back is held against the nearest place of the front's line.
    feet = there[back] - gap[front, back][:, np.newaxis] * across[front]
    pull = Pull(feet, placement.undo(there[back]), ours_way[front], np.ones(len(front)))
    return _described(faces, pull, placement, axis, count, along)


def _described(faces: Faces, pull: Pull, placement: Placement, axis: str, count: int, along: int) -> PoseEstimate:
    """Return the displacement of the middle of the part that lays the ends of slots on their lines: least squares."""
    box = faces.front.cut_box_mm
    middle = (box[:2] + box[2:]) / 2.0
    there = placement.apply(pull.back_mm)
    normal, arm = np.column_stack([-pull.along[:, 1], pull.along[:, 0]]), there - middle
    size = max(1.0, float(np.hypot(*arm.T).max()))
    spun = (np.column_stack([-arm[:, 1], arm[:, 0]]) * normal).sum(axis=1, keepdims=True) / size
    columns, off = np.hstack([normal, spun]), ((there - pull.front_mm) * normal).sum(axis=1)
    dx_mm, dy_mm, turn = np.linalg.lstsq(columns, off, rcond=1e-6)[0].tolist()
    best = placement.moved(-turn / size, middle, -np.array([dx_mm, dy_mm]))
    ux_mm, uy_mm, u_turn = uncertainties(pull, pull.weight, best, middle)
    across, along_line = ((dy_mm, uy_mm), (dx_mm, ux_mm)) if axis == "x" else ((dx_mm, ux_mm), (dy_mm, uy_mm))
    return PoseEstimate(
        f"the lines of {count} slots along {'XY'[along]} that both faces cut",
        across[0],
        along_line[0],
        degrees(turn / size),
        across[1],
        along_line[1],
        degrees(u_turn),
        can_disprove=count > FEW,
    )


def _parts(directions: Complexes) -> Floats:
    return np.column_stack([directions.real, directions.imag])


def _number(offsets: Floats, reach_mm: float) -> Rows:
    """Return the number of the line of each end, by where it lies across, shape (n,)."""
    order = np.argsort(offsets)
    number = np.empty(len(offsets), np.intp)
    number[order] = np.cumsum(np.diff(offsets[order], prepend=offsets[order[0]]) > reach_mm)
    return number
