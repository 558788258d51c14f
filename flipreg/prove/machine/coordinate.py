"""A coordinate of the machine: a number, and what nobody knows as symbols that are added to it."""

from dataclasses import dataclass
from decimal import Decimal

__all__ = ["NOISE_MM", "REFERENCE", "ZERO", "Coordinate"]

NOISE_MM = Decimal("1e-6")
"""Numbers of expressions and of inches that are written again agree within this (chosen)."""

_START = "start "

REFERENCE = "reference "
"""How the symbols of reference positions (G28, G30) begin."""


@dataclass(frozen=True, slots=True)
class Coordinate:
    """A sum of a number and of symbols, in millimetres.

    Attributes
    ----------
    number_mm : Decimal
        The number.
    symbols : tuple of (str, int)
        How often each symbol is in the sum, by name; never 0 times.

    Examples
    --------
    >>> height = Coordinate.of("origin G54 Z") + Coordinate(Decimal(15))
    >>> (height - Coordinate.of("origin G54 Z")).is_number
    True
    """

    number_mm: Decimal = Decimal(0)
    symbols: tuple[tuple[str, int], ...] = ()

    @classmethod
    def of(cls, symbol: str) -> "Coordinate":
        """Return a symbol by itself."""
        return cls(symbols=((symbol, 1),))

    @classmethod
    def start(cls, letter: str) -> "Coordinate":
        """Return where an axis stood before the program."""
        return cls.of(_START + letter)

    def __add__(self, other: "Coordinate") -> "Coordinate":
        """Return the sum."""
        if not other.symbols:
            return Coordinate(self.number_mm + other.number_mm, self.symbols)
        return self._with(other, 1)

    def __sub__(self, other: "Coordinate") -> "Coordinate":
        """Return the difference."""
        if self.symbols == other.symbols:
            return Coordinate(self.number_mm - other.number_mm)
        return self._with(other, -1)

    def _with(self, other: "Coordinate", sign: int) -> "Coordinate":
        counts = dict(self.symbols)
        for symbol, count in other.symbols:
            counts[symbol] = counts.get(symbol, 0) + sign * count
        symbols = tuple(sorted((symbol, count) for symbol, count in counts.items() if count))
        return Coordinate(self.number_mm + sign * other.number_mm, symbols)

    @property
    def is_number(self) -> bool:
        """Whether there is nothing unknown in it."""
        return not self.symbols

    @property
    def is_of_machine(self) -> bool:
        """Whether it is a place of the machine: its own number, or a reference position."""
        return all(symbol.startswith(REFERENCE) for symbol, _ in self.symbols)

    @property
    def depends_on_start(self) -> bool:
        """Whether it depends on where the machine stood before the program."""
        return any(symbol.startswith(_START) for symbol, _ in self.symbols)

    def is_at(self, other: "Coordinate") -> bool:
        """Return whether both are one place for every value of the unknowns."""
        off = self.over(other)
        return off is not None and abs(off) <= NOISE_MM

    def over(self, other: "Coordinate") -> Decimal | None:
        """Return by how much it is higher, None where that is not the same for every value of the unknowns."""
        off = self - other
        return off.number_mm if off.is_number else None


ZERO = Coordinate()
