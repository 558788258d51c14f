"""The dwells of a program: how long it says that the machine waits."""

import numpy as np

from flipreg.rs274.interpret.subprograms import Step

__all__ = ["dwell_seconds"]

_DWELL = 4.0


def dwell_seconds(step: Step) -> float:
    """Return the seconds of the G4 blocks of a step that are executed; P is seconds (NISTIR 6556, 3.5.4), and so is X.

    The dwells inside canned cycles are not in it.
    """
    blocks, values = step.blocks, step.modes.values
    g_rows = blocks.rows("G")
    waiting = blocks.block[g_rows[values[g_rows] == _DWELL]]
    if not waiting.size:
        return 0.0
    x_rows = blocks.rows("X")
    x_rows = x_rows[step.modes.is_idle(blocks.block[x_rows], blocks.letter[x_rows])]
    rows = np.concatenate((blocks.rows("P"), x_rows))
    at = blocks.block[rows]
    counts = np.isin(at, waiting) & np.asarray(step.modes.executes)[at]
    return float(values[rows[counts]].sum())
