"""Where the tool stands at a block, axis by axis: at a number, at a position of the machine, or nobody knows."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from math import isnan

import numpy as np

from flipreg.rs274.interpret.state import State
from flipreg.rs274.interpret.whole import Whole
from flipreg.rs274.read.blocks import EXPRESSION
from flipreg.units import INCH

__all__ = ["ByMachine", "Stand", "stand_at"]

_HOMES, _MACHINE = (280, 300), 530
_AXIS_OFFSETS = (921, 922, 923)
_AXES = "XYZ"


@dataclass(frozen=True, slots=True)
class ByMachine:
    """A position of the machine along one axis.

    Attributes
    ----------
    code : int
        Ten times the G code that led there: 280, 300 or 530.
    number_mm : Decimal or None
        For G53 the number; None where it is no literal.
    """

    code: int
    number_mm: Decimal | None = None


Stand = tuple[float | ByMachine | None, float | ByMachine | None, float | ByMachine | None]
"""X, Y and Z: millimetres in the numbers in force, a position of the machine, or None."""


def stand_at(whole: Whole, state: State, block: int) -> Stand:
    """Return where the tool stands before a block.

    Parameters
    ----------
    whole : Whole
        The program.
    state : State
        The state before the block.
    block : int
        The block, from 0.
    """
    x, y, z = (
        _by_machine(whole, axis, block) if isnan(coordinate) else (None if _is_off(whole, axis, block) else coordinate)
        for axis, coordinate in enumerate(state.position_mm)
    )
    return x, y, z


def _is_off(whole: Whole, axis: int, stop: int) -> bool:
    """Return whether a coordinate is not the number that was named last.

    An axis offset was reset since, or cutter compensation was, so that the tool may stand a radius beside it.
    """
    blocks, path = whole.blocks, whole.path
    named = next(_moving(whole, axis, stop), -1)
    rows = blocks.rows("G")
    rows = rows[(blocks.block[rows] > named) & (blocks.block[rows] < stop)]
    if np.isin(np.rint(whole.modes.values[rows] * 10), _AXIS_OFFSETS).any():
        return True
    beside = path.line[(path.compensation != 0) & (path.line <= stop)]
    return axis < 2 and bool(beside.size) and named <= int(beside[-1]) - 1


def _by_machine(whole: Whole, axis: int, stop: int) -> ByMachine | None:
    """Return the position of the machine that the last motion along an axis before a block led to."""
    for block in _moving(whole, axis, stop):
        apart = whole.modes.apart.get(block)
        if apart is None:
            return None
        if apart.code in _HOMES:
            return ByMachine(apart.code)
        return ByMachine(_MACHINE, _number(whole, axis, block)) if apart.code == _MACHINE else None
    return None


def _moving(whole: Whole, axis: int, stop: int) -> Iterator[int]:
    """Yield the blocks before one that move along an axis, the last first."""
    blocks, apart = whole.blocks, whole.modes.apart
    named = set(blocks.block[blocks.rows(_AXES[axis])].tolist())
    any_named = set(blocks.block[np.isin(blocks.letter, np.frombuffer(_AXES.encode(), np.uint8))].tolist())
    bare = {block for block, what in apart.items() if what.code in _HOMES and block not in any_named}
    moving = named & set((whole.path.line - 1).tolist()) | bare
    yield from sorted((block for block in moving if block < stop), reverse=True)


def _number(whole: Whole, axis: int, block: int) -> Decimal | None:
    blocks = whole.blocks
    row = int(np.flatnonzero((blocks.block == block) & (blocks.letter == ord(_AXES[axis])))[0])
    places = int(blocks.decimals[row])
    if places == EXPRESSION:
        return None
    value = Decimal(int(blocks.mantissa[row])).scaleb(-places)
    return value * INCH if whole.modes.inch[block] else value
