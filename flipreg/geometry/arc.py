"""Circular arcs as columns: sweep, centre, bounds, length, chords.

Plane functions take points of shape (n, 2) in the arc's own plane, first axis and second axis, so that
counter-clockwise turns the first towards the second: (x, y) in XY, (z, x) in ZX, (y, z) in YZ. Millimetres
and degrees, counter-clockwise positive. One row is one arc; nothing here loops over rows.
"""

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "SAME_POINT_MM",
    "arc_bounds",
    "arc_length",
    "arc_points",
    "centre_from_radius",
    "flatten",
    "in_plane",
    "plane_axes",
    "rows_by_plane",
    "sweep_deg",
]

Scalar = TypeVar("Scalar", bound=np.generic)
Floats = NDArray[np.float64]

SAME_POINT_MM = 1e-9
"""Points closer than this in both coordinates are one point (chosen): far below any program's decimals, far above float
noise at machine distances."""

_NOISE_MM = 1e-11
"""A radius longer than half its chord by no more than this is half of it (chosen): noise of inches in millimetres."""

_LARGEST_STEP_DEG = 90.0
"""No chord spans more, so that a full circle keeps an area however coarse the tolerance."""


def sweep_deg(start_mm: Floats, end_mm: Floats, centre_mm: Floats, counter_clockwise: NDArray[np.bool_]) -> Floats:
    """Return the signed angles that arcs turn through.

    Parameters
    ----------
    start_mm, end_mm, centre_mm : array, shape (n, 2)
        Positions in the arc's plane, in millimetres.
    counter_clockwise : bool array, shape (n,)
        The direction of each arc.

    Returns
    -------
    array, shape (n,)
        Degrees, counter-clockwise positive, magnitude over 0 and up to 360. Where start and end are one
        point, or lie in one direction from the centre, the arc is a full turn; the direction is compared
        with a tolerance of `SAME_POINT_MM` along the arc, so float noise decides nothing.
    """
    from_centre, to_centre = start_mm - centre_mm, end_mm - centre_mm
    cross = from_centre[:, 0] * to_centre[:, 1] - from_centre[:, 1] * to_centre[:, 0]
    dot = (from_centre * to_centre).sum(axis=1)
    angle = np.degrees(np.arctan2(cross, dot))
    # cross / radius is the distance between the two directions along the arc. Within noise its sign is an
    # accident, and a wrong sign is a whole turn.
    same_direction = np.zeros(len(cross), np.bool_)
    # No radius is longer than its two sides together: few arcs are left to ask for theirs.
    near = np.flatnonzero((np.abs(cross) <= 2 * SAME_POINT_MM * np.abs(from_centre).sum(axis=1)) & (dot >= 0))
    smaller_radius = np.minimum(_length(from_centre[near]), _length(to_centre[near]))
    same_direction[near] = np.abs(cross[near]) <= SAME_POINT_MM * smaller_radius
    same_point = (np.abs(end_mm - start_mm) <= SAME_POINT_MM).all(axis=1)
    turn = np.where(counter_clockwise, 360.0, -360.0)
    backwards = np.where(counter_clockwise, angle < 0, angle > 0)
    # Half a turn has no sign of its own: atan2 calls it +180 or -180 by the sign of a zero.
    forwards = np.where(backwards, angle + turn, angle)
    return np.asarray(np.where(same_point | same_direction, turn, forwards), dtype=np.float64)


def centre_from_radius(
    start_mm: Floats,
    end_mm: Floats,
    radius_mm: Floats,
    counter_clockwise: NDArray[np.bool_],
    *,
    slack_mm: Floats | float,
) -> Floats:
    """Return the centres of arcs in radius format.

    Parameters
    ----------
    start_mm, end_mm : array, shape (n, 2)
        Positions in the arc's plane, in millimetres.
    radius_mm : array, shape (n,)
        The R word in millimetres: positive turns through at most 180 degrees, negative through at least 180.
    counter_clockwise : bool array, shape (n,)
        The direction of each arc.
    slack_mm : float or array, shape (n,)
        How much longer than twice the radius a chord may be, in millimetres, because of rounded numbers.

    Returns
    -------
    array, shape (n, 2)
        Centres in millimetres. Within the slack, the middle of the chord. NaN where the chord is longer than
        that, and where start and end are one point: no circle is named then.

    References
    ----------
    NISTIR 6556, section 3.5.3.1
    """
    chord = end_mm - start_mm
    length = _length(chord)
    radius = np.abs(radius_mm)
    # (r - c/2)(r + c/2) keeps the digits that r² - c²/4 loses when the arc is nearly half a turn.
    over = radius - length / 2
    # What is left of inches in millimetres is no arc of a little less than half a turn.
    height = np.sqrt(np.where(over > _NOISE_MM, over * (radius + length / 2), 0.0))
    leftwards = np.where(counter_clockwise == (radius_mm > 0), 1.0, -1.0)
    same_point = (np.abs(chord) <= SAME_POINT_MM).all(axis=1)
    impossible = same_point | (length - 2 * radius > slack_mm)
    left = np.stack([-chord[:, 1], chord[:, 0]], axis=1) / np.where(impossible, 1.0, length)[:, np.newaxis]
    centre = start_mm + chord / 2 + left * (leftwards * height)[:, np.newaxis]
    return np.where(impossible[:, np.newaxis], np.nan, centre)


def arc_bounds(start_mm: Floats, end_mm: Floats, centre_mm: Floats, sweep_deg: Floats) -> Floats:
    """Return the boxes around arcs, extreme points inside the sweep included.

    Parameters
    ----------
    start_mm, end_mm, centre_mm : array, shape (n, 2)
        Positions in the arc's plane, in millimetres.
    sweep_deg : array, shape (n,)
        Signed sweeps in degrees.

    Returns
    -------
    array, shape (n, 4)
        Smallest first and second coordinate, largest first and second coordinate, in millimetres. NaN rows
        stay NaN.
    """
    from_centre = start_mm - centre_mm
    radius = np.maximum(_length(from_centre), _length(end_mm - centre_mm))
    direction = np.degrees(np.arctan2(from_centre[:, 1], from_centre[:, 0]))
    low, high = np.minimum(start_mm, end_mm), np.maximum(start_mm, end_mm)
    for side, axis, quadrant_deg in ((high, 0, 0.0), (high, 1, 90.0), (low, 0, 180.0), (low, 1, 270.0)):
        ahead = np.mod((quadrant_deg - direction) * np.sign(sweep_deg), 360.0)
        reach = radius if side is high else -radius
        side[:, axis] = np.where(ahead <= np.abs(sweep_deg), centre_mm[:, axis] + reach, side[:, axis])
    return np.concatenate([low, high], axis=1)


def arc_points(start_mm: Floats, centre_mm: Floats, sweep_deg: Floats, fraction: Floats) -> Floats:
    """Return the points at a fraction of each arc's sweep.

    Parameters
    ----------
    start_mm, centre_mm : array, shape (n, 2)
        Positions in the arc's plane, in millimetres.
    sweep_deg : array, shape (n,)
        Signed sweeps in degrees.
    fraction : array, shape (n,)
        0 for the start, 1 for the end.

    Returns
    -------
    array, shape (n, 2)
        Positions in millimetres, all at the start's distance from the centre.
    """
    angle = np.radians(sweep_deg * fraction)
    return centre_mm + _turned(start_mm - centre_mm, angle)


def arc_length(radius_mm: Floats, sweep_deg: Floats, rise_mm: Floats) -> Floats:
    """Return lengths of arcs and helices in millimetres, shape (n,).

    Parameters
    ----------
    radius_mm : array, shape (n,)
        Radii in millimetres.
    sweep_deg : array, shape (n,)
        Signed sweeps in degrees.
    rise_mm : array, shape (n,)
        Travel along the normal of the arc's plane, either sign, in millimetres; 0 for a flat arc.
    """
    return np.hypot(radius_mm * np.radians(sweep_deg), rise_mm)


def plane_axes(normal: NDArray[np.uint8]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the columns of the first and second axis of arc planes, each of shape (n,).

    Normal 2 is the XY plane with axes (x, y), 1 the ZX plane with (z, x), 0 the YZ plane with (y, z).
    """
    wide = normal.astype(np.intp)
    return (wide + 1) % 3, (wide + 2) % 3


def rows_by_plane(normal: NDArray[np.uint8]) -> list[tuple[int, NDArray[np.intp] | slice]]:
    """Return each normal that there is, and its rows: all of them at once where it is the only one."""
    is_one = len(normal) > 0 and normal.strides == (0,)
    planes = [int(normal[0])] if is_one else np.flatnonzero(np.bincount(normal, minlength=3)).tolist()
    if len(planes) == 1:
        return [(planes[0], slice(None))]
    return [(plane, np.flatnonzero(normal == plane)) for plane in planes]


def in_plane(points: NDArray[Scalar], normal: NDArray[np.uint8]) -> NDArray[Scalar]:
    """Return what is given along X, Y and Z by the axes of each arc's plane: first, second, normal; see `plane_axes`.

    Parameters
    ----------
    points : array, shape (n, 3)
        Positions, or anything else that there is along each axis.
    normal : uint8 array, shape (n,)
        The axis normal to each arc's plane.

    Returns
    -------
    array, shape (n, 3)
        Stored column by column, for what follows is worked out in columns.
    """
    columns = np.empty((3, len(normal)), points.dtype)
    for plane, rows in rows_by_plane(normal):
        for place, axis in enumerate(((plane + 1) % 3, (plane + 2) % 3, plane)):
            columns[place, rows] = points[rows, axis]
    return columns.T


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
        Axis normal to each arc's plane, see `plane_axes`.
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
    growth = 1 + fraction * (_length(to_centre) / np.maximum(_length(from_centre), SAME_POINT_MM) - 1)
    offset = _turned(from_centre * growth[:, np.newaxis], np.radians(sweep_deg[arc] * fraction))
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
    radius = np.maximum(np.maximum(_length(from_centre), _length(to_centre)), tolerance)
    step_deg = np.minimum(_LARGEST_STEP_DEG, np.degrees(4 * np.arcsin(np.sqrt(tolerance / (2 * radius)))))
    # An exact multiple must not gain a chord by float noise.
    count: NDArray[np.intp] = np.ceil(np.abs(sweep) / step_deg - 1e-9).astype(np.intp)
    return np.maximum(count, 1)


def _radii(start: Floats, end: Floats, centre: Floats, normal: NDArray[np.uint8]) -> tuple[Floats, Floats]:
    """Return the vectors from the centre to start and end in the arcs' planes, each of shape (n, 2)."""
    start, end, centre = (in_plane(points, normal)[:, :2] for points in (start, end, centre))
    return start - centre, end - centre


def _turned(vectors: Floats, angle_rad: Floats) -> Floats:
    cosine, sine = np.cos(angle_rad), np.sin(angle_rad)
    x, y = vectors[:, 0], vectors[:, 1]
    return np.stack([cosine * x - sine * y, sine * x + cosine * y]).T


def _length(vectors: Floats) -> Floats:
    return np.asarray(np.hypot(vectors[:, 0], vectors[:, 1]), dtype=np.float64)
