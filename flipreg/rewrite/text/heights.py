"""Heights as a program writes them, and in words: in comments and in messages."""

from decimal import ROUND_CEILING, Decimal

from flipreg.rs274.interpret.whole import Whole
from flipreg.units import INCH, plain

__all__ = ["height_at", "spelled_height", "told_height"]

_INCH_DECIMALS = 5


def height_at(whole: Whole, line: int, z_mm: Decimal) -> str:
    """Return a height in the unit of the numbers at a line, for a comment beside it: `Z-6.35`, or `Z-0.25 in`."""
    inch = bool(whole.modes.inch[line - 1])
    return f"Z{spelled_height(z_mm, 0, inch=inch, pointed=False).decode()}{' in' if inch else ''}"


def told_height(whole: Whole, z_mm: Decimal) -> str:
    """Return a height in millimetres for a message, with the unit if the program has numbers in inches."""
    return f"Z{plain(z_mm)}{' mm' if whole.modes.inch.any() else ''}"


def spelled_height(z_mm: Decimal, decimals: int, *, inch: bool, pointed: bool) -> bytes:
    """Write a height with as many decimals as it had, or more if it needs them.

    Millimetres are exact; inches are rounded where they have no end, and never deeper than asked.
    """
    z = z_mm
    if inch:
        z = (z_mm / INCH).quantize(Decimal(1).scaleb(-max(decimals, _INCH_DECIMALS)), ROUND_CEILING)
    needed = max(0, -int(z.normalize().as_tuple().exponent))
    z = z.quantize(Decimal(1).scaleb(-max(decimals, needed)))
    text = f"{z + 0:f}".encode()
    return text + b"." if pointed and b"." not in text else text
