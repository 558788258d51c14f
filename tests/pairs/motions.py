"""What a tool does, in the blank's frame: the words between a part and a program's text."""

from collections.abc import Sequence
from dataclasses import dataclass

CLEAR_MM = 5.0  # height of the traverses above the face (chosen)


@dataclass(frozen=True, slots=True)
class Motion:
    """One motion: `rapid`, `feed`, `arc` (about cx, cy in the plane) or `drill` (a plunge to z and back up)."""

    kind: str
    x: float
    y: float
    z: float
    cx: float = 0.0
    cy: float = 0.0
    ccw: bool = False


def along(points: Sequence[tuple[float, float, float]]) -> list[Motion]:
    """Return an approach to the first point, feeds through the others, and a retreat."""
    x, y, z = points[0]
    found = [Motion("rapid", x, y, CLEAR_MM), Motion("feed", x, y, z)]
    found += [Motion("feed", *point) for point in points[1:]]
    return [*found, Motion("rapid", points[-1][0], points[-1][1], CLEAR_MM)]
