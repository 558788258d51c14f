"""What the outside tests see of a program: its motions through the public functions, and points on them."""

import re

import numpy as np
from numpy.typing import NDArray

import flipreg
from flipreg.path import Kind, Path

__all__ = ["INCH", "helix_length", "length", "line_of", "motions", "on_line", "position_after", "sampled"]

Floats = NDArray[np.float64]

INCH = 25.4
"""Millimetres in one inch, exactly."""

_IN_PLANE = {2: (0, 1), 1: (2, 0), 0: (1, 2)}
"""Ordered pair of axes of each plane, by its normal; NISTIR 6556 section 4.3.6.1."""


def motions(text: str | bytes, source: str = "example.ngc") -> Path:
    """Return the motions of a program's text."""
    return flipreg.interpret(flipreg.parse(text, source=source))


def on_line(path: Path, line: int) -> Path:
    """Return the motions that one line of the file commands."""
    return path.take(np.asarray(path.line == line))


def position_after(path: Path, line: int) -> list[float]:
    """Return where the controlled point is when a line of the file has been executed."""
    rows = np.flatnonzero(path.line <= line)
    position: list[float] = path.end[rows[-1]].tolist()
    return position


def line_of(text: str, number: str) -> int:
    """Return the line of the file, from 1, that carries an N number."""
    for index, line in enumerate(text.splitlines(), start=1):
        if re.match(rf"\s*n\s*{number}\b", line, re.IGNORECASE):
            return index
    raise LookupError(f"no line N{number}")


def length(path: Path) -> Floats:
    """Return the length of each motion in millimetres, helices along the helix, shape (n,)."""
    straight = np.linalg.norm(path.end - path.start, axis=1)
    return np.array([helix_length(path, row) if path.is_arc[row] else straight[row] for row in range(len(path))])


def helix_length(path: Path, row: int) -> float:
    """Return the length of one arc or helix in millimetres."""
    first, second = _IN_PLANE[int(path.normal[row])]
    radius = np.hypot(*(path.start[row] - path.centre[row])[[first, second]])
    rise = (path.end[row] - path.start[row])[int(path.normal[row])]
    return float(np.hypot(radius * np.radians(path.sweep_deg[row]), rise))


def sampled(path: Path, steps: int = 8) -> Floats:
    """Return points at equal steps along each motion, shape (n, steps + 1, 3), millimetres.

    Arcs are turned about their centre by parts of the sweep, so that a wrong centre, normal, sense or
    angle puts points elsewhere; the last point of a row is not the row's end unless the arc gets there.
    """
    part = np.arange(steps + 1) / steps
    points = path.start[:, np.newaxis] + part[:, np.newaxis] * (path.end - path.start)[:, np.newaxis]
    for normal, (first, second) in _IN_PLANE.items():
        rows = np.flatnonzero((path.kind == Kind.ARC) & (path.normal == normal))
        angle = np.radians(path.sweep_deg[rows, np.newaxis] * part)
        centre = path.centre[rows, :, np.newaxis]
        arm = path.start[rows, :, np.newaxis] - centre
        x, y = arm[:, first], arm[:, second]
        points[rows, :, first] = centre[:, first] + x * np.cos(angle) - y * np.sin(angle)
        points[rows, :, second] = centre[:, second] + x * np.sin(angle) + y * np.cos(angle)
    return points
