"""Motions as polylines: arcs and helices as chords that stay within a tolerance of them.

Positions are in space, in millimetres, in any one frame; sweeps are degrees, counter-clockwise positive about the arc's
normal. One row is one motion; nothing here loops over rows.
"""

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.arc import SAME_POINT_MM, arc_points, in_plane, plane_axes

__all__ = ["flatten"]

Floats = NDArray[np.float64]

_LARGEST_STEP_DEG = 90.0
"""No chord spans more, so that a full circle keeps an area however coarse the tolerance."""


def flatten(  # noqa: PLR0913 - the columns of a Path, which geometry may not import
    start_mm: Floats,
    end_mm: Floats,
    centre_mm: Floats,
    normal: NDArray[np.uint8],
    sweep_deg: Floats,
    is_arc: NDArray[np.bool_],
    tolerance_mm: float,
) -> tuple[Floats, NDArray[np.intp]]:
    """Return consecutive motions as the corner points of a polyline.

    Parameters
    ----------
    start_mm, end_mm, centre_mm : array, shape (n, 3)
        Positions in millimetres; the centre is read for arcs only.
    normal : uint8 array, shape (n,)
        Axis normal to each arc's plane, see `flipreg.geometry.arc.plane_axes`.
    sweep_deg : array, shape (n,)
        Signed sweeps in degrees.
    is_arc : bool array, shape (n,)
        Which rows are arcs or helices; all others are straight.
    tolerance_mm : float
        How far an arc may stand off its chord, in millimetres, over 0.

    Returns
    -------
    points_mm : array, shape (m, 3)
        For each motion the corners inside it and its end, exactly as given; not its start. Where the two
        radii of an arc differ, the radius passes evenly from one to the other.
    row : int array, shape (m,)
        The motion each point belongs to.

    Raises
    ------
    ValueError
        If the tolerance is not a number over 0.
    """
    if not tolerance_mm > 0:
        raise ValueError(f"a chord tolerance is a length over 0 mm, got {tolerance_mm}")
    chords = np.ones(len(start_mm), dtype=np.intp)
    chords[is_arc] = _chord_count(
        start_mm[is_arc], end_mm[is_arc], centre_mm[is_arc], normal[is_arc], sweep_deg[is_arc], tolerance_mm
    )
    row = np.repeat(np.arange(len(start_mm)), chords)
    points = end_mm[row]
    number = np.arange(1, len(row) + 1) - np.repeat(np.cumsum(chords) - chords, chords)
    inside = np.flatnonzero(number < chords[row])
    arc = row[inside]
    fraction = number[inside] / chords[arc]
    first, second = plane_axes(normal[arc])
    from_centre, to_centre = _radii(start_mm[arc], end_mm[arc], centre_mm[arc], normal[arc])
    growth = 1 + fraction * (np.hypot(*to_centre.T) / np.maximum(np.hypot(*from_centre.T), SAME_POINT_MM) - 1)
    grown = from_centre * growth[:, np.newaxis]
    offset = arc_points(grown, np.zeros_like(grown), sweep_deg[arc], fraction)
    height = normal[arc].astype(np.intp)
    points[inside, first] = centre_mm[arc, first] + offset[:, 0]
    points[inside, second] = centre_mm[arc, second] + offset[:, 1]
    rise = end_mm[arc, height] - start_mm[arc, height]
    points[inside, height] = start_mm[arc, height] + fraction * rise
    return points, row


def _chord_count(
    start: Floats,
    end: Floats,
    centre: Floats,
    normal: NDArray[np.uint8],
    sweep: Floats,
    tolerance: float,
) -> NDArray[np.intp]:
    """Return how many chords keep each arc within the tolerance.

    A chord over the angle a stands h = r (1 - cos(a/2)) = 2 r sin²(a/4) off its arc; the second form solved
    for a keeps its digits where h is far smaller than r.
    """
    from_centre, to_centre = _radii(start, end, centre, normal)
    radius = np.maximum(np.maximum(np.hypot(*from_centre.T), np.hypot(*to_centre.T)), tolerance)
    step_deg = np.minimum(_LARGEST_STEP_DEG, np.degrees(4 * np.arcsin(np.sqrt(tolerance / (2 * radius)))))
    # An exact multiple must not gain a chord by float noise.
    count: NDArray[np.intp] = np.ceil(np.abs(sweep) / step_deg - 1e-9).astype(np.intp)
    return np.maximum(count, 1)


def _radii(start: Floats, end: Floats, centre: Floats, normal: NDArray[np.uint8]) -> tuple[Floats, Floats]:
    """Return the vectors from the centre to start and end in the arcs' planes, each of shape (n, 2)."""
    start, end, centre = (in_plane(points, normal)[:, :2] for points in (start, end, centre))
    return start - centre, end - centre
