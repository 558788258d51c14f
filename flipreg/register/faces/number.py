"""Lengths of a sentence that somebody may type again, as a person writes them: in the unit of sentences."""

from collections.abc import Sequence

from flipreg.units import INCH_MM, shown_now

__all__ = ["bare", "exact", "listed", "offset_text", "option", "place"]

_DECIMALS = {False: 4, True: 5}
"""Decimals of millimetres and of inches: those of the programs that are told to move by it."""


def exact(value: float, decimals: int = 4) -> str:
    """Return a number to a ten-thousandth, without the noise of floats, an exponent or a sign of zero."""
    return f"{round(value, decimals) + 0.0:.12g}"


def bare(length_mm: float) -> str:
    """Return a length without its unit: `12.5`, or in inches `0.49213`."""
    inch = shown_now().inch
    return exact(length_mm / INCH_MM if inch else length_mm, _DECIMALS[inch])


def place(point_mm: Sequence[float]) -> str:
    """Return a point without the unit: `X 12.5 Y -3`."""
    return f"X {bare(point_mm[0])} Y {bare(point_mm[1])}"


def offset_text(dx_mm: float, dy_mm: float) -> str:
    """Return a way with signs and the unit: `X +0.40 Y -0.30 mm`."""
    shown = shown_now()
    return f"X {shown.signed(dx_mm)} Y {shown.signed(dy_mm)} {shown.name}"


def option(*lengths_mm: float) -> str:
    """Return lengths as an option of a command takes them: `12.5,-3`, or in inches `0.5in,-0.12in`."""
    unit = "in" if shown_now().inch else ""
    return ",".join(f"{bare(length)}{unit}" for length in lengths_mm)


def listed(point: Sequence[float]) -> str:
    """Return a point as a job file has it, in the file's own unit: '[12.5, -3]'."""
    return f"[{exact(point[0])}, {exact(point[1])}]"
