"""What arguments of the command line mean: lengths, points, angles, datums."""

import argparse
from collections.abc import Sequence
from decimal import Decimal

from flipreg.errors import UsageError
from flipreg.units import parse_length_mm, parse_lengths_mm

__all__ = [
    "angle",
    "datum",
    "length",
    "line",
    "offset",
    "point",
    "point_or_space",
    "positive",
    "size",
    "with_joined_values",
]


def _argument(text: str, *, signed: bool = True, zero: bool = True) -> Decimal:
    try:
        found = parse_length_mm(text)
    except UsageError as error:
        raise argparse.ArgumentTypeError(str(error)) from None
    if not signed and (found < 0 or (not zero and not found)):
        raise argparse.ArgumentTypeError(f"{text!r} has to be {'0 or more' if zero else 'more than 0'}")
    return found


def length(text: str) -> Decimal:
    """Return a length in millimetres."""
    return _argument(text)


def size(text: str) -> Decimal:
    """Return a length in millimetres, 0 or more."""
    return _argument(text, signed=False)


def positive(text: str) -> Decimal:
    """Return a length in millimetres, more than 0."""
    return _argument(text, signed=False, zero=False)


def point(text: str) -> tuple[Decimal, ...]:
    """Return X and Y in millimetres."""
    return _lengths(text, (2,))


def offset(text: str) -> tuple[str, tuple[Decimal, ...]]:
    """Return the name and the X and Y of `G55=X,Y`."""
    name, equals, at = text.partition("=")
    if not equals:
        raise argparse.ArgumentTypeError(f"{text!r} is not of the form G55=X,Y")
    return name.strip(), point(at)


def point_or_space(text: str) -> tuple[Decimal, ...]:
    """Return X and Y, and Z if it is said, in millimetres."""
    return _lengths(text, (2, 3))


def _lengths(text: str, counts: tuple[int, ...]) -> tuple[Decimal, ...]:
    try:
        return parse_lengths_mm(text, counts=counts)
    except UsageError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def line(text: str) -> tuple[str, Decimal]:
    """Return the axis and the millimetres of a line x=C or y=C."""
    letter, _, at = text.partition("=")
    try:
        if letter.strip().lower() not in ("x", "y"):
            raise UsageError(f"{text!r} is no line; expected x=C or y=C")
        return letter.strip().lower(), parse_length_mm(at)
    except UsageError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def angle(text: str) -> Decimal:
    """Return an angle in degrees, -360 to 360."""
    try:
        turn = Decimal(text)
    except ArithmeticError:
        raise argparse.ArgumentTypeError(f"{text!r} is not an angle in degrees") from None
    if not turn.is_finite() or abs(turn) > 360:
        raise argparse.ArgumentTypeError(f"{text!r} is not an angle from -360 to 360 degrees")
    return turn


_TAKES_NUMBERS = (
    *("--at", "--datum", "--by", "--turn", "--about", "--tolerance", "--tool", "--thickness", "--chords"),
    *("--floor", "--level", "--top", "--step-down", "--measured", "--planned", "--proud", "--safe-z", "--across"),
)


def with_joined_values(argv: Sequence[str]) -> list[str]:
    """Return the arguments with `--datum -5,3` as `--datum=-5,3`: argparse takes -5,3 for an option."""
    joined: list[str] = []
    for argument in argv:
        if joined and joined[-1] in _TAKES_NUMBERS and argument[:1] == "-" and argument[1:2] in tuple("0123456789."):
            joined[-1] = f"{joined[-1]}={argument}"
        else:
            joined.append(argument)
    return joined


def datum(options: argparse.Namespace) -> tuple[Decimal, Decimal]:
    """Return the point of the front that is zero for the back, from --datum or --at."""
    if options.datum is not None:
        x, y = options.datum
        return x, y
    if options.at is None:
        raise UsageError("say where the flip axis lies: --at C (the line x = C or y = C) or --datum X,Y")
    return (2 * options.at, Decimal(0)) if options.axis == "y" else (Decimal(0), 2 * options.at)
