"""One line of a program, read by the grammar `rs274.lark`.

This is the slow and thorough reader: it says what every line means, plain or not, and what is wrong with the lines
that mean nothing. Offsets count characters of the line from 0; a character is a byte, for the text is latin-1.
"""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any, NamedTuple, cast

from flipreg.rs274.read.blocks import BlockFlag
from flipreg.rs274.read.expression import (
    Arctangent,
    Binary,
    EvaluationError,
    Expression,
    Function,
    Literal,
    Parameter,
    parameter_index,
)
from flipreg.rs274.read.foreign import BlockSyntaxError, foreign_bytes, foreign_length
from flipreg.rs274.read.habit import Habit
from flipreg.rs274.read.mistakes import explain
from flipreg.rs274.read.number import exact
from flipreg.rs274.read.parsed import ParsedBlock, ParsedSetting, ParsedWord

if TYPE_CHECKING:
    from lark import Token

__all__ = ["DEEPEST", "BlockSyntaxError", "parse_block"]

DEEPEST = 100
"""Brackets, functions, operators and `#` that may lie inside one another in a value.

Every later walk over an expression is recursive, so this keeps each of them far from Python's recursion limit.
"""

_NO_BREAK, _TWO_BYTES = "\xa0", "\xc2\xa0"
"""A no-break space in Latin-1, and in UTF-8, as the bytes of a line."""


def parse_block(text: str) -> ParsedBlock:
    """Read one line of a program.

    Parameters
    ----------
    text : str
        The line without its line end, decoded as latin-1.

    Returns
    -------
    ParsedBlock
        Words, comments and settings with their offsets in `text`.

    Raises
    ------
    BlockSyntaxError
        If the line is not in the language, with the offsets of the mistake.

    Examples
    --------
    >>> parse_block("n10 g1 x-1 . 5").words[2]
    ParsedWord(letter='X', value=(-15, 1), start=7, number=8, end=14)
    """
    mistake = foreign_bytes(text) or foreign_length(text)
    if mistake is not None:
        raise mistake
    parse, unexpected = _parser()
    if odd := _NO_BREAK in text:
        written, text = text, text.replace(_TWO_BYTES, "  ").replace(_NO_BREAK, " ")
    try:
        block = parse(text)
        if block.habits:
            block = replace(block, comments=_closed(block.comments, len(text)))
            for habit, start in block.habits:
                if habit is Habit.OPEN_COMMENT:
                    _check_open_comment(text, start)
        if odd and (at := _first_outside(written, block.comments)) >= 0:
            block = replace(block, habits=(*block.habits, (Habit.ODD_BLANK, at)))
        return block
    except unexpected as error:
        # `accepts` tries each terminal on a copy of the parser; what the exception itself lists includes terminals
        # that the merged states of an LALR table only seem to allow.
        interactive = cast("Any", error).interactive_parser
        expected = frozenset(str(name) for name in interactive.accepts())
        position = cast("Any", error).pos_in_stream
        ended = getattr(getattr(error, "token", None), "type", "") == "$END"
        raise explain(text, len(text) if ended else position, expected) from None


def _check_open_comment(text: str, start: int) -> None:
    """Raise if words stand in a comment that is not closed, after a bracket that closes it on some machines."""
    close = text.find(")", start)
    if close < 0 or foreign_length(text[close + 1 :]) is not None:
        return
    parse, unexpected = _parser()
    try:
        after = parse(text[close + 1 :])
    except (unexpected, BlockSyntaxError):
        return
    if after.words or after.settings:
        raise BlockSyntaxError(
            "words after the ) of a comment that is not closed: nobody knows whether they are part of it; write the "
            "missing ), or take the inner ( out",
            start,
            close + 1,
        )


def _first_outside(text: str, comments: tuple[tuple[int, int], ...]) -> int:
    """Return where the first no-break space outside of comments is, or -1."""
    places = (at for at, char in enumerate(text) if char == _NO_BREAK)
    outside = (at for at in places if not any(start <= at < end for start, end in comments))
    at = next(outside, -1)
    return at - 1 if text[max(at - 1, 0) : at + 1] == _TWO_BYTES else at


def _closed(comments: tuple[tuple[int, int], ...], end: int) -> tuple[tuple[int, int], ...]:
    """Return comments, those that are not closed with the end of their line."""
    return tuple((start, end if stop < 0 else stop) for start, stop in comments)


@cache
def _parser() -> tuple[Callable[[str], ParsedBlock], type[Exception]]:
    """Return the parser of the grammar, which builds values while it reads, and the exception it raises."""
    from lark import Lark, UnexpectedInput

    grammar = resources.files("flipreg.rs274.read").joinpath("rs274.lark").read_text(encoding="utf-8")
    builder = cast("Any", _Builder())
    parser = Lark(
        grammar, start="block", parser="lalr", lexer="contextual", maybe_placeholders=False, transformer=builder
    )
    return cast("Callable[[str], ParsedBlock]", parser.parse), UnexpectedInput


class _Value(NamedTuple):
    """A value that is not a bare number, with its offsets and how deep it is nested."""

    tree: Expression
    start: int
    end: int
    depth: int


class _Found(NamedTuple):
    """A habit, and where it begins."""

    habit: Habit
    start: int


class _OpenComment(NamedTuple):
    """A comment up to the end of its line."""

    start: int
    end: int


_FLAGS = {Habit.LATE_SLASH: BlockFlag.DELETE, Habit.PROGRAM_NAME: BlockFlag.PROGRAM_NUMBER}


class _Builder:
    """Builds values from the pieces of each rule; a method is called with them as its rule is completed."""

    def block(self, parts: list[Any]) -> ParsedBlock:
        flags = BlockFlag(0)
        habits: list[tuple[Habit, int]] = []
        words: list[ParsedWord] = []
        comments: list[tuple[int, int]] = []
        settings: list[ParsedSetting] = []
        for part in parts:
            kind = type(part)
            if kind is ParsedWord:
                words.append(part)
            elif kind is ParsedSetting:
                settings.append(part)
            elif kind is tuple:
                comments.append(part)
            elif kind is _Found:
                habits.append(part)
                flags |= _FLAGS[part.habit]
            elif kind is _OpenComment:
                habits.append((Habit.OPEN_COMMENT, part.start))
                comments.append((part.start, part.end))
            elif part.type == "REMARK":
                comments.append((part.start_pos, part.end_pos))
            else:
                flags |= BlockFlag.DELETE if part.type == "DELETE" else BlockFlag.PERCENT
        if words and words[0].letter == "O":
            flags = BlockFlag.PROGRAM_NUMBER
        return ParsedBlock(flags, tuple(words), tuple(comments), tuple(settings), tuple(habits))

    def word(self, parts: list[Any]) -> ParsedWord:
        letter, value = parts
        start, end = _span(value)
        content = value.tree if type(value) is _Value else _exact(value)
        return ParsedWord(str(letter).upper(), content, letter.start_pos, start, end)

    line_number = word
    program_number = word

    def late_delete(self, parts: list[Any]) -> _Found:
        return _Found(Habit.LATE_SLASH, parts[0].start_pos)

    def program_name(self, parts: list[Any]) -> _Found:
        return _Found(Habit.PROGRAM_NAME, parts[0].start_pos)

    def open_comment(self, parts: list[Any]) -> _OpenComment:
        last = parts[-1]
        return _OpenComment(parts[0].start_pos, last.end if type(last) is _OpenComment else -1)

    def comment(self, parts: list[Any]) -> tuple[int, int]:
        return parts[0].start_pos, parts[-1].end_pos

    def nested(self, parts: list[Any]) -> None:
        """Leave the inside of a comment alone."""

    def setting(self, parts: list[Any]) -> ParsedSetting:
        sign, index, _, value = parts
        parameter = self.parameter([sign, index]).tree
        content = _value(value)
        return ParsedSetting(cast("Parameter", parameter).index, content.tree, sign.start_pos, content.end)

    def parameter(self, parts: list[Any]) -> _Value:
        sign, value = parts
        index = _value(value)
        if type(index.tree) is Literal:
            try:
                parameter_index(float(index.tree.value))
            except EvaluationError as error:
                raise BlockSyntaxError(str(error), sign.start_pos, index.end) from None
        return _deeper(Parameter(index.tree), sign.start_pos, index.end, index.depth)

    def bracketed(self, parts: list[Any]) -> _Value:
        left, content, right = parts
        inner = _value(content)
        return _deeper(inner.tree, left.start_pos, right.end_pos, inner.depth)

    def function(self, parts: list[Any]) -> _Value:
        name, _, content, right = parts
        argument = _value(content)
        tree = Function(_packed(name).upper(), argument.tree)
        return _deeper(tree, name.start_pos, right.end_pos, argument.depth)

    def arctangent(self, parts: list[Any]) -> _Value:
        y, x = _value(parts[2]), _value(parts[6])
        return _deeper(Arctangent(y.tree, x.tree), parts[0].start_pos, parts[7].end_pos, max(y.depth, x.depth))

    def operation(self, parts: list[Any]) -> _Value:
        left, right = _value(parts[0]), _value(parts[2])
        tree = Binary(_packed(parts[1]).upper(), left.tree, right.tree)
        return _deeper(tree, left.start, right.end, max(left.depth, right.depth))


def _span(part: "_Value | Token") -> tuple[int, int]:
    """Return the offsets of a value."""
    if type(part) is _Value:
        return part.start, part.end
    token: Any = part
    return token.start_pos, token.end_pos


def _value(part: "_Value | Token") -> _Value:
    """Return a value, made from the token of a number if it isn't one yet."""
    if type(part) is _Value:
        return part
    return _Value(Literal(Decimal(_packed(cast("Token", part)))), *_span(part), 0)


def _deeper(tree: Expression, start: int, end: int, depth: int) -> _Value:
    """Return a value one level deeper than its deepest part."""
    if depth >= DEEPEST:
        raise BlockSyntaxError(
            f"this expression is too deep: more than {DEEPEST} brackets, functions, operators or # inside one "
            "another; split it into parameter settings on lines of their own",
            start,
            end,
        )
    return _Value(tree, start, end, depth + 1)


def _exact(number: "Token") -> tuple[int, int]:
    """Return mantissa and decimals of the token of a number."""
    try:
        return exact(_packed(number))
    except ValueError as error:
        raise BlockSyntaxError(f"this number has {error}", *_span(number)) from None


def _packed(token: "Token") -> str:
    """Return a token's text without the blanks inside it."""
    return token.replace(" ", "").replace("\t", "")
