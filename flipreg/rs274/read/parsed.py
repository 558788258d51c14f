"""What one line of a program says, as the grammar reads it: values with their offsets in the line."""

from dataclasses import dataclass
from typing import NamedTuple

from flipreg.rs274.read.blocks import BlockFlag
from flipreg.rs274.read.expression import Expression
from flipreg.rs274.read.habit import Habit

__all__ = ["ParsedBlock", "ParsedSetting", "ParsedWord"]


class ParsedWord(NamedTuple):
    """A word: an upper-case letter and its value.

    `value` is (mantissa, decimals) of a literal number, or an expression. `start`, `number` and `end` are the
    offsets of the letter, of the first character of the value, and after the last character of the value.
    """

    letter: str
    value: tuple[int, int] | Expression
    start: int
    number: int
    end: int


@dataclass(frozen=True, slots=True)
class ParsedSetting:
    """`#index = value`, from the `#` to after the last character of the value."""

    index: Expression
    value: Expression
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class ParsedBlock:
    """What one line says.

    Attributes
    ----------
    flags : BlockFlag
        What the whole line is, besides its words.
    words : tuple of ParsedWord
        In the order of the line; the line number (N) and the program number (O) are words too.
    comments : tuple of (int, int)
        Spans of the comments, brackets included, or from `;` to the end of the line.
    settings : tuple of ParsedSetting
        In the order of the line.
    habits : tuple of (Habit, int)
        What the line has that the report does not, where a whole line shows it, and where that begins.
    """

    flags: BlockFlag
    words: tuple[ParsedWord, ...]
    comments: tuple[tuple[int, int], ...]
    settings: tuple[ParsedSetting, ...]
    habits: tuple[tuple[Habit, int], ...] = ()
