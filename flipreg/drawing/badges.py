"""Numbered badges beside the places they belong to: none covers another, and a line leads from each to its place."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from math import cos, hypot, pi, sin

import numpy as np
from numpy.typing import NDArray

from flipreg.drawing.page import Align, Area, Dash, Label, Page, Stroke, text_width_mm
from flipreg.drawing.view import Box
from flipreg.findings import Status

__all__ = ["KINDS", "RING_MM", "Badge", "BadgeKind", "draw_badge", "draw_ring", "place_badges"]

Point = tuple[float, float]
Floats = NDArray[np.float64]

_SIZE_PT = 8.5
_HALF_MM = 2.1
_RINGS = 14
_SIDES = 24
_GAP_MM = 0.5
RING_MM = 4.0
"""Radius of the ring round the worst register error."""
_CORNERS = 28


class BadgeKind(Enum):
    """What a badge marks; shape and filling tell the kinds apart without colour."""

    FAILS = "fails"
    """White on black, round."""
    LOOK = "look"
    """Black on white, round."""
    UNKNOWN = "not determined"
    """Black on white, round, with a broken edge."""
    TAB = "tab"
    """Black on white, square."""
    WORST = "worst register error"
    """Words in a double frame."""


KINDS = {Status.FAIL: BadgeKind.FAILS, Status.WARN: BadgeKind.LOOK, Status.NOT_DETERMINED: BadgeKind.UNKNOWN}
"""The badge of a finding that a person has to read, the worst first."""


@dataclass(frozen=True, slots=True)
class Badge:
    """What is to be drawn beside a place.

    Attributes
    ----------
    kind : BadgeKind
        What it is of.
    text : str
        Its number, or its words.
    at : (float, float)
        The place on the page.
    """

    kind: BadgeKind
    text: str
    at: Point

    @property
    def half_size(self) -> Point:
        """Half its width and half its height."""
        return max(_HALF_MM, text_width_mm(self.text, _SIZE_PT, bold=True) / 2 + 0.9), _HALF_MM


def place_badges(badges: Sequence[Badge], room: Box, taken: Sequence[Box] = ()) -> list[Point | None]:
    """Return where each badge goes, near its place; None where there is no room for it.

    Parameters
    ----------
    badges : sequence of Badge
        The first ones have the first choice.
    room : Box
        What badges have to stay within.
    taken : sequence of Box
        What they must not cover.
    """
    # No badge covers a place that another one is for.
    own = {one.at: RING_MM + 0.5 if one.kind is BadgeKind.WORST else 0.4 for one in reversed(badges)}
    covered = [*taken, *((x - half, y - half, x + half, y + half) for (x, y), half in own.items())]
    middles: list[Point | None] = []
    for badge in badges:
        middle = _free_middle(badge, room, np.array(covered))
        middles.append(middle)
        if middle is not None:
            covered.append(_box(badge, middle))
    return middles


def draw_badge(page: Page, badge: Badge, middle: Point) -> None:
    """Draw a badge at its middle, and the line to its place."""
    (x, y), is_worst = badge.at, badge.kind is BadgeKind.WORST
    if middle != badge.at:
        away = hypot(middle[0] - x, middle[1] - y)
        share = RING_MM / away if is_worst else 0.0
        start = (x + share * (middle[0] - x), y + share * (middle[1] - y))
        page.add(Stroke((start, middle), 0.7, ink="white"), Stroke((start, middle), 0.22))
        if not is_worst:
            r = 0.45
            page.add(Area(((x - r, y), (x, y - r), (x + r, y), (x, y + r)), 0.0))
    edge = _edge(badge, middle)
    fails = badge.kind is BadgeKind.FAILS
    page.add(Area(edge, 0.0 if fails else 1.0))
    dash = Dash.DOTTED if badge.kind is BadgeKind.UNKNOWN else Dash.SOLID
    page.add(Stroke((*edge, edge[0]), 0.35, dash))
    if is_worst:
        x0, y0, x1, y1 = _box(badge, middle)
        page.rectangle((x0, y0), (x1, y1))
    ink = "white" if fails else "black"
    page.add(Label(middle, badge.text, _SIZE_PT, Align.MIDDLE, bold=True, ink=ink))


def draw_ring(page: Page, at: Point, radius: float) -> None:
    """Draw the ring that stands round the worst register error."""
    turns = [2 * pi * corner / 48 for corner in range(49)]
    ring = tuple((at[0] + radius * cos(angle), at[1] + radius * sin(angle)) for angle in turns)
    page.add(Stroke(ring, 1.2, ink="white"), Stroke(ring, 0.6))


def _free_middle(badge: Badge, room: Box, covered: Floats) -> Point | None:
    """Return the nearest middle at which a badge covers nothing."""
    half_x, half_y = badge.half_size
    away = 2.2 + 2.4 * np.arange(_RINGS)[:, np.newaxis]
    # Up and to the right first.
    angle = np.pi / 4 + 2 * np.pi * np.arange(_SIDES) / _SIDES
    x = (badge.at[0] + (away + half_x) * np.cos(angle)).ravel()
    y = (badge.at[1] + (away + half_y) * np.sin(angle)).ravel()
    x0, y0, x1, y1 = _box(badge, (0.0, 0.0))
    inside = (x + x0 >= room[0]) & (y + y0 >= room[1]) & (x + x1 <= room[2]) & (y + y1 <= room[3])
    low_x, low_y, high_x, high_y = covered.T[:, :, np.newaxis]
    beside = (x + x1 + _GAP_MM <= low_x) | (x + x0 - _GAP_MM >= high_x)
    beside |= (y + y1 + _GAP_MM <= low_y) | (y + y0 - _GAP_MM >= high_y)
    free = np.flatnonzero(inside & beside.all(axis=0))
    return (float(x[free[0]]), float(y[free[0]])) if len(free) else None


def _box(badge: Badge, middle: Point) -> Box:
    half_x, half_y = badge.half_size
    extra = 0.7 if badge.kind is BadgeKind.WORST else 0.0
    x, y = middle
    return x - half_x - extra, y - half_y - extra, x + half_x + extra, y + half_y + extra


def _edge(badge: Badge, middle: Point) -> tuple[Point, ...]:
    (x, y), (half_x, half_y) = middle, badge.half_size
    if badge.kind in (BadgeKind.TAB, BadgeKind.WORST):
        return (x - half_x, y - half_y), (x + half_x, y - half_y), (x + half_x, y + half_y), (x - half_x, y + half_y)
    # A circle, drawn out where the number is wide.
    straight = half_x - half_y
    out = []
    for corner in range(_CORNERS):
        angle = 2 * pi * corner / _CORNERS
        side = straight if cos(angle) > 0 else -straight
        out.append((x + side + half_y * cos(angle), y + half_y * sin(angle)))
    return tuple(out)
