"""Square notches that both faces cut with tools that nobody told: their widths show by what the tools differ.

A notch is one notch in the wood. Where its ways are wider in the front than in the back, by as much in all notches, the
front's tool is that much narrower. So the corners of the walls are known but for one number that is the same
for both faces, and they lie on one another where the faces are in register. Which size the notch gets isn't known.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.landmarks import LandmarkKind, Landmarks

__all__ = ["with_notches_of_one_width"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

_EQUAL_MM = 0.02
"""Widths that differ by no more are one width, in millimetres (chosen): programs round each corner."""
_LEAST, _SHARE = 3, 0.75
"""So many notches, and so much of those of the face with fewer, have to be alike for it (chosen)."""
_LARGEST_MM = 12.0
"""Radii of tools differ by no more, in millimetres (chosen)."""


def with_notches_of_one_width(front: Landmarks, back: Landmarks) -> tuple[Landmarks, Landmarks, float]:
    """Return the features of both faces with the corners of notches where the walls of both lie, but for one offset.

    Parameters
    ----------
    front, back : Landmarks
        The features, each in its face's frame.

    Returns
    -------
    front, back : Landmarks
        The same where all tools are told, where a face cuts notches with several tools, and where no one difference of
        tools makes most notches as wide as one of the other face.
    wider_mm : float
        By how much the back's tool is taken to be larger in radius than the front's; than nothing where the front's
        was told, and with the other sign where the back's was. 0 where nothing had to be assumed.
    """
    ours, theirs = _notches(front), _notches(back)
    sides = (front, ours), (back, theirs)
    our_tool, their_tool = (bool(np.isfinite(side.tool_radius_mm[rows]).all()) for side, rows in sides)
    several = any(len(np.unique(side.program[rows])) != 1 for side, rows in sides)
    wider_mm = None if several or (our_tool and their_tool) else _wider(front.size_mm[ours], back.size_mm[theirs])
    if wider_mm is None:
        return front, back, 0.0
    if their_tool:
        return _offset(front, ours, -wider_mm), back, wider_mm
    return front if our_tool else _offset(front, ours, 0.0), _offset(back, theirs, wider_mm), wider_mm


def _notches(marks: Landmarks) -> Rows:
    """Return the corners of square notches."""
    return np.flatnonzero((marks.kind == LandmarkKind.CORNER) & (marks.size_mm > 0.0))


def _wider(ours: Floats, theirs: Floats) -> float | None:
    """Return by what the radii of the tools differ; None where no one number makes most notches alike.

    Each notch is given by both of its corners.
    """
    apart = (ours[:, np.newaxis] - theirs) / 2.0
    values = apart[np.abs(apart) <= _LARGEST_MM]
    if len(values) == 0:
        return None
    values = np.sort(values)
    reach = np.searchsorted(values, values + _EQUAL_MM / 2.0, side="right") - np.arange(len(values))
    first = int(reach.argmax())
    wider = float(np.median(values[first : first + int(reach[first])]))
    alike = np.abs(apart - wider) <= _EQUAL_MM / 2.0
    count = min(int(alike.any(axis=1).sum()), int(alike.any(axis=0).sum())) / 2.0
    return wider if count >= max(_LEAST, _SHARE * min(len(ours), len(theirs)) / 2.0) else None


def _offset(marks: Landmarks, rows: Rows, radius_mm: float) -> Landmarks:
    """Return features with the corners of notches a radius further out, as those of walls that a tool leaves."""
    centre, radius, size = marks.centre_mm.copy(), marks.tool_radius_mm.copy(), marks.size_mm.copy()
    outward = -marks.direction[rows] / np.cos(np.radians(marks.angle_deg[rows] / 2.0))
    centre[rows] += radius_mm * np.column_stack([outward.real, outward.imag])
    radius[rows] = 0.0
    size[rows] += 2.0 * radius_mm
    return replace(marks, centre_mm=centre, tool_radius_mm=radius, size_mm=size)
