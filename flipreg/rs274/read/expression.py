"""Values that are not literal numbers: parameters, bracketed expressions, functions (NISTIR 6556, 3.3.2)."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from flipreg.errors import FlipregError

__all__ = [
    "INTEGER_TOLERANCE",
    "LAST_PARAMETER",
    "Arctangent",
    "Binary",
    "EvaluationError",
    "Expression",
    "Function",
    "Literal",
    "Parameter",
    "Setting",
    "UnknownParameterError",
    "evaluate",
    "parameter_index",
]

INTEGER_TOLERANCE = 0.0001
"""How far a value may be from the integer that it has to be (NISTIR 6556, 3.3.2.1)."""

_PROBE_TRIPS = range(5061, 5067)
"""Parameters that the machine sets when a probe trips (NISTIR 6556, 3.5.9.1)."""

LAST_PARAMETER = 5399
"""The highest index of a parameter; the lowest is 1 (NISTIR 6556, 3.3.2.2)."""


@dataclass(frozen=True, slots=True)
class Literal:
    """A number as written."""

    value: Decimal


@dataclass(frozen=True, slots=True)
class Parameter:
    """`#` and an index: the number stored there."""

    index: "Expression"


@dataclass(frozen=True, slots=True)
class Function:
    """A unary function of a bracketed expression; `name` in upper case, ATAN apart."""

    name: str
    argument: "Expression"


@dataclass(frozen=True, slots=True)
class Arctangent:
    """`ATAN[y]/[x]`."""

    y: "Expression"
    x: "Expression"


@dataclass(frozen=True, slots=True)
class Binary:
    """Two values and an operator between them; `operator` in upper case."""

    operator: str
    left: "Expression"
    right: "Expression"


Expression = Literal | Parameter | Function | Arctangent | Binary


@dataclass(frozen=True, slots=True)
class Setting:
    """`#index = value`, with its block in the chunk and its span in the chunk's text."""

    index: Expression
    value: Expression
    block: int
    start: int
    end: int


class EvaluationError(FlipregError, ArithmeticError):
    """A value that cannot be worked out; says why, without a place, which the caller adds."""


class UnknownParameterError(EvaluationError):
    """A parameter whose value is not in the program."""


def evaluate(expression: Expression, parameters: Mapping[int, float]) -> float:
    """Return the number that an expression stands for.

    Angles are in degrees. Where the report leaves a choice (section 8 of its open points), ROUND takes halves away
    from zero, MOD is never negative, and ATAN knows all four quadrants: above -180 up to 180 degrees.

    Parameters
    ----------
    expression : Expression
        What the parser made of the value.
    parameters : mapping from int to float
        The parameters whose values are known, by index.

    Returns
    -------
    float
        A finite number; zero has no sign.

    Raises
    ------
    EvaluationError
        If the value is undefined or not finite, or needs a parameter that is not among `parameters`.

    Examples
    --------
    >>> evaluate(Binary("**", Parameter(Literal(Decimal(1))), Literal(Decimal(2))), {1: 1.5})
    2.25
    """
    try:
        value = _evaluate(expression, parameters)
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        raise EvaluationError("the value of this expression is too large to be a number")
    return value + 0.0  # turns -0.0 into 0.0


def parameter_index(value: float) -> int:
    """Return the index of a parameter, which has to be within 0.0001 of an integer from 1 to 5399.

    Raises
    ------
    EvaluationError
        If it is not; the message gives the value.
    """
    if 1 - INTEGER_TOLERANCE <= value <= LAST_PARAMETER + INTEGER_TOLERANCE:
        index = round(value)
        if abs(value - index) <= INTEGER_TOLERANCE:
            return index
    raise EvaluationError(f"#{value:.10g} is no parameter: expected an integer from 1 to {LAST_PARAMETER}")


def _evaluate(expression: Expression, parameters: Mapping[int, float]) -> float:
    match expression:
        case Literal(value):
            return float(value)
        case Parameter(index):
            return _read(parameter_index(evaluate(index, parameters)), parameters)
        case Function(name, argument):
            return _FUNCTIONS[name](evaluate(argument, parameters))
        case Arctangent(y, x):
            return _arctangent(evaluate(y, parameters), evaluate(x, parameters))
        case Binary(operator, left, right):
            return _OPERATORS[operator](evaluate(left, parameters), evaluate(right, parameters))


def _read(index: int, parameters: Mapping[int, float]) -> float:
    if index not in parameters:
        if index in _PROBE_TRIPS:
            raise UnknownParameterError(f"#{index} is where a probe tripped, which is not in the program")
        raise UnknownParameterError(f"#{index} is set outside the program, so that its value here is not known")
    return parameters[index]


def _sine(degrees: float) -> float:
    """Return the sine, exact at right angles."""
    quarters, rest = divmod(degrees, 90.0)
    return (0.0, 1.0, 0.0, -1.0)[int(quarters % 4)] if rest == 0.0 else math.sin(math.radians(degrees))


def _cosine(degrees: float) -> float:
    """Return the cosine, exact at right angles."""
    quarters, rest = divmod(degrees, 90.0)
    return (1.0, 0.0, -1.0, 0.0)[int(quarters % 4)] if rest == 0.0 else math.cos(math.radians(degrees))


def _tangent(degrees: float) -> float:
    if _cosine(degrees) == 0.0:
        raise EvaluationError(f"TAN of {degrees:.10g} degrees is infinite")
    return 0.0 if _sine(degrees) == 0.0 else math.tan(math.radians(degrees))


def _arctangent(y: float, x: float) -> float:
    if y == 0.0 and x == 0.0:
        raise EvaluationError("ATAN[0]/[0] is undefined")
    return math.degrees(math.atan2(y, x))


def _arcsine(value: float) -> float:
    if abs(value) > 1.0:
        raise EvaluationError(f"ASIN of {value:.10g} is undefined: expected a number from -1 to 1")
    return math.degrees(math.asin(value))


def _arccosine(value: float) -> float:
    if abs(value) > 1.0:
        raise EvaluationError(f"ACOS of {value:.10g} is undefined: expected a number from -1 to 1")
    return math.degrees(math.acos(value))


def _square_root(value: float) -> float:
    if value < 0.0:
        raise EvaluationError(f"SQRT of {value:.10g} is undefined: expected a number that is not negative")
    return math.sqrt(value)


def _logarithm(value: float) -> float:
    if value <= 0.0:
        raise EvaluationError(f"LN of {value:.10g} is undefined: expected a positive number")
    return math.log(value)


def _round(value: float) -> float:
    """Return the nearest integer, halves away from zero.

    Adding 0.5 and cutting off is wrong for the largest double below 0.5, whose sum with 0.5 rounds up to 1.
    """
    whole = math.floor(abs(value))
    return math.copysign(whole + (abs(value) - whole >= 0.5), value)


def _power(base: float, exponent: float) -> float:
    if base == 0.0 and exponent < 0.0:
        raise EvaluationError(f"0 ** {exponent:.10g} is a division by zero")
    if base < 0.0 and not exponent.is_integer():
        raise EvaluationError(
            f"{base:.10g} ** {exponent:.10g} is undefined: a negative number needs an integer exponent"
        )
    return math.pow(base, exponent)


def _quotient(left: float, right: float) -> float:
    if right == 0.0:
        raise EvaluationError(f"{left:.10g} / 0 is a division by zero")
    return left / right


def _remainder(left: float, right: float) -> float:
    """Return the remainder, never negative."""
    if right == 0.0:
        raise EvaluationError(f"{left:.10g} MOD 0 is a division by zero")
    rest = math.fmod(left, right)
    return rest + abs(right) if rest < 0.0 else rest


_FUNCTIONS: dict[str, Callable[[float], float]] = {
    "ABS": abs,
    "ACOS": _arccosine,
    "ASIN": _arcsine,
    "COS": _cosine,
    "EXP": math.exp,
    "FIX": math.floor,
    "FUP": math.ceil,
    "LN": _logarithm,
    "ROUND": _round,
    "SIN": _sine,
    "SQRT": _square_root,
    "TAN": _tangent,
}

_OPERATORS: dict[str, Callable[[float, float], float]] = {
    "**": _power,
    "*": lambda left, right: left * right,
    "/": _quotient,
    "MOD": _remainder,
    "+": lambda left, right: left + right,
    "-": lambda left, right: left - right,
    "OR": lambda left, right: float(left != 0.0 or right != 0.0),
    "XOR": lambda left, right: float((left != 0.0) != (right != 0.0)),
    "AND": lambda left, right: float(left != 0.0 and right != 0.0),
}
