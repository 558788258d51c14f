"""Marks of other languages that RS-274 has not: remarks, names, settings of the control; and what to write instead.

They stand where a word, a comment or a parameter setting could begin.
"""

import re

from flipreg.rs274.read.foreign import BlockSyntaxError
from flipreg.rs274.read.mistake_patterns import COMMA, DIALECT, FUNCTION, LINE_NUMBER, short
from flipreg.rs274.read.stopped import Stopped

__all__ = ["other_mark", "remark_by_number_sign"]

_IN_BRACKETS = f"begins no comment in {DIALECT}: write the remark in ( ) or after ;"
_NAME_AFTER = re.compile(r"[ \t]*[A-Za-z]")


def other_mark(place: Stopped) -> BlockSyntaxError | None:
    """Return what a mark of another language is and what to write instead; None where there is no such mark."""
    first = place.rest[:1]
    if first == "/" and place.last == "/" and place.head == "/":
        return place.error(f"// {_IN_BRACKETS}", start=len(place.before) - 1, length=place.at + 2 - len(place.before))
    if place.rest.startswith("//"):
        return place.error(f"// {_IN_BRACKETS}", length=2)
    names = first == "[" and _NAME_AFTER.match(place.rest[1:]) and not FUNCTION.match(place.rest[1:].lstrip(" \t"))
    if names or first in ("'", '"', "{"):
        return place.error(f"{first} {_IN_BRACKETS}", length=1)
    if first == ":":
        return _colon(place)
    if first == "$":
        return place.error("$ begins an order for the control, which is no block of a program: take it out", length=1)
    if first == "," and not COMMA.match(place.rest):
        return place.error("found ',', expected a word, with or without a blank before it: take it out", length=1)
    if first == "\\" and not place.rest[1:].strip(" \t"):
        return place.error("found \\ at the end of the line: a block is one line; join the two lines", length=1)
    if first in ("O", "o") and place.last.isdigit() and place.at == len(place.before):
        return place.error(
            f"found the letter {first} in a number: write 0, if that is meant; a program number stands on a line of "
            "its own",
            length=1,
        )
    return None


def remark_by_number_sign(place: Stopped) -> BlockSyntaxError | None:
    """Return what a line that begins with # and text is; None for the beginning of a parameter."""
    if place.head != "#" or not _NAME_AFTER.match(place.rest):
        return None
    return place.error(f"# before text {_IN_BRACKETS}", start=len(place.before) - 1, length=1)


def _colon(place: Stopped) -> BlockSyntaxError | None:
    digits = re.match(r":[ \t]*[0-9]+", place.rest)
    if not place.head and digits:
        number = digits[0][1:].lstrip(" \t")
        return place.error(
            f"{short(digits[0])} is no number of a program or a line in {DIALECT}: write O{short(number)} on a line of "
            f"its own for the program's number, N{short(number)} for the line's",
            length=digits.end(),
        )
    if place.head and LINE_NUMBER.fullmatch(place.head):
        return place.error("found : after the line number: take it out", length=1)
    return None
