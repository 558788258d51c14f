"""Machine positions in a program that is moved: kept where they are safe retracts, refused where they are not.

G53 moves, the way home of G28 and G30, and the origins of G10 L2 are in the machine's coordinates: they stay where
they are when the blank or its program moves. A retract along Z is as safe as it was, whatever is done in XY. A machine
position in X or Y is nowhere that could be worked out, so that it is for a person to say what is meant.
"""

import numpy as np

from flipreg.geometry.isometry import Isometry
from flipreg.rewrite.rows import XYZ
from flipreg.rs274.interpret.codes import code_name
from flipreg.rs274.interpret.state import Modes
from flipreg.rs274.read.blocks import Blocks

__all__ = ["kept_machine_blocks"]

_DATA, _LABEL, _MACHINE = 100, 920, 530


def kept_machine_blocks(blocks: Blocks, modes: Modes, isometry: Isometry) -> list[int]:
    """Return the blocks of a chunk whose machine positions stay as they are, ascending.

    Raises
    ------
    RefusedError
        At a machine position along an axis that the isometry moves.
    """
    kept = []
    changes_xy = not _is_plain(isometry) or bool(isometry.dx_mm) or bool(isometry.dy_mm)
    for block, apart in sorted(modes.apart.items()):
        if apart.code == _LABEL:
            continue
        name = code_name(apart.code)
        row = _code_row(blocks, modes, block, apart.code)
        letters = _axis_letters(blocks, block)
        goes_everywhere = not letters and apart.code != _DATA
        if changes_xy and (goes_everywhere or "X" in letters or "Y" in letters):
            raise blocks.refusal(_refusal(name, letters, apart.code), row=row)
        if apart.code == _DATA and "Z" in letters and isometry.dz_mm:
            message = f"{name} sets the zero along Z, which would take the shift along Z back; leave Z out of it"
            raise blocks.refusal(message, row=row)
        kept.append(block)
    return kept


def _is_plain(isometry: Isometry) -> bool:
    return isometry.keeps_axes and isometry.xx == isometry.yy == 1.0


def _refusal(name: str, letters: str, code: int) -> str:
    if code == _DATA:
        return (
            f"{name} sets a zero in machine coordinates, and where that of the new program lies is not in the "
            "program; set the work offset at the machine and take the block out"
        )
    where = f"in {' and '.join(letter for letter in letters if letter in 'XY')}" if letters else "along all axes"
    return (
        f"{name} goes to a machine position {where}, which does not move with the program; write the move in program "
        f"coordinates, or name Z only, or take it out"
    )


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
