"""Parts of an irregular outline that is profiled from both faces: paddles, spoons, trays."""

from math import cos, pi, sin
from random import Random

import numpy as np
from shapely import Polygon

from tests.pairs.operations import Contour, Hole, Operation, Pocket
from tests.pairs.part import Part, pick, scattered
from tests.pairs.placement import Points
from tests.pairs.rings import Free


def profiled_outline(random: Random) -> Part:
    """A part of an irregular outline, symmetric about its centre line or not at all, cut round from both faces."""
    corners = _mirrored(random) if random.random() < 0.5 else _blob(random)
    thickness = pick(random, 15, 40)
    half = round(thickness / 2 + 0.5, 2)
    tools = random.choice(((6.0, 6.0), (6.0, 3.0), (8.0, 6.0)))
    shape = Free(corners)
    front: list[Operation] = [Contour(shape, 1, half, 8.0, tools[0], "edge")]
    back: list[Operation] = [Contour(shape, 1, half, 8.0, tools[1], "edge")]
    if random.random() < 0.4:
        left, low, right, high = Polygon(corners).bounds
        for x, y in scattered(random, random.randrange(1, 4), (right - left) / 3, (high - low) / 3, 12):
            front.append(Hole(x, y, half + 1, 4.0))
            back.append(Hole(x, y, half + 1, 4.0))
    if random.random() < 0.4:
        inner = Polygon(corners).buffer(-15)
        if isinstance(inner, Polygon) and inner.area > 400:
            points = tuple((float(x), float(y)) for x, y in _corners(inner, 0.3))
            front.append(Pocket(Free(points), thickness / 3, 6.0, "front: hollow"))
    return Part(tuple(front), tuple(back), np.array(corners), thickness, has_rim=True)


def _mirrored(random: Random) -> tuple[tuple[float, float], ...]:
    """Return a paddle's outline: symmetric about x = 0, with a blade at one end."""
    length = pick(random, 200, 500)
    shaft, blade = pick(random, 12, 20), pick(random, 30, 60)
    throat = random.uniform(0.1, 0.5)
    right: list[tuple[float, float]] = []
    for k in range(61):
        t = k / 60
        wide = shaft + (blade - shaft) / (1 + np.exp(-18 * (t - throat)))
        end = min(1.0, 12 * t, 12 * (1 - t))
        right.append((float(wide * np.sqrt(1 - (1 - end) ** 2)), length * (t - 0.5)))
    left = [(-x, y) for x, y in right]
    return _rounded([*right, *left[::-1]], mirrored=True)


def _blob(random: Random) -> tuple[tuple[float, float], ...]:
    size = random.uniform(50, 150)
    waves = [(random.uniform(-0.18, 0.18) / k, random.uniform(0, 2 * pi)) for k in range(1, 5)]
    squeeze = random.uniform(0.5, 1.0)
    points = []
    for k in range(120):
        a = 2 * pi * k / 120
        r = size * (1 + sum(w * cos(n * a + p) for n, (w, p) in enumerate(waves, 1)))
        points.append((squeeze * r * cos(a), r * sin(a)))
    return _rounded(points, mirrored=False)


def _rounded(points: list[tuple[float, float]], *, mirrored: bool) -> tuple[tuple[float, float], ...]:
    """Return the outline opened and closed, so that every cutter here gets into its corners, on micrometres."""
    outline = Polygon(points).buffer(-6).buffer(14).buffer(-8)
    assert isinstance(outline, Polygon)
    ring = _corners(outline, 0.02)
    if mirrored:
        # The clipper may place corners otherwise on either side; the left side is the right one's image.
        right = ring[ring[:, 0] > 0.5]
        right = right[np.argsort(np.unwrap(np.arctan2(right[:, 1], right[:, 0])))]
        ring = np.vstack([right, right[::-1] * (-1, 1)])
    rounded = [(round(float(x), 3), round(float(y), 3)) for x, y in ring]
    return tuple(dict.fromkeys(rounded))


def _corners(polygon: Polygon, within: float) -> Points:
    plain = polygon.simplify(within)
    assert isinstance(plain, Polygon)
    return np.asarray(plain.exterior.coords, dtype=float)[:-1]
