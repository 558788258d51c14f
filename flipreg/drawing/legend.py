"""What lines, marks and colours of the picture of a check mean, and the scale of its colours."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from flipreg.drawing.arrows import draw_arrow
from flipreg.drawing.badges import Badge, BadgeKind, draw_badge, draw_ring
from flipreg.drawing.page import Dash, Label, Page, Strokes, text_width_mm
from flipreg.drawing.section_panel import BACK_INK, FRONT_INK, draw_hole
from flipreg.drawing.signs import SignKind, draw_clamp, draw_sign
from flipreg.drawing.thickness_map import Bands, CellKind, draw_scale, swatch
from flipreg.report.tab_name import tab_name

__all__ = ["Legend"]

Draw = Callable[[Page, float, float], None]

_SIZE_PT = 8.5
_ROW_MM = 5.3
_SAMPLE_MM, _SMALL_MM = 11.0, 6.0
"""Width of a sample: of a line or a colour, of a sign or a badge."""
_SCALE_MM = 13.0
_GAP_MM = 5.0


@dataclass(frozen=True, slots=True)
class _Entry:
    text: str
    draw: Draw
    sample_mm: float = _SAMPLE_MM

    @property
    def text_mm(self) -> float:
        """How far the text is from the left end of the sample."""
        return self.sample_mm + 1.5

    @property
    def width_mm(self) -> float:
        return self.text_mm + text_width_mm(self.text, _SIZE_PT)


class Legend:
    """The legend of one picture: only what the picture shows.

    Parameters
    ----------
    bands : Bands
        Of the map.
    kinds : sequence of BadgeKind
        Of the badges that are there.
    signs : sequence of SignKind
        Of the signs that are there.
    clamps : bool
        Whether clamps are there.
    arrows : str
        What the arrows are; empty where there are none.
    """

    def __init__(
        self, bands: Bands, kinds: Sequence[BadgeKind], signs: Sequence[SignKind], arrows: str, *, clamps: bool
    ) -> None:
        self._bands = bands
        texts = {
            BadgeKind.FAILS: "fails, number in the report",
            BadgeKind.LOOK: "look, number in the report",
            BadgeKind.UNKNOWN: "not determined, number in the report",
            BadgeKind.TAB: "tab",
        }
        self._entries = [
            _Entry("front: edge, hole", _face(is_front=True)),
            _Entry("back: edge, hole", _face(is_front=False)),
            _Entry("not cut", _cell(CellKind.UNCUT)),
            _Entry("nothing left", _cell(CellKind.OPEN)),
            _Entry("not determined", _cell(CellKind.UNKNOWN)),
            _Entry("reference edge", _edge),
            *(_Entry(kind.value, _sign(kind), _SMALL_MM) for kind in SignKind if kind in signs),
            *([_Entry("clamp", _clamp)] if clamps else []),
            *([_Entry(arrows, _arrow)] if arrows else []),
            *([_Entry("worst register error", _ring, _SMALL_MM)] if BadgeKind.WORST in kinds else []),
            *(_Entry(text, _badge(kind), _SMALL_MM) for kind, text in texts.items() if kind in kinds),
        ]

    def height_mm(self, width_mm: float) -> float:
        """Return how much of a page of a width it needs."""
        return _SCALE_MM + _ROW_MM * len(self._rows(width_mm))

    def draw(self, page: Page, at: tuple[float, float], width_mm: float) -> None:
        """Draw it to the right of and below a place."""
        x, y = at
        draw_scale(page, self._bands, at, min(width_mm, 170.0))
        y -= _SCALE_MM + _ROW_MM / 2
        for row in self._rows(width_mm):
            left = x
            for entry in row:
                entry.draw(page, left, y)
                page.add(Label((left + entry.text_mm, y), entry.text, _SIZE_PT))
                left += entry.width_mm + _GAP_MM
            y -= _ROW_MM

    def _rows(self, width_mm: float) -> list[list[_Entry]]:
        rows: list[list[_Entry]] = [[]]
        room = width_mm
        for entry in self._entries:
            if entry.width_mm > room and rows[-1]:
                rows.append([])
                room = width_mm
            rows[-1].append(entry)
            room -= entry.width_mm + _GAP_MM
        return rows


def _face(*, is_front: bool) -> Draw:
    def draw(page: Page, x: float, y: float) -> None:
        line = np.array([[x, y], [x + 6.5, y]])
        dash, ink = (Dash.SOLID, FRONT_INK) if is_front else (Dash.DASHED, BACK_INK)
        page.add(Strokes((line,), 0.3, dash, ink))
        draw_hole(page, (x + 9.2, y), 1.0, is_front=is_front)

    return draw


def _cell(kind: CellKind) -> Draw:
    def draw(page: Page, x: float, y: float) -> None:
        low, high = (x, y - 1.8), (x + _SAMPLE_MM, y + 1.8)
        page.add(swatch(kind, low, high))
        page.rectangle(low, high, width_mm=0.2)

    return draw


def _edge(page: Page, x: float, y: float) -> None:
    page.add(Strokes((np.array([[x, y], [x + _SAMPLE_MM, y]]),), 1.2))


def _sign(kind: SignKind) -> Draw:
    def draw(page: Page, x: float, y: float) -> None:
        draw_sign(page, kind, (x + _SMALL_MM / 2, y))

    return draw


def _clamp(page: Page, x: float, y: float) -> None:
    low, high = (x + 0.5, y - 1.6), (x + _SAMPLE_MM - 0.5, y + 1.6)
    corners = np.array([low, (high[0], low[1]), high, (low[0], high[1]), low])
    draw_clamp(page, corners, (x, y - 2.0, x + _SAMPLE_MM, y + 2.0))


def _arrow(page: Page, x: float, y: float) -> None:
    draw_arrow(page, (x + 0.5, y), (x + 10.0, y))


def _ring(page: Page, x: float, y: float) -> None:
    draw_ring(page, (x + _SMALL_MM / 2, y), 2.1)


def _badge(kind: BadgeKind) -> Draw:
    def draw(page: Page, x: float, y: float) -> None:
        at = (x + _SMALL_MM / 2, y)
        draw_badge(page, Badge(kind, tab_name(1) if kind is BadgeKind.TAB else "1", at), at)

    return draw
