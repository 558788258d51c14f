"""Evidence from the shape of the wood, where the faces share no feature: their centre lines, and the rim of both.

Each face may be symmetric about a line of its own, and in register the flip carries one line to the other. That shows
register across the line and in turn; along it something else has to. Two lines, as a tray has them, show all of it.
A line that is off is no proof against register: a recess may lie off the centre by design. It only leaves it open.

Where the cuts of both faces pass the parting height, their walls belong to one rim, which shows what its shape allows.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import hypot, inf, radians, sin

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.tool import Cutter
from flipreg.path import Path
from flipreg.register.decision.directions import PoseEstimate
from flipreg.register.decision.feature_axes import feature_axes
from flipreg.register.faces.features import Features
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.matching import Faces
from flipreg.register.wood.centre_line import CentreLine, agreement, centre_lines
from flipreg.register.wood.rim import rim
from flipreg.units import length_text, shown_now

__all__ = ["centre_line_estimates", "rim_estimate"]

Floats = NDArray[np.float64]
Cuts = Sequence[tuple[Path, Cutter]]

_SAME_LINE_DEG = 2.0
"""Lines of both faces that differ in direction by more are not meant for one another (chosen)."""
_UPRIGHT_DEG = 5.0
"""A line says something about one direction if it runs along X or Y within this (chosen)."""


def centre_line_estimates(faces: Faces, placement: Placement, axis: str) -> list[PoseEstimate]:
    """Return what the centre lines of both faces show at a placement.

    Parameters
    ----------
    faces : Faces
        Both faces.
    placement : Placement
        Where the back was said to lie.
    axis : str
        The flip axis, 'x' or 'y'.

    Returns
    -------
    list of PoseEstimate
        Of each line that both faces have; empty where a face is flat or not symmetric.
    """
    if faces.front.is_empty or faces.back.is_empty:
        return []
    ours = _lines(faces.front)
    if not ours:
        return []
    theirs = _lines(faces.back)
    box = faces.front.cut_box_mm
    middle = (box[:2] + box[2:]) / 2.0
    found: list[PoseEstimate] = []
    for line in ours:
        estimate = _estimate(line, theirs, placement, middle, axis)
        if estimate is not None:
            found.append(estimate)
    return found


def rim_estimate(
    cuts: tuple[Cuts, Cuts],
    placement: Placement,
    axis: str,
    *,
    middle: Floats,
    thickness_mm: float,
    tolerance_mm: float,
) -> PoseEstimate | None:
    """Return what the rim shows that both faces cut.

    Parameters
    ----------
    cuts : two sequences of (Path, Cutter)
        The cuts of the front and of the back, each with Z zero on the face that is cut.
    placement : Placement
        Where the back was said to lie.
    axis : str
        The flip axis, 'x' or 'y'.
    middle : array, shape (2,)
        Of the part, where the displacement is told.
    thickness_mm, tolerance_mm : float
        Of the blank, and what is in register.

    Returns
    -------
    PoseEstimate or None
        None where the faces cut no common rim.
    """
    edge = rim(*cuts, placement, thickness_mm=thickness_mm)
    if edge is None:
        return None
    # Walls that agree nowhere to within the tolerance show the place no better than they agree.
    left = edge.residual_mm if edge.residual_mm > tolerance_mm else 0.0
    turn, turn_uncertainty = radians(edge.turn_deg), radians(edge.turn_uncertainty_deg)
    reach_x, reach_y = (middle - np.array(edge.about_mm)).tolist()
    across = edge.dx_mm - turn * reach_y, hypot(edge.dx_uncertainty_mm, turn_uncertainty * reach_y, left)
    along = edge.dy_mm + turn * reach_x, hypot(edge.dy_uncertainty_mm, turn_uncertainty * reach_x, left)
    if axis == "x":
        across, along = along, across
    words = f"{length_text(edge.length_mm, 0)} of the rim that both faces cut"
    settle = None
    if edge.stepover_mm > 0.0:
        words += f", with passes up to {length_text(edge.stepover_mm, 1)} apart"
        settle = "finish the rim with passes closer together"
    return PoseEstimate(
        words,
        across[0],
        along[0],
        edge.turn_deg,
        across[1],
        along[1],
        inf if left else edge.turn_uncertainty_deg,
        can_disprove=False,
        settle=settle,
    )


def _lines(face: Features) -> list[CentreLine]:
    """Return the axes of the shape that a face is cut to, and of its features where the shape has none that way."""
    lines = list(centre_lines(face.cuts).lines)
    for axis in feature_axes(face):
        if all(abs(sin(radians(axis.direction_deg - line.direction_deg))) > 0.5 for line in lines):
            lines.append(axis)
    return lines


def _estimate(
    line: CentreLine, others: Sequence[CentreLine], placement: Placement, middle: Floats, axis: str
) -> PoseEstimate | None:
    """Return what one line of the front and its like of the back show."""
    agreements = [(agreement(line, other, placement, tolerance_mm=inf), other) for other in others]
    alike = [(one, other) for one, other in agreements if abs(one.turn_deg) <= _SAME_LINE_DEG]
    if not alike:
        return None
    one, other = min(alike, key=lambda pair: abs(pair[0].turn_deg))
    is_upright = abs(line.direction_deg - 90.0) <= _UPRIGHT_DEG
    if not is_upright and abs(line.direction_deg) > _UPRIGHT_DEG:
        return None
    # To the left of +Y lies -X. At the middle of the part a turn adds its share.
    along = 1 if is_upright else 0
    reach = float(middle[along] - line.point_mm[along])
    sign = -1.0 if is_upright else 1.0
    off = sign * one.offset_mm + sign * radians(one.turn_deg) * reach
    uncertainty = hypot(one.uncertainty_mm, radians(one.uncertainty_deg) * reach)
    name = "XY"[1 - along]
    there = placement.apply(np.array([other.point_mm]))[0]
    words = (
        f"the centre lines (the front is symmetric about {name} {_within(line.point_mm[1 - along], line)}, "
        f"the back about {name} {_within(float(there[1 - along]), other)})"
    )
    estimate = PoseEstimate(words, 0.0, 0.0, one.turn_deg, turn_uncertainty_deg=one.uncertainty_deg, can_disprove=False)
    # The flip line runs along Y if the blank is flipped about Y, and so does what is across it along X.
    if is_upright == (axis == "y"):
        return replace(estimate, across_mm=off, across_uncertainty_mm=uncertainty)
    return replace(estimate, along_mm=off, along_uncertainty_mm=uncertainty)


def _within(at_mm: float, line: CentreLine) -> str:
    """Return where a line lies, with its uncertainty."""
    number = shown_now().number
    return f"{number(at_mm, 3)} ±{number(line.uncertainty_mm, 3)}"
