"""Names beside the crosses and lines of a page: each beside its own, none over another, whatever lines run there.

Places are on the page, in millimetres.
"""

from collections.abc import Iterator, Sequence
from math import cos, pi, sin

from flipreg.drawing.page import Align, Area, Label, Page, Stroke
from flipreg.drawing.view import PageBox

__all__ = ["Labels"]

Point = tuple[float, float]

_SIZE_PT = 10.0
_GAP_MM = 1.0
"""Least distance of two labels, and of a label from another cross."""
_OFF_MM = 1.5
"""From a line, or from the end of a cross, to the letters beside it."""
_CROSS_MM = 4.0
_RINGS_MM = tuple(range(10, 90, 5))
"""Distances from its cross at which a place is looked for where there is none right beside it."""
_TURNS = 24


class Labels:
    """The labels of one page.

    Parameters
    ----------
    page : Page
        What they are written on.
    room : PageBox
        What they stay within.
    blank : PageBox
        The blank: names stay on it where they find a place there.
    taken : sequence of PageBox
        What they must not cover.
    """

    def __init__(self, page: Page, room: PageBox, blank: PageBox, taken: Sequence[PageBox]) -> None:
        self._page, self._room, self._blank, self._taken = page, room, blank, list(taken)

    def beside_cross(self, at: Point, text: str) -> None:
        """Write a text beside a cross; with a line to it where only a place farther off is free."""
        near = [label for label in _round_cross(at, text) if self._is_free(label.box)]
        if near:
            self._write(next((label for label in near if _holds(self._blank, label.box)), near[0]))
            return
        for label in _on_rings(at, text):
            if self._is_free(label.box):
                self._write(label, leader_to=at)
                return
        # Nothing is free as far as the eye follows a line: on the line to it one still finds whose it is.
        inside = [label for label in (*_round_cross(at, text), *_on_rings(at, text)) if self._is_inside(label.box)]
        if inside:
            self._write(max(inside, key=lambda label: self._off_others(label.box)), leader_to=at)

    def beside_line(self, x: float, span: Point, text: str) -> None:
        """Write a text upright beside a line across the blank, anywhere between two heights."""
        size = Label((0.0, 0.0), text, _SIZE_PT).box[2]
        low, high = span[0] + _OFF_MM, span[1] - _OFF_MM - size
        for row in range(max(1, int((high - low) / 4.0) + 1)):
            for side in (1.0, -1.0):
                label = Label((x + side * _beside(), high - 4.0 * row), text, _SIZE_PT, upright=True)
                if self._is_free(label.box):
                    self._write(label)
                    return

    def beside_edge(self, y: float, inward: float, span: Point) -> None:
        """Say that the thick line at a height is the reference edge, inside the blank and anywhere along it."""
        x = span[0] + 14.0
        while x < span[1]:
            label = Label((x, y + inward * 4.0), "reference edge", 9.0)
            if self._is_free(label.box):
                self._write(label)
                return
            x += 4.0

    def _write(self, label: Label, *, leader_to: Point | None = None) -> None:
        x0, y0, x1, y1 = label.box
        if leader_to is not None:
            nearest = (min(max(leader_to[0], x0), x1), min(max(leader_to[1], y0), y1))
            self._page.add(Stroke((leader_to, nearest), 0.13))
        # Lines that would run through the letters stop at them.
        self._page.add(Area(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), 1.0), label)
        self._taken.append(label.box)

    def _is_free(self, box: PageBox) -> bool:
        return self._is_inside(box) and self._off_others(box) >= _GAP_MM

    def _is_inside(self, box: PageBox) -> bool:
        return _holds(self._room, box)

    def _off_others(self, box: PageBox) -> float:
        """Return how far a box is from all that is taken; below 0 where it overlaps."""
        return min(
            (max(a[0] - box[2], box[0] - a[2], a[1] - box[3], box[1] - a[3]) for a in self._taken), default=_GAP_MM
        )


def _holds(outer: PageBox, inner: PageBox) -> bool:
    return outer[0] < inner[0] and outer[1] < inner[1] and inner[2] < outer[2] and inner[3] < outer[3]


def _beside() -> float:
    """Return how far from a line the middle of upright letters is."""
    return _OFF_MM + Label((0.0, 0.0), "0", _SIZE_PT).box[3]


def _round_cross(at: Point, text: str) -> Iterator[Label]:
    """Yield the places right beside a cross: upright along its line, then lying, above and below."""
    (x, y), size = at, Label((0.0, 0.0), text, _SIZE_PT).box[2]
    off = _CROSS_MM + _OFF_MM
    for side in (1.0, -1.0):
        yield Label((x + side * _beside(), y + off), text, _SIZE_PT, upright=True)
        yield Label((x + side * _beside(), y - off - size), text, _SIZE_PT, upright=True)
    for height in (0.0, off, -off):
        yield Label((x + off, y + height), text, _SIZE_PT)
        yield Label((x - off, y + height), text, _SIZE_PT, Align.RIGHT)


def _on_rings(at: Point, text: str) -> Iterator[Label]:
    """Yield lying places farther and farther from a cross."""
    for away in _RINGS_MM:
        for turn in range(_TURNS):
            angle = 2 * pi * turn / _TURNS
            x, y = at[0] + away * cos(angle), at[1] + away * sin(angle)
            yield Label((x, y), text, _SIZE_PT, Align.LEFT if cos(angle) >= 0 else Align.RIGHT)
