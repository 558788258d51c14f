"""Numbers of a canned cycle that a later block reads in the other distance mode.

The words of a cycle hold for its whole run as numbers (NISTIR 6556, 3.5.16): R, the depth and the top of back boring
are positions in a block under G90, and increments in a block under G91. Shifted along the hole, one number can't be
both.
"""

from math import isnan

import numpy as np

from flipreg.rewrite.text.rows import IJK, XYZ, rows_of
from flipreg.rs274.code_numbers import CYCLES, G
from flipreg.rs274.interpret.state import Modes, State
from flipreg.rs274.read.blocks import Blocks

__all__ = ["StickyWords"]



class StickyWords:
    """Remembers, from one chunk to the next, under which distance mode a cycle's numbers were named."""

    def __init__(self, moved: list[bool]) -> None:
        self._moved = moved
        # The cycle under way and its axis; the distance mode that each letter was named under.
        self._run = (0, 0)
        self._named: dict[str, bool] = {}

    def check(self, blocks: Blocks, modes: Modes, before: State) -> None:
        """Refuse a block that takes over a number from the other distance mode along an axis that is shifted.

        Raises
        ------
        RefusedError
            At the first such block.
        """
        drills = modes.executes & (modes.motion >= CYCLES[0])
        if not drills.any():
            self._run = (0, 0)
            return
        if before.cycle is None or isnan(before.cycle.retract_mm):
            self._run = (0, 0)
        named = {
            letter: frozenset(blocks.block[rows_of(blocks, modes, letter)].tolist()) for letter in (*XYZ, *IJK, "R")
        }
        moving = named["X"] | named["Y"] | named["Z"]
        for block in sorted(moving | set(np.flatnonzero(~drills).tolist())):
            if not drills[block]:
                self._run = (0, 0)
            elif block not in modes.apart:
                self._step(blocks, modes, block, named)

    def _step(self, blocks: Blocks, modes: Modes, block: int, named: dict[str, frozenset[int]]) -> None:
        run = int(modes.motion[block]), int(modes.normal[block])
        if run != self._run:
            self._run, self._named = run, {}
        cycle, normal = run
        incremental = bool(modes.incremental[block])
        for letter in ("R", XYZ[normal], *([IJK[normal]] if cycle == G.BACK_BORING else [])):
            if block in named[letter]:
                self._named[letter] = incremental
            elif self._moved[normal] and self._named.get(letter, incremental) != incremental:
                one, other = "a position (G90)", "an increment (G91)"
                here, there = (other, one) if incremental else (one, other)
                message = (
                    f"G{cycle // 10} takes {letter} from a block before it: named as {there}, and {here} here; a shift "
                    f"along {XYZ[normal]} changes one of the two; name {letter} in this block"
                )
                raise blocks.refusal(message, row=int(np.searchsorted(blocks.block, block)))
