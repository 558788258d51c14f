"""Lines whose X and Y are zero in the output: what is left of their text, and what becomes of the source's motions."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flipreg.errors import ProofError
from flipreg.path import Path
from flipreg.rs274.read.blocks import EXPRESSION, Blocks

__all__ = ["ZeroedPlaces", "check_zeros", "spans_of_numbers"]

_XY = np.frombuffer(b"XY", np.uint8)


def spans_of_numbers(blocks: Blocks, lines: Sequence[int]) -> list[tuple[int, int]]:
    """Return where the numbers of X and Y stand in the text of these blocks, in its order."""
    rows = _rows(blocks, lines)
    return list(zip(blocks.number[rows].tolist(), blocks.end[rows].tolist(), strict=True))


def check_zeros(blocks: Blocks, lines: Sequence[int]) -> None:
    """Raise ProofError if one of these blocks of the output names another X or Y than 0, or not both."""
    rows = _rows(blocks, lines)
    literal = (blocks.decimals[rows] != EXPRESSION) & (blocks.mantissa[rows] == 0)
    if len(rows) != 2 * len(lines) or not literal.all():
        raise ProofError(f"{blocks.source}: a line would lead elsewhere than over zero")


def _rows(blocks: Blocks, lines: Sequence[int]) -> NDArray[np.intp]:
    return np.flatnonzero(np.isin(blocks.block, np.array(lines, np.int64)) & np.isin(blocks.letter, _XY))


class ZeroedPlaces:
    """Follows a source, chunk after chunk, and tells its motions as they are once some lines lead over zero."""

    def __init__(self, source: str) -> None:
        self._source = source
        self._at: NDArray[np.float64] | None = None

    def moved(self, path: Path, lines: Sequence[int]) -> Path:
        """Return the next motions as the output should have them.

        Parameters
        ----------
        path : Path
            The source's.
        lines : sequence of int
            The lines of the file whose X and Y become zero.

        Raises
        ------
        ProofError
            If something is cut from there.
        """
        start, end = path.start.copy(), path.end.copy()
        rows = np.flatnonzero(np.isin(path.line, np.array(lines, np.int64))).tolist()
        if self._at is not None:
            rows.insert(0, -1)
        for row in rows:
            at = path.end[row, :2] if row >= 0 else self._at
            if row >= 0:
                end[row, :2] = 0.0
            after = row + 1
            while after < len(path):
                start[after, :2] = 0.0
                if path.is_cut[after]:
                    raise ProofError(f"{self._source}:{int(path.line[after])}: a cut would begin over zero")
                if after in rows or (path.end[after, :2] != at).any():
                    break
                end[after, :2] = 0.0
                after += 1
            self._at = at if after == len(path) else None
        return replace(path, start=start, end=end) if rows else path
