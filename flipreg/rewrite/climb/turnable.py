"""Lines that can be run the other way round: none whose words are tied to the order in which they run."""

import numpy as np

from flipreg.rewrite.climb.runs import Run
from flipreg.rewrite.text.refuse import refusal_at
from flipreg.rs274.code_numbers import G
from flipreg.rs274.interpret.whole import Whole
from flipreg.rs274.read.blocks import EXPRESSION

__all__ = ["MOTION_CODES", "Turnable"]

MOTION_CODES = (0, 1, 2, 3)
"""The G codes of straight moves and arcs."""

_MAY_STAY = b"XYZIJKRFN"
_XY = 2


class Turnable:
    """Tells whether runs of a program can be run the other way round.

    Parameters
    ----------
    whole : Whole
        The program.
    """

    def __init__(self, whole: Whole) -> None:
        self._whole = whole
        blocks, modes, path = whole.blocks, whole.modes, whole.path
        self._troubles = (
            (modes.incremental, "is in increments (G91)"),
            (modes.inverse_time, "is fed in inverse time (G93)"),
            (modes.cutter != G.CUTTER_OFF, "is cut with cutter compensation"),
            (blocks.flags != 0, "holds a line that may be skipped"),
        )
        is_motion = (blocks.letter == ord("G")) & np.isin(np.round(modes.values, 1), MOTION_CODES)
        self._is_tied = ~(np.isin(blocks.letter, list(_MAY_STAY)) | is_motion)
        self._is_other_arc = path.is_arc & (path.normal != _XY)
        trouble = np.logical_or.reduce([column for column, _ in self._troubles])
        trouble[blocks.block[self._is_tied | (blocks.decimals == EXPRESSION)]] = True
        trouble[path.line[self._is_other_arc] - 1] = True
        self._count: list[int] = np.concatenate(([0], np.cumsum(trouble))).tolist()

    def check(self, run: Run) -> None:
        """Refuse a run with lines whose words are tied to the order in which they run.

        Raises
        ------
        RefusedError
            At the first line that can't be run the other way round.
        """
        first, last = (int(self._whole.path.line[row]) for row in (run.first, run.last))
        if self._count[first - 1] != self._count[last]:
            self._refuse(run, first, last)

    def _refuse(self, run: Run, first: int, last: int) -> None:
        whole, blocks = self._whole, self._whole.blocks
        for column, what in self._troubles:
            inside = column[first - 1 : last]
            if inside.any():
                line = first + int(np.argmax(inside))
                raise refusal_at(whole, line, f"this contour {what}; it can't be run the other way round")
        low, high = np.searchsorted(blocks.block, [first - 1, last]).tolist()
        for row in range(low, high):
            if self._is_tied[row]:
                message = f"{blocks.spelling(row)} inside of a contour that has to be run the other way round"
                raise blocks.refusal(message, row=row)
            if blocks.decimals[row] == EXPRESSION:
                message = "a parameter or an expression inside of a contour that has to be run the other way round"
                raise blocks.refusal(message, row=row)
        row = run.first + int(np.argmax(self._is_other_arc[run.first : run.last + 1]))
        message = "an arc outside of the XY plane in a contour that has to be run the other way round"
        raise refusal_at(whole, int(whole.path.line[row]), message)
