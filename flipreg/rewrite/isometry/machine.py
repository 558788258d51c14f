"""Machine positions in a program that is moved: they belong to the machine, and stay.

G53 moves and the way home of G28 and G30 are in the machine's coordinates and do not move with the blank. Where they
park the tool they stay as they are, and the point on the way home is one of the program and moves with it. What would
cut at such a place, or from it, is nowhere that could be worked out: it is for a person to say what is meant.
"""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from flipreg.rewrite.text.rows import XYZ
from flipreg.rs274.code_numbers import HOMES, G
from flipreg.rs274.interpret.code_columns import code_name
from flipreg.rs274.interpret.state import Modes
from flipreg.rs274.read.blocks import Blocks

__all__ = ["Parked", "kept_machine_blocks", "moved_axes", "still_homes"]

Index = NDArray[np.int64]


def moved_axes(isometries: Iterable[Isometry]) -> tuple[bool, bool]:
    """Return whether isometries change X, and whether they change Y."""
    found = [False, False]
    for isometry in isometries:
        if not isometry.keeps_axes:
            return True, True
        found[0] |= isometry.xx != 1.0 or bool(isometry.dx_mm)
        found[1] |= isometry.yy != 1.0 or bool(isometry.dy_mm)
    return found[0], found[1]


def kept_machine_blocks(blocks: Blocks, modes: Modes, isometry: Isometry) -> list[int]:
    """Return the blocks of a chunk whose machine positions stay as they are, ascending.

    Raises
    ------
    RefusedError
        At a zero or a feed in machine coordinates along an axis that the isometry moves, and at a way to one of X and Y
        only where the isometry couples them.
    """
    kept = []
    moved = [letter for letter, moves in zip("XY", moved_axes([isometry]), strict=True) if moves]
    for block, apart in sorted(modes.apart.items()):
        if apart.code == G.AXIS_OFFSET:
            continue
        name = code_name(apart.code)
        row = _code_row(blocks, modes, block, apart.code)
        letters = _axis_letters(blocks, block)
        across = [letter for letter in moved if letter in letters]
        if apart.code == G.DATA:
            if across:
                message = (
                    f"{name} sets a zero in machine coordinates, and where that of the new program lies is not in the "
                    "program; set the work offset at the machine and take the block out"
                )
                raise blocks.refusal(message, row=row)
            if "Z" in letters and isometry.dz_mm:
                message = f"{name} sets the zero along Z, which would take the shift along Z back; leave Z out of it"
                raise blocks.refusal(message, row=row)
        elif across and apart.code == G.MACHINE and int(modes.motion[block]) == G.LINE:
            message = (
                f"{name} feeds to a machine position in {' and '.join(across)}, which does not move with the program, "
                "so that what is cut there would not either; write the cut in program coordinates, or G0 if it parks"
            )
            raise blocks.refusal(message, row=row)
        elif len(across) == 1 and not isometry.keeps_axes:
            message = (
                f"{name} goes to a machine position in {across[0]} only, and a turn couples X and Y, so that the other "
                f"would not be known after it; name both ({name} X0 Y0 where both may go), or take it out"
            )
            raise blocks.refusal(message, row=row)
        kept.append(block)
    return kept


def still_homes(blocks: Blocks, modes: Modes) -> Index:
    """Return the ways home without a point on the way: all that they name are steps of 0, and they stay as written."""
    homes = [block for block, apart in modes.apart.items() if apart.code in HOMES and modes.incremental[block]]
    still = []
    for block in sorted(homes):
        low, high = np.searchsorted(blocks.block, [block, block + 1]).tolist()
        rows = [row for row in range(low, high) if chr(blocks.letter[row]) in XYZ]
        if all(modes.values[row] == 0 for row in rows):
            still.append(block)
    return np.array(still, np.int64)


class Parked:
    """Refuses, step after step, what is cut from a machine position along an axis that is moved."""

    def __init__(self, isometries: Iterable[Isometry]) -> None:
        self._moved = moved_axes(isometries)
        # The line that parked each axis, 0 while its place is known.
        self._line = [0, 0]

    def check(self, blocks: Blocks, modes: Modes, path: Path) -> None:
        """Look at the next blocks that are executed.

        Raises
        ------
        RefusedError
            At the first feed that starts where the machine was parked.
        """
        parks = [block for block, apart in modes.apart.items() if apart.code in (*HOMES, G.MACHINE)]
        for axis in np.flatnonzero(self._moved).tolist():
            if not len(path) or (not parks and not self._line[axis]):
                continue
            unknown = np.isnan(path.end[:, axis])
            block = path.line - blocks.first_line
            here = np.where(unknown & np.isin(block, parks), path.line, 0)
            # After each motion: the line that parked the axis, carried on while the axis is not known.
            order = np.arange(1, len(path) + 1)
            place = np.maximum.accumulate(np.where(~unknown | (here > 0), order, 0))
            line = np.concatenate([[self._line[axis]], here])[place]
            before = np.concatenate([[self._line[axis]], line[:-1]])
            cuts = path.is_cut & (before > 0) & ~np.isin(block, parks)
            if cuts.any():
                first = int(cuts.argmax())
                message = (
                    f"a cut from where line {int(before[first])} left {XYZ[axis]}: a machine position, which does not "
                    f"move with the program; go to a place named in G90 with G0 first"
                )
                row = int(np.searchsorted(blocks.block, block[first]))
                raise blocks.refusal(message, row=row)
            self._line[axis] = int(line[-1])


def _axis_letters(blocks: Blocks, block: int) -> str:
    low, high = np.searchsorted(blocks.block, [block, block + 1]).tolist()
    found = {chr(letter) for letter in blocks.letter[low:high].tolist()}
    return "".join(letter for letter in XYZ if letter in found)


def _code_row(blocks: Blocks, modes: Modes, block: int, code: int) -> int:
    low, high = np.searchsorted(blocks.block, [block, block + 1]).tolist()
    for row in range(low, high):
        if blocks.letter[row] == ord("G") and round(float(modes.values[row]) * 10) == code:
            return int(row)
    return int(low)
