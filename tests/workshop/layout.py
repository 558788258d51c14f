"""Where features are laid out: rows, grids and rings of places."""

import math

from tests.workshop.placement import Point


def grid(columns: int, rows: int, across: float, up: float | None = None, middle: Point = (0.0, 0.0)) -> list[Point]:
    """Return places in columns and rows, row by row."""
    up = across if up is None else up
    x, y = middle
    return [
        (x + (i - (columns - 1) / 2) * across, y + (j - (rows - 1) / 2) * up)
        for j in range(rows)
        for i in range(columns)
    ]


def row(count: int, pitch: float, middle: Point = (0.0, 0.0)) -> list[Point]:
    return grid(count, 1, pitch, middle=middle)


def column(count: int, pitch: float, x: float, low: float) -> list[Point]:
    return [(x, low + pitch * i) for i in range(count)]


def ring(count: int, radius: float, high: float | None = None) -> list[Point]:
    """Return places on a circle, or on an ellipse if a second half axis is given."""
    angles = [2 * math.pi * i / count for i in range(count)]
    return [(radius * math.cos(a), (high or radius) * math.sin(a)) for a in angles]


def corners(half_width: float, half_height: float) -> list[Point]:
    w, h = half_width, half_height
    return [(-w, -h), (w, -h), (-w, h), (w, h)]
