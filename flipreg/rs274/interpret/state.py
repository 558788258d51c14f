"""What an interpreter knows between two blocks, and the modes of the blocks as columns."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from enum import Enum
from math import nan
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.code_numbers import G
from flipreg.rs274.interpret.frame import Frame, Point
from flipreg.rs274.read.dialect import USUAL, Dialect
from flipreg.rs274.read.habit import Noticed

__all__ = ["NO_MOTION", "UNKNOWN_LENGTH", "Apart", "BlockDelete", "CycleWords", "Modes", "State"]

NO_MOTION = G.NO_MOTION
"""Motion mode without motion: G80, and the mode before the first G0, G1, G2 or G3."""


class BlockDelete(Enum):
    """The machine's block-delete switch: whether lines that start with `/` are left out."""

    OFF = "off"
    """They are executed."""
    ON = "on"
    """They are left out."""


class Apart(NamedTuple):
    """A block whose axis words are not the end of a motion in program coordinates, or not that alone.

    Attributes
    ----------
    code : int
        Ten times the G code: 100 for G10, 280 and 300 for the way home, 530 for machine coordinates, 920 for an
        axis offset.
    numbers_mm : three floats
        The point's numbers after the block, NaN where they are not known.
    """

    code: int
    numbers_mm: Point


UNKNOWN_LENGTH = -1
"""The tool length offset before the first G43 or G49: what the machine has in force then is not in the program."""


class CycleWords(NamedTuple):
    """Numbers that hold for a run of one canned cycle (NISTIR 6556, 3.5.16).

    They are numbers, not positions: a later block reads them in the distance mode then in force.

    Attributes
    ----------
    cycle : int
        Ten times the code, 810 to 890.
    normal : int
        The axis of the hole: 2 for Z, 1 for Y, 0 for X.
    retract_mm, depth_mm : float
        The R word and the depth word.
    peck_mm, dwell_s : float
        The Q word and the P word; NaN where the cycle has none.
    offset_mm : tuple of three floats
        The I, J and K words; NaN where the cycle has none.
    """

    cycle: int
    normal: int
    retract_mm: float
    depth_mm: float
    peck_mm: float = nan
    dwell_s: float = nan
    offset_mm: tuple[float, float, float] = (nan, nan, nan)


class State(NamedTuple):
    """All that is carried from one block to the next; `State()` is the state before the first block.

    Codes are ten times the number of the G code (G59.1 is 591). NISTIR 6556 prints no table of defaults;
    these are the ones of 3.6.1 and of common practice: G17 G21 G40 G49 G54 G80 G90 G91.1 G94 G98.

    Attributes
    ----------
    motion : int
        G0 to G3 (0 to 30), a canned cycle (810 to 890) or `NO_MOTION`.
    normal : int
        The plane by its normal: 2 for G17, 1 for G18, 0 for G19.
    incremental, absolute_centres, inch, inverse_time, initial_level : bool
        G91; G90.1; G20; G93; G98.
    cutter : int
        400, 410 or 420.
    work_offset : int
        1 for G54 to 9 for G59.3.
    length_offset : int
        The H word of the G43 in force, 0 for G49, `UNKNOWN_LENGTH` before the first of them; less than that for a G43
        without H, for each another.
    position_mm : tuple of three floats
        The controlled point, in the numbers that held before any G92; NaN while a coordinate is not known.
    frame : Frame
        How numbers lie to positions, and which coordinates are unknown for which reason.
    block_delete : BlockDelete
        The switch; it stays as it is.
    assumed_zero : tuple of three bools
        Axes whose first use was an increment or a canned cycle's depth: the unknown coordinate they started
        from was taken as program zero.
    feed_mm_per_min, speed_rpm : float
        The last F and S; NaN before the first F, 0 before the first S.
    turning : int
        1 for M3, -1 for M4, 0 for M5.
    tool_selected, tool : int
        The last T, and the T that the last M6 put into the spindle; -1 where none was named.
    cycle : CycleWords or None
        The run of a canned cycle that is under way.
    units_stated, distance_mode_stated : bool
        Whether the program has said G20 or G21, G90 or G91.
    parameters : mapping from int to float
        The parameters that the program has set.
    runs_calls : bool
        Whether somebody runs the subprograms that M98 calls; without that a call is refused.
    ended : bool
        M2 or M30 was executed: no later block is.
    parked_line : int
        The line of the last block if it went to a machine position under cutter compensation, else 0.
    dialect : Dialect
        What somebody says of the language; it stays as it is.
    """

    motion: int = NO_MOTION
    normal: int = 2
    incremental: bool = False
    absolute_centres: bool = False
    inch: bool = False
    inverse_time: bool = False
    initial_level: bool = True
    cutter: int = G.CUTTER_OFF
    work_offset: int = 1
    length_offset: int = UNKNOWN_LENGTH
    position_mm: tuple[float, float, float] = (nan, nan, nan)
    frame: Frame = Frame()
    block_delete: BlockDelete = BlockDelete.OFF
    assumed_zero: tuple[bool, bool, bool] = (False, False, False)
    feed_mm_per_min: float = nan
    speed_rpm: float = 0.0
    turning: int = 0
    tool_selected: int = -1
    tool: int = -1
    cycle: CycleWords | None = None
    units_stated: bool = False
    distance_mode_stated: bool = False
    parameters: Mapping[int, float] = {}
    runs_calls: bool = False
    ended: bool = False
    parked_line: int = 0
    dialect: Dialect = USUAL


@dataclass(frozen=True, eq=False, slots=True)
class Modes:
    """How the words of each block of a chunk are to be read, one row a block, as read-only columns.

    A column that doesn't change in the chunk may be one number seen many times (a broadcast view).

    Attributes
    ----------
    motion : int16, shape (b,)
        Ten times the motion code in force for the block's axis words, 800 where there is none.
    normal : uint8, shape (b,)
        2 for G17, 1 for G18, 0 for G19.
    incremental, absolute_centres, inch, inverse_time, initial_level : bool, shape (b,)
        G91; G90.1; G20; G93; G98.
    cutter : int16, shape (b,)
        400, 410 or 420.
    work_offset : uint8, shape (b,)
        1 for G54 to 9 for G59.3.
    length_offset : int32, shape (b,)
        As in `State`.
    executes : bool, shape (b,)
        False after the end of the program, and for deleted blocks: such blocks are kept, not executed.
    values : float64, shape (n,)
        The value of each word of the chunk, as written, without units; NaN for expressions after the end, and for
        all words of deleted blocks.
    origin_mm : float64, shape (b, 3) or (1, 3)
        What G92 adds to the numbers of each block's motion: position = number + origin. One row where it is the
        same for all blocks.
    apart : mapping from block to Apart
        The blocks with G10, G28, G30, G53 and G92.
    steps_mm : mapping from block to three floats
        The blocks with an increment from a coordinate that is not known, and that increment; 0 along the axes that
        are known or not named. The end of such a motion is not known either, and its increment is all there is.
    idle : int64, shape (k,)
        The axis words, centres and radii that are no lengths of a motion, as 128 * block + letter, ascending: words
        beside path control, the seconds of G4 X1.
    habits : tuple of Noticed
        What the executed blocks have that the report does not; see `Blocks.habits` for what lines have.
    """

    motion: NDArray[np.int16]
    normal: NDArray[np.uint8]
    incremental: NDArray[np.bool_]
    absolute_centres: NDArray[np.bool_]
    inch: NDArray[np.bool_]
    inverse_time: NDArray[np.bool_]
    initial_level: NDArray[np.bool_]
    cutter: NDArray[np.int16]
    work_offset: NDArray[np.uint8]
    length_offset: NDArray[np.int32]
    executes: NDArray[np.bool_]
    values: NDArray[np.float64]
    origin_mm: NDArray[np.float64]
    apart: Mapping[int, Apart] = field(default_factory=dict)
    steps_mm: Mapping[int, Point] = field(default_factory=dict)
    idle: NDArray[np.int64] = field(default_factory=lambda: np.empty(0, np.int64))
    habits: tuple[Noticed, ...] = ()

    def __post_init__(self) -> None:
        for column in fields(self):
            if column.name not in ("apart", "steps_mm", "habits"):
                getattr(self, column.name).flags.writeable = False

    def __len__(self) -> int:
        return len(self.motion)

    def origins(self, block: NDArray[np.int64]) -> NDArray[np.float64]:
        """Return what G92 adds to the numbers of the named blocks, in a shape that broadcasts to (k, 3)."""
        return self.origin_mm if len(self.origin_mm) == 1 else self.origin_mm[block]

    def is_idle(self, block: NDArray[np.int64], letter: NDArray[np.uint8]) -> NDArray[np.bool_]:
        """Return which words, by their blocks and letters, are no lengths of a motion."""
        word = block * 128 + letter
        if not len(self.idle):
            return np.zeros(len(word), np.bool_)
        at = np.searchsorted(self.idle, word)
        found: NDArray[np.bool_] = self.idle[np.minimum(at, len(self.idle) - 1)] == word
        return found
