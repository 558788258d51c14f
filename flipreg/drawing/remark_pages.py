"""The pages after the picture of a check: what its numbers mean, in the words of the report, and the tabs."""

from collections.abc import Iterator, Sequence

from flipreg.drawing.badges import KINDS, Badge, BadgeKind, draw_badge
from flipreg.drawing.page import Label, Page, wrapped
from flipreg.drawing.paper import MARGIN_MM
from flipreg.job_check.report import JobReport
from flipreg.report.remark import remark_text
from flipreg.report.tab_name import tab_name
from flipreg.report.verdict import what_to_do
from flipreg.units import length_text, place_text

__all__ = ["remark_pages"]

_Entry = tuple[BadgeKind | None, str, list[str]]
"""The badge and its number, if there is one, and lines of text."""

_SIZE_PT = 9.5
_LINE_MM = 4.4
_INDENT_MM = 12.0
_WIDEST_MM = 250.0


def remark_pages(report: JobReport, page_mm: tuple[float, float], homeless: Sequence[str]) -> list[Page]:
    """Lay out the remarks and the tabs on as many pages as they need; none where there is nothing to say."""
    width = min(page_mm[0] - 2 * MARGIN_MM, _WIDEST_MM) - _INDENT_MM
    entries = [*_in_words(report, homeless, width), *_remarks(report, homeless, width), *_tabs(report, homeless, width)]
    pages: list[Page] = []
    y = 0.0
    for kind, mark, lines in entries:
        if not pages or y - _LINE_MM * len(lines) < MARGIN_MM:
            pages.append(Page(*page_mm))
            y = page_mm[1] - MARGIN_MM - 3
            pages[-1].add(Label((MARGIN_MM, y), f"{report.name}: what the numbers say", 12.0, bold=True))
            y -= 9.0
        at = (MARGIN_MM + 4.5, y)
        if kind is not None:
            draw_badge(pages[-1], Badge(kind, mark, at), at)
        y = pages[-1].paragraph((MARGIN_MM + _INDENT_MM, y), lines, size_pt=_SIZE_PT) - 1.6
    return pages


def _in_words(report: JobReport, homeless: Sequence[str], width: float) -> Iterator[_Entry]:
    """Yield what has no number: what to do, and names for which the picture has no room."""
    if not report.passes:
        yield None, "", wrapped(f"What to do: {what_to_do(report)}", width, size_pt=_SIZE_PT)
    numbers = {f"{number}" for number in range(1, len(report.remarks) + 1)}
    numbers |= {tab_name(number) for number in range(1, len(report.tabs) + 1)}
    names = [name for name in homeless if name not in numbers]
    if names:
        yield None, "", wrapped(f"No room in the picture for these names: {'; '.join(names)}.", width, size_pt=_SIZE_PT)


def _remarks(report: JobReport, homeless: Sequence[str], width: float) -> Iterator[_Entry]:
    for number, remark in enumerate(report.remarks, 1):
        text = f"{remark_text(remark)}{_missing(f'{number}', homeless)}"
        yield KINDS[remark.status], f"{number}", wrapped(text, width, size_pt=_SIZE_PT)


def _tabs(report: JobReport, homeless: Sequence[str], width: float) -> Iterator[_Entry]:
    for number, (section, tab) in enumerate(report.tabs, 1):
        text = (
            f"tab at {place_text(tab.at_mm)} of the {section} section: {length_text(tab.width_mm, 1)} wide "
            f"and {length_text(tab.thickness_mm, 1)} thick where it is weakest.{_missing(tab_name(number), homeless)}"
        )
        yield BadgeKind.TAB, tab_name(number), wrapped(text, width, size_pt=_SIZE_PT)


def _missing(number: str, homeless: Sequence[str]) -> str:
    return " Not in the picture: no room for its number." if number in homeless else ""
