"""Lengths of a sentence that somebody may type again, as a person writes them: in the unit of sentences."""

from collections.abc import Sequence

from flipreg.units import number_text, shown_now

__all__ = ["listed", "offset_text", "option", "place"]

def place(point_mm: Sequence[float]) -> str:
    """Return a point without the unit: `X 12.5 Y -3`."""
    bare = shown_now().bare
    return f"X {bare(point_mm[0])} Y {bare(point_mm[1])}"


def offset_text(dx_mm: float, dy_mm: float) -> str:
    """Return a way with signs and the unit: `X +0.40 Y -0.30 mm`."""
    shown = shown_now()
    return f"X {shown.signed(dx_mm)} Y {shown.signed(dy_mm)} {shown.name}"


def option(*lengths_mm: float) -> str:
    """Return lengths as an option of a command takes them: `12.5,-3`, or in inches `0.5in,-0.12in`."""
    shown = shown_now()
    unit = "in" if shown.inch else ""
    return ",".join(f"{shown.bare(length)}{unit}" for length in lengths_mm)


def listed(point: Sequence[float]) -> str:
    """Return a point as a job file has it, in the file's own unit: '[12.5, -3]'."""
    return f"[{number_text(point[0])}, {number_text(point[1])}]"
