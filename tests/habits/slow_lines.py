"""From bytes to blocks, one character after the other: the first half of the outsider's reading.

Written from the report (NISTIR 6556, 3.1 to 3.3) and from the table of habits in `docs/reference/language.md`;
whoever works here doesn't read `flipreg/rs274`. There are no parameters, expressions and subprograms: a program that
has them is `Unreadable` here, which says nothing about it.
"""

from dataclasses import dataclass
from decimal import Decimal

__all__ = ["Block", "Unreadable", "Word", "blocks"]

LETTERS = "ABCDFGHIJKLMPQRSTXYZ"
BLANKS = " \t\xa0"
DIGITS = "0123456789"


class Unreadable(Exception):
    """What this reader can't take, with the line."""

    def __init__(self, line: int, reason: str) -> None:
        super().__init__(f"{line}: {reason}")
        self.line = line


@dataclass(frozen=True)
class Word:
    """A letter and its value as it is written."""

    letter: str
    value: Decimal


@dataclass(frozen=True)
class Block:
    """The words of one line, in order; `line` counts from 1."""

    line: int
    is_deletable: bool
    words: tuple[Word, ...]


def blocks(text: bytes) -> list[Block]:
    """Return the blocks of the lines that are read."""
    lines = _lines(text)
    first, stop = _read_lines(lines)
    return [_block(lines[number], number + 1) for number in range(first, stop)]


def _lines(text: bytes) -> list[str]:
    """Return the lines, of which bytes that end a file and the mark that begins one are no part."""
    if text.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise Unreadable(1, "UTF-16")
    text = text.removeprefix(b"\xef\xbb\xbf").rstrip(b"\x00\x1a \t\r\n").replace(b"\xc2\xa0", b"\xa0")
    lines = [""]
    before = ""
    for character in text.decode("latin-1"):
        if character == "\r" or (character == "\n" and before != "\r"):
            lines.append("")
        elif character != "\n":
            lines[-1] += character
        before = character
    return lines


def _read_lines(lines: list[str]) -> tuple[int, int]:
    """Return the first line that is read and the one after the last.

    Percent lines before the first words open the program, and the next one ends it.
    """
    is_opened, first = False, 0
    for number, line in enumerate(lines):
        if line.strip(BLANKS)[:1] == "%":
            if _has_words(lines[first:number]):
                if not is_opened and _has_words(lines[number + 1 :]):
                    raise Unreadable(number + 1, "text after a percent line that nothing opened")
                return first, number
            is_opened, first = True, number + 1
    return first, len(lines)


def _has_words(lines: list[str]) -> bool:
    return any(_without_comments(line, 0).strip(BLANKS + "%") for line in lines)


def _block(line: str, number: int) -> Block:
    """Return the block of one line."""
    text = _without_comments(line, number)
    text = "".join(character for character in text if character not in BLANKS).upper()
    if text.startswith("O"):
        return Block(number, is_deletable=False, words=())
    is_deletable = text.startswith("/")
    text = text.removeprefix("/")
    if text.startswith("N"):
        digits, text = _taken(text[1:], DIGITS)
        if not digits:
            raise Unreadable(number, "N without digits")
        is_deletable = is_deletable or text.startswith("/")
        text = text.removeprefix("/")
    words = []
    while text:
        word, text = _word(text, number)
        words.append(word)
    return Block(number, is_deletable, tuple(words))


def _without_comments(line: str, number: int) -> str:
    """Return what is outside of comments: brackets may nest, and the end of the line ends all of them."""
    kept = ""
    depth = 0
    for character in line:
        if character == ";" and depth == 0:
            break
        if character == "(":
            depth += 1
        elif character == ")":
            depth -= 1
            if depth < 0:
                raise Unreadable(number, "a bracket that nothing opened")
        elif depth == 0:
            kept += character
    if depth and _has_readable_words(line, number):
        raise Unreadable(number, "words after the bracket of a comment that is not closed")
    return kept


def _has_readable_words(line: str, number: int) -> bool:
    """Whether a machine on which the first bracket ends a comment would find words after it."""
    start, depth = 0, 0
    for place, character in enumerate(line):
        depth += (character == "(") - (character == ")")
        if depth == 0:
            start = place + 1
    close = line.find(")", start)
    try:
        return close >= 0 and bool(_block(line[close + 1 :], number).words)
    except Unreadable:
        return False


def _word(text: str, number: int) -> tuple[Word, str]:
    """Return the first word, and what follows it."""
    letter, rest = text[0], text[1:]
    if letter not in LETTERS:
        raise Unreadable(number, f"no word begins with {letter!r}")
    sign, rest = (rest[0], rest[1:]) if rest[:1] in ("+", "-") else ("", rest)
    whole, rest = _taken(rest, DIGITS)
    point, part = "", ""
    if rest.startswith("."):
        point = "."
        part, rest = _taken(rest[1:], DIGITS)
    if not whole + part:
        raise Unreadable(number, f"{letter} without a number")
    return Word(letter, Decimal(f"{sign}{whole}{point}{part}")), rest


def _taken(text: str, characters: str) -> tuple[str, str]:
    """Return the longest beginning that is made of `characters`, and the rest."""
    taken = ""
    while text and text[0] in characters:
        taken += text[0]
        text = text[1:]
    return taken, text
