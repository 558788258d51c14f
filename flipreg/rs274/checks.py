"""What a block may not say, besides what its codes may not (NISTIR 6556, 3.3 to 3.5 and appendix B.5)."""

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.chunk import Chunk
from flipreg.rs274.modal import AXIS_CODES, NOT_INTERPRETED, Codes, Group, code_name
from flipreg.rs274.state import NO_MOTION, Modes, State

__all__ = ["check_chunk"]

Flags = NDArray[np.bool_]

_WHOLE = 1e-4
"""How far from a whole number an index may be (3.3.2.1)."""

_DWELL = 40
_ARCS = (20, 30)
_PROBE = 382
_OFF, _XY = 400, 2
_COMPENSATING = (410, 420)
_LENGTH_ON = 430


def check_chunk(chunk: Chunk, modes: Modes, state: State) -> None:
    """Hold the executed blocks of a chunk to the rules that need no positions.

    Raises
    ------
    ProgramError
        At words that are missing, or that no code of their block uses.
    RefusedError
        At what is understood, but not interpreted yet.
    """
    motion = chunk.g.of(Group.MOTION)
    _check_non_modal(chunk, chunk.g.of(Group.NON_MODAL), motion)
    _check_motion_words(chunk, motion)
    _check_rotary(chunk, modes)
    _check_indices(chunk)
    _check_unused(chunk, modes)
    cutter = chunk.g.of(Group.CUTTER)
    if state.cutter != _OFF or bool((cutter.code != _OFF).any()):
        _check_compensation(chunk, modes, state, cutter)
    if bool(modes.inverse_time.any()):
        _check_inverse_time(chunk, modes)


def _check_non_modal(chunk: Chunk, words: Codes, motion: Codes) -> None:
    """Refuse what is not interpreted yet, and what may not stand beside a motion (3.4)."""
    dwell = chunk.words["P"]
    named = dict(zip(motion.block.tolist(), motion.code.tolist(), strict=True)) if len(words) else {}
    for row, block, code in zip(words.row.tolist(), words.block.tolist(), words.code.tolist(), strict=True):
        if code in AXIS_CODES and named.get(block, NO_MOTION) != NO_MOTION:
            message = f"{code_name(code)} beside {code_name(named[block])}: both use the axis words; write two blocks"
            raise chunk.blocks.error(message, row=row)
        if code == _DWELL:
            at = dwell.row_in(block)
            if at < 0:
                raise chunk.blocks.error("G4 without P, expected the dwell in seconds", row=row)
        else:
            _refuse(chunk, row, code)
    for row, code in zip(motion.row.tolist(), motion.code.tolist(), strict=True) if _PROBE in motion.code else ():
        if code == _PROBE:
            _refuse(chunk, row, code)


def _refuse(chunk: Chunk, row: int, code: int) -> None:
    message = f"understood, but not interpreted yet: {code_name(code)}; {NOT_INTERPRETED[code]}"
    raise chunk.blocks.refusal(message, row=row)


def _check_motion_words(chunk: Chunk, motion: Codes) -> None:
    bare = np.flatnonzero(~chunk.moving[motion.block] & (motion.code != NO_MOTION))
    for word in bare.tolist():
        if any(chunk.words[letter].row_in(int(motion.block[word])) >= 0 for letter in "ABC"):
            continue
        name = code_name(int(motion.code[word]))
        message = f"{name} without an axis word; expected X, Y or Z in the same block, or leave {name} out"
        raise chunk.blocks.error(message, row=int(motion.row[word]))


def _check_rotary(chunk: Chunk, modes: Modes) -> None:
    for letter in "ABC":
        words = chunk.words[letter]
        turning = np.flatnonzero(words.value != 0)
        if turning.size:
            row = int(words.row[turning[0]])
            message = f"understood, but not interpreted yet: a rotary axis that moves ({chunk.blocks.spelling(row)})"
            raise chunk.blocks.refusal(f"{message}; write the program for three axes", row=row)


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
    for word in np.flatnonzero(length.code == _LENGTH_ON).tolist():
        if chunk.words["H"].row_in(int(length.block[word])) < 0:
            message = "G43 without H, expected the number of the tool whose length counts"
            raise chunk.blocks.error(message, row=int(length.row[word]))


def _check_unused(chunk: Chunk, modes: Modes) -> None:
    """Find words that nothing in their block uses: they were meant for something that is not there."""
    users = {
        "D": "G41 or G42",
        "H": "G43",
        "I": "G2, G3 or G87",
        "J": "G2, G3 or G87",
        "K": "G2, G3 or G87",
        "R": "G2, G3 or a canned cycle",
        "L": "a canned cycle",
        "Q": "G83",
        "P": "G4 or a canned cycle",
    }
    for letter, user in users.items():
        words = chunk.words[letter]
        if not len(words):
            continue
        unused = np.flatnonzero(~_used(chunk, modes, letter)[words.block])
        if unused.size:
            row = int(words.row[unused[0]])
            message = f"{chunk.blocks.spelling(row)} in a block without {user}; leave it out or write the code"
            raise chunk.blocks.error(message, row=row)


def _used(chunk: Chunk, modes: Modes, letter: str) -> Flags:
    """Return for each block whether something in it uses a word with this letter."""
    used = np.zeros(chunk.size, np.bool_)
    if letter == "D":
        used[chunk.g.where(np.isin(chunk.g.code, _COMPENSATING)).block] = True
    elif letter == "H":
        used[chunk.g.where(chunk.g.code == _LENGTH_ON).block] = True
    else:
        used |= chunk.moving & (modes.motion > NO_MOTION)
        if letter in "IJKR":
            used |= chunk.moving & np.isin(modes.motion, _ARCS)
        if letter == "P":
            used[chunk.g.where(chunk.g.code == _DWELL).block] = True
    return used


def _check_compensation(chunk: Chunk, modes: Modes, state: State, cutter: Codes) -> None:
    """Hold to appendix B.5: what may not be done while cutter radius compensation is on."""
    before = np.concatenate([[np.int16(state.cutter)], cutter.code])[:-1]
    again = np.flatnonzero((cutter.code != _OFF) & (before != _OFF))
    if again.size:
        row = int(cutter.row[again[0]])
        message = f"{chunk.blocks.spelling(row)} while cutter compensation is on; write G40 before it"
        raise chunk.blocks.error(message, row=row)
    on = modes.cutter != _OFF
    was_on = np.concatenate([[state.cutter != _OFF], on[:-1]])
    cases = (
        ((on | was_on) & (modes.normal != _XY), "a plane other than G17", (180, 190, 410, 420)),
        (was_on & _changes(modes.inch, state.inch), "other length units", (200, 210)),
        (on & _changes(modes.work_offset, state.work_offset), "another coordinate system", tuple(range(540, 600))),
        (on & chunk.moving & (modes.motion > NO_MOTION), "a canned cycle", tuple(range(810, 900, 10))),
    )
    for wrong, what, codes in cases:
        if wrong.any():
            block = int(wrong.argmax())
            message = f"{what} while cutter compensation is on; write G40 before it"
            words = chunk.g.where((chunk.g.block == block) & np.isin(chunk.g.code, codes))
            row = int(words.row[-1]) if len(words) else chunk.words.first_row(block, "GXYZ")
            raise chunk.blocks.error(message, row=row)


def _changes(column: NDArray[np.bool_] | NDArray[np.uint8], first: bool | int) -> Flags:  # noqa: FBT001
    return np.asarray(column != np.concatenate([[column.dtype.type(first)], column[:-1]]))


def _check_inverse_time(chunk: Chunk, modes: Modes) -> None:
    feeding = chunk.moving & modes.inverse_time & (modes.motion > 0) & (modes.motion != NO_MOTION)
    cycles = feeding & (modes.motion > NO_MOTION)
    if cycles.any():
        message = "a canned cycle with inverse time feed; write G94 before it"
        raise chunk.blocks.error(message, row=chunk.words.first_row(int(cycles.argmax()), "GXYZ"))
    bare = feeding & ~chunk.words["F"].named(chunk.size)
    if bare.any():
        message = "a feed move without F; with inverse time feed (G93) every G1, G2 and G3 block needs one"
        raise chunk.blocks.error(message, row=chunk.words.first_row(int(bare.argmax()), "GXYZ"))
