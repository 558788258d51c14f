"""Values of expressions, and the reasons why some have none."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flipreg.rs274.read.expression import (
    Binary,
    EvaluationError,
    Expression,
    Literal,
    Parameter,
    evaluate,
    parameter_index,
)
from flipreg.rs274.read.grammar import parse_block


def expression(text: str) -> Expression:
    """Return the value of a word as the parser sees it."""
    (word,) = parse_block(f"X{text}").words
    assert not isinstance(word.value, tuple)
    return word.value


def value(text: str, **parameters: float) -> float:
    return evaluate(expression(text), {int(name[1:]): number for name, number in parameters.items()})


@pytest.mark.parametrize("turns", [-2, -1, 0, 1, 100])
def test_sine_cosine_and_tangent_are_exact_at_right_angles(turns: int) -> None:
    angles = [360 * turns + quarter for quarter in (0, 90, 180, 270)]
    assert [value(f"SIN[{angle}]") for angle in angles] == [0.0, 1.0, 0.0, -1.0]
    assert [value(f"COS[{angle}]") for angle in angles] == [1.0, 0.0, -1.0, 0.0]
    assert [value(f"TAN[{angle}]") for angle in angles[::2]] == [0.0, 0.0]


@given(st.floats(-720, 720))
def test_sine_and_cosine_take_degrees(angle: float) -> None:
    parameters = {1: angle}
    assert math.sin(math.radians(angle)) == pytest.approx(evaluate(expression("SIN[#1]"), parameters), abs=1e-12)
    assert math.cos(math.radians(angle)) == pytest.approx(evaluate(expression("COS[#1]"), parameters), abs=1e-12)


@pytest.mark.parametrize(
    ("y", "x", "degrees"),
    [(0, 1, 0), (1, 1, 45), (1, 0, 90), (1, -1, 135), (0, -1, 180), (-1, -1, -135), (-1, 0, -90), (-1, 1, -45)],
)
def test_the_arctangent_knows_four_quadrants(y: int, x: int, degrees: float) -> None:
    assert degrees == pytest.approx(value(f"ATAN[{y}]/[{x}]"), abs=1e-12)


@pytest.mark.parametrize(
    ("text", "result"),
    [
        ("ROUND[0.5]", 1),
        ("ROUND[-0.5]", -1),
        ("ROUND[1.5]", 2),
        ("ROUND[2.5]", 3),
        ("ROUND[-2.5]", -3),
        ("ROUND[0.49999999999999994]", 0),  # the double below 0.5; adding 0.5 gives 1
        ("ROUND[4503599627370497.0]", 4503599627370497),
        ("[7 MOD 4]", 3),
        ("[-7 MOD 4]", 1),
        ("[7 MOD -4]", 3),
        ("[-8 MOD 4]", 0),
        ("[5.5 MOD 2]", 1.5),
        ("[-8 ** 3]", -512),
        ("[4 ** -0.5]", 0.5),
        ("[0 ** 0]", 1),
        ("[2 ** 3 ** 2]", 64),
        ("[10 - 2 - 3]", 5),
        ("[100 / 5 / 2]", 10),
        ("[2 * 3 ** 2]", 18),
        ("[1 OR 0 AND 0]", 0),  # one rank, from left to right
        ("[0.5 AND -0.5]", 1),
        ("[0.5 XOR 0]", 1),
        ("[2 XOR 3]", 0),
    ],
)
def test_operators_and_rounding(text: str, result: float) -> None:
    assert result == value(text)


@pytest.mark.parametrize("text", ["[-1 * 0]", "ROUND[-0.2]", "FUP[-0.2]", "[-0]", "[-4 MOD 2]"])
def test_zero_has_no_sign(text: str) -> None:
    assert math.copysign(1.0, value(text)) == 1.0
    assert value(text) == 0.0


def test_a_value_is_a_float_even_where_it_is_whole() -> None:
    assert [float] * 3 == [type(value(text)) for text in ("FIX[2.5]", "[1 AND 1]", "[7]")]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[5 / 0]", "5 / 0 is a division by zero"),
        ("[5 MOD 0]", "5 MOD 0 is a division by zero"),
        ("[0 ** -1]", "0 ** -1 is a division by zero"),
        ("[-8 ** 0.5]", "-8 ** 0.5 is undefined: a negative number needs an integer exponent"),
        ("LN[0]", "LN of 0 is undefined: expected a positive number"),
        ("LN[-1]", "LN of -1 is undefined: expected a positive number"),
        ("SQRT[-4]", "SQRT of -4 is undefined: expected a number that is not negative"),
        ("ASIN[1.001]", "ASIN of 1.001 is undefined: expected a number from -1 to 1"),
        ("ACOS[-1.001]", "ACOS of -1.001 is undefined: expected a number from -1 to 1"),
        ("TAN[-270]", "TAN of -270 degrees is infinite"),
        ("ATAN[0]/[0]", "ATAN[0]/[0] is undefined"),
        ("EXP[1000]", "the value of this expression is too large to be a number"),
        ("[10 ** 400]", "the value of this expression is too large to be a number"),
        ("[EXP[700] * EXP[700]]", "the value of this expression is too large to be a number"),
        ("[" + "9" * 400 + "]", "the value of this expression is too large to be a number"),
        ("FIX[" + "9" * 400 + "]", "the value of this expression is too large to be a number"),
        ("#[1 - 1]", "#0 is no parameter: expected an integer from 1 to 5399"),
        ("#[5399 + 1]", "#5400 is no parameter: expected an integer from 1 to 5399"),
        ("#[1 + 0.5]", "#1.5 is no parameter: expected an integer from 1 to 5399"),
        ("#[10 ** 300]", "#1e+300 is no parameter: expected an integer from 1 to 5399"),
        ("#5221", "#5221 is set outside the program, so that its value here is not known"),
        ("[1 + ##2]", "#7 is set outside the program, so that its value here is not known"),
    ],
)
def test_a_value_that_cannot_be_worked_out_says_why(text: str, message: str) -> None:
    with pytest.raises(EvaluationError) as caught:
        value(text, _2=7.0)
    assert message == str(caught.value)


def test_a_parameter_that_is_not_finite_has_no_value() -> None:
    with pytest.raises(EvaluationError, match="too large to be a number"):
        value("#1", _1=math.nan)
    with pytest.raises(EvaluationError, match="no parameter"):
        parameter_index(math.nan)


@pytest.mark.parametrize(("near", "index"), [(1.0, 1), (0.9999, 1), (1.0001, 1), (5399.00009, 5399), (41.99995, 42)])
def test_an_index_may_be_a_ten_thousandth_off(near: float, index: int) -> None:
    assert index == parameter_index(near)


@pytest.mark.parametrize("off", [0.0, 0.9998, 1.0002, 5399.0002, 5400.0, -1.0, math.inf])
def test_an_index_that_is_no_integer_in_range_is_an_error(off: float) -> None:
    with pytest.raises(EvaluationError, match="expected an integer from 1 to 5399"):
        parameter_index(off)


@given(
    st.recursive(
        st.integers(-9, 9).map(str), lambda inner: st.builds("[{}{}{}]".format, inner, st.sampled_from("+-*"), inner)
    )
)
def test_sums_and_products_agree_with_python_where_every_operation_has_its_brackets(text: str) -> None:
    expected = eval(text.replace("[", "(").replace("]", ")").replace("--", "- -"))
    assert float(expected) == value(f"[{text}]")


def test_an_expression_made_by_hand_is_evaluated_too() -> None:
    assert evaluate(Binary("-", Literal(Decimal("25.4")), Parameter(Literal(Decimal(3)))), {3: 0.4}) == 25.0
