"""The thickness of what is left as areas of one colour for each band of it, with a scale of the colours.

Lightness alone tells the bands apart, thick ones being light, so that nobody needs to see the hues and a print in black
and white says the same. Where nothing is left the paper shows; what is not cut is dotted, what is not determined is
hatched.
"""

from dataclasses import dataclass
from enum import IntEnum
from math import ceil, floor, log10

import numpy as np
from numpy.typing import NDArray

from flipreg.drawing.page import Align, Label, Page, Raster
from flipreg.drawing.view import View
from flipreg.stock.sections.remaining import RemainingStock
from flipreg.units import INCH_MM

__all__ = ["PIXELS", "Bands", "CellKind", "draw_scale", "hatched", "map_cells", "map_raster", "nice_step", "swatch"]

Pixels = NDArray[np.uint8]
Indices = NDArray[np.intp]

PIXELS = 150 / INCH_MM
"""Pixels of a map to a millimetre of paper (chosen): those of a picture of 150 dots to the inch."""

_THIN, _MIDDLE, _THICK = (38, 84, 112), (128, 176, 170), (250, 236, 202)
_OPEN = (255, 255, 255)
_UNCUT, _DOT = (250, 247, 241), (150, 144, 134)
_HATCH = (120, 120, 120)
_BANDS = 6
"""Bands a scale has at least (chosen). It has at most fifteen: more of them look alike in print."""
_WHOLE_MM = 0.01
"""Wood thinner than the blank by less than this counts as not cut (chosen): rounding makes it as much thinner."""
_HATCH_MM, _DOTS_MM = 2.4, 1.7
_UNIT_MM = {False: 1.0, True: INCH_MM}


class CellKind(IntEnum):
    """What a cell is shown as, besides its band from 0 up."""

    UNCUT = -1
    OPEN = -2
    UNKNOWN = -3


@dataclass(frozen=True, slots=True)
class Bands:
    """Ranges of thickness that have a colour each.

    Attributes
    ----------
    step_mm : float
        Size of each but the last.
    blank_mm : float
        Thickness of the blank: the end of the last one.
    inch : bool
        Whether the scale is in inches.
    """

    step_mm: float
    blank_mm: float
    inch: bool

    @classmethod
    def of(cls, blank_mm: float, *, inch: bool) -> "Bands":
        """Return bands of a round size for a blank."""
        unit_mm = _UNIT_MM[inch]
        most = blank_mm / unit_mm / (_BANDS - 1)
        step = max(step for step in (nice_step(most / part) for part in (1.0, 2.0, 3.0)) if step < most)
        return cls(step * unit_mm, blank_mm, inch)

    @property
    def count(self) -> int:
        """How many there are."""
        return max(1, ceil(self.blank_mm / self.step_mm - 1e-6))

    @property
    def limits_mm(self) -> tuple[float, ...]:
        """Where they begin, and where the last one ends."""
        return (*(index * self.step_mm for index in range(self.count)), self.blank_mm)

    @property
    def colours(self) -> Pixels:
        """Red, green and blue of each, the thinnest first, shape (count, 3)."""
        at = np.linspace(0.0, 1.0, self.count) if self.count > 1 else np.ones(1)
        anchors = np.array([_THIN, _MIDDLE, _THICK], dtype=np.float64)
        channels = [np.interp(at, (0.0, 0.5, 1.0), anchors[:, channel]) for channel in range(3)]
        return np.round(np.stack(channels, axis=1)).astype(np.uint8)

    def kinds(self, section: RemainingStock, rows: Indices, columns: Indices) -> NDArray[np.int8]:
        """Return what cells of a section are shown as, for all crossings of rows and columns."""
        crossing = np.ix_(rows, columns)
        front, back = section.faces.front_mm[crossing], section.faces.back_mm[crossing]
        left = front - back
        kinds: NDArray[np.int8] = np.clip(np.floor(left / self.step_mm), 0, self.count - 1).astype(np.int8)
        kinds[left >= self.blank_mm - _WHOLE_MM] = CellKind.UNCUT
        kinds[left <= 0.0] = CellKind.OPEN
        kinds[~section.known[crossing]] = CellKind.UNKNOWN
        return kinds


def nice_step(least: float) -> float:
    """Return the next of 1, 2, 5, 10 ... and their tenths that is not below a number over 0.

    Examples
    --------
    >>> nice_step(4.2), nice_step(0.13)
    (5.0, 0.2)
    """
    power = 10.0 ** floor(log10(least) + 1e-9)
    step = next(step for step in (1.0, 2.0, 5.0, 10.0) if step * power >= least * (1 - 1e-9))
    return round(step * power, 9)


def map_raster(section: RemainingStock, bands: Bands, view: View) -> Raster:
    """Return the map of a section as it lies on the page.

    A pixel shows the cell it is in. Beyond the grid nothing is cut, for the grid goes around all that is: there a
    pixel shows the nearest cell.
    """
    rows, columns = map_cells(section, view)
    kinds = bands.kinds(section, rows, columns)
    kinds = kinds[::-1] if view.is_upright else kinds.T
    pixels = _table(bands)[kinds]
    for kind, pattern in ((CellKind.UNCUT, _dotted), (CellKind.UNKNOWN, hatched)):
        cells = kinds == kind
        pixels[cells] = pattern(kinds.shape)[cells]
    box = view.page_box
    return Raster(np.ascontiguousarray(pixels), box[:2], box[2:])


def map_cells(section: RemainingStock, view: View) -> tuple[Indices, Indices]:
    """Return the nearest row for each pixel of a view along the section's Y, and the nearest column along its X."""
    x0, y0, x1, y1 = view.box_mm
    xs, ys = _centres(x0, x1, view.scale), _centres(y0, y1, view.scale)
    grid = section.grid
    columns = np.clip(np.round((xs - grid.x_mm) / grid.step_mm), 0, grid.shape[1] - 1).astype(np.intp)
    rows = np.clip(np.round((ys - grid.y_mm) / grid.step_mm), 0, grid.shape[0] - 1).astype(np.intp)
    return rows, columns


def draw_scale(page: Page, bands: Bands, at: tuple[float, float], width_mm: float) -> None:
    """Draw the scale of the colours to the right of and below a place: the words, the bands, their limits."""
    x, y = at
    unit = "inch" if bands.inch else "mm"
    page.add(Label((x, y - 1.8), f"Thickness left, {unit}", 8.5, bold=True))
    top, bottom = y - 4.4, y - 8.6
    limits = bands.limits_mm
    each = width_mm / bands.count
    for index, colour in enumerate(bands.colours):
        low = (x + index * each, bottom)
        page.add(Raster(colour.reshape(1, 1, 3), low, (low[0] + each, top)))
    page.rectangle((x, bottom), (x + width_mm, top), width_mm=0.2)
    for index, limit in enumerate(limits):
        value = f"{round(limit / _UNIT_MM[bands.inch], 3):g}"
        page.add(Label((x + min(index, bands.count) * each, bottom - 2.4), value, 8.5, Align.MIDDLE))


def swatch(kind: CellKind, low: tuple[float, float], high: tuple[float, float]) -> Raster:
    """Return a sample of what is shown for uncut, open or not determined cells."""
    shape = round((high[1] - low[1]) * PIXELS), round((high[0] - low[0]) * PIXELS)
    patterns = {CellKind.UNCUT: _dotted, CellKind.UNKNOWN: hatched}
    pixels = patterns[kind](shape) if kind in patterns else np.array([[_OPEN]], np.uint8)
    return Raster(pixels, low, high)


def hatched(shape: tuple[int, ...]) -> Pixels:
    """Return slanting lines on white, for what is not determined; shape (rows, columns, 3)."""
    slant = np.add.outer(np.arange(shape[0]), np.arange(shape[1])) % round(_HATCH_MM * PIXELS)
    pixels = np.full((*shape, 3), 255, np.uint8)
    pixels[slant < round(0.35 * PIXELS)] = _HATCH
    return pixels


def _dotted(shape: tuple[int, ...]) -> Pixels:
    """Return dots in staggered rows; shape (rows, columns, 3)."""
    each, size = round(_DOTS_MM * PIXELS), round(0.25 * PIXELS)
    rows, columns = np.arange(shape[0]), np.arange(shape[1])
    shifted = columns + (rows // each % 2 * (each // 2))[:, np.newaxis]
    dots = (rows % each < size)[:, np.newaxis] & (shifted % each < size)
    pixels = np.full((*shape, 3), _UNCUT, np.uint8)
    pixels[dots] = _DOT
    return pixels


def _centres(low_mm: float, high_mm: float, scale: float) -> NDArray[np.float64]:
    count = max(1, round((high_mm - low_mm) * scale * PIXELS))
    return np.asarray(low_mm + (np.arange(count) + 0.5) * (high_mm - low_mm) / count, dtype=np.float64)


def _table(bands: Bands) -> Pixels:
    """Return the colours in the order of numpy's indices: bands from the front, kinds from the end."""
    others = {CellKind.UNCUT: _UNCUT, CellKind.OPEN: _OPEN, CellKind.UNKNOWN: _OPEN}
    return np.concatenate([bands.colours, np.array([others[kind] for kind in sorted(CellKind)], np.uint8)])
