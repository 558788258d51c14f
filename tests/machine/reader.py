"""Lines of RS-274 as words, for a simulator that shares no code with the library.

Parameters, expressions and subprograms are left out: the programs that are simulated hold plain numbers.
"""

import re
from dataclasses import dataclass

__all__ = ["Block", "blocks", "key", "switch"]

_COMMENT = re.compile(r"\([^()]*(?:\([^()]*\)[^()]*)*\)|;.*")
_WORD = re.compile(r"([A-Z])([+-]?(?:\d+\.?\d*|\.\d+))")


@dataclass(frozen=True)
class Block:
    """One line: its number from 1, its text, whether it starts with `/`, and its words in order."""

    line: int
    text: str
    deletable: bool
    words: tuple[tuple[str, float], ...]

    def codes(self, letter: str) -> list[float]:
        """Return the values of each word of this letter."""
        return [value for found, value in self.words if found == letter]

    def value(self, letter: str) -> float | None:
        """Return the value of the word of this letter, None if there is none."""
        found = self.codes(letter)
        return found[-1] if found else None


def blocks(text: str) -> list[Block]:
    """Return all lines that a control would read: those between two `%`, or all."""
    found: list[Block] = []
    percents = 0
    for number, line in enumerate(text.splitlines(), 1):
        bare = line.strip()
        if bare.startswith("%"):
            percents += 1
            if percents == 2:
                break
            continue
        found.append(_block(number, line))
    return found


def _block(number: int, line: str) -> Block:
    bare = re.sub(r"[ \t]", "", _COMMENT.sub("", line)).upper()
    deletable = bare.startswith("/")
    bare = bare.removeprefix("/")
    if re.fullmatch(r"O\d+", bare):
        bare = ""
    words: list[tuple[str, float]] = []
    at = 0
    while at < len(bare):
        match = _WORD.match(bare, at)
        if match is None:
            raise ValueError(f"line {number}: {line!r} is not read by this reader")
        if match[1] != "N":
            words.append((match[1], float(match[2])))
        at = match.end()
    return Block(number, line, deletable, tuple(words))


def key(block: Block) -> tuple[object, ...]:
    """Return what has to be kept of a line in a program that is joined or taken apart: words but those of an end."""
    words = tuple(word for word in block.words if word not in {("M", 2.0), ("M", 30.0)})
    return (block.deletable, *words) if words else ()


def switch(*texts: str) -> tuple[bool, ...]:
    """Return the settings of the block-delete switch that make a difference to these programs."""
    return (False, True) if any(block.deletable for text in texts for block in blocks(text)) else (False,)
