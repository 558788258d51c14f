"""What the words of a block are meant for: a word that nothing uses was meant for something that is not there.

Table 3 and section 3.5.16 of the report name the words of each code. People's programs have words beside them that do
nothing, and motions and dwells by other words; where they mean one thing they are read, and noticed.
"""

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.code_groups import APART_CODES, Group
from flipreg.rs274.code_numbers import ARCS, COMPENSATING, CYCLES, G, M
from flipreg.rs274.interpret.chunk import Chunk
from flipreg.rs274.interpret.state import Modes
from flipreg.rs274.interpret.words import Letter
from flipreg.rs274.read.habit import Habit

__all__ = ["read_words"]

Flags = NDArray[np.bool_]
Index = NDArray[np.int64]

_CYCLES_THAT_USE = {
    **dict.fromkeys("IJK", (G.BACK_BORING,)),
    **dict.fromkeys("RL", CYCLES),
    "Q": (G.PECK,),
    "P": (820, 860, 880, 890),
}
"""The words of each cycle (3.5.16); a word is meant for no other code."""

_USERS = {
    "D": "G41 or G42",
    "H": "G43",
    "I": "G2, G3 or G87",
    "J": "G2, G3 or G87",
    "K": "G2, G3 or G87",
    "R": "G2, G3 or a canned cycle",
    "L": "a canned cycle, G10 or M98",
    "Q": "G83",
    "P": "G4, G10, M98, G82, G86, G88 or G89",
}

_CANCELS = {"H": G.LENGTH_OFF, "D": G.CUTTER_OFF}
"""What ends the offset that a word is the number of."""

_LENGTHS = "IJKR"
_FREE = "PQLRIJK"
"""Words that machines take beside path control, and beside codes of their own."""


def read_words(chunk: Chunk, modes: Modes) -> tuple[Chunk, Modes]:
    """Return a chunk with its full circles among the motions, its dwells not, and the words that do nothing known.

    Raises
    ------
    ProgramError
        At a word that nothing in its block uses, and at one that two codes would use.
    """
    chunk, dwells = _without_dwells(chunk)
    free = _free(chunk)
    chunk = _with_circles(chunk, modes, free)
    straight = chunk.moving & (modes.motion <= G.LINE) if _has(chunk, _LENGTHS) else free
    idle = [dwells * 128 + ord("X")] if dwells.size else []
    for letter in _USERS:
        words = chunk.words[letter]
        if not len(words):
            continue
        used = _used(chunk, modes, letter)
        if letter in _FREE and free.any():
            twice = np.flatnonzero((used & free)[words.block])
            if letter not in _LENGTHS and twice.size:
                row = int(words.row[twice[0]])
                message = f"{chunk.blocks.spelling(row)} beside two codes that may use it; write two blocks"
                raise chunk.blocks.error(message, row=row)
        bare = np.flatnonzero(~used[words.block])
        if not bare.size:
            continue
        if letter in _FREE:
            bare = _read_free(chunk, words, bare, free, Habit.PATH_WORDS)
        if letter in _LENGTHS:
            still = words.block[~used[words.block] & (free | straight)[words.block]]
            idle.append(still * 128 + ord(letter))
            bare = _read_free(chunk, words, bare, straight, Habit.IDLE_WORDS)
        if letter in _CANCELS:
            cancelled = np.zeros(chunk.size, np.bool_)
            cancelled[chunk.g.where(chunk.g.code == _CANCELS[letter]).block] = True
            bare = _read_free(chunk, words, bare, cancelled, Habit.CANCELLED_NUMBER)
        if bare.size:
            row = int(words.row[bare[0]])
            raise chunk.blocks.error(_unused(chunk, modes, letter, row), row=row)
    return chunk, replace(modes, idle=np.sort(np.concatenate(idle))) if idle else modes


def _read_free(chunk: Chunk, words: Letter, bare: Index, reads: Flags, habit: Habit) -> Index:
    """Note those of the bare words that are read by a habit, and return the others."""
    hit = reads[words.block[bare]]
    if not hit.any():
        return bare
    noted = bare[hit]
    if habit is Habit.PATH_WORDS:
        # Words beside a passive code belong to it, and the code is noticed itself.
        path = np.zeros(chunk.size, np.bool_)
        path[chunk.g.of(Group.PATH_CONTROL).block] = True
        noted = noted[path[words.block[noted]]]
    chunk.notices.add(habit, words.block[noted], chunk.blocks.start[words.row[noted]])
    return bare[~hit]


def _unused(chunk: Chunk, modes: Modes, letter: str, row: int) -> str:
    """Return the error of a word that nothing uses."""
    block, word = int(chunk.blocks.block[row]), chunk.blocks.spelling(row)
    if letter in "PL" and chunk.moving[block] and int(modes.motion[block]) in ARCS:
        return f"{word} beside an arc: turns of a helix are not in NISTIR 6556; write a block for each turn"
    if letter == "P" and bool((chunk.g.of(Group.COORDINATES).block == block).any()):
        return f"{word} beside a work offset: NISTIR 6556 has G54 to G59.3; write one of them"
    return f"{word} in a block without {_USERS[letter]}; leave it out or write the code"


def _has(chunk: Chunk, letters: str) -> bool:
    return any(len(chunk.words[letter]) for letter in letters)


def _without_dwells(chunk: Chunk) -> tuple[Chunk, Index]:
    """Return the chunk without the X words that are seconds of G4, and their blocks.

    Raises
    ------
    ProgramError
        At a G4 without P whose X could be something else.
    """
    dwell = chunk.g.where(chunk.g.code == G.DWELL)
    if not len(dwell):
        return chunk, dwell.block
    bare = ~chunk.words["P"].named(chunk.size)[dwell.block]
    named = chunk.named[:, dwell.block]
    alone = bare & named[0] & ~named[1] & ~named[2]
    alone &= ~np.isin(dwell.block, chunk.g.of(Group.MOTION).block)
    wrong = np.flatnonzero(bare & ~alone)
    if wrong.size:
        message = "G4 without P, expected the dwell in seconds, as in G4 P0.5, and no other motion beside it"
        raise chunk.blocks.error(message, row=int(dwell.row[wrong[0]]))
    block = dwell.block[alone]
    if not block.size:
        return chunk, block
    x = chunk.axes[0]
    seconds = np.isin(x.block, block)
    negative = np.flatnonzero(seconds & (x.value < 0))
    if negative.size:
        row = int(x.row[negative[0]])
        raise chunk.blocks.error(f"{chunk.blocks.spelling(row)}, expected a dwell of 0 s or more", row=row)
    chunk.notices.add(Habit.DWELL_BY_X, x.block[seconds], chunk.blocks.start[x.row[seconds]])
    moving, named = chunk.moving.copy(), chunk.named.copy()
    moving[block] = named[0, block] = False
    x = chunk.words.keep("X", ~seconds)
    return chunk._replace(axes=(x, *chunk.axes[1:]), named=named, moving=moving), block


def _free(chunk: Chunk) -> Flags:
    """Return the blocks with a code that may have words of its own: path control, and passive codes.

    Raises
    ------
    ProgramError
        At axis words beside a code that is said to move nothing.
    """
    moves = chunk.passive[chunk.named[:, chunk.passive].any(axis=0)]
    if moves.size:
        message = "an axis word beside a code that is said to move nothing; write two blocks"
        raise chunk.blocks.error(message, row=chunk.words.first_row(int(moves[0]), "XYZ"))
    free = np.zeros(chunk.size, np.bool_)
    free[chunk.g.of(Group.PATH_CONTROL).block] = True
    free[chunk.passive] = True
    return free


def _with_circles(chunk: Chunk, modes: Modes, free: Flags) -> Chunk:
    """Return the chunk with the blocks among its motions that name a centre and no end at all.

    Those that name an end along the helix only are motions anyway; both are full circles.
    """
    if not _has(chunk, "IJK"):
        return chunk
    is_arc = _is_any(modes.motion, ARCS)
    if not is_arc.any():
        return chunk
    centre = [chunk.words[letter].named(chunk.size) for letter in "IJK"]
    whole = np.zeros(chunk.size, np.bool_)
    for plane in np.flatnonzero(np.bincount(modes.normal)).tolist():
        first, second = (plane + 1) % 3, (plane + 2) % 3
        has_end = chunk.named[first] | chunk.named[second]
        whole |= (centre[first] | centre[second]) & ~has_end & (modes.normal == plane)
    whole &= is_arc
    if not whole.any():
        return chunk
    for letter in "ABC":
        whole[chunk.words[letter].block] = False
    apart = chunk.g.of(Group.NON_MODAL)
    whole[apart.block[np.isin(apart.code, [*APART_CODES])]] = False
    motion = chunk.g.of(Group.MOTION)
    unsaid = np.flatnonzero(free & whole & ~chunk.moving)
    whole[unsaid[~np.isin(unsaid, motion.block)]] = False
    if not whole.any():
        return chunk
    chunk.note(Habit.WHOLE_CIRCLE, motion.where(whole[motion.block] & np.isin(motion.code, ARCS)))
    for letter in "IJK":
        words = chunk.words[letter]
        here = whole[words.block]
        chunk.notices.add(Habit.WHOLE_CIRCLE, words.block[here], chunk.blocks.start[words.row[here]])
    return chunk._replace(moving=chunk.moving | whole)


def _is_any(motion: NDArray[np.int16], codes: Iterable[int]) -> Flags:
    """Return which modes are one of a few codes, a comparison each: looking them up takes several times as long."""
    found = np.zeros(len(motion), np.bool_)
    for code in codes:
        found |= motion == code
    return found


def _used(chunk: Chunk, modes: Modes, letter: str) -> Flags:
    """Return for each block whether something in it uses a word with this letter."""
    used = np.zeros(chunk.size, np.bool_)
    if letter == "D":
        used[chunk.g.where(np.isin(chunk.g.code, COMPENSATING)).block] = True
    elif letter == "H":
        used[chunk.g.where(chunk.g.code == G.LENGTH_ON).block] = True
    else:
        codes = _CYCLES_THAT_USE[letter] + (ARCS if letter in _LENGTHS else ())
        used |= chunk.moving & _is_any(modes.motion, codes)
        if letter == "P":
            used[chunk.g.where(chunk.g.code == G.DWELL).block] = True
        if letter in "PL":
            used[chunk.g.where(chunk.g.code == G.DATA).block] = True
            used[chunk.m.block[chunk.m.code >= M.CALL]] = True
    return used
