"""Carved parts: each face a raster or rings of a ball nose, with nothing of its motions in common with the other's."""

from collections.abc import Callable
from random import Random

import numpy as np

from tests.pairs.operations import Contour, Operation, Passes, Shown
from tests.pairs.part import Part, corners_of, pick
from tests.pairs.placement import Points
from tests.pairs.rings import Circle

Surface = Callable[[Points, Points], Points]


def carved_board(random: Random) -> Part:
    """A board carved from both faces to one rim, symmetric about its centre line, sometimes about both."""
    length, width = pick(random, 120, 300, 2), pick(random, 50, 110, 2)
    thickness = pick(random, 12, 24)
    taper = random.choice((0.0, random.uniform(0.1, 0.4)))
    power = random.choice((2.0, 3.0))

    def reach(y: Points) -> Points:
        """Return the rim's half width at y; 0 beyond its ends."""
        t = np.clip(2 * y / length, -1, 1)
        return np.asarray(width / 2 * (1 - np.abs(t) ** (2 * power)) ** (1 / power) * (1 + taper * t))

    rim = _rim(reach, length)
    faces: list[tuple[Operation, ...]] = []
    for _ in range(2):
        bulge = random.uniform(1.5, 5)
        flat = random.uniform(0.3, 0.9)

        def height(x: Points, y: Points, bulge: float = bulge, flat: float = flat) -> Points:
            """Return the face's height: falling from the middle to half the thickness at the rim, deeper outside."""
            r = reach(y)
            u = np.abs(x) / np.maximum(r, 1e-6)
            crown = (np.abs(2 * y / length) ** 4) * 0.5
            inside = -thickness / 2 * np.clip(flat * u**bulge + crown + (1 - flat) * u**8, 0, 1)
            return np.where((u <= 1) & (r > 0.01), inside, -thickness / 2 - 1.5)

        ball = random.choice((6.0, 9.0, 12.0))
        stepover = random.choice((1.5, 2.5, 4.0, 6.0))
        faces.append((_raster(random, height, (width * (1 + taper) + ball, length + ball), ball, stepover, rim),))
    return Part(faces[0], faces[1], corners_of(width * (1 + taper), length), thickness, has_rim=True, wood_only=True)


def _rim(reach: Callable[[Points], Points], length: float) -> tuple[Shown, ...]:
    y = np.linspace(-length / 2, length / 2, 17)
    return tuple(("rim", round(float(s * x), 3), round(float(v), 3))
                 for v, x in zip(y, reach(y), strict=True) for s in (-1, 1))  # fmt: skip


def _raster(
    random: Random, height: Surface, size: tuple[float, float], ball: float, stepover: float, rim: tuple[Shown, ...]
) -> Passes:
    """Return passes along Y or X whose phase and ends are this face's own."""
    step = 2.0
    along_y = random.random() < 0.6
    wide, long = size if along_y else size[::-1]
    offsets = np.arange(-wide / 2 + random.uniform(0, stepover), wide / 2, stepover)
    reach = long / 2 + random.uniform(0, stepover)
    stations = np.append(np.arange(-reach, reach, step), reach)
    a, b = np.meshgrid(offsets, stations, indexing="ij")
    x, y = (a, b) if along_y else (b, a)
    z = tip_height(height, x, y, ball)
    runs = []
    for k in range(len(offsets)):
        row = np.column_stack([x[k], y[k], z[k]]).round(3).tolist()
        runs.append(tuple((p, q, r) for p, q, r in (row if k % 2 == 0 else row[::-1])))
    return Passes(tuple(runs), ball, rim, f"carving {ball:g}")


def tip_height(height: Surface, x: Points, y: Points, ball: float) -> Points:
    """Return how low the tip of a ball nose may go at each place so that it cuts nothing above the surface."""
    radius = ball / 2
    best = height(x, y)
    for ring in np.linspace(0.15, 1.0, 8):
        r = ring * radius
        for angle in np.linspace(0, 2 * np.pi, 16, endpoint=False):
            there = height(x + r * np.cos(angle), y + r * np.sin(angle))
            best = np.maximum(best, there - (radius - np.sqrt(max(radius**2 - r**2, 0.0))))
    return best


def bowl_and_foot(random: Random) -> Part:
    """A bowl: the hollow in rings from the front, the outside and its foot in rings from the back."""
    radius = pick(random, 50, 120, 1)
    thickness = pick(random, 30, 50)
    ball = 12.0
    rim = random.random() < 0.6
    shown = (("bowl", 0.0, 0.0),)
    hollow, foot = radius - 8, radius * random.uniform(0.35, 0.5)

    def inside(r: float) -> float:
        return -(thickness - 8) * float(1 - min(1.0, r / hollow) ** 2.5)

    def outside(r: float) -> float:
        return 0.0 if r <= foot else -(thickness / 2) * ((r - foot) / (radius - foot)) ** 2

    front: list[Operation] = [_rings(random, inside, ball / 2, hollow - ball / 2, ball, shown)]
    back: list[Operation] = [_rings(random, outside, foot + ball / 2, radius, ball, shown)]
    edge = Circle(0, 0, radius)
    back.append(Contour(edge, 1, thickness / 2 + 0.5, 8.0, 8.0, "edge"))
    if rim:
        front.append(Contour(edge, 1, thickness / 2 + 0.5, 8.0, random.choice((8.0, 6.0)), "edge"))
    corners = radius * np.array([(np.cos(a), np.sin(a)) for a in np.linspace(0, 2 * np.pi, 24)])
    return Part(tuple(front), tuple(back), corners, thickness, has_rim=rim, is_round=True)


def _rings(
    random: Random, height: Callable[[float], float], low: float, high: float, ball: float, shown: tuple[Shown, ...]
) -> Passes:
    stepover = random.choice((2.0, 3.0))
    runs = []
    for r in np.arange(low + random.uniform(0, stepover), high, stepover):
        first = random.uniform(0, 2 * np.pi)
        angles = first + np.linspace(0, 2 * np.pi, 73)
        z = round(height(float(r)), 3)
        runs.append(tuple((round(float(r * np.cos(a)), 3), round(float(r * np.sin(a)), 3), z) for a in angles))
    return Passes(tuple(runs), ball, shown, f"carving {ball:g}")
