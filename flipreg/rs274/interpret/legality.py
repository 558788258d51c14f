"""What a block may not say, besides what its codes may not (NISTIR 6556, 3.3 to 3.5 and appendix B.5)."""

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.code_groups import AXIS_CODES, Group
from flipreg.rs274.code_numbers import CYCLES, HOMES, OFFSET_CODES, G, M
from flipreg.rs274.interpret.chunk import Chunk
from flipreg.rs274.interpret.code_columns import Codes, code_name
from flipreg.rs274.interpret.state import NO_MOTION, Modes, State
from flipreg.rs274.read.habit import Habit
from flipreg.rs274.read.location import RefusedError

__all__ = ["CallFoundError", "check_chunk"]

Flags = NDArray[np.bool_]

_WHOLE = 1e-4
"""How far from a whole number an index may be (3.3.2.1)."""

_ORIGIN, _SYSTEMS = 2, 9
_XY = 2

_PARKS = (*HOMES, G.MACHINE)
_AXIS_OFFSETS = tuple(code for code in OFFSET_CODES if code not in _PARKS)

class CallFoundError(RefusedError):
    """A subprogram where nobody runs subprograms."""


def check_chunk(chunk: Chunk, modes: Modes, state: State) -> int:
    """Hold the executed blocks of a chunk to the rules that need no positions.

    Returns
    -------
    int
        As `State.parked_line` after the chunk.

    Raises
    ------
    ProgramError
        At words that are missing, and at codes where they may not be.
    RefusedError
        At what is understood, but not interpreted yet.
    """
    motion = chunk.g.of(Group.MOTION)
    _check_non_modal(chunk, modes, chunk.g.of(Group.NON_MODAL), motion)
    if len(chunk.m) and int(chunk.m.code.max()) >= M.CALL:
        _check_calls(chunk, state)
    _check_motion_words(chunk, motion)
    _check_rotary(chunk)
    _check_indices(chunk)
    cutter = chunk.g.of(Group.CUTTER)
    parked_line = 0
    if state.cutter != G.CUTTER_OFF or bool((cutter.code != G.CUTTER_OFF).any()):
        _check_compensation(chunk, modes, state, cutter)
        parked_line = _check_parks(chunk, modes, state)
    if bool(modes.inverse_time.any()):
        _check_inverse_time(chunk, modes)
    return parked_line


def _check_non_modal(chunk: Chunk, modes: Modes, words: Codes, motion: Codes) -> None:
    """Hold the codes of the non-modal group to what they need, and to what may not stand beside them (3.4)."""
    if not len(words):
        return
    named = dict(zip(motion.block.tolist(), motion.code.tolist(), strict=True))
    homes = words.block[np.isin(words.code, HOMES)]
    chunk.note(Habit.HOME_BESIDE_TRAVERSE, motion.where((motion.code == G.RAPID) & np.isin(motion.block, homes)))
    for row, block, code in zip(words.row.tolist(), words.block.tolist(), words.code.tolist(), strict=True):
        beside = named.get(block, NO_MOTION)
        if code in AXIS_CODES and beside != NO_MOTION and not (code in HOMES and beside == G.RAPID):
            message = f"{code_name(code)} beside {code_name(beside)}: both use the axis words; write two blocks"
            raise chunk.blocks.error(message, row=row)
        if code == G.DATA:
            _check_data(chunk, row, block)
        elif code == G.AXIS_OFFSET and not _names_axis(chunk, block):
            raise chunk.blocks.error("G92 without an axis word, expected the numbers that the point gets", row=row)
        elif code == G.MACHINE:
            _check_machine(chunk, modes, row, block)


def _check_data(chunk: Chunk, row: int, block: int) -> None:
    kind, system = chunk.words["L"], chunk.words["P"]
    if kind.row_in(block) < 0 or abs(kind.dense(chunk.size)[block] - _ORIGIN) > _WHOLE:
        message = "G10 without L2, the only kind of data in NISTIR 6556; expected G10 L2 P1 X..."
        raise chunk.blocks.error(message, row=row)
    at = system.row_in(block)
    number = system.dense(chunk.size)[block]
    if at < 0 or abs(number - np.rint(number)) > _WHOLE or not 1 <= np.rint(number) <= _SYSTEMS:
        found = "no P word" if at < 0 else chunk.blocks.spelling(at)
        message = f"{found}, expected the number of a work offset, P1 for G54 to P9 for G59.3"
        raise chunk.blocks.error(message, row=row if at < 0 else at)


def _check_machine(chunk: Chunk, modes: Modes, row: int, block: int) -> None:
    if not _names_axis(chunk, block):
        raise chunk.blocks.error("G53 without an axis word; expected X, Y or Z in the same block", row=row)
    if int(modes.motion[block]) not in (0, 10):
        raise chunk.blocks.error("G53 without G0 or G1 in force; write G53 G0 or G53 G1", row=row)
    if modes.incremental[block]:
        message = "G53 under G91: NISTIR 6556 does not say what that is; write G90 in the block"
        raise chunk.blocks.refusal(message, row=row)


def _names_axis(chunk: Chunk, block: int) -> bool:
    return any(chunk.words[letter].row_in(block) >= 0 for letter in "XYZABC")


def _check_calls(chunk: Chunk, state: State) -> None:
    """Hold calls of subprograms to what they need."""
    for row, block, code in zip(chunk.m.row.tolist(), chunk.m.block.tolist(), chunk.m.code.tolist(), strict=True):
        if code in (M.CALL, M.RETURN) and not state.runs_calls:
            message = "a subprogram, and this command takes programs without; write its blocks in place of its call"
            refusal = chunk.blocks.refusal(message, row=row)
            raise CallFoundError(refusal.message, refusal.location, refusal.excerpt)
        if code == M.CALL:
            number = chunk.words["P"].dense(chunk.size)[block]
            if not number > 0 or number != np.rint(number):
                raise chunk.blocks.error("M98 without a whole P, expected the O number of a subprogram", row=row)
            repeats = chunk.words["L"].dense(chunk.size)[block]
            if repeats == repeats and (repeats < 1 or repeats != np.rint(repeats)):
                at = chunk.words["L"].row_in(block)
                message = f"{chunk.blocks.spelling(at)} repeats, expected a whole number of 1 or more"
                raise chunk.blocks.error(message, row=at)
        elif code == M.RETURN and chunk.words["P"].row_in(block) >= 0:
            message = "M99 with P goes on at another line, which is not interpreted; write the way back without P"
            raise chunk.blocks.refusal(message, row=row)


def _check_motion_words(chunk: Chunk, motion: Codes) -> None:
    """Note motion codes that only set the mode; cycles and probing need their axis words."""
    bare = ~chunk.moving[motion.block] & (motion.code != NO_MOTION)
    if not bare.any():
        return
    modes = bare & (motion.code <= G.COUNTER_CLOCKWISE)
    home = chunk.notices.blocks_of(Habit.HOME_BESIDE_TRAVERSE)
    chunk.note(Habit.MODE_ALONE, motion.where(modes & ~np.isin(motion.block, home)))
    for word in np.flatnonzero(bare & ~modes).tolist():
        if any(chunk.words[letter].row_in(int(motion.block[word])) >= 0 for letter in "ABC"):
            continue
        name = code_name(int(motion.code[word]))
        message = f"{name} without an axis word; expected X, Y or Z in the same block, or leave {name} out"
        raise chunk.blocks.error(message, row=int(motion.row[word]))


def _check_rotary(chunk: Chunk) -> None:
    for letter in "ABC":
        words = chunk.words[letter]
        turning = np.flatnonzero(words.value != 0)
        if turning.size:
            row = int(words.row[turning[0]])
            message = (
                f"a rotary axis that moves ({chunk.blocks.spelling(row)}): what X, Y and Z cut depends on where it "
                "lies on the machine; write the program for three axes"
            )
            raise chunk.blocks.refusal(message, row=row)


def _check_indices(chunk: Chunk) -> None:
    """Check the words that name a place in the tool table, and the dwell."""
    for letter in "DH":
        words = chunk.words[letter]
        wrong = np.flatnonzero((words.value < 0) | (np.abs(words.value - np.rint(words.value)) > _WHOLE))
        if wrong.size:
            row = int(words.row[wrong[0]])
            message = f"{chunk.blocks.spelling(row)}, expected the number of a tool, a whole number of 0 or more"
            raise chunk.blocks.error(message, row=row)
    dwell = chunk.words["P"]
    negative = np.flatnonzero(dwell.value < 0)
    if negative.size:
        row = int(dwell.row[negative[0]])
        raise chunk.blocks.error(f"{chunk.blocks.spelling(row)}, expected a dwell of 0 s or more", row=row)
    length = chunk.g.of(Group.LENGTH)
    by_table = chunk.words["H"].named(chunk.size)
    chunk.note(Habit.OWN_LENGTH, length.where((length.code == G.LENGTH_ON) & ~by_table[length.block]))


def _check_compensation(chunk: Chunk, modes: Modes, state: State, cutter: Codes) -> None:
    """Hold to appendix B.5: what may not be done while cutter radius compensation is on."""
    before = np.concatenate([[np.int16(state.cutter)], cutter.code])[:-1]
    again = np.flatnonzero((cutter.code != G.CUTTER_OFF) & (before != G.CUTTER_OFF))
    if again.size:
        row = int(cutter.row[again[0]])
        message = f"{chunk.blocks.spelling(row)} while cutter compensation is on; write G40 before it"
        raise chunk.blocks.error(message, row=row)
    on = modes.cutter != G.CUTTER_OFF
    was_on = np.concatenate([[state.cutter != G.CUTTER_OFF], on[:-1]])
    cases = (
        ((on | was_on) & (modes.normal != _XY), "a plane other than G17", (180, 190, 410, 420)),
        (was_on & _changes(modes.inch, state.inch), "other length units", (200, 210)),
        (on & _changes(modes.work_offset, state.work_offset), "another coordinate system", tuple(range(540, 600))),
        (on & chunk.moving & (modes.motion > NO_MOTION), "a canned cycle", CYCLES),
        (on & chunk.moving & (modes.motion == G.PROBE), "probing", (G.PROBE,)),
        (on & _has_code(chunk, _AXIS_OFFSETS), "an axis offset", _AXIS_OFFSETS),
    )
    for wrong, what, codes in cases:
        if wrong.any():
            block = int(wrong.argmax())
            message = f"{what} while cutter compensation is on; write G40 before it"
            words = chunk.g.where((chunk.g.block == block) & np.isin(chunk.g.code, codes))
            row = int(words.row[-1]) if len(words) else chunk.words.first_row(block, "GXYZ")
            raise chunk.blocks.error(message, row=row)


def _check_parks(chunk: Chunk, modes: Modes, state: State) -> int:
    """Let the machine be parked where compensation ends in the next block; see `check_chunk`."""
    on = modes.cutter != G.CUTTER_OFF
    parks = np.flatnonzero(on & _has_code(chunk, _PARKS))
    if not parks.size and not state.parked_line:
        return 0
    words = chunk.blocks
    says = np.unique(words.block[(words.letter != ord("N")) & (words.block < chunk.size)])
    line = words.first_line
    if state.parked_line and says.size and on[says[0]]:
        message = f"G40 expected here: line {state.parked_line} went to a machine position under cutter compensation"
        raise words.error(message, row=chunk.words.first_row(int(says[0]), "GXYZ"))
    after = np.searchsorted(says, parks, side="right")
    known = after < len(says)
    wrong = parks[known][on[says[after[known]]]]
    if wrong.size:
        message = "a move to a machine position while cutter compensation is on; write G40 before it"
        code = chunk.g.where((chunk.g.block == wrong[0]) & np.isin(chunk.g.code, _PARKS))
        raise words.error(message, row=int(code.row[-1]))
    codes = chunk.g.where(np.isin(chunk.g.code, _PARKS))
    chunk.note(Habit.PARKED_BESIDE_THE_CUTTER, codes.where(np.isin(codes.block, parks)))
    if not known.all():
        return line + int(parks[-1])
    return 0 if says.size else state.parked_line


def _has_code(chunk: Chunk, codes: tuple[int, ...]) -> Flags:
    found = np.zeros(chunk.size, np.bool_)
    found[chunk.g.where(np.isin(chunk.g.code, codes)).block] = True
    return found


def _changes(column: NDArray[np.bool_] | NDArray[np.uint8], first: bool | int) -> Flags:  # noqa: FBT001
    return np.asarray(column != np.concatenate([[column.dtype.type(first)], column[:-1]]))


def _check_inverse_time(chunk: Chunk, modes: Modes) -> None:
    feeding = chunk.moving & modes.inverse_time & (modes.motion > 0) & (modes.motion != NO_MOTION)
    probing = feeding & (modes.motion == G.PROBE)
    if probing.any():
        message = "probing with inverse time feed; write G94 before it"
        raise chunk.blocks.error(message, row=chunk.words.first_row(int(probing.argmax()), "GXYZ"))
    cycles = feeding & (modes.motion > NO_MOTION)
    if cycles.any():
        message = "a canned cycle with inverse time feed; write G94 before it"
        raise chunk.blocks.error(message, row=chunk.words.first_row(int(cycles.argmax()), "GXYZ"))
    bare = feeding & ~chunk.words["F"].named(chunk.size)
    if bare.any():
        message = "a feed move without F, which every G1, G2 and G3 block needs under G93; write F, or G94 before it"
        raise chunk.blocks.error(message, row=chunk.words.first_row(int(bare.argmax()), "GXYZ"))
