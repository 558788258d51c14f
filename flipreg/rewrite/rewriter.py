"""A program's text under an isometry, chunk by chunk."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from flipreg.rewrite.aligned import axis_maps, coordinate_edits
from flipreg.rewrite.alternatives import Alternatives
from flipreg.rewrite.rows import XYZ, rows_of
from flipreg.rewrite.sense import ArcSense
from flipreg.rewrite.splice import Edits, splice
from flipreg.rs274.block import Blocks
from flipreg.rs274.state import Modes, State

__all__ = ["Rewriter", "Rewritten"]

Index = NDArray[np.int64]

_MOST_DECIMALS = 9
"""No more are written by a free rotation, whatever the source has; ours: a nanometre is 6 in millimetres."""

_NO_BLOCKS = np.empty(0, np.int64)


@dataclass(frozen=True, eq=False, slots=True)
class Rewritten:
    """The new text of a chunk.

    Attributes
    ----------
    text : bytes
        One line for each line of the source, and those of spelled-out blocks.
    spelled, added : int64, shape (k,)
        The blocks that are spelled out, and the lines that each of them gained.
    """

    text: bytes
    spelled: NDArray[np.int64] = field(default_factory=lambda: _NO_BLOCKS)
    added: NDArray[np.int64] = field(default_factory=lambda: _NO_BLOCKS)


class Rewriter:
    """Rewrites the chunks of one program, in order.

    Parameters
    ----------
    isometry : Isometry
        Maps the program's frame to the frame of the result.
    decimals : int
        Most decimals any coordinate of the program is written with; only a free rotation asks.
    allowed : Alternatives
        What to do where a free rotation cannot be written exactly.
    """

    def __init__(
        self, isometry: Isometry, *, decimals: int = 0, allowed: Alternatives = Alternatives()  # noqa: B008 - frozen
    ) -> None:
        self._isometry = isometry
        self._decimals = min(decimals, _MOST_DECIMALS)
        self._allowed = allowed
        self._maps = axis_maps(isometry)
        self._sense = ArcSense(isometry)
        self._shifts_only = isometry.keeps_axes and isometry.xx == isometry.yy == 1.0
        self._work_offset = 0

    def rewrite(self, blocks: Blocks, modes: Modes, path: Path, *, before: State, after: State) -> Rewritten:
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
            return Rewritten(blocks.text)
        self._refuse_second_work_offset(blocks, path)
        self._refuse_unanchored(blocks, modes, before, after)
        edits: list[Edits] = []
        apart = added = _NO_BLOCKS
        if not self._isometry.is_axis_aligned:
            edits, apart, added = self._turned(blocks, modes, path)
        for axis in self._maps:
            edits += coordinate_edits(blocks, modes, axis, except_for=apart)
        edits += self._sense.edits(blocks, modes)
        text = splice(blocks.text, Edits.joined(edits)) if edits else blocks.text
        return Rewritten(text, apart, added)

    def _turned(self, blocks: Blocks, modes: Modes, path: Path) -> tuple[list[Edits], Index, Index]:
        """Return the edits of a free rotation, and the blocks that it spells out with the lines they gain."""
        # Imported here: a flip has no use for them.
        from flipreg.rewrite.spelled import spell_out
        from flipreg.rewrite.turned import turned_edits

        spelled = spell_out(blocks, modes, path, self._isometry, self._allowed, decimals=self._decimals)
        apart, added = (_NO_BLOCKS, _NO_BLOCKS) if spelled is None else (spelled.block, spelled.added)
        edits = turned_edits(blocks, modes, path, self._isometry, decimals=self._decimals, except_for=apart)
        return [*([] if spelled is None else spelled.edits), *edits], apart, added

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
