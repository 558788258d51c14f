"""Numbered badges beside the places they belong to: none covers another, and a line leads from each to its place."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from math import cos, hypot, pi, sin

import numpy as np
from numpy.typing import NDArray

from flipreg.drawing.page import Align, Area, Dash, Label, Page, Stroke, text_width_mm
from flipreg.drawing.signs import SIGN_MM
from flipreg.drawing.view import PageBox
from flipreg.findings import Status

__all__ = ["KINDS", "RING_MM", "Badge", "BadgeKind", "draw_badge", "draw_leader", "draw_ring", "place_badges"]

Point = tuple[float, float]
Floats = NDArray[np.float64]
OnPart = Callable[[Floats], NDArray[np.bool_]]

_SIZE_PT = 8.5
_HALF_MM = 2.1
_RINGS = 14
_SIDES = 24
_GAP_MM = 0.5
_SAMPLES = 3
_OVER_PART_MM = 12.0
"""How much farther off a badge goes to lie beside the part and not over it (chosen)."""
RING_MM = 4.0
"""Radius of the ring round the worst register error."""
_PLACE_MM = 0.9
"""Radius of the ring round a place that has a number."""
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
    NAME = "name"
    """Plain words, of what has a sign of its own."""


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
        is_name = self.kind is BadgeKind.NAME
        half = text_width_mm(self.text, _SIZE_PT, bold=not is_name) / 2 + (0.4 if is_name else 0.9)
        return max(_HALF_MM, half), 1.8 if is_name else _HALF_MM

    @property
    def open_mm(self) -> float:
        """How far round its place nothing is drawn but the sign of it."""
        return {BadgeKind.WORST: RING_MM, BadgeKind.NAME: SIGN_MM}.get(self.kind, _PLACE_MM)


def place_badges(
    badges: Sequence[Badge], room: PageBox, taken: Sequence[PageBox] = (), on_part: OnPart | None = None
) -> list[Point | None]:
    """Return where each badge goes, near its place; None where there is no room for it.

    Parameters
    ----------
    badges : sequence of Badge
        The first ones have the first choice.
    room : PageBox
        What badges have to stay within.
    taken : sequence of PageBox
        What they must not cover.
    on_part : callable, optional
        Tells of points, shape (n, 2), which are on the part: rather than over it badges go beside it.
    """
    # No badge covers a place that another one is for.
    own: dict[Point, float] = {}
    for one in badges:
        own[one.at] = max(own.get(one.at, 0.0), one.open_mm + 0.2)
    covered = [*taken, *((x - half, y - half, x + half, y + half) for (x, y), half in own.items())]
    middles: list[Point | None] = []
    for badge in badges:
        middle = _free_middle(badge, room, np.array(covered), on_part)
        middles.append(middle)
        if middle is not None:
            covered.append(_box(badge, middle))
    return middles


def draw_leader(page: Page, badge: Badge, middle: Point) -> None:
    """Draw the line from a badge's middle to its place, which stays open; badges are drawn over all leaders."""
    x, y = badge.at
    away = hypot(middle[0] - x, middle[1] - y)
    share = badge.open_mm / away
    start = (x + share * (middle[0] - x), y + share * (middle[1] - y))
    page.add(Stroke((start, middle), 0.7, ink="white"), Stroke((start, middle), 0.22))
    if badge.kind not in (BadgeKind.WORST, BadgeKind.NAME):
        draw_ring(page, badge.at, _PLACE_MM, width_mm=0.3)


def draw_badge(page: Page, badge: Badge, middle: Point) -> None:
    """Draw a badge at its middle."""
    is_worst, is_name = badge.kind is BadgeKind.WORST, badge.kind is BadgeKind.NAME
    edge = _edge(badge, middle)
    fails = badge.kind is BadgeKind.FAILS
    page.add(Area(edge, 0.0 if fails else 1.0))
    if not is_name:
        dash = Dash.DOTTED if badge.kind is BadgeKind.UNKNOWN else Dash.SOLID
        page.add(Stroke((*edge, edge[0]), 0.35, dash))
    if is_worst:
        x0, y0, x1, y1 = _box(badge, middle)
        page.rectangle((x0, y0), (x1, y1))
    ink = "white" if fails else "black"
    page.add(Label(middle, badge.text, _SIZE_PT, Align.MIDDLE, bold=not is_name, ink=ink))


def draw_ring(page: Page, at: Point, radius: float, *, width_mm: float = 0.6) -> None:
    """Draw the ring that stands round a place, with a white edge."""
    turns = [2 * pi * corner / 48 for corner in range(49)]
    ring = tuple((at[0] + radius * cos(angle), at[1] + radius * sin(angle)) for angle in turns)
    page.add(Stroke(ring, width_mm + 0.6, ink="white"), Stroke(ring, width_mm))


def _free_middle(badge: Badge, room: PageBox, covered: Floats, on_part: OnPart | None) -> Point | None:
    """Return the nearest middle at which a badge covers nothing, and little of the part."""
    half_x, half_y = badge.half_size
    away = max(2.2, badge.open_mm + 0.6) + 2.4 * np.arange(_RINGS)[:, np.newaxis]
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
    if not len(free):
        return None
    best = free[0]
    if on_part is not None:
        far = np.broadcast_to(away, (_RINGS, _SIDES)).ravel()[free]
        across, up = np.meshgrid(np.linspace(x0, x1, _SAMPLES), np.linspace(y0, y1, _SAMPLES))
        points = np.stack([np.add.outer(x[free], across.ravel()), np.add.outer(y[free], up.ravel())], axis=-1)
        hidden = on_part(points.reshape(-1, 2)).reshape(len(free), -1).mean(axis=1)
        best = free[int(np.argmin(far + _OVER_PART_MM * hidden))]
    return float(x[best]), float(y[best])


def _box(badge: Badge, middle: Point) -> PageBox:
    half_x, half_y = badge.half_size
    extra = 0.7 if badge.kind is BadgeKind.WORST else 0.0
    x, y = middle
    return x - half_x - extra, y - half_y - extra, x + half_x + extra, y + half_y + extra


def _edge(badge: Badge, middle: Point) -> tuple[Point, ...]:
    (x, y), (half_x, half_y) = middle, badge.half_size
    if badge.kind in (BadgeKind.TAB, BadgeKind.WORST, BadgeKind.NAME):
        return (x - half_x, y - half_y), (x + half_x, y - half_y), (x + half_x, y + half_y), (x - half_x, y + half_y)
    # A circle, drawn out where the number is wide.
    straight = half_x - half_y
    out = []
    for corner in range(_CORNERS):
        angle = 2 * pi * corner / _CORNERS
        side = straight if cos(angle) > 0 else -straight
        out.append((x + side + half_y * cos(angle), y + half_y * sin(angle)))
    return tuple(out)
