"""Edits applied as columns, against edits applied by slicing."""

from random import Random

import numpy as np
from hypothesis import example, given
from hypothesis import strategies as st

from flipreg.rewrite.text.splice import Edits, Texts, splice

Plain = tuple[int, int, bytes]


def edits_of(plain: list[Plain]) -> Edits:
    starts, ends = (np.array([edit[side] for edit in plain], np.int64) for side in (0, 1))
    return Edits(starts, ends, Texts.of([edit[2] for edit in plain]))


def spliced(text: bytes, plain: list[Plain]) -> bytes:
    """Apply edits one by one, from the last to the first."""
    for start, end, new in reversed(plain):
        text = text[:start] + new + text[end:]
    return text


@st.composite
def texts_with_edits(draw: st.DrawFn) -> tuple[bytes, list[Plain]]:
    """Draw a text and edits in text order that do not overlap; several may insert at one place."""
    text = draw(st.binary(max_size=40))
    places = sorted(draw(st.lists(st.integers(0, len(text)), max_size=12)))
    spans = list(zip(places[0::2], places[1::2], strict=False))
    return text, [(start, end, draw(st.binary(max_size=6))) for start, end in spans]


@given(texts_with_edits())
@example((b"", [(0, 0, b"a")]))
@example((b"abc", [(0, 3, b"")]))
@example((b"abc", [(1, 1, b"x"), (1, 1, b"y"), (1, 2, b"z"), (3, 3, b"end")]))
def test_a_splice_is_what_slicing_makes(drawn: tuple[bytes, list[Plain]]) -> None:
    text, plain = drawn
    assert splice(text, edits_of(plain)) == spliced(text, plain)


@given(texts_with_edits(), st.integers(1, 4), st.randoms(use_true_random=False))
def test_joined_edits_are_in_text_order_whatever_part_they_come_from(
    drawn: tuple[bytes, list[Plain]], count: int, random: Random
) -> None:
    text, plain = drawn
    # Only edits of different places may be joined in any order.
    plain = [edit for edit, before in zip(plain, [(-1, -1, b""), *plain], strict=False) if edit[0] > before[1]]
    parts: list[list[Plain]] = [[] for _ in range(count)]
    for edit in plain:
        random.choice(parts).append(edit)
    assert splice(text, Edits.joined([edits_of(part) for part in parts])) == spliced(text, plain)


def test_an_insertion_goes_in_front_of_what_is_replaced_at_its_place() -> None:
    replaced, inserted = edits_of([(2, 4, b"34")]), edits_of([(2, 2, b"!")])
    assert splice(b"abcdef", Edits.joined([replaced, inserted])) == b"ab!34ef"


def test_insertions_at_one_place_keep_the_order_of_their_parts() -> None:
    first, second = edits_of([(1, 1, b"1")]), edits_of([(1, 1, b"2")])
    assert splice(b"ab", Edits.joined([first, second])) == b"a12b"


@given(st.binary())
def test_no_edits_change_nothing(text: bytes) -> None:
    assert splice(text, edits_of([])) == text


@given(st.lists(st.binary(max_size=5)))
def test_texts_come_back_one_by_one(texts: list[bytes]) -> None:
    assert Texts.of(texts).each() == texts
