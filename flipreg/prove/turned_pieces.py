"""The proof of turned contours, piece after piece of a program: no closed loop goes across the end of a piece."""

from collections.abc import Sequence

import numpy as np

from flipreg.prove.climb import goes_straight, prove_turned, turned_rows
from flipreg.prove.ground import goes_across, is_fed
from flipreg.prove.stretches import fault
from flipreg.prove.turned_loops import RowRange
from flipreg.rs274.interpret.whole import Whole

__all__ = ["ProvingTurned"]

_SAME_MM = 1e-6
_FAR_APART = 10_000
"""Level cuts with more motions between them are no pieces of one contour (chosen)."""


class ProvingTurned:
    """Proves that a program is its source with its closed contours run the other way round, one piece after the other.

    A loop of consecutive cuts ends before a traverse. One in pieces through the air goes on at its own height, and not
    across what is turned round: so the level cuts on both sides of a piece's end may not be of one height, unless one
    of them is turned.
    """

    def __init__(self) -> None:
        self.largest_mm = 0.0
        self._ends_fed = self._stands_elsewhere = False
        # The height of the last level cut, if that was not turned round, and how many motions there were since.
        self._height, self._since = np.nan, 0

    def add(self, source: Whole, output: Whole, runs: Sequence[RowRange], left: Sequence[tuple[int, int]]) -> None:
        """Check the next piece; see `prove_turned`.

        Raises
        ------
        ProofError
            If anything is not as it should be.
        """
        deviation = prove_turned(source, output, runs, left, stands_elsewhere=self._stands_elsewhere)
        self.largest_mm = max(self.largest_mm, deviation)
        path = source.path
        if not len(path):
            return
        fed, turned = is_fed(path), turned_rows(source, runs)
        flat = np.abs(path.end[:, 2] - path.start[:, 2]) <= _SAME_MM
        level = np.flatnonzero(fed & (path.cycle == 0) & goes_across(path) & flat)
        goes_on = self._ends_fed and bool(fed[0])
        if level.size and not turned[level[0]] and self._since + int(level[0]) <= _FAR_APART:
            goes_on |= bool(np.abs(path.end[level[0], 2] - self._height) <= _SAME_MM)
        if goes_on:
            raise fault(source, int(path.line[0]), "a contour may go on from the piece of the program before")
        after = slice(runs[-1][1] + 1 if runs else 0, len(path))
        self._stands_elsewhere = bool(runs or self._stands_elsewhere) and bool(
            (goes_straight(path) & goes_straight(output.path))[after].all()
        )
        self._ends_fed, self._since = bool(fed[-1]), self._since + len(path)
        if level.size:
            last = int(level[-1])
            self._height, self._since = np.nan if turned[last] else float(path.end[last, 2]), len(path) - last
