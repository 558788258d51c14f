"""The percent lines around a program (NISTIR 6556, 3.1), as people have them: both, one of them, or more."""

import re
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from flipreg.rs274.read.habit import Habit, Notices
from flipreg.rs274.read.line_layout import LineLayout
from flipreg.rs274.read.location import Location, ProgramError

__all__ = ["Framing", "PercentLines"]

_MARK = re.compile(rb"%[ \t]*[0-9A-Za-z][0-9A-Za-z _.\t-]{0,39}")
"""A program mark: a percent sign and the program's number or name; a widespread habit."""

_NOTHING = re.compile(rb"(?:[\s\x00\x1a%]|\([^()\r\n]*\)|;[^\r\n]*+)*+")
"""Text without words: blanks, comments, percent signs, and what files end with.

What was matched once isn't tried in another way: a row of n semicolons is 2**n sequences of comments.
"""

_EMPTY = b" \t\r\n\x0b\x0c\x00\x1a"
"""Bytes that make no program: blanks, line ends, and what files end with."""

_LEADER_BYTES = 4096
"""How far after the beginning a first percent line is looked for (chosen): beyond it stands a program."""


class Framing(NamedTuple):
    """What the percent lines make of a chunk.

    Attributes
    ----------
    lines : int
        How many of its lines are the program's.
    percents : tuple of int
        Those of them that are percent lines or a program mark.
    error : ProgramError or None
        What is wrong after them.
    """

    lines: int
    percents: tuple[int, ...] = ()
    error: ProgramError | None = None


class PercentLines:
    """What is known of the percent lines of one program."""

    def __init__(self, source: str) -> None:
        self._source = source
        self._opened = False
        self._closing_line = 0
        self.is_begun = self.is_closed = False
        self._has_words = False

    def look(self, text: bytes, skip: int, layout: LineLayout, notices: Notices, *, last: bool) -> Framing:
        """Look at the next chunk; `skip` is the size of a byte-order mark in front of it."""
        count, first_line = len(layout.start), notices.first_line
        self.is_begun = self.is_begun or bool(text[skip:].strip(_EMPTY))
        if self.is_closed:
            return Framing(0, (), self._rest(text, 0, layout, notices))
        mark = -1 if self._has_words or self._opened else _mark_line(text, skip, layout)
        found = [mark] if mark >= 0 else []
        self._opened |= mark >= 0
        for line in _lone_percents(text, skip, layout):
            before = text[skip : int(layout.start[line])]
            if mark >= 0:
                before = before[int(layout.end[mark]) - skip :]
            self._has_words = self._has_words or len(before) > _LEADER_BYTES or not _NOTHING.fullmatch(before)
            found.append(line)
            if not self._has_words:
                if self._opened:
                    notices.add(Habit.MORE_PERCENTS, [line])
                self._opened = True
                continue
            self.is_closed = True
            if not self._opened:
                notices.add(Habit.CLOSING_PERCENT, [line])
                self._closing_line = first_line + line
            error = self._rest(text, line + 1, layout, notices)
            return Framing(line + 1, tuple(sorted(found)), error)
        self._has_words = self._has_words or len(text) > _LEADER_BYTES or not _without_frame(text, skip, found, layout)
        if last and self._opened and self._has_words:
            notices.add(Habit.OPEN_PERCENT, [count - 1])
        return Framing(count, tuple(sorted(found)))

    def _rest(self, text: bytes, first: int, layout: LineLayout, notices: Notices) -> ProgramError | None:
        """Note what stands after the closing percent line, and return what is wrong with it."""
        if first >= len(layout.start):
            return None
        rest = text[int(layout.start[first]) :]
        if b"%" in rest:
            lines = [line for line in _lone_percents(text, 0, layout) if line >= first]
            notices.add(Habit.MORE_PERCENTS, lines)
        if _NOTHING.fullmatch(rest):
            return None
        line = next(
            line
            for line in range(first, len(layout.start))
            if not _NOTHING.fullmatch(text[int(layout.start[line]) : int(layout.mark[line])])
        )
        if not self._closing_line:
            notices.add(Habit.UNREAD_TEXT, [line])
            return None
        message = (
            f"text after a % (line {self._closing_line}) that no % at the beginning opened: nobody knows whether the "
            "machine reads on there; take out the % or the text after it"
        )
        end = int(layout.end[line] - layout.start[line]) + 1
        where = Location(self._source, notices.first_line + line, 1, max(2, end))
        excerpt = text[int(layout.start[line]) : int(layout.end[line])].decode("latin-1")
        return ProgramError(message, where, excerpt)


def _without_frame(text: bytes, skip: int, found: list[int], layout: LineLayout) -> bool:
    """Return whether a short text holds nothing but what frames a program."""
    first = max((int(layout.end[line]) for line in found), default=skip)
    return _NOTHING.fullmatch(text[first:]) is not None


def _lone_percents(text: bytes, skip: int, layout: LineLayout) -> Iterator[int]:
    """Yield the lines that hold a `%` and nothing else."""
    at = text.find(b"%")
    while at >= 0:
        line = int(np.searchsorted(layout.mark, at))
        start, end = int(layout.start[line]), int(layout.end[line])
        if text[max(start, skip) : end].strip(b" \t") == b"%":
            yield line
        at = text.find(b"%", end)


def _mark_line(text: bytes, skip: int, layout: LineLayout) -> int:
    """Return the line of a program mark such as `%1234`, which may only be the first that is not blank, or -1."""
    at = text.find(b"%")
    if at < 0 or text[skip:at].strip():
        return -1
    line = int(np.searchsorted(layout.mark, at))
    return line if _MARK.fullmatch(text[at : int(layout.end[line])]) else -1
