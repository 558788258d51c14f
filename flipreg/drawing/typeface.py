"""The typeface of drawings, what is painted with another one that this machine has, and letters that none has."""

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.font_manager import FontProperties

__all__ = ["Typeface", "readable", "runs_of", "unreadable"]

OWN = "DejaVu Sans"
"""Comes with matplotlib: Latin, Greek, Cyrillic, Hebrew, Arabic and more."""

_ASIDE = re.compile(r"[\s\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufe00-\ufe0f]")
"""What leaves no ink."""


@dataclass(frozen=True, slots=True)
class Typeface:
    """What a text is painted with: the file of another typeface, or '' for the drawings' own."""

    file: str = ""

    def properties(self, size_pt: float, *, bold: bool) -> "FontProperties":
        """Return it as matplotlib has it."""
        from matplotlib.font_manager import FontProperties

        if self.file:
            return FontProperties(fname=self.file, size=size_pt)
        return FontProperties(family=OWN, weight="bold" if bold else "normal", size=size_pt)


@lru_cache(maxsize=4096)
def runs_of(text: str) -> tuple[tuple[Typeface, str], ...]:
    """Return a text in runs, each with what it is painted with: the drawings' own typeface wherever that has it."""
    missing = _inked(text) - _own_letters()
    if not missing:
        return ((Typeface(), text),)
    found = {
        letter: next((Typeface(file) for file in _others() if letter in _letters(file)), Typeface())
        for letter in missing
    }
    runs: list[tuple[Typeface, str]] = []
    for letter in text:
        face = found.get(letter, Typeface())
        if runs and runs[-1][0] == face:
            runs[-1] = (face, runs[-1][1] + letter)
        else:
            runs.append((face, letter))
    return tuple(runs)


def unreadable(text: str) -> list[str]:
    """Return the runs of letters in a text that no typeface here has."""
    missing = {letter for face, run in runs_of(text) if not face.file for letter in _inked(run) - _own_letters()}
    if not missing:
        return []
    return re.findall(f"[{''.join(map(re.escape, sorted(missing)))}]+", text)


def readable(text: str, names: dict[str, str]) -> str:
    """Return a text with names in place of its unreadable runs."""
    for run in sorted(unreadable(text), key=len, reverse=True):
        text = text.replace(run, names[run])
    return text


def _inked(text: str) -> frozenset[str]:
    return frozenset(_ASIDE.sub("", text))


@lru_cache(maxsize=1)
def _own_letters() -> frozenset[str]:
    from matplotlib.font_manager import FontProperties, findfont

    return _letters(findfont(FontProperties(family=OWN)))


@lru_cache(maxsize=256)
def _letters(file: str) -> frozenset[str]:
    from matplotlib.font_manager import get_font

    try:
        return frozenset(map(chr, get_font(file).get_charmap()))
    except (OSError, RuntimeError, ValueError):
        return frozenset()


def _others() -> list[str]:
    """Return the files of this machine's other typefaces, upright ones of usual weight first, always in one order."""
    from matplotlib import get_data_path
    from matplotlib.font_manager import fontManager

    # Those that come with matplotlib are for formulas, and one has a box for every letter there is.
    fonts = [font for font in fontManager.ttflist if not font.fname.startswith(get_data_path())]
    plain = sorted(
        fonts, key=lambda font: (font.style != "normal", abs(_weight(font.weight) - 400), font.name, font.fname)
    )
    return list(dict.fromkeys(font.fname for font in plain))


def _weight(weight: int | str) -> int:
    return weight if isinstance(weight, int) else {"bold": 700, "light": 300}.get(weight, 400)
