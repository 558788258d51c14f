"""Reading one line: NISTIR 6556 sections 3.1, 3.3, 3.5 and appendix E; checks L1 to L17 of the reference.

R: input and meaning are printed in the report. D: made here from a rule the report states.
"""

from decimal import Decimal
from itertools import permutations

import pytest

from flipreg.rs274.read.expression import Expression, Literal, evaluate, parameter_index
from flipreg.rs274.read.grammar import parse_block
from flipreg.rs274.read.parsed import ParsedBlock
from tests.reference.nistir6556.strictly import error_by_the_report

Items = tuple[list[tuple[str, float]], list[tuple[int, float]]]


def number(value: tuple[int, int] | Expression, parameters: dict[int, float]) -> float:
    """Return a word's value."""
    return value[0] / 10 ** value[1] if isinstance(value, tuple) else evaluate(value, parameters)


def meaning(text: str, parameters: dict[int, float] | None = None) -> Items:
    """Return words in the order of the line and settings as they take effect, all read with these parameters."""
    before = parameters or {}
    block = parse_block(text)
    words = [(word.letter, number(word.value, before)) for word in block.words]
    settings = [
        (parameter_index(evaluate(setting.index, before)), evaluate(setting.value, before))
        for setting in block.settings
    ]
    return words, settings


def comments(block: ParsedBlock, text: str) -> list[str]:
    return [text[start:end] for start, end in block.comments]


def test_l1_blanks_may_stand_anywhere() -> None:  # R, 3.3
    assert meaning("g0 x+0.1234 y7") == meaning("g0x +0. 12 34y 7")
    assert meaning("g0x +0. 12 34y 7") == ([("G", 0), ("X", 0.1234), ("Y", 7)], [])


def test_l2_a_line_of_two_words() -> None:  # R, 3.1
    assert meaning("G1 X3") == ([("G", 1), ("X", 3)], [])


def test_l3_a_line_number_has_five_digits_at_most() -> None:  # R, 3.3.1
    assert meaning("N00009 G1") == ([("N", 9), ("G", 1)], [])
    error = error_by_the_report("N000009 G0 X1\n", is_habit=True)
    assert error.message.startswith("a line number of more than five digits")
    assert (error.location.line, error.location.column) == (1, 1)


def test_l4_items_may_be_in_any_order() -> None:  # R, 3.3.6
    items = ["g40", "g1", "#3=15", "(foo)", "#4=-7.0"]
    orders = list(permutations(items))
    assert len(orders) == 120
    for order in orders:
        text = " ".join(order)
        words, settings = meaning(text)
        assert sorted(words) == [("G", 1), ("G", 40)]
        assert sorted(settings) == [(3, 15), (4, -7)]
        assert comments(parse_block(text), text) == ["(foo)"]


def test_l5_settings_of_one_parameter_are_kept_in_their_order() -> None:  # R, 3.3.5, 3.3.6
    assert meaning("#3=15 #3=6")[1] == [(3, 15), (3, 6)]
    assert meaning("#3=6 #3=15")[1] == [(3, 6), (3, 15)]


def test_l6_a_setting_does_not_change_the_words_of_its_line() -> None:  # R, 3.3.3
    assert meaning("#3=6 G1 x#3", {3: 15}) == ([("G", 1), ("X", 15)], [(3, 6)])


def test_l7_any_value_may_be_an_expression_or_a_parameter() -> None:  # R, 3.5
    assert meaning("G[2*5] L[1+1]") == ([("G", 10), ("L", 2)], [])
    assert meaning("G10 L#100", {100: 2}) == ([("G", 10), ("L", 2)], [])


def test_l8_words_and_a_comment() -> None:  # R, 3.3.4
    text = "G80 M5 (stop motion)"
    assert meaning(text)[0] == [("G", 80), ("M", 5)]
    assert comments(parse_block(text), text) == ["(stop motion)"]


def test_l9_a_hash_binds_tighter_than_an_operator() -> None:  # the rule R, the numbers D, 3.3.2.2
    assert meaning("X[#1+2]", {1: 2, 3: 15})[0] == [("X", 4)]
    assert meaning("X[#[1+2]]", {1: 2, 3: 15})[0] == [("X", 15)]


def test_l10_hashes_may_be_stacked() -> None:  # the rule R, the numbers D, 3.3.2.2
    assert meaning("X##2", {2: 1, 1: 7})[0] == [("X", 7)]


def test_l11_blanks_inside_every_word() -> None:  # D, 3.3
    assert meaning("n 0 0 1 0 g 3 8 . 2 x - 1")[0] == [("N", 10), ("G", 38.2), ("X", -1)]


def test_l12_digits_join_over_a_blank() -> None:  # D, 3.3
    assert parse_block("G1 X[1 2]").words[1].value == Literal(Decimal(12))


def test_l13_a_code_that_is_nearly_an_integer_keeps_its_exact_value() -> None:  # D, 3.3.2.1
    assert parse_block("G2.000005 X1 R1").words[0].value == (2000005, 6)


def test_l14_spellings_of_numbers() -> None:  # D, 3.3.2.1
    assert [meaning(text)[0] for text in ("X-.5", "X5.", "X+007.50")] == [[("X", -0.5)], [("X", 5)], [("X", 7.5)]]


@pytest.mark.parametrize("text", ["( m S g ,hi)", "(MSG hi)", "(xMSG,hi)"])
def test_l15_a_message_is_a_comment_and_keeps_its_text(text: str) -> None:  # D, 3.3.4
    assert comments(parse_block(text), text) == [text]


def test_l16_every_comment_is_kept_for_only_a_machine_drops_the_first() -> None:  # D, 3.3.5
    text = "G1 X1 (one) (two)"
    assert comments(parse_block(text), text) == ["(one)", "(two)"]


def test_l17_a_line_number_alone_and_an_empty_line_are_legal() -> None:  # D, 3.3
    assert (meaning("N0"), meaning("")) == (([("N", 0)], []), ([], []))
