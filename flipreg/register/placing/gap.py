"""Outlines that run beside one another at an even distance: one edge, cut for the wrong tool."""

import numpy as np
import shapely
from numpy.typing import NDArray

from flipreg.register.faces.curve import Curve
from flipreg.register.faces.near import thinned
from flipreg.register.faces.outline import Side, of_one_size
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.match import Match, Shared, two_way
from flipreg.register.placing.matching import Faces

__all__ = [
    "LIKE_OVERLAP",
    "centred",
    "even_gap",
    "gap_words",
    "largest_pair",
    "overlap",
    "profiles_apart",
    "rolls_round_corners",
]

Floats = NDArray[np.float64]

LIKE_OVERLAP = 0.8
"""Outlines that share this much of their area look like one edge (chosen)."""
_OF_ONE_SIZE = 1.35
"""Profiles whose lengths differ by no more than this factor may be one edge (chosen)."""
_LOOKED_AT = 400
"""Places of an outline by which its gap to another one is seen (chosen)."""
_EVEN_MM = 0.02
"""An even gap may vary by this or by the tolerance, in millimetres (chosen)."""


def largest_pair(faces: Faces) -> Shared | None:
    """Return the largest outlines of both faces, None where a face has none."""
    if not faces.front.outlines or not faces.back.outlines:
        return None
    return faces.pair(0, 0)


def centred(pair: Shared, matrix: Floats) -> Placement:
    """Return where one outline lies evenly in the other, with the back turned as `matrix` says.

    Least squares over the distances along the normals, with one even gap left free.
    """
    placement = Placement(matrix, pair.front_curve.centroid_mm - matrix @ pair.back_curve.centroid_mm)
    points = thinned(pair.back_curve.samples_mm, 400)
    if len(points) < 4:
        return placement
    for _ in range(12):
        there = placement.apply(points)
        foot, along, _ = pair.front_curve.nearest(there)
        normal = np.column_stack([along[:, 1], -along[:, 0]])
        columns = np.column_stack([normal, np.ones(len(normal))])
        shift = np.linalg.lstsq(columns, ((foot - there) * normal).sum(axis=1), rcond=1e-6)[0][:2]
        placement = placement.shifted(shift)
        if float(np.abs(shift).max()) < 1e-5:
            break
    return placement


def overlap(pair: Shared, placement: Placement) -> float:
    """Return common area over joint area of two outlines, 0 to 1."""
    ours = shapely.make_valid(shapely.Polygon(pair.front_curve.ring_mm))
    theirs = shapely.make_valid(shapely.Polygon(placement.apply(pair.back_curve.ring_mm)))
    joint = float(ours.union(theirs).area)
    return float(ours.intersection(theirs).area) / joint if joint else 0.0


def profiles_apart(faces: Faces, match: Match | None, placement: Placement) -> float | None:
    """Return how far profiles of about one size lie apart where other things agree, in millimetres; None if they don't.

    They may be two edges by design, so this disproves nothing; but it is no proof either that recesses agree.
    """
    pair = largest_pair(faces)
    if pair is None or match is None or any(other.front == 0 or other.back == 0 for other in match.outlines):
        return None
    ours, theirs = faces.front.outlines[0], faces.back.outlines[0]
    if (ours.side, theirs.side) != (Side.INSIDE, Side.INSIDE) or not pair.goes_through:
        return None
    sizes = sorted((ours.loop.length_mm, theirs.loop.length_mm))
    if sizes[1] > _OF_ONE_SIZE * sizes[0]:
        return None
    # Of several parts in one blank each belongs to the one that lies nearest.
    middle = pair.front_curve.centroid_mm
    alike = (row for row, other in enumerate(faces.back.outlines) if of_one_size(theirs, other))
    away = {row: placement.apply(faces.pair(0, row).back_curve.centroid_mm[np.newaxis])[0] - middle for row in alike}
    nearest = min(away, key=lambda row: float(np.hypot(*away[row])))
    away_mm = float(np.hypot(*away[nearest]))
    if away_mm <= faces.misplaced_mm or overlap(faces.pair(0, nearest), placement) >= LIKE_OVERLAP:
        return None
    return away_mm


def even_gap(pair: Shared, placement: Placement, tolerance_mm: float, *, over_mm: float = 0.0) -> float | None:
    """Return by how much the back's edge lies outside the front's all round, in millimetres.

    Negative inside. None where the gap is not even to within the tolerance, or not larger than `over_mm`.
    """
    points = placement.apply(pair.back_curve.samples_mm)
    if len(points) == 0:
        return None
    foot, _, _ = pair.front_curve.nearest(points)
    ring = shapely.Polygon(pair.front_curve.ring_mm)
    shapely.prepare(ring)
    inside = shapely.contains_xy(ring, points)
    gap = float(np.median(np.hypot(*(foot - points).T) * np.where(inside, -1.0, 1.0)))
    if abs(gap) <= over_mm:
        return None
    polygon = shapely.make_valid(shapely.Polygon(pair.back_curve.ring_mm)).buffer(-gap, quad_segs=64)
    if not isinstance(polygon, shapely.Polygon) or polygon.is_empty:
        return None
    moved = Curve.of_ring(shapely.get_coordinates(polygon.exterior))
    trial = Shared(pair.front, pair.back, pair.front_curve, moved, pair.tools_known)
    ours, theirs = two_way(trial, placement, pair.front_curve.samples_mm, moved.samples_mm)
    # Outer corners come back round where the path was offset without rounding; nine tenths must be even.
    off = np.concatenate([ours, theirs])
    off = off[~np.isnan(off)]
    return gap if len(off) and float(np.quantile(off, 0.9)) <= max(tolerance_mm, _EVEN_MM) else None


def rolls_round_corners(pair: Shared, placement: Placement, tolerance_mm: float) -> bool:
    """Return whether outlines that lie apart do so evenly but for outer corners, which one way rolls round.

    What rounding by a radius r takes from the area of a polygon grows with r squared, which tells r.
    """
    rings = pair.front_curve.ring_mm, placement.apply(pair.back_curve.ring_mm)
    front, back = (shapely.make_valid(shapely.Polygon(ring)) for ring in rings)
    limit_mm = max(tolerance_mm, _EVEN_MM)
    return _is_rolled(front, back, limit_mm) or _is_rolled(back, front, limit_mm)


def _is_rolled(sharp: shapely.Geometry, rolled: shapely.Geometry, limit_mm: float) -> bool:
    step_mm = float(shapely.length(rolled)) / _LOOKED_AT
    points = shapely.get_coordinates(shapely.segmentize(shapely.boundary(rolled), step_mm))
    shapely.prepare(sharp)
    is_inside = shapely.contains_xy(sharp, points)
    off_mm = shapely.distance(shapely.boundary(sharp), shapely.points(points))
    gap_mm = float(np.median(np.where(is_inside, -off_mm, off_mm)))
    sharp = shapely.buffer(sharp, gap_mm, join_style="mitre")
    by_one_mm = _area_mm2(sharp) - _area_mm2(_rounded(sharp, 1.0))
    taken_mm2 = _area_mm2(sharp) - _area_mm2(rolled)
    if min(by_one_mm, taken_mm2) <= 0.0 or _apart_mm(sharp, rolled) <= limit_mm:
        return False
    return _apart_mm(_rounded(sharp, float(np.sqrt(taken_mm2 / by_one_mm))), rolled) <= limit_mm


def _area_mm2(polygon: shapely.Geometry) -> float:
    return float(shapely.area(polygon))


def _apart_mm(one: shapely.Geometry, other: shapely.Geometry) -> float:
    return float(shapely.hausdorff_distance(shapely.boundary(one), shapely.boundary(other)))


def _rounded(polygon: shapely.Geometry, radius_mm: float) -> shapely.Geometry:
    return shapely.buffer(shapely.buffer(polygon, -radius_mm, quad_segs=64), radius_mm, quad_segs=64)


def gap_words(gap_mm: float, front_radius: float | None, back_radius: float | None) -> str | None:
    """Return which mistake with the tool makes a gap of this size, None if none is known."""
    if back_radius is None or front_radius is None:
        return None
    size = abs(gap_mm)
    reasons = (
        (back_radius, -1, "the path runs on the line itself, as if the tool radius had been left out"),
        (2 * back_radius, -1, "the path runs on the wrong side of the line: off by the tool diameter"),
        (back_radius, 1, "the path is a tool radius too far away, as if the diameter had been taken for the radius"),
        (2 * back_radius, 1, "the path is a tool diameter too far away"),
        (abs(front_radius - back_radius), 0, "the path was made for the front's tool, not for the one named"),
        (front_radius, 0, "that is the radius of the front's tool"),
        (2 * front_radius, 0, "that is the diameter of the front's tool"),
    )
    for expected, sign, words in reasons:
        if expected > 0.05 and abs(size - expected) <= 0.05 and sign * gap_mm >= 0:
            return words
    return None
