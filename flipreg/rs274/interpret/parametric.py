"""Expressions and parameter settings of a chunk, evaluated block after block (NISTIR 6556, 3.3.2 and 3.3.3)."""

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.code_numbers import PROGRAM_ENDS
from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.expression import (
    EvaluationError,
    Expression,
    Setting,
    UnknownParameterError,
    evaluate,
    parameter_index,
)
from flipreg.rs274.read.location import ProgramError, RefusedError

__all__ = ["evaluated"]

Floats = NDArray[np.float64]

_MACHINE_DATA = frozenset(first + axis for first in (5161, 5181, 5211, *range(5221, 5400, 20)) for axis in range(6)) | {
    5220
}
"""Parameters that hold home positions, offsets and coordinate systems (table 2 of the report)."""

_M = ord("M")


def evaluated(
    blocks: Blocks, values: Floats, parameters: Mapping[int, float]
) -> tuple[Floats, Mapping[int, float]]:
    """Fill in the values of expressions; see `word_values`.

    Parameters
    ----------
    blocks : Blocks
        One chunk.
    values : array, shape (n,)
        The literal values; changed in place.
    parameters : mapping from int to float
        Parameters known before the chunk; not changed.

    Returns
    -------
    values : array, shape (n,)
    parameters : mapping from int to float
        Those after the last block that is executed.

    Raises
    ------
    ProgramError, RefusedError
        As `word_values`.
    """
    known = dict(parameters)
    ends = (blocks.letter == _M) & np.isin(np.rint(values), PROGRAM_ENDS)
    last = int(blocks.block[np.argmax(ends)]) if ends.any() else len(blocks)
    for block, words, settings in _by_block(blocks):
        if block > last:
            break
        for row, expression in words:
            values[row] = value = _word(blocks, row, expression, known)
            if blocks.letter[row] == _M and round(value) in PROGRAM_ENDS:
                last = block
        known.update([_setting(blocks, setting, known) for setting in settings])
    return values, known


def _by_block(blocks: Blocks) -> Iterator[tuple[int, list[tuple[int, Expression]], list[Setting]]]:
    """Yield each block that holds expressions or settings, in file order, with these."""
    found: dict[int, tuple[list[tuple[int, Expression]], list[Setting]]] = {}
    for row, expression in blocks.expressions.items():
        found.setdefault(int(blocks.block[row]), ([], []))[0].append((row, expression))
    for setting in blocks.settings:
        found.setdefault(setting.block, ([], []))[1].append(setting)
    for block in sorted(found):
        words, settings = found[block]
        yield block, words, settings


def _word(blocks: Blocks, row: int, expression: Expression, known: Mapping[int, float]) -> float:
    try:
        return evaluate(expression, known)
    except UnknownParameterError as error:
        raise blocks.refusal(f"{error}", row=row) from error
    except EvaluationError as error:
        raise blocks.error(f"{error}", row=row) from error


def _setting(blocks: Blocks, setting: Setting, known: Mapping[int, float]) -> tuple[int, float]:
    location = blocks.location(setting.block, setting.start, setting.end)
    excerpt = blocks.line(setting.block)
    try:
        index = parameter_index(evaluate(setting.index, known))
        value = evaluate(setting.value, known)
    except EvaluationError as error:
        kind = RefusedError if isinstance(error, UnknownParameterError) else ProgramError
        raise kind(f"{error}", location, excerpt) from error
    if index in _MACHINE_DATA:
        message = f"#{index} holds positions or offsets of the machine; set it there and take the setting out"
        raise RefusedError(message, location, excerpt)
    return index, value
