"""A program's text under an isometry, chunk by chunk."""

import numpy as np

from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from flipreg.rewrite.aligned import axis_maps, coordinate_edits
from flipreg.rewrite.rows import XYZ, rows_of
from flipreg.rewrite.sense import ArcSense
from flipreg.rewrite.splice import Edits, splice
from flipreg.rewrite.turned import turned_edits
from flipreg.rs274.block import Blocks
from flipreg.rs274.state import Modes, State

__all__ = ["Rewriter"]


class Rewriter:
    """Rewrites the chunks of one program, in order.

    Parameters
    ----------
    isometry : Isometry
        Maps the program's frame to the frame of the result.
    decimals : int
        Most decimals any coordinate of the program is written with; only a free rotation asks.
    """

    def __init__(self, isometry: Isometry, *, decimals: int = 0) -> None:
        self._isometry = isometry
        self._decimals = decimals
        self._maps = axis_maps(isometry)
        self._sense = ArcSense(isometry)
        self._shifts_only = isometry.keeps_axes and isometry.xx == isometry.yy == 1.0
        self._work_offset = 0

    def rewrite(self, blocks: Blocks, modes: Modes, path: Path, *, before: State, after: State) -> bytes:
        """Return the chunk's text with every motion moved by the isometry.

        Parameters
        ----------
        blocks, modes, path
            The chunk: its words, its modes, its motions.
        before, after : State
            The interpreter's state around the chunk.

        Raises
        ------
        RefusedError
            Where the result cannot be written, with the word and the reason.
        """
        if self._isometry == Isometry():
            return blocks.text
        self._refuse_second_work_offset(blocks, path)
        self._refuse_unanchored(blocks, modes, before, after)
        edits: list[Edits] = []
        if not self._isometry.is_axis_aligned:
            edits += turned_edits(blocks, modes, path, self._isometry, decimals=self._decimals)
        for axis in self._maps:
            edits += coordinate_edits(blocks, modes, axis)
        edits += self._sense.edits(blocks, modes)
        return splice(blocks.text, Edits.joined(edits)) if edits else blocks.text

    def _refuse_second_work_offset(self, blocks: Blocks, path: Path) -> None:
        if not len(path) or self._shifts_only:
            # Every work offset's zero stays where it is, and a shift is the same seen from each of them.
            return
        first = self._work_offset or int(path.work_offset[0])
        self._work_offset = first
        other = path.work_offset != first
        if path.work_offset.strides == (0,):
            other = other[:1]
        if not other.any():
            return
        block = int(path.line[int(np.argmax(other))]) - blocks.first_line
        row = int(np.searchsorted(blocks.block, block))
        message = (
            "a second work offset in one program: it is not known how its zero moves with the blank; "
            "use one program for each work offset"
        )
        raise blocks.refusal(message, row=row)

    def _refuse_unanchored(self, blocks: Blocks, modes: Modes, before: State, after: State) -> None:
        """Refuse an offset where the program never says where it starts.

        Increments from an unnamed position can be mirrored and turned, but there is no word that could carry
        the offset.
        """
        moved = [bool(self._isometry.dx_mm), bool(self._isometry.dy_mm), bool(self._isometry.dz_mm)]
        if not self._isometry.is_axis_aligned:
            moved[:2] = [any(moved[:2])] * 2
        elif not self._isometry.keeps_axes:
            moved[:2] = moved[1::-1]
        for axis, letter in enumerate(XYZ):
            if moved[axis] and after.assumed_zero[axis] and not before.assumed_zero[axis]:
                rows = rows_of(blocks, modes, letter)
                message = f"the first {letter} is an increment from an unnamed position; name a position in G90 first"
                raise blocks.refusal(message, row=int(rows[0]) if rows.size else 0)
