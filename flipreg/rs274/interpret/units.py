"""The unit of numbers before the first G20 or G21: the machine's own, which is not in the program.

Somebody may know it; otherwise they are read as millimetres, and whoever combines them with a length has to say so.
"""

from math import isnan

import numpy as np

from flipreg.path import Path
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import Modes, State
from flipreg.rs274.read.blocks import POWERS_OF_TEN, Blocks
from flipreg.rs274.read.program import Readable, Units
from flipreg.rs274.read.scanner import scan_chunks
from flipreg.units import INCH_MM

__all__ = ["InchWatch", "UnitWatch", "first_state", "line_without_units", "size_of_numbers"]

_UNITS = (20, 21)
_LENGTHS = [ord(letter) for letter in "XYZIJKR"]
_LARGEST_TABLE_MM, _SMALLEST_PART_MM = 3000.0, 15.0
"""Numbers that as inches are more than this in millimetres are hardly inches, and numbers that as millimetres are less
are hardly millimetres (chosen): larger than the tables of hobby routers, smaller than what is turned over on them."""


def first_state(program: Readable, before: State = State()) -> State:  # noqa: B008 - frozen
    """Return the state before a program's first block: in the unit and the dialect that somebody said of it."""
    return before._replace(inch=program.units is Units.INCH, dialect=program.dialect)


class InchWatch:
    """Looks, chunk after chunk, whether a program has numbers in inches.

    Parameters
    ----------
    units : Units or None
        What somebody said its numbers are.
    """

    def __init__(self, units: Units | None) -> None:
        self._is_said_inch = units is Units.INCH
        self._says_inch = self._says_mm = False

    @property
    def in_inches(self) -> bool:
        """Whether it says G20 anywhere, or was said to be in inches and says no G21."""
        return self._says_inch or (self._is_said_inch and not self._says_mm)

    def add(self, blocks: Blocks) -> None:
        """Look at the next chunk."""
        g = blocks.rows("G")
        # Most codes are those of motions, which are smaller.
        mantissa = blocks.mantissa.take(g)
        may_be = np.flatnonzero(mantissa >= min(_UNITS))
        values = mantissa.take(may_be) / POWERS_OF_TEN.take(blocks.decimals.take(g.take(may_be)), mode="clip")
        inch, mm = _UNITS
        self._says_inch |= bool((values == inch).any())
        self._says_mm |= bool((values == mm).any())


class UnitWatch:
    """Looks, chunk after chunk, for numbers that no G20 or G21 stands before.

    Attributes
    ----------
    line : int
        The first line of such a number; 0 where there is none.
    """

    def __init__(self, units: Units | None) -> None:
        self._is_said = units is not None
        self.line = 0
        self._largest_mm = 0.0

    def add(self, blocks: Blocks, modes: Modes, path: Path, before: State) -> None:
        """Look at the next chunk."""
        if self._is_said:
            return
        if not self.line and not before.units_stated:
            self._look(blocks, modes)
        if not before.units_stated and len(path):
            largest = np.fmax.reduce(np.abs(path.end[:, :2]), axis=None)
            self._largest_mm = max(self._largest_mm, 0.0 if isnan(largest) else float(largest))

    def _look(self, blocks: Blocks, modes: Modes) -> None:
        g = blocks.rows("G")
        said = blocks.block[g[np.isin(modes.values[g], _UNITS) & modes.executes[blocks.block[g]]]]
        first = int(said[0]) if said.size else len(blocks)
        stop = int(np.searchsorted(blocks.block, first))
        lengths = np.flatnonzero(np.isin(blocks.letter[:stop], _LENGTHS) & modes.executes[blocks.block[:stop]])
        if lengths.size:
            self.line = blocks.first_line + int(blocks.block[lengths[0]])

    def note(self) -> str:
        """Return what was taken, why, and what the size of the numbers says."""
        return (
            f"no G20 or G21 before line {self.line}: the machine decides what the numbers are, and they were taken for "
            f"millimetres, as the lengths that were given; {size_of_numbers(self._largest_mm)}; --units mm or "
            "--units inch settles it"
        )


def size_of_numbers(largest: float) -> str:
    """Return what the largest X or Y of a program, as it is written, says of its unit.

    >>> size_of_numbers(600)
    'X and Y go up to 600, which as inches would be 15.2 m: millimetres fit'
    """
    numbers = f"X and Y go up to {largest:g}"
    if largest * INCH_MM > _LARGEST_TABLE_MM:
        return f"{numbers}, which as inches would be {largest * INCH_MM / 1000:.1f} m: millimetres fit"
    if 0 < largest < _SMALLEST_PART_MM:
        return f"{numbers}, which is little in millimetres; they may be inches"
    return f"{numbers}, which says neither the one nor the other"


def line_without_units(program: Readable) -> int:
    """Return the first line with a number that no G20 or G21 stands before, and whose unit nobody said; 0 if none.

    Raises
    ------
    ProgramError, RefusedError
        If the program is not legal as far as that is looked for.
    """
    watch, state = UnitWatch(program.units), first_state(program, State(runs_calls=True))
    for blocks in scan_chunks(program.pieces(), program.source):
        modes, path, after = interpret_blocks(blocks, state)
        watch.add(blocks, modes, path, state)
        state = after
        if watch.line or state.units_stated:
            break
    return watch.line
