"""The blocks of a step that have one of some codes."""

from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.interpret.subprograms import Step

__all__ = ["blocks_with"]


def blocks_with(step: Step, letter: Literal["G", "M"], codes: Sequence[int]) -> NDArray[np.int64]:
    """Return the blocks that have one of the codes, executed or not, in their order, shape (n,).

    Parameters
    ----------
    step : Step
        Consecutive blocks.
    letter : 'G' or 'M'
        Of the codes.
    codes : sequence of int
        As in `flipreg.rs274.code_numbers`: of G codes ten times their number.
    """
    rows = step.blocks.rows(letter)
    scale = 10 if letter == "G" else 1
    return step.blocks.block[rows[np.isin(np.rint(step.modes.values[rows] * scale), codes)]]
