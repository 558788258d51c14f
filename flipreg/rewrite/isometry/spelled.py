"""Blocks spelled out as straight moves, where the result has no other way of being written.

Drawing programs put small lead-in arcs into the XZ and YZ planes. Turned by an angle that is no quarter turn
such an arc lies in no plane of the language; chords within a tolerance take its place, if the person asks for
them. So it is with canned cycles along X or Y.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.chords import flatten
from flipreg.geometry.isometry import Isometry
from flipreg.path import Kind, Path
from flipreg.rewrite.text.alternatives import Alternatives
from flipreg.rewrite.text.decimal_places import DecimalPlaces
from flipreg.rewrite.text.digits import number_texts, round_to_decimals
from flipreg.rewrite.text.splice import Edits, Texts
from flipreg.rs274.code_numbers import CYCLES, G
from flipreg.rs274.interpret.state import Modes
from flipreg.rs274.read.blocks import BlockFlag, Blocks
from flipreg.units import INCH_MM

__all__ = ["Spelled", "is_outside", "named_again", "spell_out"]

Index = NDArray[np.int64]
Floats = NDArray[np.float64]

_XY = 2
_ARCS = (20, 30)
_PLAIN_CYCLES = (81, 83, 85)
"""Cycles that are nothing but moves; the others dwell, stop or turn the spindle round."""

_REPLACED = b"XYZIJKR"
_REPLACED_IN_CYCLES = b"XYZIJKRPQL"
_STOPS = (0, 1, 2, 30, 60, 98, 99)
"""M codes that act after the block's motion."""


@dataclass(frozen=True, eq=False, slots=True)
class Spelled:
    """Blocks that are straight moves in the result.

    Attributes
    ----------
    block : int64, shape (k,)
        The blocks, ascending.
    added : int64, shape (k,)
        Lines that each of them gains.
    edits : list of Edits
        Their edits.
    """

    block: Index
    added: Index
    edits: list[Edits]


def is_outside(path: Path) -> NDArray[np.bool_]:
    """Return which motions a free rotation cannot carry: arcs and canned cycles outside the XY plane."""
    outside: NDArray[np.bool_] = (path.is_arc | (path.cycle > 0)) & (path.normal != _XY)
    return outside


def spell_out(  # noqa: PLR0913 - a chunk is three things
    blocks: Blocks,
    modes: Modes,
    path: Path,
    isometry: Isometry,
    allowed: Alternatives,
    *,
    places: DecimalPlaces,
    except_for: Index,
) -> Spelled | None:
    """Return the blocks of a chunk that a free rotation cannot carry, spelled out; None if there are none.

    Parameters
    ----------
    blocks, modes, path
        One chunk: its words, its modes, its motions.
    isometry : Isometry
        A free rotation.
    allowed : Alternatives
        What the person allows.
    places : DecimalPlaces
        How many decimals coordinates are written with.
    except_for : int64, shape (k,)
        Blocks that are left alone.

    Raises
    ------
    RefusedError
        At the first such block if its alternative is not allowed, or cannot stand for it.
    """
    outside = is_outside(path)
    if except_for.size:
        outside &= ~np.isin(path.line - blocks.first_line, except_for)
    if not outside.any():
        return None
    # The motions of subprograms do not come in the order of their lines.
    rows = np.flatnonzero(outside)
    moves = path.take(rows[np.argsort(path.line[rows], kind="stable")])
    block = moves.line - blocks.first_line
    chosen = np.unique(block)
    for each in chosen.tolist():
        _refuse(blocks, modes, each, allowed)
    points, row = flatten(
        moves.start,
        moves.end,
        moves.centre,
        moves.normal,
        moves.sweep_deg,
        moves.is_arc,
        allowed.chords_mm or 1.0,
    )
    _refuse_unknown(blocks, points, block[row])
    speller = _Speller(blocks, modes, isometry, places)
    texts = speller.moves(points, moves.start[row], block[row], moves.kind[row] == Kind.RAPID)
    count = np.bincount(np.searchsorted(chosen, block[row]), minlength=len(chosen))
    return Spelled(chosen, count - 1, speller.edits(chosen, texts, np.cumsum(count) - count))


def _refuse(blocks: Blocks, modes: Modes, block: int, allowed: Alternatives) -> None:
    row = int(np.searchsorted(blocks.block, block))
    if modes.motion[block] >= CYCLES[0]:
        cycle = int(modes.motion[block]) // 10
        if not allowed.spell_cycles:
            message = (
                f"a canned cycle (G{cycle}) outside the XY plane cannot be turned by this angle; "
                "--spell-cycles writes its moves instead, or turn by 90, 180 or 270 degrees"
            )
            raise blocks.refusal(message, row=row)
        if cycle not in _PLAIN_CYCLES:
            raise blocks.refusal(f"G{cycle} does more than move, and cannot be spelled out as moves", row=row)
    elif allowed.chords_mm is None:
        message = (
            "an arc outside the XY plane cannot be turned by this angle; --chords 0.01 writes chords within "
            "0.01 mm of it instead, or turn by 90, 180 or 270 degrees"
        )
        raise blocks.refusal(message, row=row)
    if modes.inverse_time[block]:
        raise blocks.refusal("a block under G93 cannot be spelled out as moves: its F is for the whole", row=row)
    rows = blocks.rows("M")
    for stop in rows[(blocks.block[rows] == block) & np.isin(modes.values[rows], _STOPS)].tolist():
        message = f"{blocks.spelling(stop)} in a block that has to be spelled out would stop after its first move"
        raise blocks.refusal(f"{message}; put it on a line of its own", row=stop)


def _refuse_unknown(blocks: Blocks, points: Floats, block: Index) -> None:
    unknown = np.isnan(points)
    if unknown.any():
        which = int(np.argmax(unknown.any(axis=1)))
        row = int(np.searchsorted(blocks.block, block[which]))
        letter = "XYZ"[int(np.argmax(unknown[which]))]
        message = (
            f"a block that has to be spelled out names all three coordinates, and {letter} is not known here; name it "
            "before this block"
        )
        raise blocks.refusal(message, row=row)


class _Speller:
    def __init__(self, blocks: Blocks, modes: Modes, isometry: Isometry, places: DecimalPlaces) -> None:
        self._blocks, self._modes, self._isometry = blocks, modes, isometry
        self._places = places

    def moves(self, points: Floats, starts: Floats, block: Index, rapid: NDArray[np.bool_]) -> list[bytes]:
        """Return the text of each move: its code and all three coordinates."""
        inch = self._modes.inch[block]
        decimals = self._places.of(inch)
        places, unit = decimals[:, None], np.where(inch, INCH_MM, 1.0)[:, None]
        origin = np.broadcast_to(self._modes.origins(block), points.shape)
        there = round_to_decimals(self._isometry.apply(points - origin) / unit, places)
        here = np.empty_like(there)
        begins = np.concatenate(([True], block[1:] != block[:-1]))
        here[1:] = there[:-1]
        first = np.nan_to_num(self._isometry.apply(starts[begins] - origin[begins]))
        here[begins] = round_to_decimals(first / unit[begins], places[begins])
        value = np.where(self._modes.incremental[block][:, None], there - here, there)
        columns = [number_texts(value[:, axis], decimals).each() for axis in range(3)]
        codes = [b"G0" if is_rapid else b"G1" for is_rapid in rapid.tolist()]
        return [b"%s X%s Y%s Z%s" % words for words in zip(codes, *columns, strict=True)]

    def edits(self, chosen: Index, texts: list[bytes], first: Index) -> list[Edits]:
        """Return the edits that put the moves into their blocks: the first in place, the others below."""
        spans: list[tuple[int, int, bytes]] = []
        ends = [*first.tolist()[1:], len(texts)]
        for block, begin, end in zip(chosen.tolist(), first.tolist(), ends, strict=True):
            spans += self._in_place(block, texts[begin])
            if end - begin > 1:
                spans.append(self._below(block, texts[begin + 1 : end]))
        spans.sort(key=lambda span: (span[0], span[1]))
        start, stop = (np.array([span[side] for span in spans], np.int64) for side in (0, 1))
        return [Edits(start, stop, Texts.of([span[2] for span in spans]))]

    def _in_place(self, block: int, text: bytes) -> list[tuple[int, int, bytes]]:
        blocks = self._blocks
        low, high = np.searchsorted(blocks.block, [block, block + 1]).tolist()
        cycle = self._modes.motion[block] >= CYCLES[0]
        replaced = _REPLACED_IN_CYCLES if cycle else _REPLACED
        rows = [
            row
            for row in range(low, high)
            if blocks.letter[row] in replaced or _names_motion(blocks, self._modes, row)
        ]
        spans = [(int(blocks.start[row]), int(blocks.end[row]), b"") for row in rows]
        return [(spans[0][0], spans[0][1], text), *spans[1:]]

    def _below(self, block: int, texts: list[bytes]) -> tuple[int, int, bytes]:
        blocks = self._blocks
        is_last = block + 1 == len(blocks)
        after = len(blocks.text) if is_last else int(blocks.line_start[block + 1])
        line_end = blocks.text[int(blocks.line_end[block]) : after]
        if blocks.flags[block] & BlockFlag.DELETE:
            texts = [b"/" + text for text in texts]
        if line_end:
            return after, after, b"".join(text + line_end for text in texts)
        return after, after, b"".join(b"\n" + text for text in texts)


def named_again(
    blocks: Blocks, modes: Modes, spelled: Index, entered: Index, *, carried: bool
) -> tuple[list[Edits], bool]:
    """Name the motion again where a block carries on with the one of a spelled-out block.

    Parameters
    ----------
    blocks, modes
        One chunk.
    spelled : int64, shape (k,)
        Its spelled-out blocks.
    entered : int64, shape (m,)
        Blocks that the machine may come to from a spelled-out block elsewhere in the text.
    carried : bool
        Whether the last block that moved before the chunk is spelled out.

    Returns
    -------
    list of Edits
        Insertions.
    bool
        Whether the last block that moves is spelled out.
    """
    if not (spelled.size or entered.size or carried):
        return [], False
    is_spelled, moves, names = (np.zeros(len(blocks), np.bool_) for _ in range(3))
    is_spelled[spelled] = True
    for letter in "XYZ":
        moves[blocks.block[blocks.rows(letter)]] = True
    moves[[block for block, apart in modes.apart.items() if apart.code != G.MACHINE]] = False
    names[blocks.block[[row for row in blocks.rows("G").tolist() if _names_motion(blocks, modes, row)]]] = True
    moving = np.flatnonzero((moves | names) & modes.executes)
    if not moving.size:
        return [], carried
    after = np.concatenate(([carried], is_spelled[moving[:-1]]))
    first = np.searchsorted(moving, entered)
    after[first[first < len(moving)]] = True
    motion = modes.motion[moving]
    carries = ((motion == _ARCS[0]) | (motion == _ARCS[1]) | (motion >= CYCLES[0])) & ~names[moving]
    again = moving[after & carries & ~is_spelled[moving]]
    word = np.searchsorted(blocks.block, again)
    word += blocks.letter[word] == ord("N")
    start = blocks.start[word]
    codes = [b"G%d " % (code // 10) for code in modes.motion[again].tolist()]
    return [Edits(start, start, Texts.of(codes))] if codes else [], bool(is_spelled[moving[-1]])


def _names_motion(blocks: Blocks, modes: Modes, row: int) -> bool:
    value = modes.values[row]
    return bool(blocks.letter[row] == ord("G") and (value < 4 or 80 <= value < 90))
