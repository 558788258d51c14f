"""G and M codes: their modal groups, and which may stand together in one block (NISTIR 6556, 3.3.5, 3.4).

G codes are handled as ten times their number, so that G59.1 is 591. A repeated code (`M6 M6`) is a widespread
habit and harmless: it counts once.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.read.blocks import Blocks

__all__ = [
    "APART_CODES",
    "AXIS_CODES",
    "CALL",
    "RETURN",
    "WORK_OFFSETS",
    "Codes",
    "Group",
    "code_name",
    "g_codes",
    "m_codes",
]

Index = NDArray[np.int64]
Floats = NDArray[np.float64]


class Group:
    """Numbers of the modal groups of G codes, after table 4 of the report."""

    NON_MODAL = 0
    MOTION = 1
    PLANE = 2
    DISTANCE = 3
    FEED_MODE = 5
    UNITS = 6
    CUTTER = 7
    LENGTH = 8
    RETURN = 10
    COORDINATES = 12
    PATH_CONTROL = 13
    ARC_CENTRES = 14
    """Not in the report: G90.1 and G91.1, a widespread habit."""


_G_GROUPS: dict[int, tuple[int, ...]] = {
    Group.NON_MODAL: (40, 100, 280, 300, 530, 920, 921, 922, 923),
    Group.MOTION: (0, 10, 20, 30, 382, *range(800, 900, 10)),
    Group.PLANE: (170, 180, 190),
    Group.DISTANCE: (900, 910),
    Group.FEED_MODE: (930, 940),
    Group.UNITS: (200, 210),
    Group.CUTTER: (400, 410, 420),
    Group.LENGTH: (430, 490),
    Group.RETURN: (980, 990),
    Group.COORDINATES: (540, 550, 560, 570, 580, 590, 591, 592, 593),
    Group.PATH_CONTROL: (610, 611, 640),
    Group.ARC_CENTRES: (901, 911),
}

_M_GROUPS: dict[int, tuple[int, ...]] = {
    4: (0, 1, 2, 30, 60),
    6: (6,),
    7: (3, 4, 5),
    8: (7, 8, 9),
    9: (48, 49),
    10: (98, 99),  # not in the report: calls of subprograms and the way back, a widespread habit
}

AXIS_CODES = frozenset({100, 280, 300, 920})
"""Codes of the non-modal group that use axis words; no motion may be named beside them (3.4)."""

APART_CODES = AXIS_CODES | {530}
"""Codes that make the axis words of their block something else than the end of a motion in program numbers."""

WORK_OFFSETS = ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3")
"""Names of the nine work offsets, which are numbered from 1."""

CALL, RETURN = 98, 99
"""M codes of subprograms."""

_INTEGER = 1e-4
"""How far from a whole number a code may be (3.3.2.1); for G codes, ten times the number."""

_MOST_M_WORDS = 4

_UNKNOWN = 255


def _table(groups: dict[int, tuple[int, ...]], size: int) -> NDArray[np.uint8]:
    table = np.full(size, _UNKNOWN, np.uint8)
    for group, codes in groups.items():
        table[list(codes)] = group
    return table


_GROUP_OF_G = _table(_G_GROUPS, 1000)
_GROUP_OF_M = _table(_M_GROUPS, 100)


@dataclass(frozen=True, eq=False, slots=True)
class Codes:
    """The G words or the M words of a chunk, each code of a block once, in file order.

    Attributes
    ----------
    row : int64, shape (n,)
        The word's row in the chunk.
    block : int64, shape (n,)
        Its block.
    code : int16, shape (n,)
        Ten times the number for G words, the number for M words.
    group : uint8, shape (n,)
        The modal group.
    """

    row: Index
    block: Index
    code: NDArray[np.int16]
    group: NDArray[np.uint8]

    def __len__(self) -> int:
        return len(self.row)

    def of(self, group: int) -> "Codes":
        """Return the words of one modal group."""
        return self.where(self.group == group)

    def where(self, mask: NDArray[np.bool_]) -> "Codes":
        """Return the words of a mask."""
        if mask.all():
            return self
        keep = np.flatnonzero(mask)
        return Codes(self.row[keep], self.block[keep], self.code[keep], self.group[keep])


def code_name(code: int) -> str:
    """Return a G code as a person writes it.

    >>> code_name(591)
    'G59.1'
    """
    return f"G{code // 10}.{code % 10}" if code % 10 else f"G{code // 10}"


def g_codes(blocks: Blocks, row: Index, block: Index, value: Floats) -> Codes:
    """Return the G words of a chunk with their groups.

    Parameters
    ----------
    blocks : Blocks
        The chunk, for messages.
    row, block : int64 arrays, shape (n,)
        The G words' rows and blocks.
    value : array, shape (n,)
        The words' values.

    Raises
    ------
    ProgramError
        At a code that is not in the language, or at the second of two codes of one group in a block.
    """
    codes = _codes(blocks, row, block, value * 10, _GROUP_OF_G)
    return _each_once(blocks, codes, code_name)


def m_codes(blocks: Blocks, row: Index, block: Index, value: Floats) -> Codes:
    """Return the M words of a chunk with their groups; parameters and errors as for `g_codes`.

    More than four M words in a block are an error too.
    """
    codes = _each_once(blocks, _codes(blocks, row, block, value, _GROUP_OF_M), _m_name)
    fifth = np.flatnonzero(codes.block[_MOST_M_WORDS:] == codes.block[:-_MOST_M_WORDS])
    if fifth.size:
        found = int(codes.row[fifth[0] + _MOST_M_WORDS])
        raise blocks.error(f"a fifth M word in one block, expected at most {_MOST_M_WORDS}", row=found)
    return codes


def _codes(blocks: Blocks, row: Index, block: Index, number: Floats, table: NDArray[np.uint8]) -> Codes:
    code = np.rint(number)
    known = (code >= 0) & (code < len(table)) & (np.abs(number - code) <= _INTEGER)
    code = np.where(known, code, 0).astype(np.int16)
    group = table[code]
    wrong = np.flatnonzero(~known | (group == _UNKNOWN))
    if wrong.size:
        found = int(row[wrong[0]])
        message = f"{blocks.spelling(found)} is not a code of RS-274/NGC; expected a code of NISTIR 6556"
        raise blocks.error(message, row=found)
    return Codes(row, block, code, group)


def _each_once(blocks: Blocks, codes: Codes, name: Callable[[int], str]) -> Codes:
    """Return the codes without repeats; raise where two codes of one group stand in one block."""
    together = codes.block[1:] == codes.block[:-1]
    if not together.any():
        return codes
    first = np.flatnonzero(np.concatenate([[True], ~together]))
    bit = np.left_shift(1, codes.group.astype(np.int64))
    suspicious = np.flatnonzero(np.add.reduceat(bit, first) != np.bitwise_or.reduceat(bit, first))
    if not suspicious.size:
        return codes
    keep = np.ones(len(codes), np.bool_)
    bounds = np.append(first, len(codes))
    for segment in suspicious.tolist():
        seen: dict[int, int] = {}
        for word in range(int(bounds[segment]), int(bounds[segment + 1])):
            group, code = int(codes.group[word]), int(codes.code[word])
            keep[word] = group not in seen
            other = seen.setdefault(group, code)
            if other != code:
                message = f"{name(code)} beside {name(other)} in one block, of which only one can hold; write one"
                raise blocks.error(message, row=int(codes.row[word]))
    return codes.where(keep)


def _m_name(code: int) -> str:
    return f"M{code}"
