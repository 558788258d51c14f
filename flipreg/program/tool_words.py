"""What a program says about its tools: the T words, and the sizes that its comments name.

Comments decide nothing. A size in one is of a tool where it stands beside a T word, or where the comment speaks of a
tool; which words do that is common practice, no source.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from flipreg.rs274.interpret.subprograms import Step
from flipreg.rs274.read.blocks import EXPRESSION, Blocks
from flipreg.rs274.read.location import Location
from flipreg.units import INCH_MM

__all__ = ["NamedSize", "Selected", "ToolWords", "ToolWordsReader"]


_NUMBER = r"(?P<{0}>\d+\s*/\s*\d+|\d*\.\d+|\d+\.?)"
_UNIT = r"(?:mm|millimet(?:er|re)s?|in(?:ch(?:es)?)?\b|\")"
_DIAMETER = re.compile(
    r"(?:\bdia(?:m(?:eter)?)?\.?|\bd(?=\s*[=:\d])|ø)\s*[=:]?\s*" + _NUMBER.format("size") + rf"\s*(?P<unit>{_UNIT})?",
    re.IGNORECASE,
)
"""A size that is called a diameter: `D=6`, `D6`, `DIA 6`, `diameter: 1/4 in`."""
_LENGTH = re.compile(
    r"(?<![\w./=-])" + _NUMBER.format("size") + rf"\s*-?(?P<unit>{_UNIT})(?!\s*(?:/|per\b|a\b))", re.IGNORECASE
)
"""A length with its unit: `6 mm`, `1/4 in`; no speed."""
_PART = re.compile(
    r"(?<![\w./=-])(?P<size>\d{1,2}\s*/\s*(?:2|4|8|16|32|64))(?P<unit>)(?=\s+(?:\w+\s+)?"
    r"(?:end ?mill|flat|ball|bull|vee|v-?bit|drill|twist|spiral|cutter|bit)\b)",
    re.IGNORECASE,
)
"""A part of an inch before what a cutter is called: `1/8 drill`, `1/4 downcut flat`; common practice, no source."""
_OTHER = re.compile(
    r"^\W*(?:deep|depth|long|length|flutes?|shank|shaft|stick|corner|radius|thick|wide|step|above|below|off|from)",
    re.IGNORECASE,
)
"""What a length before it is when it is no diameter."""
_BEFORE = re.compile(
    r"(?:\b(?:[zrxy]|cr)|deep|depth|length|radius|shank|floor|step\S*|thick\w*|blank)\s*[=:]?\s*$", re.IGNORECASE
)
_OF_A_TOOL = re.compile(
    r"\b(?:tool|cutter|mill|end ?mill|bit|flat|ball|bull|vee|v-?bit|drill|twist|spiral|dia|diameter|T\d+)\b|ø|\bd\s*=",
    re.IGNORECASE,
)
_T_NUMBER = re.compile(r"\bT\s*0*(\d+)\b", re.IGNORECASE)
_MOST_COMMENTS = 200
"""Comments looked at before the first T word or motion (chosen)."""


@dataclass(frozen=True, slots=True)
class Selected:
    """The first T word of a number.

    Attributes
    ----------
    number : int
        The tool number.
    location : Location
        Where the word is.
    excerpt : str
        Its line.
    cuts_after : bool
        Whether anything is fed after it.
    """

    number: int
    location: Location
    excerpt: str
    cuts_after: bool


@dataclass(frozen=True, slots=True)
class NamedSize:
    """Sizes that a comment names for a tool.

    Attributes
    ----------
    number : int or None
        The tool number; None for the one tool of a program.
    line : int
        Line of the comment.
    text : str
        The comment.
    sizes_mm : tuple of float
        Diameters that it may mean, in millimetres.
    """

    number: int | None
    line: int
    text: str
    sizes_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class ToolWords:
    """What a program says about its tools.

    Attributes
    ----------
    selected : tuple of Selected
        The tool numbers of its T words, in order.
    sizes : tuple of NamedSize
        Sizes that comments name, in order.
    """

    selected: tuple[Selected, ...] = ()
    sizes: tuple[NamedSize, ...] = ()


class ToolWordsReader:
    """Looks at the steps of one program; `words` tells what there was."""

    def __init__(self) -> None:
        self._selected: dict[int, Selected] = {}
        self._sizes: dict[int, NamedSize] = {}
        self._head: list[tuple[int, str]] = []
        self._moved = False
        self._last: tuple[int, int | None, str] | None = None

    def add(self, step: Step) -> None:
        """Look at the next step."""
        self._select(step)
        if step.depth == 0 and len(step.blocks):
            head = 0 if self._moved else len(step.blocks)
            if head and len(step.path):
                head = int(step.path.line[0]) - step.blocks.first_line
            self._comments(step.blocks, head)
        self._moved |= bool(len(step.path))

    def words(self) -> ToolWords:
        """Return what was found."""
        for line, text in self._head:
            # At the head a comment is of a tool where it says so, of a numbered one where it names the number.
            if line in self._sizes or not _OF_A_TOOL.search(text):
                continue
            number = _T_NUMBER.search(text)
            self._note(line, text, None if number is None else int(number[1]))
        sizes = sorted(self._sizes.values(), key=lambda one: one.line)
        return ToolWords(tuple(self._selected.values()), tuple(sizes))

    def _select(self, step: Step) -> None:
        blocks, path = step.blocks, step.path
        cut_line = int(path.line[path.is_cut].max(initial=-1)) if len(path) else -1
        if cut_line >= 0:
            for number, one in self._selected.items():
                if not one.cuts_after:
                    self._selected[number] = Selected(number, one.location, one.excerpt, cuts_after=True)
        for row in blocks.rows("T").tolist():
            block = int(blocks.block[row])
            number = round(float(step.modes.values[row]))
            if number not in self._selected and step.modes.executes[block]:
                place = blocks.location(block, int(blocks.start[row]), int(blocks.end[row]))
                self._selected[number] = Selected(
                    number, place, blocks.line(block), cuts_after=cut_line >= blocks.first_line + block
                )

    def _comments(self, blocks: Blocks, head: int) -> None:
        """Take the comments beside T words, and those of the first blocks, as many as `head` says."""
        rows = blocks.rows("T")
        told = {
            int(blocks.block[row]): round(int(blocks.mantissa[row]) / 10.0 ** int(blocks.decimals[row]))
            for row in rows[blocks.decimals[rows] != EXPRESSION].tolist()
        }
        first_line, last = blocks.first_line, len(blocks) - 1
        if self._last is not None and self._last[1] is not None:
            # The block before this chunk has a T word.
            told[-1] = self._last[1]
        if 0 in told and self._last is not None and self._last[2]:
            self._beside(first_line - 1, self._last[2], told[0])
        near = np.isin(blocks.comment_block, [block + by for block in told for by in (-1, 0, 1)])
        for at in np.flatnonzero(near | (blocks.comment_block < head)).tolist():
            block = int(blocks.comment_block[at])
            line, text = first_line + block, _text(blocks, at)
            beside = next((told[other] for other in (block, block + 1, block - 1) if other in told), None)
            if block in told:
                self._note(line, text, told[block])
            elif beside is not None:
                self._beside(line, text, beside)
            elif len(self._head) < _MOST_COMMENTS:
                self._head.append((line, text))
        of_last = np.flatnonzero(blocks.comment_block == last)
        self._last = (first_line + last, told.get(last), _text(blocks, int(of_last[-1])) if of_last.size else "")

    def _beside(self, line: int, text: str, number: int) -> None:
        if _OF_A_TOOL.search(text):
            named = _T_NUMBER.search(text)
            self._note(line, text, number if named is None else int(named[1]))

    def _note(self, line: int, text: str, number: int | None) -> None:
        sizes = _sizes_mm(text)
        if sizes and line not in self._sizes:
            self._sizes[line] = NamedSize(number, line, text, sizes)


def _text(blocks: Blocks, at: int) -> str:
    raw = blocks.text[blocks.comment_start[at] : blocks.comment_end[at]].decode("latin-1")
    return raw.strip("();\r\n \t")


def _sizes_mm(text: str) -> tuple[float, ...]:
    """Return the diameters that a comment may mean, in millimetres; a number without a unit may be of either."""
    called = [size for match in _DIAMETER.finditer(text) for size in _in_mm(match)]
    if called:
        return tuple(called)
    lengths = [size for match in _diameters(_LENGTH, text) for size in _in_mm(match)]
    return tuple(lengths or [size for match in _diameters(_PART, text) for size in _in_mm(match)[-1:]])


def _diameters(pattern: "re.Pattern[str]", text: str) -> Iterator["re.Match[str]"]:
    """Yield the lengths that are not said to be something else than a diameter."""
    for match in pattern.finditer(text):
        if not _OTHER.match(text[match.end() :]) and not _BEFORE.search(text[: match.start()]):
            yield match


def _in_mm(match: "re.Match[str]") -> tuple[float, ...]:
    over, _, under = match["size"].replace(" ", "").partition("/")
    if under and not float(under):
        return ()
    size = float(over) / (float(under) if under else 1.0)
    unit = (match["unit"] or "").lower()
    if not size:
        return ()
    if not unit:
        return size, size * INCH_MM
    return (size,) if unit.startswith("m") else (size * INCH_MM,)
