"""A program's text under an isometry, chunk by chunk."""

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from flipreg.rewrite.isometry.aligned import axis_maps, coordinate_edits
from flipreg.rewrite.isometry.arc_direction import ArcDirection
from flipreg.rewrite.isometry.machine import Parked, kept_machine_blocks, still_homes
from flipreg.rewrite.isometry.sticky import StickyWords
from flipreg.rewrite.text.alternatives import Alternatives
from flipreg.rewrite.text.decimal_places import USUAL, DecimalPlaces
from flipreg.rewrite.text.rows import XYZ, is_incremental, points_of, rows_of
from flipreg.rewrite.text.splice import Edits, splice
from flipreg.rs274.code_groups import WORK_OFFSETS
from flipreg.rs274.interpret.code_columns import code_name
from flipreg.rs274.interpret.column import is_constant
from flipreg.rs274.interpret.state import Modes, State
from flipreg.rs274.read.blocks import EXPRESSION, Blocks
from flipreg.rs274.read.location import RefusedError

__all__ = ["Rewriter", "Rewritten"]

Index = NDArray[np.int64]

_NO_BLOCKS = np.empty(0, np.int64)


class Rewritten(NamedTuple):
    """The new text of a chunk.

    Attributes
    ----------
    text : bytes
        One line for each line of the source, and those of spelled-out blocks.
    spelled, added : int64, shape (k,)
        The blocks that are spelled out, and the lines that each of them gained.
    """

    text: bytes
    spelled: NDArray[np.int64] = _NO_BLOCKS
    added: NDArray[np.int64] = _NO_BLOCKS


class Rewriter:
    """Rewrites the chunks of one program, in order.

    Parameters
    ----------
    isometry : Isometry
        Maps the program's frame to the frame of the result.
    places : DecimalPlaces
        How many decimals rounded numbers are written with.
    others : mapping from int to Isometry, optional
        The isometries of work offsets that have one of their own, 1 for G54 to 9 for G59.3; they differ from the
        first in nothing but the offset.
    allowed : Alternatives
        What to do where a free rotation cannot be written exactly.

    Attributes
    ----------
    places : DecimalPlaces
        How many decimals rounded numbers are written with.
    kept : dict from str to list of int
        Lines that go to machine positions and were kept as they are, by the name of their code.
    led : dict from str to list of int
        Lines that go to machine positions by a point of the program, which was moved, by the name of their code.
    parked : Parked
        Refuses cuts from machine positions; steps of a program with subprograms go to it in the order they run.
    evaluated : bool
        Whether parameters or expressions became numbers, because a turn couples X and Y.
    """

    def __init__(
        self,
        isometry: Isometry,
        *,
        places: DecimalPlaces = USUAL,
        others: Mapping[int, Isometry] | None = None,
        allowed: Alternatives = Alternatives(),  # noqa: B008 - frozen
    ) -> None:
        self._isometry = isometry
        self.places = places
        self._after_spelled = False
        self._allowed = allowed
        self._others = others or {}
        self._arc_direction = ArcDirection(isometry)
        self._shifts_only = isometry.keeps_axes and isometry.xx == isometry.yy == 1.0
        self._work_offset = 0
        self.kept: dict[str, list[int]] = {}
        self.led: dict[str, list[int]] = {}
        self.evaluated = False
        moved = self._moved_axes()
        self._sticky = StickyWords(moved) if any(moved) else None
        self.parked = Parked((isometry, *self._others.values()))

    def rewrite(  # noqa: PLR0913 - a chunk is three things
        self,
        blocks: Blocks,
        modes: Modes,
        path: Path,
        *,
        before: State,
        after: State,
        entered: Index = _NO_BLOCKS,
        spells: bool = False,
    ) -> Rewritten:
        """Return the chunk's text with every motion moved by the isometry.

        Parameters
        ----------
        blocks, modes, path
            The chunk: its words, its modes, its motions.
        before, after : State
            The interpreter's state around the chunk.
        entered : int64, shape (k,)
            Blocks that the machine comes to from elsewhere in the text.
        spells : bool
            Whether that may be from a block that is spelled out.

        Raises
        ------
        RefusedError
            Where the result cannot be written, with the word and the reason.
        """
        if self._isometry == Isometry() and not self._others:
            return Rewritten(blocks.text)
        self._refuse_unanchored(blocks, modes, before, after)
        self._refuse_steps_from_nowhere(blocks, modes, path)
        if self._sticky is not None:
            self._sticky.check(blocks, modes, before)
        if not entered.size:
            self.parked.check(blocks, modes, path)
        still, kept = _NO_BLOCKS, list[int]()
        if modes.apart:
            kept = kept_machine_blocks(blocks, modes, self._isometry)
            still = still_homes(blocks, modes)
        edits: list[Edits] = []
        spelled = added = _NO_BLOCKS
        for isometry, elsewhere in self._by_work_offset(blocks, modes, path):
            skipped = elsewhere = np.concatenate((elsewhere, still)) if still.size else elsewhere
            if not isometry.is_axis_aligned:
                try:
                    turned, apart, gained = self._turned(blocks, modes, path, isometry, elsewhere)
                except OverflowError as error:
                    raise _too_long(blocks, modes, error) from None
                edits += turned
                skipped = np.concatenate((elsewhere, apart))
                spelled, added = np.concatenate((spelled, apart)), np.concatenate((added, gained))
            for axis in axis_maps(isometry):
                edits += coordinate_edits(blocks, modes, axis, places=self.places, except_for=skipped)
        edits += self._arc_direction.edits(blocks, modes, entered)
        if spelled.size or (spells and entered.size) or self._after_spelled:
            # Imported here: a flip has no use for it.
            from flipreg.rewrite.isometry.spelled import named_again

            again, self._after_spelled = named_again(blocks, modes, spelled, entered, carried=self._after_spelled)
            edits += again
        joined = Edits.joined(edits) if edits else None
        self._note(kept, blocks, modes, joined)
        text = blocks.text if joined is None else splice(blocks.text, joined)
        order = np.argsort(spelled)
        return Rewritten(text, spelled[order], added[order])

    def _turned(
        self, blocks: Blocks, modes: Modes, path: Path, isometry: Isometry, elsewhere: Index
    ) -> tuple[list[Edits], Index, Index]:
        """Return the edits of a free rotation, and the blocks that it spells out with the lines they gain."""
        # Imported here: a flip has no use for them.
        from flipreg.rewrite.isometry.spelled import spell_out
        from flipreg.rewrite.isometry.turned import turned_edits

        spelled = spell_out(
            blocks, modes, path, isometry, self._allowed, places=self.places, except_for=elsewhere
        )
        apart, added = (_NO_BLOCKS, _NO_BLOCKS) if spelled is None else (spelled.block, spelled.added)
        skipped = np.concatenate((elsewhere, apart))
        if blocks.expressions:
            rows = np.concatenate([rows_of(blocks, modes, letter) for letter in "XYIJ"])
            self.evaluated |= bool((blocks.decimals[rows] == EXPRESSION).any())
        edits = turned_edits(blocks, modes, path, isometry, places=self.places, except_for=skipped)
        return [*([] if spelled is None else spelled.edits), *edits], apart, added

    def _by_work_offset(self, blocks: Blocks, modes: Modes, path: Path) -> list[tuple[Isometry, Index]]:
        """Return the isometry of each work offset that the chunk uses, and the blocks that it is not for."""
        if self._shifts_only and not self._others:
            # Every work offset's zero stays where it is, and a shift is the same seen from each of them.
            return [(self._isometry, _NO_BLOCKS)]
        if len(path) and not self._work_offset:
            self._work_offset = next((o for o in path.work_offset.tolist() if o not in self._others), 0)
        column = modes.work_offset
        used: list[int] = column[:1].tolist() if is_constant(column) else np.flatnonzero(np.bincount(column)).tolist()
        found = []
        for work_offset in used:
            elsewhere = _NO_BLOCKS if len(used) == 1 else np.flatnonzero(modes.work_offset != work_offset)
            isometry = self._others.get(work_offset)
            if isometry is None:
                self._refuse_second_work_offset(blocks, path, work_offset)
                isometry = self._isometry
            found.append((isometry, elsewhere))
        return found

    def _refuse_second_work_offset(self, blocks: Blocks, path: Path, work_offset: int) -> None:
        other = path.work_offset == work_offset
        if self._work_offset in (0, work_offset) or self._shifts_only or not other.any():
            return
        block = int(path.line[int(np.argmax(other))]) - blocks.first_line
        row = int(np.searchsorted(blocks.block, block))
        name = WORK_OFFSETS[work_offset - 1]
        message = (
            f"a second work offset in one program: it is not known how the zero of {name} moves with the blank; say "
            f"so with --offset {name}=X,Y, or use one program for each work offset"
        )
        raise blocks.refusal(message, row=row)

    def _note(self, machine: list[int], blocks: Blocks, modes: Modes, edits: Edits | None) -> None:
        """Note the blocks with machine positions: as they were, or with another point on the way."""
        for block in machine:
            start, end = int(blocks.line_start[block]), int(blocks.line_end[block])
            found = self.kept if edits is None or not edits.changes(blocks.text, start, end) else self.led
            found.setdefault(code_name(modes.apart[block].code), []).append(blocks.first_line + block)

    def _refuse_steps_from_nowhere(self, blocks: Blocks, modes: Modes, path: Path) -> None:
        """Refuse a shift where increments start at a machine position or where a probe tripped.

        Such a place does not move with the program, and an increment has no word that could carry the shift.
        """
        for axis, moved in enumerate(self._moved_axes()):
            unknown = np.isnan(path.end[:, axis]) if moved else path.is_arc[:0]
            if not unknown.any():
                continue
            rows = points_of(blocks, modes, XYZ[axis])
            rows = rows[is_incremental(blocks, modes, rows)]
            if not rows.size:
                continue
            nowhere = np.zeros(len(blocks), np.bool_)
            nowhere[path.line[unknown] - blocks.first_line] = True
            nowhere[[*modes.apart]] = False
            lost = rows[nowhere[blocks.block[rows]]]
            if lost.size:
                message = (
                    f"a step along {XYZ[axis]} from a place that is not in the program, which does not move with it; "
                    "name a position in G90 first"
                )
                raise blocks.refusal(message, row=int(lost[0]))

    def _moved_axes(self) -> list[bool]:
        """Return whether each axis of the source has an offset that its words have to carry."""
        isometries = (self._isometry, *self._others.values())
        moved = [any(getattr(each, name) for each in isometries) for name in ("dx_mm", "dy_mm", "dz_mm")]
        if not self._isometry.is_axis_aligned:
            moved[:2] = [any(moved[:2])] * 2
        elif not self._isometry.keeps_axes:
            moved[:2] = moved[1::-1]
        return moved

    def _refuse_unanchored(self, blocks: Blocks, modes: Modes, before: State, after: State) -> None:
        """Refuse an offset where the program never says where it starts.

        Increments from an unnamed position can be mirrored and turned, but there is no word that could carry
        the offset.
        """
        moved = self._moved_axes()
        for axis, letter in enumerate(XYZ):
            if moved[axis] and after.assumed_zero[axis] and not before.assumed_zero[axis]:
                rows = rows_of(blocks, modes, letter)
                message = f"the first {letter} is an increment from an unnamed position; name a position in G90 first"
                raise blocks.refusal(message, row=int(rows[0]) if rows.size else 0)


def _too_long(blocks: Blocks, modes: Modes, error: OverflowError) -> RefusedError:
    """Return the refusal at the coordinate that is the farthest out."""
    rows = np.concatenate([rows_of(blocks, modes, letter) for letter in "XYZIJK"])
    row = int(rows[np.nanargmax(np.abs(modes.values[rows]))])
    message = f"{blocks.spelling(row)} is so far out that a turn would need {error}; is a point missing in it?"
    return blocks.refusal(message, row=row)
