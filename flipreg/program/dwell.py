"""The dwells of a program: how long it says that the machine waits."""

import numpy as np

from flipreg.program.blocks_with import blocks_with
from flipreg.rs274.code_numbers import G
from flipreg.rs274.interpret.subprograms import Step

__all__ = ["dwell_seconds"]


def dwell_seconds(step: Step) -> float:
    """Return the seconds of the G4 blocks of a step that are executed; P is seconds (NISTIR 6556, 3.5.4), and so is X.

    The dwells inside canned cycles are not in it.
    """
    blocks, values = step.blocks, step.modes.values
    waiting = blocks_with(step, "G", (G.DWELL,))
    if not waiting.size:
        return 0.0
    x_rows = blocks.rows("X")
    x_rows = x_rows[step.modes.is_idle(blocks.block[x_rows], blocks.letter[x_rows])]
    rows = np.concatenate((blocks.rows("P"), x_rows))
    at = blocks.block[rows]
    counts = np.isin(at, waiting) & np.asarray(step.modes.executes)[at]
    return float(values[rows[counts]].sum())
