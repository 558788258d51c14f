"""Lengths of a sentence, as a person would write them."""

from collections.abc import Sequence

__all__ = ["listed", "place", "plain"]


def plain(value: float) -> str:
    """Return a length to a ten-thousandth, without the noise of floats, an exponent or a sign of zero."""
    return f"{round(value, 4) + 0.0:.12g}"


def place(point: Sequence[float]) -> str:
    """Return a point as 'X 12.5 Y -3'."""
    return f"X {plain(point[0])} Y {plain(point[1])}"


def listed(point: Sequence[float]) -> str:
    """Return a point as a job file has it: '[12.5, -3]'."""
    return f"[{plain(point[0])}, {plain(point[1])}]"
