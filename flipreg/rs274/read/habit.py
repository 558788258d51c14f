"""Habits: what people's programs have that the report does not, wherever it means one thing.

One table says what each habit is, how it is read and what to do where a program is held to the report. Whoever reads a
habit notes its block; what was noted goes with the blocks, as findings of the checks, as notes of new programs, or as
the error of a program that is read strictly.
"""

from enum import Enum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["WHOLE_LINE", "Habit", "Noticed", "Notices"]

Index = NDArray[np.int64]

WHOLE_LINE = -1
"""The `start` of a habit that is about no word of its line."""

_NONE = np.empty(0, np.int64)
_NOWHERE = np.iinfo(np.int64).max


class _Row(NamedTuple):
    """A row of the table.

    Attributes
    ----------
    found : str
        What a program has.
    read : str
        How it is read.
    instead : str
        What to do where a program is held to the report; empty where the report allows it.
    is_said : bool
        Whether a person is told of it.
    wrong : str
        What is wrong with it where a program is held to the report; empty where that is `found`.
    """

    found: str
    read: str
    instead: str
    is_said: bool
    wrong: str


def _said(found: str, read: str, instead: str, *, wrong: str = "") -> _Row:
    return _Row(found, read, instead, is_said=True, wrong=wrong)


def _quiet(found: str, read: str, instead: str, *, wrong: str = "") -> _Row:
    return _Row(found, read, instead, is_said=False, wrong=wrong)


_RADII = "arc radii that differ by more than NISTIR 6556 allows, which is 0.002 mm, or 0.0002 in in a program in inches"


class Habit(Enum):
    """The table of habits; those that say nothing of motions or modes are not said."""

    REMARK = _quiet("a comment from ; to the line's end", "a comment", "write it in ( )")
    MOTION_IN_REMARK = _said(
        "a motion after ; on a line that has words before it",
        "a comment: what stands after ; is not run",
        "write it on a line of its own, or in ( )",
    )
    NESTED_COMMENT = _quiet("brackets inside a comment", "part of the comment", "take the inner ones out")
    OPEN_COMMENT = _said("a comment that is not closed", "a comment up to the end of its line", "write the missing )")
    PROGRAM_NUMBER = _quiet("a program number (O) on a line of its own", "kept, not interpreted", "take it out")
    PROGRAM_NAME = _said("a program name after O that is no number", "kept, not interpreted", "take it out")
    PROGRAM_MARK = _quiet("a program mark after the first %", "kept, not interpreted", "leave % alone")
    LONG_LINE = _quiet("more than 256 characters on a line", "read", "write shorter lines")
    BYTE_ORDER_MARK = _quiet("a byte-order mark", "kept", "save the program without it")
    END_BYTES = _said("zero bytes or Ctrl-Z at the end of the file", "the end of the file; kept", "take them out")
    ODD_BLANK = _said("a no-break space", "a blank", "write a plain blank")
    OPEN_PERCENT = _said(
        "a % at the beginning and none at the end",
        "the program goes on to the end of the file",
        "end it with a %",
    )
    CLOSING_PERCENT = _said(
        "a % at the end and none at the beginning",
        "the end of the program",
        "begin with a % or take it out",
    )
    MORE_PERCENTS = _said(
        "more lines of % than two",
        "those before the first word open the program, and the next one ends it",
        "keep two",
    )
    UNREAD_TEXT = _said("text after the closing %", "kept as it is, never read", "")
    LONG_LINE_NUMBER = _said(
        "a line number of more than five digits",
        "a line number",
        "number with five digits, or not at all",
    )
    LATE_SLASH = _said(
        "block delete (/) after the line number",
        "the line can be left out by the switch",
        "write / first",
    )
    SAID_TWICE = _quiet("a word or code twice in one block with one value", "once", "write it once")
    ARC_CENTRES = _quiet("G90.1 or G91.1", "arc centres as positions, as offsets", "write offsets")
    SUBPROGRAM = _quiet("M98 and M99", "a subprogram in the same file, and the way back", "write it out")
    PATH_WORDS = _said(
        "P, Q, L, R, I, J or K beside G61, G61.1 or G64",
        "kept as they are written, a length among them too",
        "take them out",
    )
    MODE_ALONE = _said("a motion code without axis words", "sets the mode, and makes no motion", "take the code out")
    CANCEL_BESIDE_MOTION = _said(
        "G80 beside another motion code",
        "G80 ends a cycle; a motion beside it is made, and without one no motion stays in force",
        "write two blocks",
    )
    HOME_BESIDE_TRAVERSE = _said("G28 or G30 beside G0", "the way home, and G0 stays in force", "take G0 out")
    LATER_OF_TWO = _said(
        "two codes for cutter compensation, length offset, cycle return or path control in a block",
        "the later one holds",
        "keep the later one",
    )
    BOTH_COOLANTS = _said("M7 and M8 in one block", "both", "write two blocks")
    MANY_M_CODES = _said("more than four M codes in one block", "all of them", "write two blocks")
    UNUSED_CANCEL = _said(
        "a cancel of what was never set, such as G15, G50 or G69",
        "kept, does nothing",
        "take it out",
    )
    IDLE_WORDS = _said(
        "I, J, K or R beside a straight move or no motion",
        "kept as they are written, do nothing; a machine that rounds corners by them does more",
        "take them out",
    )
    CANCELLED_NUMBER = _said(
        "H beside G49, or D beside G40",
        "kept as it is written, does nothing",
        "take it out",
    )
    WHOLE_CIRCLE = _said("an arc with a centre and without an end in its plane", "a full circle", "write the end")
    ROUNDED_RADII = _quiet(
        "arc radii that differ by what the words' decimals round",
        "an arc from its start to its end",
        "write more decimals",
        wrong=_RADII,
    )
    UNEQUAL_RADII = _said(
        "arc radii that differ by more than the report allows, up to 0.0127 mm or 0.0005 in",
        "an arc from its start to its end, its radius changing on the way",
        "write the centre again",
        wrong=_RADII,
    )
    DWELL_BY_X = _said("G4 with X", "a dwell of so many seconds, no motion", "write P")
    OWN_LENGTH = _said(
        "G43 without H",
        "the length of the tool in the spindle: Z is unknown until it is named",
        "write H",
    )
    PARKED_BESIDE_THE_CUTTER = _said(
        "a machine position under cutter compensation that ends in the next block",
        "the machine goes there, and the compensation has ended after the next block",
        "write G40 before it",
        wrong="a machine position while cutter compensation is on, which NISTIR 6556 forbids (appendix B.5)",
    )
    PASSIVE_CODE = _said("a code that was named as one that moves nothing", "kept, does nothing", "take it out")

    @property
    def code(self) -> str:
        """Its name in reports."""
        return self.name.lower().replace("_", "-")

    @property
    def sentence(self) -> str:
        """What was found and how it was read."""
        return f"{self.value.found}: {self.value.read}"

    @property
    def complaint(self) -> str:
        """What is wrong with it where a program is held to the report, and what to do."""
        wrong = self.value.wrong or f"{self.value.found}, which NISTIR 6556 does not have"
        return f"{wrong}; {self.value.instead}"


class Noticed(NamedTuple):
    """A habit, and where a chunk has it.

    Attributes
    ----------
    habit : Habit
    line : int64, shape (k,)
        The lines of the file, ascending.
    start : int64, shape (k,)
        In each of them, where the word begins that the habit is about: an offset in the chunk's text, or -1 where it
        is the whole line.
    """

    habit: Habit
    line: Index
    start: Index


class Notices:
    """What was noticed in one chunk, whose first block is the named line."""

    def __init__(self, first_line: int) -> None:
        self.first_line = first_line
        self._found: dict[Habit, tuple[Index, Index]] = {}

    def add(self, habit: Habit, block: "Index | list[int]", start: "Index | list[int] | None" = None) -> None:
        """Note a habit in blocks of the chunk; one that is named twice counts once, at the word that comes first.

        Parameters
        ----------
        habit : Habit
        block : int64, shape (k,)
        start : int64, shape (k,), optional
            Where the word begins that it is about, in the chunk's text; without it, it is the whole line.
        """
        if not len(block):
            return
        blocks, starts = self._found.get(habit, (_NONE, _NONE))
        blocks = np.concatenate([blocks, block])
        starts = np.concatenate([starts, np.full(len(block), WHOLE_LINE) if start is None else start])
        if not (np.diff(blocks) > 0).all():
            # Blocks are small numbers: a column of them all is many times faster than sorting.
            first = np.full(int(blocks.max()) + 1, _NOWHERE)
            for each in (slice(len(blocks) - len(block)), slice(len(blocks) - len(block), None)):
                # Of a block that is named twice at once, the first place is written last.
                named, places = blocks[each][::-1], starts[each][::-1]
                first[named] = np.minimum(first[named], places)
            blocks = np.flatnonzero(first < _NOWHERE)
            starts = first[blocks]
        self._found[habit] = blocks, starts

    def blocks_of(self, habit: Habit) -> Index:
        """Return the blocks that have a habit, ascending."""
        return self._found.get(habit, (_NONE, _NONE))[0]

    def found(self) -> tuple[Noticed, ...]:
        """Return all of it."""
        return tuple(
            Noticed(habit, block + self.first_line, start) for habit, (block, start) in self._found.items()
        )
