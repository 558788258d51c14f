"""Sections of the part at true size, as paper templates: cut along the curves, and hold the halves against the wood."""

from collections.abc import Sequence

import numpy as np

from flipreg.drawing.flow import FOOT_MM
from flipreg.drawing.page import Align, Dash, Label, Page, Stroke, Strokes, shortened, spread, text_width_mm
from flipreg.drawing.paper import MARGIN_MM, Paper
from flipreg.stock.cross_section import CrossSection
from flipreg.units import Shown

__all__ = ["template_pages"]

_TITLE_MM = 18.0
_ABOVE_MM, _BELOW_MM = 17.0, 12.0
"""Paper above the highest place of the front, and below the lowest of the back."""
_BESIDE_MM = 10.0
_OVERLAP_MM = 10.0
"""How much of a section that is wider than the paper two drawings share."""
_SIZE_PT = 8.5


def template_pages(sections: Sequence[CrossSection], paper: Paper, name: str, *, inch: bool) -> list[Page]:
    """Lay out the sections on pages that lie; one that is too wide for the paper is drawn in several parts."""
    pages: list[Page] = []
    y = 0.0
    for section in sections:
        for number, (low, high, of) in enumerate(_windows(section, paper.lying_mm[0] - 2 * MARGIN_MM), 1):
            height = float(section.front_mm.max() - section.back_mm.min()) + _ABOVE_MM + _BELOW_MM
            if not pages or y - height - 6.0 < MARGIN_MM + FOOT_MM:
                pages.append(_page(paper, name))
                y = pages[-1].height_mm - MARGIN_MM - _TITLE_MM
            title = _title(section, Shown(inch)) + (f"; part {number} of {of}" if of > 1 else "")
            pages[-1].add(Label((MARGIN_MM, y - 2.0), shortened(title, pages[-1].width_mm - 2 * MARGIN_MM, 9.5), 9.5))
            _draw(pages[-1], section, (low, high), y - 6.0, Shown(inch))
            y -= height + 12.0
    return pages


def _windows(section: CrossSection, width_mm: float) -> list[tuple[float, float, int]]:
    """Return what each part of a section shows, from where to where, and how many parts there are."""
    low, high = float(section.x_mm[0]) - _BESIDE_MM, float(section.x_mm[-1]) + _BESIDE_MM
    of = 1
    while (high - low + (of - 1) * _OVERLAP_MM) / of > width_mm:
        of += 1
    each = (high - low + (of - 1) * _OVERLAP_MM) / of
    starts = [low + part * (each - _OVERLAP_MM) for part in range(of)]
    return [(start, start + each, of) for start in starts]


def _title(section: CrossSection, shown: Shown) -> str:
    station = section.station
    _, middle_mm = section.thickness_at(0.5)
    words = f"{station.name}: {shown.number(middle_mm)} thick in the middle"
    if station.planned_mm is not None and station.tolerance_mm is not None and station.left_mm is not None:
        plan = f"{shown.bare(station.planned_mm)} ± {shown.bare(station.tolerance_mm)}"
        words += f", {shown.number(station.left_mm)} at the station (planned {plan})"
    return words


def _draw(page: Page, section: CrossSection, window: tuple[float, float], top: float, shown: Shown) -> None:
    """Draw a part of a section at true size, with the paper that is left above and below it."""
    low, high = window
    shift_x = MARGIN_MM - low
    shift_y = top - _ABOVE_MM - float(section.front_mm.max())
    bottom = float(section.back_mm.min()) + shift_y - _BELOW_MM
    page.rectangle((MARGIN_MM, bottom), (MARGIN_MM + high - low, top), width_mm=0.18)
    # The edges of the paper go on level beside the part, so that its halves end in straight strips.
    x = np.concatenate([[section.x_mm[0] - _BESIDE_MM], section.x_mm, [section.x_mm[-1] + _BESIDE_MM]])
    inside = (x >= low - 1e-9) & (x <= high + 1e-9)
    for surface in (section.front_mm, section.back_mm):
        z = np.concatenate([surface[:1], surface, surface[-1:]])
        page.add(Strokes((np.column_stack([x[inside] + shift_x, z[inside] + shift_y]),), 0.35))
    if low <= 0.0 <= high:
        page.add(Stroke(((shift_x, bottom), (shift_x, top - 12.0)), 0.18, Dash.CHAIN))
    room = high - low - 4.0
    page.add(
        Label((MARGIN_MM + 2, top - 3.5), shortened(f"front, {section.station.name}", room, _SIZE_PT), _SIZE_PT),
        Label((MARGIN_MM + 2, bottom + 3.5), shortened(f"back, {section.station.name}", room, _SIZE_PT), _SIZE_PT),
    )
    _sizes(page, section, window, (shift_x, shift_y), top - 9.0, shown)


def _sizes(
    page: Page,
    section: CrossSection,
    window: tuple[float, float],
    shift: tuple[float, float],
    y: float,
    shown: Shown,
) -> None:
    """Write the thickness in the middle and at quarter widths, with a line through the wood at each."""
    found = [section.thickness_at(share) for share in (0.25, 0.5, 0.75)]
    found = [(x_mm, thick_mm) for x_mm, thick_mm in found if window[0] <= x_mm <= window[1]]
    texts = [shown.number(thick_mm) for _, thick_mm in found]
    sizes = [text_width_mm(text, _SIZE_PT) + 2.0 for text in texts]
    low, high = MARGIN_MM, MARGIN_MM + window[1] - window[0]
    places = spread([x_mm + shift[0] for x_mm, _ in found], sizes, low, high)
    for (x_mm, _), text, place in zip(found, texts, places, strict=True):
        x = x_mm + shift[0]
        top, bottom = (float(np.interp(x_mm, section.x_mm, z)) + shift[1] for z in (section.front_mm, section.back_mm))
        page.add(Stroke(((x, bottom), (x, top)), 0.18, Dash.DOTTED), Stroke(((x, top), (place, y - 2.0)), 0.1))
        page.add(Label((place, y), text, _SIZE_PT, Align.MIDDLE))


def _page(paper: Paper, name: str) -> Page:
    page = Page(*paper.lying_mm)
    top, width = page.height_mm - MARGIN_MM, page.width_mm - 2 * MARGIN_MM
    page.add(Label((MARGIN_MM, top - 3), shortened(f"Templates 1:1: {name}", width, 14.0, bold=True), 14.0, bold=True))
    says = "Sections at the stations, seen from the near end, front up; lengths in the job's unit. "
    says += "Cut along the curves, and hold the halves to the wood."
    page.add(Label((MARGIN_MM, top - 10), shortened(says, width, 9.5), 9.5))
    return page
