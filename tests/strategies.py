"""Hypothesis strategies of lines: drawn from the grammar, written by hand, and spoiled by a slip."""

from functools import cache
from importlib import resources

from hypothesis import strategies as st
from hypothesis.extra.lark import from_lark
from lark import Lark

__all__ = ["grammar_lines", "lines", "numbers", "plain_lines", "spoiled_lines"]

_LETTERS = "ABCDFGHIJKLMPQRSTXYZ"
_BYTES = st.characters(max_codepoint=255)
_COMMENT = st.text(st.sampled_from("GX1.-(;%/[#é\xff\x80 \t"), max_size=8).map(lambda text: text.replace("(", "()"))


def numbers() -> st.SearchStrategy[str]:
    """Draw numbers as people and programs write them, and some that nobody would."""
    usual = st.from_regex(r"[+-]?[0-9]{1,4}(\.[0-9]{0,5})?", fullmatch=True)
    short = st.from_regex(r"[+-]?\.[0-9]{1,4}", fullmatch=True)
    long = st.from_regex(r"[+-]?[0-9]{0,21}\.[0-9]{1,22}", fullmatch=True)
    zeros = st.from_regex(r"[+-]?0{0,20}(\.0{0,20})?[0-9]", fullmatch=True)
    return st.one_of(usual, usual, usual, short, zeros, long)


@cache
def grammar_lines() -> st.SearchStrategy[str]:
    """Draw lines from the grammar file: all that it allows, blanks in every odd place included.

    Such a line may still go against the rules that are not in the grammar: the range of a parameter's index, the
    length of a number, the depth of an expression.
    """
    grammar = resources.files("flipreg.rs274.read").joinpath("rs274.lark").read_text(encoding="utf-8")
    lark = Lark(grammar, start="block", parser="lalr", lexer="contextual", maybe_placeholders=False)
    return from_lark(lark, alphabet=_BYTES, explicit={"NUMBER": _blanked(numbers())})


def plain_lines() -> st.SearchStrategy[str]:
    """Draw lines of words with literal numbers and of comments, in any case, blanks anywhere."""
    word = st.builds("{}{}".format, st.sampled_from(_LETTERS + _LETTERS.lower()), numbers())
    number = st.from_regex(r"[Nn][0-9]{1,5}", fullmatch=True)
    comment = _COMMENT.filter(lambda text: ")" not in text.replace("()", "")).map("({})".format)
    gap = st.sampled_from(["", "", "", " ", "\t", "  "])
    item = st.one_of(_blanked(word), word, word, comment)
    return st.builds(
        lambda delete, line_number, items, remark: "".join([delete, line_number, *items, remark]),
        st.sampled_from(["", "", "", "", "/", " /"]),
        st.one_of(st.just(""), number, _blanked(number)),
        st.lists(st.builds("{}{}".format, gap, item), max_size=6),
        st.one_of(st.just(""), st.just(""), _COMMENT.map(";{}".format)),
    )


def lines() -> st.SearchStrategy[str]:
    """Draw lines of both kinds."""
    return st.one_of(grammar_lines(), plain_lines())


@st.composite
def spoiled_lines(draw: st.DrawFn) -> str:
    """Draw lines with one or two characters lost, doubled, exchanged or put in."""
    text = draw(lines())
    for _ in range(draw(st.integers(1, 2))):
        at = draw(st.integers(0, len(text)))
        wrong = draw(st.one_of(st.sampled_from(list("XxNO#[]()/;%.-+*=,1e \t\x00\xa0")), _BYTES))
        text = draw(
            st.sampled_from(
                [
                    text[:at] + text[at + 1 :],
                    text[:at] + text[at : at + 1] + text[at:],
                    text[:at] + wrong + text[at + 1 :],
                    text[:at] + wrong + text[at:],
                ]
            )
        )
    return text.replace("\r", "").replace("\n", "")


@st.composite
def _blanked(draw: st.DrawFn, texts: st.SearchStrategy[str]) -> str:
    """Draw texts with blanks put between some of their characters, where they mean nothing."""
    text = draw(texts)
    if not draw(st.booleans()):
        return text
    gaps = draw(st.lists(st.sampled_from(["", "", " ", "\t"]), min_size=len(text), max_size=len(text)))
    return "".join(char + gap for char, gap in zip(text, gaps, strict=True)).rstrip(" \t")
