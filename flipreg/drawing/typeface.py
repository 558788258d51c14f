"""The typeface of drawings, what is painted with another one that this machine has, and letters that none has."""

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.font_manager import FontProperties

__all__ = ["Face", "face_of", "readable", "unreadable"]

OWN = "DejaVu Sans"
"""Comes with matplotlib: Latin, Greek, Cyrillic, Hebrew, Arabic and more."""

_ASIDE = re.compile(r"[\s\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufe00-\ufe0f]")
"""What leaves no ink."""


@dataclass(frozen=True, slots=True)
class Face:
    """What a text is painted with: the file of another typeface, or '' for the drawings' own."""

    file: str = ""

    def properties(self, size_pt: float, *, bold: bool) -> "FontProperties":
        """Return it as matplotlib has it."""
        from matplotlib.font_manager import FontProperties

        if self.file:
            return FontProperties(fname=self.file, size=size_pt)
        return FontProperties(family=OWN, weight="bold" if bold else "normal", size=size_pt)


@lru_cache(maxsize=4096)
def face_of(text: str) -> Face:
    """Return what a text is painted with: the drawings' own typeface, or the first one here that has more of it."""
    needed = _inked(text)
    if needed <= _own_letters():
        return Face()
    return max((Face(), *map(Face, _others())), key=lambda face: len(needed & _letters_of(face)))


def unreadable(text: str) -> list[str]:
    """Return the runs of letters in a text that no typeface here has."""
    missing = _inked(text) - _letters_of(face_of(text))
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


def _letters_of(face: Face) -> frozenset[str]:
    return _letters(face.file) if face.file else _own_letters()


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
