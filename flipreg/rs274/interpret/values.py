"""What the words of a chunk stand for: literal numbers at once, expressions where there are any."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.read.blocks import EXPRESSION, POWERS_OF_TEN, Blocks

__all__ = ["literal_values", "word_values"]

Floats = NDArray[np.float64]


def literal_values(blocks: Blocks) -> Floats:
    """Return the values of literal numbers, NaN for all other words, shape (n,)."""
    powers = POWERS_OF_TEN
    if blocks.expressions:
        powers = np.full(EXPRESSION + 1, np.nan)
        powers[: len(POWERS_OF_TEN)] = POWERS_OF_TEN
    values = blocks.mantissa.astype(np.float64)
    values /= powers.take(blocks.decimals)
    return values


def word_values(blocks: Blocks, parameters: Mapping[int, float]) -> tuple[Floats, Mapping[int, float]]:
    """Return the value of every word, and the parameters after the last block that is executed.

    In each block all values are read before any setting takes effect (NISTIR 6556, 3.3.3). Lines
    that the block-delete switch leaves out are not in the chunk any more.

    Parameters
    ----------
    blocks : Blocks
        One chunk.
    parameters : mapping from int to float
        Parameters known before the chunk; not changed.

    Returns
    -------
    values : array, shape (n,)
        As written, without units; NaN for expressions after the end of the program.
    parameters : mapping from int to float
        The same mapping where nothing was set.

    Raises
    ------
    ProgramError
        At a value that cannot be worked out.
    RefusedError
        At a parameter that is set outside the program, and at a setting of one that holds offsets or coordinate
        systems.
    """
    values = literal_values(blocks)
    if not blocks.expressions and not blocks.settings:
        return values, parameters
    # Imported here: most programs hold no expression, and start without what evaluates them.
    from flipreg.rs274.interpret.parametric import evaluated

    return evaluated(blocks, values, parameters)
