"""What a person finds on the blank or lays a caliper to, as signs on the map: marks, zeros, stations, the thinnest web.

All signs are open in the middle, so that none covers the place that it is for; their names stand beside them.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from math import cos, pi, sin

import numpy as np
from numpy.typing import NDArray

from flipreg.drawing.page import Dash, Page, Strokes
from flipreg.job.bend import Bend
from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.job_check.report import JobReport
from flipreg.program.setup_face import SetupFace
from flipreg.units import shown_now

__all__ = ["SIGN_MM", "Clamped", "Sign", "SignKind", "draw_clamp", "draw_sign", "section_clamps", "signs_of"]

Floats = NDArray[np.float64]
Point = tuple[float, float]

SIGN_MM = 2.2
"""How far a sign reaches from its place, on paper."""
_CLAMP_INK = "#8a4b00"
_OPEN_MM = 0.6
_RING_MM, _QUARTER_MM = 1.5, 0.7
_LINE_MM, _HALO_MM = 0.3, 0.9


class SignKind(Enum):
    """What a sign stands for, and what the legend calls it."""

    MARK = "mark"
    """A cross."""
    ZERO = "program zero"
    """A ring, two opposite quarters of it thick."""
    STATION = "station, thickness left"
    """A square on its corner."""
    WEB = "thinnest web"
    """Two arrows that point at it."""


@dataclass(frozen=True, slots=True)
class Sign:
    """A sign on a section.

    Attributes
    ----------
    kind : SignKind
        What it is of.
    text : str
        Its name, with a thickness where it is about one.
    at_mm : (float, float)
        Its place in the frame of the section.
    """

    kind: SignKind
    text: str
    at_mm: Point


@dataclass(frozen=True, slots=True, eq=False)
class Clamped:
    """A clamp as it stands over a section.

    Attributes
    ----------
    name : str
        What the job calls it.
    corners_mm : float64, shape (5, 2)
        Its closed outline in the frame of the section.
    """

    name: str
    corners_mm: Floats


def signs_of(job: Job, report: JobReport, layout: Layout, bend: Bend | None, section: str) -> tuple[Sign, ...]:
    """Return the signs of one section, by how much they matter at the bench.

    Parameters
    ----------
    job : Job
        The job.
    report : JobReport
        Of its check.
    layout : Layout
        Of the job.
    bend : Bend or None
        The bend whose section it is, None for the straight one.
    section : str
        Its name in the report.
    """
    shown = shown_now()
    found = [
        Sign(SignKind.WEB, f"web {shown.number(web.left_mm)}", web.at_mm)
        for name, web in report.webs
        if name == section and web.left_mm > 0.0
    ]
    for mark in job.marks:
        for face in mark.faces:
            place = layout.place(mark, face)
            if place.line.bend == bend:
                found.append(Sign(SignKind.MARK, mark.name, (place.x_mm, place.line.y_mm)))
    faces = [face for face in report.faces if face.bend == bend]
    zeros = [(face.name, face.in_section([(0.0, 0.0)])[0].tolist()) for face in faces]
    is_one = len({(round(x, 3), round(y, 3)) for _, (x, y) in zeros}) == 1
    found += [Sign(SignKind.ZERO, "zero" if is_one else f"zero of {name}", (x, y)) for name, (x, y) in zeros]
    found += [
        Sign(SignKind.STATION, f"{one.name} {'?' if one.left_mm is None else shown.number(one.left_mm)}", one.at_mm)
        for one in report.stations
        if one.section == section
    ]
    return tuple(dict.fromkeys(found))


def section_clamps(faces: Sequence[SetupFace]) -> tuple[Clamped, ...]:
    """Return the clamps of the setups of one section; each is named with its setup where several have clamps."""
    several = sum(bool(face.setup.clamps) for face in faces) > 1
    found = []
    for face in faces:
        for clamp in face.setup.clamps:
            corners = face.in_section((*clamp.corners_mm, clamp.corners_mm[0]))
            found.append(Clamped(f"{face.name}: {clamp.name}" if several else clamp.name, corners))
    return tuple(found)


def draw_sign(page: Page, kind: SignKind, at: Point) -> None:
    """Draw a sign with a white edge."""
    lines = _SHAPES[kind](at)
    page.add(Strokes(tuple(lines), _HALO_MM, ink="white"), Strokes(tuple(lines), _LINE_MM))
    if kind is SignKind.ZERO:
        thick = tuple(_arc(at, _RING_MM, start, start + pi / 2) for start in (0.0, pi))
        page.add(Strokes(thick, _QUARTER_MM))


def draw_clamp(page: Page, corners: Floats, within: tuple[float, float, float, float]) -> None:
    """Draw the outline of a clamp, as far as it is within a box of the page."""
    page.add(Strokes((corners,), 1.0, ink="white", within=within))
    page.add(Strokes((corners,), 0.5, Dash.DASHED, _CLAMP_INK, within))


def _cross(at: Point) -> list[Floats]:
    x, y = at
    ways = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))
    return [np.array([[x + r * dx, y + r * dy] for r in (_OPEN_MM, SIGN_MM)]) for dx, dy in ways]


def _arc(at: Point, radius: float, start: float, end: float) -> Floats:
    turns = [start + (end - start) * step / 24 for step in range(25)]
    return np.array([[at[0] + radius * cos(turn), at[1] + radius * sin(turn)] for turn in turns])


def _diamond(at: Point) -> list[Floats]:
    (x, y), r = at, 1.5
    return [np.array([[x + r, y], [x, y + r], [x - r, y], [x, y - r], [x + r, y]])]


def _arrows(at: Point) -> list[Floats]:
    x, y = at
    found = []
    for way in (-1.0, 1.0):
        tip, tail = x + way * _OPEN_MM, x + way * SIGN_MM
        found.append(np.array([[tail, y], [tip, y]]))
        found.append(np.array([[tip + way * 0.9, y + 0.6], [tip, y], [tip + way * 0.9, y - 0.6]]))
    return found


_SHAPES: dict[SignKind, Callable[[Point], list[Floats]]] = {
    SignKind.MARK: _cross,
    SignKind.ZERO: lambda at: [_arc(at, _RING_MM, 0.0, 2 * pi)],
    SignKind.STATION: _diamond,
    SignKind.WEB: _arrows,
}
