"""Draw `tilted-setups.svg`: side views of a bend, with the lines that a square carries round the edge.

Every point is worked out by the library for a bend of 30 degrees, steeper than the paddle's so that it can be seen.
Run it to write the drawing next to this file: `python draw_tilted_setups.py`. The output is always the same.
"""

from collections.abc import Iterator, Sequence
from html import escape
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.pose import Pose
from flipreg.job.bend import Bend, FaceLine
from flipreg.job.blank import BlankFace
from flipreg.job.mark import Square
from flipreg.job.setup import Section

__all__ = ["drawing", "write"]

Point = tuple[float, float]

THICKNESS = 40.0
"""mm, and mm of the drawing."""
SCALE = 3.0
"""Pixels per millimetre."""
STRAIGHT, BENT = 70.0, 85.0
"""How much of each section is drawn, mm."""
WOOD, INK, STRAIGHT_INK, BENT_INK, RIDGE_INK = "#f2e3c8", "#222222", "#0072b2", "#b34700", "#007a5a"
"""Colours that the colour-blind can tell apart; each line also has its own dashes and its letter."""


def drawing() -> str:
    """Return the drawing as SVG text."""
    panels = [
        *_panel(30.0, (230.0, 250.0), "The section leans to the front: the back has an outer corner"),
        *_panel(-30.0, (850.0, 130.0), "The section leans to the back: the back has an inner corner"),
    ]
    body = "\n".join(f"  {part}" for part in [*panels, *_legend()])
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1240 560" width="1240" height="560" '
        f'font-family="sans-serif" font-size="17" fill="{INK}">\n'
        '  <rect width="1240" height="560" fill="white"/>\n'
        f"{body}\n</svg>\n"
    )


def write(folder: Path) -> None:
    """Write the drawing into a folder."""
    (folder / "tilted-setups.svg").write_text(drawing(), encoding="utf-8")


def _panel(lean_deg: float, origin: Point, title: str) -> Iterator[str]:
    bend = Bend(0.0, BlankFace.FRONT, lean_deg, Section.FAR, THICKNESS)

    def at(y: float, z: float) -> Point:
        return origin[0] + SCALE * y, origin[1] - SCALE * z

    def seen(line: FaceLine) -> Point:
        return at(*_point(bend, line))

    def flat(y: float, z: float) -> Point:
        return at(*bend.blank_from_flat.apply(_row(y, z))[0, 1:].tolist())

    hinge = at(0.0, 0.0)
    ridge, straight, bent = (
        seen(bend.carried(square, BlankFace.FRONT)) for square in (Square.RIDGE, Square.STRAIGHT, Square.BENT)
    )
    outline = [at(-STRAIGHT, 0.0), hinge, flat(BENT, 0.0), flat(BENT, -THICKNESS), ridge, at(-STRAIGHT, -THICKNESS)]
    yield _text((origin[0] - SCALE * STRAIGHT, 40.0), title, bold=True)
    yield f'<polygon points="{_points(outline)}" fill="{WOOD}" stroke="{INK}" stroke-width="2"/>'
    yield _line(hinge, straight, STRAIGHT_INK, "")
    yield _line(hinge, bent, BENT_INK, "10 5")
    yield _line(hinge, ridge, RIDGE_INK, "2 5")
    # The squares themselves, each with its stock on its section's front.
    yield _square(hinge, at(-14.0, 0.0), straight, STRAIGHT_INK)
    yield _square(hinge, flat(14.0, 0.0), bent, BENT_INK)
    low = 26.0
    for letter, point, ink, way in (
        ("S", straight, STRAIGHT_INK, -14.0 if lean_deg > 0 else 16.0),
        ("R", ridge, RIDGE_INK, 0.0 if lean_deg > 0 else -2.0),
        ("B", bent, BENT_INK, 16.0 if lean_deg > 0 else -18.0),
    ):
        yield f'<circle cx="{point[0]:.2f}" cy="{point[1]:.2f}" r="4.5" fill="{ink}"/>'
        yield _text((point[0] + way, point[1] + low), letter, ink=ink, bold=True, anchor="middle")
    yield f'<circle cx="{hinge[0]:.2f}" cy="{hinge[1]:.2f}" r="4.5" fill="{INK}"/>'
    yield _text((hinge[0] - 4.0, hinge[1] - 14.0), "H", bold=True, anchor="middle")
    yield _text((at(-STRAIGHT, 0.0)[0] + 6.0, hinge[1] - 10.0), "front")
    yield _text((at(-STRAIGHT, 0.0)[0] + 6.0, at(0.0, -THICKNESS)[1] + 24.0), "back")
    yield _text((at(-STRAIGHT, 0.0)[0] + 6.0, at(0.0, -THICKNESS / 2)[1] + 6.0), "straight section")
    x, y = flat(BENT * 0.42, -THICKNESS / 2)
    yield (f'<text x="{x:.2f}" y="{y + 6:.2f}" transform="rotate({-lean_deg:g} {x:.2f} {y:.2f})">bent section</text>')


def _legend() -> Iterator[str]:
    rows = (
        ("H", INK, "", "the hinge line, drawn on the front where its two planes meet"),
        ("S", STRAIGHT_INK, "", "carried round the edge with the square resting on the straight section"),
        ("B", BENT_INK, "10 5", "carried round the edge with the square resting on the bent section"),
        ("R", RIDGE_INK, "2 5", "the ridge: where the back's own two planes meet, on the bisector of both sections"),
    )
    for number, (letter, ink, dashes, what) in enumerate(rows):
        y = 460.0 + 26.0 * number
        if letter != "H":
            yield _line((30.0, y - 6.0), (80.0, y - 6.0), ink, dashes)
        yield _text((95.0, y), letter, ink=ink, bold=True)
        yield _text((120.0, y), what)


def _point(bend: Bend, line: FaceLine) -> Point:
    """Return a line on the back as y and z of the blank frame."""
    frame = Pose() if line.bend is None else bend.blank_from_flat
    y, z = frame.apply(_row(line.y_mm, -THICKNESS))[0, 1:].tolist()
    return y, z


def _row(y: float, z: float) -> NDArray[np.float64]:
    return np.array([[0.0, y, z]])


def _square(corner: Point, along: Point, down: Point, ink: str) -> str:
    """Return the mark of a right angle between the front and a carried line."""
    size = 12.0
    p, q = (_towards(corner, other, size) for other in (along, down))
    far = (p[0] + q[0] - corner[0], p[1] + q[1] - corner[1])
    return f'<polyline points="{_points([p, far, q])}" fill="none" stroke="{ink}" stroke-width="1.5"/>'


def _towards(start: Point, end: Point, size: float) -> Point:
    x, y = end[0] - start[0], end[1] - start[1]
    length = (x * x + y * y) ** 0.5
    return start[0] + size * x / length, start[1] + size * y / length


def _line(start: Point, end: Point, ink: str, dashes: str) -> str:
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<line x1="{start[0]:.2f}" y1="{start[1]:.2f}" x2="{end[0]:.2f}" y2="{end[1]:.2f}" '
        f'stroke="{ink}" stroke-width="2.5"{dashed}/>'
    )


def _text(at: Point, text: str, *, ink: str = INK, bold: bool = False, anchor: str = "start") -> str:
    weight = ' font-weight="bold"' if bold else ""
    return f'<text x="{at[0]:.2f}" y="{at[1]:.2f}" fill="{ink}" text-anchor="{anchor}"{weight}>{escape(text)}</text>'


def _points(points: Sequence[Point]) -> str:
    return " ".join(f"{x:.2f},{y:.2f}" for x, y in points)


if __name__ == "__main__":
    write(Path(__file__).resolve().parent)
