"""Lines that can be run the other way round: none whose words are tied to the order in which they run."""

import numpy as np

from flipreg.rewrite.refuse import refusal_at
from flipreg.rewrite.runs import Run
from flipreg.rs274.code_numbers import G
from flipreg.rs274.interpret.whole import Whole
from flipreg.rs274.read.blocks import EXPRESSION

__all__ = ["MOTION_CODES", "check_turnable"]

MOTION_CODES = (0, 1, 2, 3)
"""The G codes of straight moves and arcs."""

_MAY_STAY = b"XYZIJKRFN"
_XY = 2


def check_turnable(whole: Whole, run: Run) -> None:
    """Refuse lines whose words are tied to the order in which they run.

    Raises
    ------
    RefusedError
        At the first line that can't be run the other way round.
    """
    blocks, modes = whole.blocks, whole.modes
    first, last = int(whole.path.line[run.first]), int(whole.path.line[run.last])
    inside = slice(first - 1, last)
    for column, what in (
        (modes.incremental[inside], "is in increments (G91)"),
        (modes.inverse_time[inside], "is fed in inverse time (G93)"),
        (modes.cutter[inside] != G.CUTTER_OFF, "is cut with cutter compensation"),
        (blocks.flags[inside] != 0, "holds a line that may be skipped"),
    ):
        if column.any():
            line = first + int(np.argmax(column))
            raise refusal_at(whole, line, f"this contour {what}; it can't be run the other way round")
    low, high = np.searchsorted(blocks.block, [first - 1, last]).tolist()
    for row in range(low, high):
        is_motion = blocks.letter[row] == ord("G") and round(float(modes.values[row]), 1) in MOTION_CODES
        if blocks.letter[row] not in _MAY_STAY and not is_motion:
            message = f"{blocks.spelling(row)} inside of a contour that has to be run the other way round"
            raise blocks.refusal(message, row=row)
        if blocks.decimals[row] == EXPRESSION:
            message = "a parameter or an expression inside of a contour that has to be run the other way round"
            raise blocks.refusal(message, row=row)
    path = whole.path.take(slice(run.first, run.last + 1))
    arcs = path.is_arc & (path.normal != _XY)
    if arcs.any():
        message = "an arc outside of the XY plane in a contour that has to be run the other way round"
        raise refusal_at(whole, int(path.line[int(np.argmax(arcs))]), message)
