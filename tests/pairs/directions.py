"""Hold what a report says of each direction to what was planted: across the flip line, along it, in turn."""

from math import atan2, hypot
from typing import Any

import numpy as np

from tests.pairs.pair import Pair
from tests.pairs.placement import Placement, Points
from tests.pairs.truth import MARGIN_MM, corners, seen_corners


def wrong_directions(pair: Pair, directions: dict[str, Any], stands: Placement | None) -> list[str]:
    """Return what is wrong of the directions, where the back was taken to lie as `stands` says.

    A direction that passes must be in within the tolerance somewhere on the part, and one that fails out somewhere.
    """
    if stands is None or stands.xy or pair.posted.fault_mm:
        return []
    told = pair.told.tolerance
    ways = [_out(pair, stands, move, seen_corners(pair)) for move in pair.equal]
    same = [_out(pair, stands, move, corners(pair)) for move in pair.whole]
    found = []
    across = stands.xx < 0
    for name, column in (("across", 0 if across else 1), ("along", 1 if across else 0), ("turn", 2)):
        status = directions[name]["status"]
        if status == "pass" and min(least[column] for least, _ in ways) > told + MARGIN_MM:
            found.append(f"{name} passes though out by {min(least[column] for least, _ in ways):.3f} mm")
        if status == "fail" and min(max(most) for _, most in same) < told - MARGIN_MM:
            found.append(f"{name} fails though right")
    return found


def _out(pair: Pair, stands: Placement, move: Placement, points: Points) -> tuple[list[float], list[float]]:
    """Return the least and the largest misfit over points, in X, in Y, and what the turn does over half of them."""
    lies = stands @ pair.setting.front @ move
    apart = pair.posted.placed.apply(points) - lies.apply(points)
    off = pair.posted.placed @ ~lies
    # A turn that is no turn but a mirror image says nothing.
    half = max(hypot(x, y) for x, y in points - points.mean(axis=0))
    turned = 0.0 if off.is_mirror else abs(atan2(off.yx, off.xx)) * half
    # Between two corners that are out to different sides there is a place that is not out at all.
    least = np.where(apart.min(axis=0) * apart.max(axis=0) < 0, 0.0, np.abs(apart).min(axis=0))
    return [*least.tolist(), turned], [*np.abs(apart).max(axis=0).tolist(), turned]
