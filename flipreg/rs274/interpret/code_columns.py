"""G and M codes: their modal groups, and which may stand together in one block (NISTIR 6556, 3.3.5, 3.4).

Two codes of one group are read where only one reading is left: a code said twice, G80 beside the motion that follows
the cycle, the later of two that only switch something over, and both coolants.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.code_groups import AXIS_CODES, G_GROUPS, M_GROUPS, Group
from flipreg.rs274.code_numbers import G, M
from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.dialect import moves_something
from flipreg.rs274.read.habit import Habit, Notices

__all__ = [
    "CodeWords",
    "Codes",
    "code_name",
    "g_codes",
    "m_codes",
]

Index = NDArray[np.int64]
Floats = NDArray[np.float64]


_INTEGER = 1e-4
"""How far from a whole number a code may be (3.3.2.1); for G codes, ten times the number."""

_MOST_M_WORDS = 4

_COOLANT = 8

_LATER_HOLDS = frozenset({Group.CUTTER, Group.LENGTH, Group.RETURN, Group.PATH_CONTROL})
"""Groups whose codes switch something over that no other word of the block is read by, save those of the later code."""

_UNKNOWN = 255

_AXIS_LETTERS = [ord(letter) for letter in "XYZABC"]


def _table(groups: dict[int, tuple[int, ...]], size: int) -> NDArray[np.uint8]:
    table = np.full(size, _UNKNOWN, np.uint8)
    for group, codes in groups.items():
        table[list(codes)] = group
    return table


_GROUP_OF_G = _table(G_GROUPS, 1000)
_GROUP_OF_M = _table(M_GROUPS, 100)


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
        if group not in self.group.tobytes():
            return _NO_CODES
        return self.where(self.group == group)

    def where(self, mask: NDArray[np.bool_]) -> "Codes":
        """Return the words of a mask."""
        if mask.all():
            return self
        keep = np.flatnonzero(mask)
        return Codes(self.row[keep], self.block[keep], self.code[keep], self.group[keep])


_NONE = np.empty(0, np.int64)
_NO_CODES = Codes(_NONE, _NONE, np.empty(0, np.int16), np.empty(0, np.uint8))


def code_name(code: int) -> str:
    """Return a G code as a person writes it.

    >>> code_name(591)
    'G59.1'
    """
    return f"G{code // 10}.{code % 10}" if code % 10 else f"G{code // 10}"


def g_codes(words: "CodeWords") -> Codes:
    """Return the G words of a chunk with their groups.

    Raises
    ------
    ProgramError
        At a code that is not in the language, or at the second of two codes of one group in a block that mean no one
        thing.
    """
    codes = _each_once(words, _codes(words, words.value * 10, _GROUP_OF_G), code_name)
    if int(codes.group.max(initial=0)) < Group.ARC_CENTRES:
        return codes
    for group, habit in ((Group.IDLE, Habit.UNUSED_CANCEL), (Group.ARC_CENTRES, Habit.ARC_CENTRES)):
        words.note(habit, codes.where(codes.group == group))
    return codes


def m_codes(words: "CodeWords") -> Codes:
    """Return the M words of a chunk with their groups; errors as for `g_codes`."""
    codes = _each_once(words, _codes(words, words.value, _GROUP_OF_M), _m_name)
    too_many = np.zeros(len(codes), np.bool_)
    too_many[_MOST_M_WORDS:] = codes.block[_MOST_M_WORDS:] == codes.block[:-_MOST_M_WORDS]
    words.note(Habit.MANY_M_CODES, codes.where(too_many))
    if len(codes) and int(codes.code.max()) >= M.CALL:
        words.note(Habit.SUBPROGRAM, codes.where(codes.code >= M.CALL))
    return codes


class CodeWords(NamedTuple):
    """The G words or the M words of a chunk, and who is told of habits.

    Attributes
    ----------
    blocks : Blocks
        The chunk, for messages.
    row, block : int64, shape (n,)
        The words' rows and blocks.
    value : float64, shape (n,)
        Their values.
    passive : frozenset of int
        Codes that somebody says move nothing, ten times their number for G words.
    notices : Notices
        Is told of habits.
    """

    blocks: Blocks
    row: Index
    block: Index
    value: Floats
    passive: frozenset[int]
    notices: Notices

    def note(self, habit: Habit, codes: Codes) -> None:
        """Note a habit at codes."""
        self.notices.add(habit, codes.block, self.blocks.start[codes.row])


def _codes(words: CodeWords, number: Floats, table: NDArray[np.uint8]) -> Codes:
    code = np.rint(number)
    known = (code >= 0) & (code < len(table)) & (np.abs(number - code) <= _INTEGER)
    code = np.where(known, code, 0).astype(np.int16)
    group = table[code]
    wrong = ~known | (group == _UNKNOWN)
    row, block = words.row, words.block
    if wrong.any():
        passive = wrong & np.isin(np.rint(number), [*words.passive]) & (np.abs(number - np.rint(number)) <= _INTEGER)
        words.notices.add(Habit.PASSIVE_CODE, block[passive], words.blocks.start[row[passive]])
        unknown = np.flatnonzero(wrong & ~passive)
        if unknown.size:
            found = int(row[unknown[0]])
            letter = chr(words.blocks.letter[found])
            message = _unknown(letter, float(words.value[unknown[0]]), words.blocks.spelling(found))
            raise words.blocks.error(message, row=found)
        row, block, code, group = row[~passive], block[~passive], code[~passive], group[~passive]
    return Codes(row, block, code, group)


def _unknown(letter: str, number: float, spelling: str) -> str:
    """Return what is said of a code that nobody knows here."""
    found = f"{spelling} is not a code of RS-274/NGC, so that what it does is not known here"
    name = f"{letter}{np.format_float_positional(number, trim='-')}"
    scale = 10 if letter == "G" else 1
    if number < 0 or number * scale != int(number * scale) or moves_something(name):
        return f"{found}; write the program without it"
    return f"{found}; take it out or, if it moves nothing on your machine, name it with --passive {name}"


def _each_once(words: CodeWords, codes: Codes, name: Callable[[int], str]) -> Codes:
    """Return the codes without those that do not hold; raise where two of one group mean no one thing."""
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
    noticed: dict[Habit, list[int]] = {}
    for segment in suspicious.tolist():
        holds: dict[int, int] = {}
        for word in range(int(bounds[segment]), int(bounds[segment + 1])):
            group = int(codes.group[word])
            before = holds.get(group)
            if before is None or group == Group.IDLE:
                holds[group] = word
                continue
            pair = int(codes.code[before]), int(codes.code[word])
            habit, which = _of_two(group, pair, is_g=name is code_name, moves=_moves(words, codes, word))
            if habit is None:
                both = f"{name(pair[1])} beside {name(pair[0])} in one block"
                message = f"{both}, of which only one can hold; leave one out, or write two blocks"
                raise words.blocks.error(message, row=int(codes.row[word]))
            # G80 is what is told of, wherever in the block it stands.
            cancels = habit is Habit.CANCEL_BESIDE_MOTION and pair[0] == G.NO_MOTION
            noticed.setdefault(habit, []).append(before if cancels else word)
            if which is not None:
                keep[(before, word)[which]] = False
                holds[group] = (word, before)[which]
    for habit, found in noticed.items():
        words.note(habit, Codes(codes.row[found], codes.block[found], codes.code[found], codes.group[found]))
    return codes.where(keep)


def _moves(words: CodeWords, codes: Codes, word: int) -> bool:
    """Return whether the block of a code has axis words for a motion."""
    block = int(codes.block[word])
    low, high = np.searchsorted(words.blocks.block, [block, block + 1]).tolist()
    beside = codes.code[codes.block == block]
    named = np.isin(words.blocks.letter[low:high], _AXIS_LETTERS)
    return bool(named.any()) and not np.isin(beside, [*AXIS_CODES]).any()


def _of_two(
    group: int, codes: tuple[int, int], *, is_g: bool, moves: bool
) -> tuple[Habit | None, int | None]:
    """Return the habit that two codes of one group in a block are, and which of them does not hold: 0, 1 or none."""
    one, other = codes
    if one == other:
        return Habit.SAID_TWICE, 1
    if is_g and group in _LATER_HOLDS:
        return Habit.LATER_OF_TWO, 0
    if is_g and group == Group.MOTION and G.NO_MOTION in codes and min(codes) <= G.COUNTER_CLOCKWISE:
        # The motion is made; where there is none, nobody knows which of the two stays in force.
        return Habit.CANCEL_BESIDE_MOTION, 0 if (one == G.NO_MOTION) == moves else 1
    if not is_g and group == _COOLANT and {one, other} == {M.MIST, M.FLOOD}:
        return Habit.BOTH_COOLANTS, None
    return None, None


def _m_name(code: int) -> str:
    return f"M{code}"
