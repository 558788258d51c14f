"""All that a face shows at a known place, in one list: what the faces are compared by.

Holes, closed contours of any size and depth, ends of straight slots, and the corners and rounded corners of open cuts.
What has a hand tells it by its moments or its direction, so that a mirror that was forgotten shows by itself.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.moments import moments_of, seen_by
from flipreg.register.faces.near import clusters
from flipreg.register.faces.outline import Outline

__all__ = ["LandmarkKind", "Landmarks", "compatible", "grows_evenly", "joined", "of_contours", "of_holes"]

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Rows = NDArray[np.intp]

_SAME_PLACE_MM = 0.02
"""Features whose centres are this close count once, in millimetres (chosen): a hole and a ring round it are one."""
_LARGEST_RING_MM = 40.0
"""A contour up to this size may be centred on a hole of the other face, in millimetres (chosen)."""
_EVEN = 0.002
"""A third moment below this is that of a shape that half a turn leaves as it is (chosen)."""
_SIZE_SHARE, _SIZE_MM = 0.02, 0.1
"""Contours of one shape may differ in size by so much (chosen)."""
_EVENLY_MM, _EVENLY_SHARE = 0.05, 0.05
"""Cutters of two sizes along one wall go ways whose widths differ alike, but for this and this share of it, in
millimetres (chosen): else one side lies at another place, and the middle of the way is no place of the part."""
_SHAPE = 0.1
"""Moments of one shape may differ by this share (chosen)."""
_ONE_WAY = float(np.cos(np.radians(2.0)))
"""Corners may differ in direction and in angle by 2 degrees (chosen)."""
_RADIUS_MM = 0.05
"""Rounded corners may differ in radius by this, in millimetres (chosen)."""


class LandmarkKind(IntEnum):
    """What stands at a place."""

    HOLE = 0
    CONTOUR = 1
    ARC = 2
    CORNER = 3
    END = 4


# A member of an enumeration takes a hundred times as long to look up as a number.
_HOLE, _CONTOUR, _ARC = int(LandmarkKind.HOLE), int(LandmarkKind.CONTOUR), int(LandmarkKind.ARC)


@dataclass(frozen=True, slots=True, eq=False)
class Landmarks:
    """Features of a face, one row each, in its program frame.

    Attributes
    ----------
    kind : int8, shape (n,)
        A `LandmarkKind`.
    centre_mm : float64, shape (n, 2)
        Axis of a hole, centroid of a contour, centre of an arc, tip of a corner, end of the tool's centre
        in a straight slot.
    uncertainty_mm : float64, shape (n,)
        How well the program tells the place, as a standard uncertainty.
    size_mm : float64, shape (n,)
        Diameter of a hole, NaN where the tool was not told; square root of a contour's area; radius of an arc; width of
        the square notch that a corner belongs to, as driven where the tool was not told; how much wider than the tool a
        slot is; 0 for others.
    angle_deg : float64, shape (n,)
        By how much the cut turns at a corner or an arc; 0 for others.
    direction : complex128, shape (n,)
        Unit vector from a corner or an arc into its angle, or out of a slot at its end; 0 for others.
    second, third : complex128, shape (n,)
        Shape of a contour, as `flipreg.register.faces.moments` has it; 0 for others.
    width_mm : float64, shape (n, 2)
        Longer and shorter width of a contour, as `flipreg.register.faces.moments` has them; 0 for others.
    tool_radius_mm : float64, shape (n,)
        Of the tool; NaN where it was not told.
    floor_mm : float64, shape (n,)
        Lowest Z.
    program, line : int64, shape (n,)
        Index of the stretch that makes it, as in `Features.cuts`, and its line.
    """

    kind: NDArray[np.int8]
    centre_mm: Floats
    uncertainty_mm: Floats
    size_mm: Floats
    angle_deg: Floats
    direction: Complexes
    second: Complexes
    third: Complexes
    width_mm: Floats
    tool_radius_mm: Floats
    floor_mm: Floats
    program: NDArray[np.int64]
    line: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.line)

    def take(self, rows: Rows | NDArray[np.bool_]) -> "Landmarks":
        """Return some of the features."""
        return Landmarks(*(getattr(self, field.name)[rows] for field in fields(self)))

    def places(self) -> NDArray[np.int64]:
        """Return the number of the place of each feature, shape (n,): those at one place count once."""
        return clusters(self.centre_mm, _SAME_PLACE_MM)


def joined(parts: Sequence[Landmarks]) -> Landmarks:
    """Return features in one list."""
    if not parts:
        parts = [of_holes(np.empty((0, 2)), np.empty(0), np.empty(0), np.empty(0, np.int64), np.empty(0, np.int64))]
    return Landmarks(*(np.concatenate([getattr(part, field.name) for part in parts]) for field in fields(Landmarks)))


def of_holes(
    centre_mm: Floats, diameter_mm: Floats, floor_mm: Floats, program: NDArray[np.int64], line: NDArray[np.int64]
) -> Landmarks:
    """Return holes as features."""
    count = len(line)
    none = np.zeros(count, np.complex128)
    return Landmarks(
        kind=np.full(count, LandmarkKind.HOLE, np.int8),
        centre_mm=centre_mm,
        uncertainty_mm=np.full(count, 0.001),
        size_mm=diameter_mm,
        angle_deg=np.zeros(count),
        direction=none,
        second=none,
        third=none,
        width_mm=np.zeros((count, 2)),
        tool_radius_mm=diameter_mm / 2.0,
        floor_mm=floor_mm,
        program=program,
        line=line,
    )


def of_contours(outlines: Sequence[Outline]) -> Landmarks:
    """Return closed contours of any size and depth as features."""
    moments = moments_of([outline.loop.points_mm for outline in outlines])
    count = len(outlines)
    # A chain of short lines rounded to thousandths tells the centre better than any one of its corners.
    return Landmarks(
        kind=np.full(count, LandmarkKind.CONTOUR, np.int8),
        centre_mm=moments.centre_mm,
        uncertainty_mm=np.full(count, 0.005),
        size_mm=np.sqrt(moments.area_mm2),
        angle_deg=np.zeros(count),
        direction=np.zeros(count, np.complex128),
        second=moments.second,
        third=moments.third,
        width_mm=moments.width_mm,
        tool_radius_mm=np.array(
            [np.nan if one.edge_radius_mm is None else one.edge_radius_mm for one in outlines], np.float64
        ),
        floor_mm=np.array([outline.loop.floor_mm for outline in outlines], np.float64),
        program=np.array([outline.program for outline in outlines], np.int64),
        line=np.array([outline.line for outline in outlines], np.int64),
    )


def compatible(front: Landmarks, back: Landmarks, ours: Rows, theirs: Rows, matrix: Floats) -> NDArray[np.bool_]:
    """Return whether features may be the same one, wherever they lie.

    Parameters
    ----------
    front, back : Landmarks
        The features of both faces.
    ours, theirs : int arrays, shape (k,)
        Rows of the features of each pair.
    matrix : array, shape (2, 2)
        Maps directions of the back to the front.

    Returns
    -------
    bool array, shape (k,)
    """
    a, b = front.kind[ours], back.kind[theirs]
    may = (a == _HOLE) & (b == _HOLE)
    rows = ((a == _CONTOUR) & (b == _CONTOUR)).nonzero()[0]
    if len(rows):
        may[rows] = _one_shape(front, back, ours[rows], theirs[rows], matrix)
    for holes, rings, ring, at in ((a, b, back, theirs), (b, a, front, ours)):
        rows = ((holes == _HOLE) & (rings == _CONTOUR)).nonzero()[0]
        if len(rows):
            may[rows] = (ring.size_mm[at[rows]] <= _LARGEST_RING_MM) & (np.abs(ring.third[at[rows]]) <= _EVEN)
    rows = ((a == b) & (a >= _ARC)).nonzero()[0]
    if len(rows):
        may[rows] = _one_corner(front, back, ours[rows], theirs[rows], matrix)
    return np.asarray(may)


def _one_shape(front: Landmarks, back: Landmarks, ours: Rows, theirs: Rows, matrix: Floats) -> NDArray[np.bool_]:
    tools = np.nan_to_num(np.abs(front.tool_radius_mm[ours] - back.tool_radius_mm[theirs]))
    size = front.size_mm[ours]
    # An offset by r makes the root of the area 2 r longer for a square, and more for what is long and thin.
    may = np.abs(size - back.size_mm[theirs]) <= _SIZE_SHARE * size + _SIZE_MM + 4.0 * tools
    may &= grows_evenly(front.width_mm[ours], back.width_mm[theirs])
    room = 0.01 + np.minimum(0.1, 2.0 * tools / np.maximum(size, 1.0))
    for name, order in (("second", 2), ("third", 1)):
        a, b = getattr(front, name)[ours], seen_by(matrix, getattr(back, name)[theirs], order)
        may &= np.abs(a - b) <= _SHAPE * np.abs(a) + room * (1.0 if order == 2 else 0.3)
    return np.asarray(may)


def grows_evenly(ours_mm: Floats, theirs_mm: Floats) -> NDArray[np.bool_]:
    """Return whether contours may be one wall all round, whatever cutters go along it.

    Cutters of two sizes make the ways differ alike in length and in width. Where one side of a way lies in the air, how
    far it runs out differs from face to face, and so does the middle.

    Parameters
    ----------
    ours_mm, theirs_mm : array, shape (n, 2)
        Longer and shorter width of each contour.

    Returns
    -------
    bool array, shape (n,)
    """
    grown = theirs_mm - ours_mm
    room = _EVENLY_MM + _EVENLY_SHARE * np.abs(grown.mean(axis=1))
    return np.asarray(np.abs(grown[:, 0] - grown[:, 1]) <= room)


def _one_corner(front: Landmarks, back: Landmarks, ours: Rows, theirs: Rows, matrix: Floats) -> NDArray[np.bool_]:
    there = seen_by(matrix, back.direction[theirs], 1)
    along = (front.direction[ours] * there.conj()).real
    may = (along >= _ONE_WAY) & (np.abs(front.angle_deg[ours] - back.angle_deg[theirs]) <= 2.0)
    tools = np.nan_to_num(np.abs(front.tool_radius_mm[ours] - back.tool_radius_mm[theirs]))
    kind, differ_mm = front.kind[ours], np.abs(front.size_mm[ours] - back.size_mm[theirs])
    may &= (kind == LandmarkKind.CORNER) | (differ_mm <= _RADIUS_MM + 2.0 * tools)
    # The centre of a rounded corner is where it is for any tool; the tip of a sharp one is not.
    return np.asarray(may & ((kind == _ARC) | (tools <= 1e-6)))
