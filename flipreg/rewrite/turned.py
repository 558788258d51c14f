"""Coordinates under a free rotation: X and Y of a block are coupled, and rounded.

Every position is turned from the program's exact position and then rounded, never from a rounded one; an
increment is the difference of two rounded positions. So the rounding of ten thousand increments is the
rounding of one.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from flipreg.rewrite.aligned import blocks_case, unit_decimals
from flipreg.rewrite.digits import number_texts, round_to_decimals
from flipreg.rewrite.rows import rows_of, word_in_block
from flipreg.rewrite.splice import Edits, Texts
from flipreg.rs274.block import EXPRESSION, Blocks
from flipreg.rs274.column import at
from flipreg.rs274.state import Modes

__all__ = ["turned_edits"]

Index = NDArray[np.int64]
Floats = NDArray[np.float64]

_MM_PER_INCH = 25.4
_FIRST_CYCLE = 810
_BACK_BORING = 870
_XY = 2

_FLAT_ARC = 0.25
"""Height of an arc's centre over its chord, as a part of the chord, below which the radius format magnifies
rounding too much: there the centre is written instead. Ours; NISTIR 6556, 3.5.3.1 warns of the same."""


def turned_edits(blocks: Blocks, modes: Modes, path: Path, isometry: Isometry) -> list[Edits]:
    """Return the edits of all X, Y words and of arc centres in the XY plane.

    Parameters
    ----------
    blocks, modes, path
        One chunk: its words, its modes, its motions.
    isometry : Isometry
        Any rotation or mirror of the plane.

    Raises
    ------
    RefusedError
        At an arc or a canned cycle outside the XY plane, and where a block names one of X and Y while the
        other is not known.
    """
    _refuse_other_planes(blocks, modes, path)
    turn = _Turn(blocks, modes, path, isometry)
    edits = [turn.points(), *turn.centres(), *turn.back_boring()]
    return [each for each in edits if len(each.start)]


def _refuse_other_planes(blocks: Blocks, modes: Modes, path: Path) -> None:
    outside = (path.is_arc | (path.cycle > 0)) & (path.normal != _XY)
    if not outside.any():
        return
    block = int(path.line[int(np.argmax(outside))]) - blocks.first_line
    row = int(np.searchsorted(blocks.block, block))
    what = "a canned cycle" if modes.motion[block] >= _FIRST_CYCLE else "an arc"
    message = f"{what} outside the XY plane cannot be turned by this angle; turn by 90, 180 or 270 degrees"
    raise blocks.refusal(message, row=row)


@dataclass(frozen=True, eq=False, slots=True)
class _Pair:
    """Two coupled words in one block each: rows in the chunk, -1 where a word is missing."""

    block: Index
    first: Index
    second: Index


class _Turn:
    def __init__(self, blocks: Blocks, modes: Modes, path: Path, isometry: Isometry) -> None:
        self._blocks, self._modes, self._path, self._isometry = blocks, modes, path, isometry
        self._last = np.full(len(blocks), -1)
        self._last[path.line - blocks.first_line] = np.arange(len(path))

    def points(self) -> Edits:
        """Return the edits of X and Y words."""
        pair = self._pair("X", "Y")
        motion = self._last[pair.block]
        unit = self._unit(pair.block)
        incremental = np.asarray(at(self._modes.incremental, pair.block))
        cycle = np.asarray(at(self._modes.motion, pair.block)) >= _FIRST_CYCLE
        end = self._isometry.apply(self._path.end[motion])[:, :2]
        start = self._isometry.apply(self._path.start[motion])[:, :2]
        self._refuse_unknown(pair, np.where((incremental & cycle)[:, None], 0.0, end))
        decimals = self._decimals(pair, incremental)
        places = decimals[:, None]
        value = round_to_decimals(end / unit[:, None], places)
        step = value - round_to_decimals(np.where(np.isnan(start), 0.0, start) / unit[:, None], places)
        vector = self._isometry.turn(np.column_stack((self._value(pair.first), self._value(pair.second))))
        hop = round_to_decimals(vector, places)
        value = np.where(incremental[:, None], np.where(cycle[:, None], hop, step), value)
        return self._written(pair, "XY", value, decimals)

    def centres(self) -> list[Edits]:
        """Return the edits of I and J words, and of R words of flat arcs."""
        arcs = np.flatnonzero(self._path.is_arc)
        if not arcs.size:
            return []
        block = self._path.line[arcs] - self._blocks.first_line
        row_of_arc = np.full(len(self._blocks), -1)
        row_of_arc[block] = arcs
        pair = self._pair("I", "J")
        has_arc = row_of_arc[pair.block] >= 0
        pair = _Pair(pair.block[has_arc], pair.first[has_arc], pair.second[has_arc])
        absolute = np.asarray(at(self._modes.absolute_centres, pair.block))
        decimals = self._decimals(pair, np.zeros(len(pair.block), np.bool_))
        value = self._centre_values(row_of_arc[pair.block], pair.block, absolute, decimals)
        return [self._written(pair, "IJ", value, decimals), self._flat_arcs(arcs, block)]

    def back_boring(self) -> list[Edits]:
        """Return the edits of the I and J words of G87, which are a step sideways."""
        pair = self._pair("I", "J")
        boring = np.asarray(at(self._modes.motion, pair.block)) == _BACK_BORING
        if not boring.any():
            return []
        pair = _Pair(pair.block[boring], pair.first[boring], pair.second[boring])
        decimals = self._decimals(pair, np.zeros(len(pair.block), np.bool_))
        vector = self._isometry.turn(np.column_stack((self._value(pair.first), self._value(pair.second))))
        return [self._written(pair, "IJ", round_to_decimals(vector, decimals[:, None]), decimals)]

    def _flat_arcs(self, arcs: Index, block: Index) -> Edits:
        radius = word_in_block(self._blocks, rows_of(self._blocks, self._modes, "R"))[block]
        chord = self._path.end[arcs, :2] - self._path.start[arcs, :2]
        size = np.hypot(chord[:, 0], chord[:, 1])
        middle = (self._path.end[arcs, :2] + self._path.start[arcs, :2]) / 2
        from_chord = self._path.centre[arcs, :2] - middle
        flat = (radius >= 0) & (np.hypot(from_chord[:, 0], from_chord[:, 1]) < _FLAT_ARC * size)
        arcs, block, row = arcs[flat], block[flat], radius[flat]
        decimals = unit_decimals(np.asarray(at(self._modes.inch, block)))
        absolute = np.asarray(at(self._modes.absolute_centres, block))
        value = self._centre_values(arcs, block, absolute, decimals)
        texts = [
            b"I" + i + b" J" + j
            for i, j in zip(
                _each(number_texts(value[:, 0], decimals)), _each(number_texts(value[:, 1], decimals)), strict=True
            )
        ]
        return Edits(self._blocks.start[row], self._blocks.end[row], Texts.of(texts))

    def _centre_values(self, arcs: Index, block: Index, absolute: NDArray[np.bool_], decimals: Index) -> Index:
        centre, start = self._path.centre[arcs, :2], self._path.start[arcs, :2]
        moved = np.where(absolute[:, None], self._isometry.apply(centre), self._isometry.turn(centre - start))
        return round_to_decimals(moved / self._unit(block)[:, None], decimals[:, None])

    def _pair(self, first: str, second: str) -> _Pair:
        one = word_in_block(self._blocks, rows_of(self._blocks, self._modes, first))
        other = word_in_block(self._blocks, rows_of(self._blocks, self._modes, second))
        block = np.flatnonzero((one >= 0) | (other >= 0))
        return _Pair(block, one[block], other[block])

    def _unit(self, block: Index) -> Floats:
        return np.where(at(self._modes.inch, block), _MM_PER_INCH, 1.0)

    def _value(self, rows: Index) -> Floats:
        return np.where(rows >= 0, self._modes.values[rows], 0.0)

    def _decimals(self, pair: _Pair, incremental: NDArray[np.bool_]) -> Index:
        """Return how many decimals each pair is written with: those of the source, and no fewer than needed.

        Increments all share one grid, one place finer, so that the differences of rounded positions add up;
        a cycle's increment is repeated L times, and its rounding with it.
        """
        least = unit_decimals(np.asarray(at(self._modes.inch, pair.block)))
        both = np.maximum(self._spelled(pair.first), self._spelled(pair.second))
        cycle = np.asarray(at(self._modes.motion, pair.block)) >= _FIRST_CYCLE
        repeats = word_in_block(self._blocks, rows_of(self._blocks, self._modes, "L"))[pair.block]
        digits = np.where(cycle & (repeats >= 0), np.ceil(np.log10(np.maximum(self._value(repeats), 1))), 0)
        return np.where(incremental, least + 1 + digits.astype(np.int64), np.maximum(least, np.minimum(both, 9)))

    def _spelled(self, rows: Index) -> Index:
        decimals = self._blocks.decimals[rows].astype(np.int64)
        return np.where((rows >= 0) & (decimals != EXPRESSION), decimals, 0)

    def _refuse_unknown(self, pair: _Pair, point: Floats) -> None:
        unknown = np.isnan(point).any(axis=1)
        if unknown.any():
            which = int(np.argmax(unknown))
            row = int(max(pair.first[which], pair.second[which]))
            message = "a turn couples X and Y, and one of them is not known here; name both before this block"
            raise self._blocks.refusal(message, row=row)

    def _written(self, pair: _Pair, letters: str, value: Index, decimals: Index) -> Edits:
        parts = [
            self._replaced(rows, value[:, column], decimals) for column, rows in enumerate((pair.first, pair.second))
        ]
        for column, (missing, present) in enumerate(((pair.first, pair.second), (pair.second, pair.first))):
            parts.append(self._added(missing, present, letters[column], value[:, column], decimals))
        return Edits.joined(parts)

    def _replaced(self, rows: Index, value: Index, decimals: Index) -> Edits:
        there = rows >= 0
        rows = rows[there]
        texts = number_texts(value[there], decimals[there])
        return Edits(self._blocks.number[rows], self._blocks.end[rows], texts)

    def _added(self, missing: Index, present: Index, letter: str, value: Index, decimals: Index) -> Edits:
        """Return the insertions of missing words behind the word they are coupled with."""
        absent = missing < 0
        rows = present[absent]
        numbers = _each(number_texts(value[absent], decimals[absent]))
        cases = blocks_case(self._blocks, rows).tolist()
        texts = [bytes((32, ord(letter) | case)) + number for number, case in zip(numbers, cases, strict=True)]
        end = self._blocks.end[rows]
        return Edits(end, end, Texts.of(texts))


def _each(texts: Texts) -> list[bytes]:
    joined, behind = texts.characters.tobytes(), np.cumsum(texts.length).tolist()
    return [joined[end - size : end] for end, size in zip(behind, texts.length.tolist(), strict=True)]
