"""Names in letters that no typeface here has, on paper: each run of them is a number, and the last page says which.

What can't be painted can still be told apart, and looked up by the numbers that the letters have in Unicode.
"""

from collections.abc import Sequence
from dataclasses import replace

from flipreg.drawing.page import Label, Page, wrapped
from flipreg.drawing.typeface import readable, unreadable

__all__ = ["with_numbers"]

_MARGIN_MM = 15.0
_SIZE_PT = 10.0


def with_numbers(pages: Sequence[Page]) -> tuple[list[Page], tuple[str, ...]]:
    """Return pages that can be painted, and what to say of letters that can't.

    Parameters
    ----------
    pages : sequence of Page
        At least one; they stay as they are.
    """
    runs = dict.fromkeys(run for page in pages for label in page.labels for run in unreadable(label.text))
    if not runs:
        return list(pages), ()
    names = {run: f"[{number}]" for number, run in enumerate(runs, 1)}
    numbered = [
        Page(
            page.width_mm,
            page.height_mm,
            [replace(one, text=readable(one.text, names)) if isinstance(one, Label) else one for one in page.items],
        )
        for page in pages
    ]
    said = "; ".join(f"{name} is {run}" for run, name in names.items())
    note = f"no typeface here has some letters of these names, so that the drawing has numbers for them: {said}"
    return [*numbered, *_legend(names, pages[0])], (note,)


def _legend(names: dict[str, str], like: Page) -> list[Page]:
    """Return the pages that say which letters the numbers stand for."""
    width = like.width_mm - 2 * _MARGIN_MM
    head = (
        "No typeface of the computer that drew this has the letters below. Each run of them has a number in these "
        "pages; here are the numbers of its letters in Unicode, by which they can be looked up."
    )
    lines = wrapped(head, width, size_pt=_SIZE_PT)
    for run, name in names.items():
        letters = " ".join(f"U+{ord(letter):04X}" for letter in run)
        lines += ["", *wrapped(f"{name} {letters}", width, size_pt=_SIZE_PT)]
    pages: list[Page] = []
    y = 0.0
    for line in lines:
        if not pages or y < _MARGIN_MM:
            pages.append(Page(like.width_mm, like.height_mm))
            y = like.height_mm - _MARGIN_MM
        y = pages[-1].paragraph((_MARGIN_MM, y), [line], size_pt=_SIZE_PT)
    return pages
