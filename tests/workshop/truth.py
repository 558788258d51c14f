"""What is true of a job: by how much what both faces share misses itself, and how far the back's wood lies off."""

import math

import numpy as np
import shapely
from shapely import MultiLineString, MultiPoint
from shapely.geometry.base import BaseGeometry

from tests.workshop.cuts import shared_of
from tests.workshop.job import Job
from tests.workshop.placement import SAME, Placement, Points

_SAMPLE_MM = 2.0
_ONE_HOLE_MM = 0.001


def misfit(job: Job, claimed: Placement) -> tuple[float | None, dict[str, float | None]]:
    """Return the largest distance of what should coincide if the back's numbers lay as claimed, and by kind.

    Of a kind that only one face has it is none; holes that were meant to be missing are left out.
    The holes of another part may be of another diameter, which is only a remark of the report, and they may be some of
    the front's, or more than those: what has a hole more disproves nothing.
    """
    back_in_blank = claimed.inverse() @ job.flip
    other = job.fault == "another_part"
    front, back = shared_of(job.front, any_size=other), shared_of(job.spoilt.back, any_size=other)
    found: dict[str, float | None] = {}
    for kind in sorted(front.keys() | back.keys()):
        ours = [points for points in front.get(kind, []) if not _is_missing(points, job)]
        theirs = [back_in_blank.of(points) for points in back.get(kind, [])]
        found[kind] = (min if other else max)(_apart(ours, theirs, kind)) if ours and theirs else None
    known = [far for far in found.values() if far is not None]
    return (max(known) if known else None), found


def corner_off(job: Job, claimed: Placement) -> float:
    """Return how far the part's corners lie from where they belong if the back's numbers lay as claimed."""
    moved = claimed.inverse() @ job.flip @ (job.spoilt.whole or SAME)
    return max(math.dist(moved(corner), corner) for corner in job.corners)


def _is_missing(points: Points, job: Job) -> bool:
    x, y = points[0]
    return len(points) == 1 and any(math.dist((x, y), place) < _ONE_HOLE_MM for place in job.spoilt.missing)


def _apart(ours: list[Points], theirs: list[Points], kind: str) -> list[float]:
    """Return how far the farthest point of each lies from the other: between points, or between lines."""
    both = ((ours, theirs), (theirs, ours))
    if kind.startswith("hole"):
        return [_farthest(np.vstack(a), MultiPoint(np.vstack(b))) for a, b in both]
    return [_farthest(_along(a), MultiLineString(b)) for a, b in both]


def _farthest(points: Points, other: BaseGeometry) -> float:
    shapely.prepare(other)
    return float(shapely.distance(shapely.points(points), other).max())


def _along(lines: list[Points]) -> Points:
    """Return points along lines, their corners among them."""
    found = []
    for line in lines:
        lengths = np.r_[0, np.cumsum(np.hypot(*np.diff(line, axis=0).T))]
        even = np.linspace(0, lengths[-1], max(2, int(lengths[-1] / _SAMPLE_MM) + 1))
        found += [np.c_[np.interp(even, lengths, line[:, 0]), np.interp(even, lengths, line[:, 1])]]
        found += [line[:: max(1, len(line) // 200)]]
    return np.vstack(found)
