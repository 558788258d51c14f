"""A page as values: strokes, areas and words in millimetres, from its lower left corner up.

Layout is done on values, so that it can be looked at without drawing; painting them is another module's task.
"""

import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import Enum
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from flipreg.drawing.typeface import readable, runs_of
from flipreg.units import INCH_MM

__all__ = [
    "POINT_MM",
    "Align",
    "Area",
    "Dash",
    "Item",
    "Label",
    "Page",
    "Raster",
    "Stroke",
    "Strokes",
    "shortened",
    "spread",
    "text_width_mm",
    "wrapped",
]

Point = tuple[float, float]

POINT_MM = INCH_MM / 72
"""A typographic point."""

_LINE = 1.3
"""Height of a line of text against the size of its letters."""


class Dash(Enum):
    """How a stroke is broken."""

    SOLID = "solid"
    DASHED = "dashed"
    CHAIN = "chain"
    """Long and short: centre lines."""
    DOTTED = "dotted"


class Align(Enum):
    """Which part of a text is at its place."""

    LEFT = "left"
    MIDDLE = "middle"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points, black unless an ink such as '#0a2f6b' is named."""

    points: tuple[Point, ...]
    width_mm: float = 0.25
    dash: Dash = Dash.SOLID
    ink: str = "black"


@dataclass(frozen=True, slots=True, eq=False)
class Strokes:
    """Many lines of one kind, painted as one.

    Attributes
    ----------
    lines : tuple of float64 arrays, shape (n, 2)
        Their points.
    width_mm, dash, ink
        As of a stroke.
    within : (xmin, ymin, xmax, ymax) or None
        What sticks out of this is not painted.
    """

    lines: tuple[NDArray[np.float64], ...]
    width_mm: float = 0.25
    dash: Dash = Dash.SOLID
    ink: str = "black"
    within: tuple[float, float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class Area:
    """A filled polygon; grey from 0, black, to 1, white, unless an ink is named."""

    points: tuple[Point, ...]
    grey: float
    ink: str | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Raster:
    """A picture made of pixels; it stays one in a drawing made of lines.

    Attributes
    ----------
    pixels : uint8 array, shape (rows, columns, 3)
        Red, green and blue, the top row first.
    low, high : (float, float)
        The corners it fills, lower left and upper right.
    """

    pixels: NDArray[np.uint8]
    low: Point
    high: Point


@dataclass(frozen=True, slots=True)
class Label:
    """One line of text, centred on its place across the line.

    Attributes
    ----------
    at : (float, float)
        Its place.
    text : str
        What it says.
    size_pt : float
        Size of the letters.
    align : Align
        Which part of it, along the line, is at its place.
    bold, upright : bool
        Whether it is bold; whether it runs upwards.
    ink : str
        Its colour.
    """

    at: Point
    text: str
    size_pt: float = 9.5
    align: Align = Align.LEFT
    bold: bool = False
    upright: bool = False
    ink: str = "black"

    @property
    def box(self) -> tuple[float, float, float, float]:
        """What it covers: xmin, ymin, xmax, ymax."""
        length = text_width_mm(self.text, self.size_pt, bold=self.bold)
        half = self.size_pt * POINT_MM / 2
        before = {Align.LEFT: 0.0, Align.MIDDLE: length / 2, Align.RIGHT: length}[self.align]
        x, y = self.at
        if self.upright:
            return x - half, y - before, x + half, y - before + length
        return x - before, y - half, x - before + length, y + half


Item = Stroke | Strokes | Area | Raster | Label
"""What a page may have on it."""


@dataclass(slots=True)
class Page:
    """A sheet of paper and what is on it, in the order it is painted."""

    width_mm: float
    height_mm: float
    items: list[Item] = field(default_factory=list)

    def add(self, *items: Item) -> None:
        """Put something on the page."""
        self.items.extend(items)

    @property
    def labels(self) -> list[Label]:
        """Every text on the page."""
        return [item for item in self.items if isinstance(item, Label)]

    def arrow(self, start: Point, end: Point, *, both: bool = False, dash: Dash = Dash.SOLID) -> None:
        """Draw an arrow, with heads at both ends if asked for."""
        length = ((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2) ** 0.5
        if length == 0.0:
            return
        self.add(Stroke((start, end), 0.18, dash))
        along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
        size = min(2.2, length / 3)
        self.add(_head(end, along, size))
        if both:
            self.add(_head(start, (-along[0], -along[1]), size))

    def rectangle(self, low: Point, high: Point, *, width_mm: float = 0.25) -> None:
        """Draw a rectangle from its lower left to its upper right corner."""
        (x0, y0), (x1, y1) = low, high
        self.add(Stroke(((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)), width_mm))

    def paragraph(self, at: Point, lines: Sequence[str], *, size_pt: float = 9.5, bold: bool = False) -> float:
        """Write lines under each other from a place down; return the height where the next line would be."""
        x, y = at
        for line in lines:
            self.add(Label((x, y), line, size_pt, bold=bold))
            y -= size_pt * POINT_MM * _LINE
        return y


def wrapped(text: str, width_mm: float, *, size_pt: float = 9.5) -> list[str]:
    """Break a text into lines that fit a width; a word too long for it has a line of its own."""
    lines: list[str] = []
    used, blank = 0.0, text_width_mm(" ", size_pt)
    # Word by word: measuring whole lines as they grow takes longer than all the rest of a page.
    for word in re.split(r"[ \t\r\n]+", text.strip()):
        length = text_width_mm(word, size_pt)
        if lines and used + blank + length <= width_mm:
            lines[-1] += f" {word}"
            used += blank + length
        else:
            lines.append(word)
            used = length
    return lines


def spread(wanted: Sequence[float], sizes: Sequence[float], low: float, high: float) -> list[float]:
    """Return middles for things of given sizes, in order, as near as can be to where they want to be.

    Neighbours that would overlap are moved apart together. Where they do not fit between `low` and `high`, they start
    at `low` and run over.

    Examples
    --------
    >>> spread([10.0, 11.0, 50.0], [10.0, 10.0, 10.0], 0.0, 100.0)
    [5.5, 15.5, 50.0]
    """
    blocks: list[tuple[float, float, list[int]]] = []
    for index in range(len(wanted)):
        # A block is its lower end, its size and its members; it lies where its members want it to on average.
        members, size = [index], sizes[index]
        start = _within(wanted[index] - size / 2, size, low, high)
        while blocks and blocks[-1][0] + blocks[-1][1] > start:
            _, before, earlier = blocks.pop()
            members, size = [*earlier, *members], before + size
            start = _within(_best_start(members, wanted, sizes), size, low, high)
        blocks.append((start, size, members))
    places = [0.0] * len(wanted)
    for start, _, members in blocks:
        at = start
        for member in members:
            places[member] = at + sizes[member] / 2
            at += sizes[member]
    return places


def shortened(text: str, width_mm: float, size_pt: float, *, bold: bool = False) -> str:
    """Return a text that fits a width: where it is too long, dots stand for its middle.

    Names of a kind, such as 'dowel hole, left 3', begin alike and differ at their end, so that both ends stay.
    """
    if text_width_mm(text, size_pt, bold=bold) <= width_mm:
        return text

    def short(kept: int) -> str:
        return f"{text[: kept // 2].rstrip()}…{text[len(text) - (kept - kept // 2) :].lstrip()}"

    def width(kept: int) -> float:
        return text_width_mm(short(kept), size_pt, bold=bold)

    return short(bisect_right(range(1, len(text)), width_mm, key=width))


@lru_cache(maxsize=4096)
def text_width_mm(text: str, size_pt: float, *, bold: bool = False) -> float:
    """Return how long a text is, in the typeface that is painted with."""
    from matplotlib.textpath import text_to_path

    # Letters that no typeface has become a number, which is not known yet.
    shown = readable(text, defaultdict(lambda: "[88]"))
    widths = (
        text_to_path.get_text_width_height_descent(run, face.properties(size_pt, bold=bold), ismath=False)[0]
        for face, run in runs_of(shown)
    )
    return float(sum(widths)) * POINT_MM


def _head(tip: Point, along: Point, size: float) -> Area:
    (x, y), (dx, dy) = tip, along
    back = (x - dx * size, y - dy * size)
    side = size * 0.22
    return Area((tip, (back[0] - dy * side, back[1] + dx * side), (back[0] + dy * side, back[1] - dx * side)), 0.0)


def _best_start(members: Sequence[int], wanted: Sequence[float], sizes: Sequence[float]) -> float:
    total, offset = 0.0, 0.0
    for member in members:
        total += wanted[member] - offset - sizes[member] / 2
        offset += sizes[member]
    return total / len(members)


def _within(start: float, size: float, low: float, high: float) -> float:
    return max(low, min(start, high - size))
