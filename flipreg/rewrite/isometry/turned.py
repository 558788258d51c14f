"""Coordinates under a free rotation: X and Y of a block are coupled, and rounded.

Every position is turned from the program's exact position and then rounded, never from a rounded one, and
always to the same number of decimals; an increment is the difference of two rounded positions. So the rounding
of ten thousand increments is the rounding of one, and a full circle still ends where it starts.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.arc import centre_from_radius
from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from flipreg.rewrite.isometry.aligned import blocks_case
from flipreg.rewrite.isometry.balanced import balanced
from flipreg.rewrite.text.decimal_places import DecimalPlaces
from flipreg.rewrite.text.digits import number_texts, round_to_decimals
from flipreg.rewrite.text.rows import rows_of, word_in_block
from flipreg.rewrite.text.splice import Edits, Texts
from flipreg.rs274.code_numbers import CYCLES, HOMES, G
from flipreg.rs274.interpret.arcs import (
    LARGEST_DIFFERENCE_INCH,
    LARGEST_DIFFERENCE_MM,
    RADIUS_TOLERANCE_INCH,
    RADIUS_TOLERANCE_MM,
)
from flipreg.rs274.interpret.column import at
from flipreg.rs274.interpret.state import Modes
from flipreg.rs274.read.blocks import Blocks
from flipreg.units import INCH_MM

__all__ = ["turned_edits"]

Index = NDArray[np.int64]
Floats = NDArray[np.float64]


_FLAT_ARC = 0.25
"""Height of an arc's centre over its chord, as a part of the chord, below which the radius format magnifies rounding
too much: there the centre is written instead (chosen); NISTIR 6556, 3.5.3.1 warns of the same."""

_MOVED_CENTRE_MM = 0.0005
"""How far rounding may move the centre of an arc with a radius, else the centre is written too (chosen). A shallow
arc's centre moves by as many times the rounding as its radius is longer than its chord."""


def turned_edits(
    blocks: Blocks, modes: Modes, path: Path, isometry: Isometry, *, places: DecimalPlaces, except_for: Index
) -> list[Edits]:
    """Return the edits of all X, Y words and of arc centres in the XY plane.

    Parameters
    ----------
    blocks, modes, path
        One chunk: its words, its modes, its motions.
    isometry : Isometry
        Any rotation or mirror of the plane.
    places : DecimalPlaces
        How many decimals coordinates are written with.
    except_for : int64, shape (k,)
        Blocks that are spelled out otherwise.

    Raises
    ------
    RefusedError
        Where a block names one of X and Y while the other is not known.
    """
    turn = _Turn(blocks, modes, path, isometry, places, except_for)
    edits = [turn.points(), *turn.axis_offsets(), *turn.centres(), *turn.back_boring()]
    return [each for each in edits if len(each.start)]


@dataclass(frozen=True, eq=False, slots=True)
class _Pair:
    """Two coupled words in one block each: rows in the chunk, -1 where a word is missing."""

    block: Index
    first: Index
    second: Index

    def take(self, which: NDArray[np.bool_]) -> "_Pair":
        """Return some of them."""
        return _Pair(self.block[which], self.first[which], self.second[which])


class _Turn:
    def __init__(
        self, blocks: Blocks, modes: Modes, path: Path, isometry: Isometry, places: DecimalPlaces, except_for: Index
    ) -> None:
        self._blocks, self._modes, self._path, self._isometry = blocks, modes, path, isometry
        self._places = places
        self._ours = np.ones(len(blocks), np.bool_)
        self._ours[except_for] = False
        self._home, apart = np.zeros((2, len(blocks)), np.bool_)
        apart[list(modes.apart)] = True
        self._home[[block for block, each in modes.apart.items() if each.code in HOMES]] = True
        self._usual = self._ours & (self._home | ~apart)
        self._first = np.full(len(blocks), -1)
        self._first[path.line[::-1] - blocks.first_line] = np.arange(len(path))[::-1]
        self._last = np.full(len(blocks), -1)
        self._last[path.line - blocks.first_line] = np.arange(len(path))

    def points(self) -> Edits:
        """Return the edits of X and Y words."""
        pair = self._pair("X", "Y")
        incremental = np.asarray(at(self._modes.incremental, pair.block))[:, None]
        repeats = self._repeats(pair.block)
        origin = self._modes.origins(pair.block)
        # The words of a way home are its first motion's end; the second goes to the machine's position.
        last = np.where(self._home[pair.block], self._first[pair.block], self._last[pair.block])
        end = self._isometry.apply(self._path.end[last] - origin)[:, :2]
        start = self._isometry.apply(self._path.start[self._first[pair.block]] - origin)[:, :2]
        self._refuse_unknown(pair, end)
        there, decimals = self._rounded(end, pair.block)
        begun, _ = self._rounded(np.where(np.isnan(start), 0.0, start), pair.block)
        value = np.where(incremental, there - begun, there)
        repeated = np.flatnonzero(incremental[:, 0] & (repeats > 1))
        if repeated.size:
            # A cycle repeats its increment, and its rounding with it.
            finer = np.ceil(np.log10(repeats[repeated])).astype(np.int64) + 2
            hop = self._isometry.turn(self._vector(pair))[repeated]
            decimals[repeated] += finer
            value[repeated] = round_to_decimals(hop, decimals[repeated][:, None])
        return self._written(pair, "XY", value, decimals)

    def axis_offsets(self) -> list[Edits]:
        """Return the edits of the X and Y words of G92: it names a point of the program's numbers."""
        set_at = [block for block, apart in self._modes.apart.items() if apart.code == G.AXIS_OFFSET]
        set_at = [block for block in sorted(set_at) if self._ours[block]]
        if not set_at:
            return []
        pair = self._pair("X", "Y", among=np.array(set_at))
        numbers = np.array([self._modes.apart[block].numbers_mm for block in pair.block.tolist()]).reshape(-1, 3)
        turned = self._isometry.apply(numbers)[:, :2]
        self._refuse_unknown(pair, turned)
        return [self._written(pair, "XY", *self._rounded(turned, pair.block))]

    def centres(self) -> list[Edits]:
        """Return the edits of I and J words, and of R words of flat arcs."""
        arcs = np.flatnonzero(self._path.is_arc & self._usual[self._path.line - self._blocks.first_line])
        if not arcs.size:
            return []
        block = self._path.line[arcs] - self._blocks.first_line
        row_of_arc = np.full(len(self._blocks), -1)
        row_of_arc[block] = arcs
        pair = self._pair("I", "J")
        pair = pair.take(row_of_arc[pair.block] >= 0)
        arc = row_of_arc[pair.block]
        value, decimals = self._centre_values(arc, pair.block)
        return [self._written(pair, "IJ", value, decimals), self._flat_arcs(arcs, block)]

    def back_boring(self) -> list[Edits]:
        """Return the edits of the I and J words of G87, which are a step sideways."""
        pair = self._pair("I", "J")
        boring = np.asarray(at(self._modes.motion, pair.block)) == G.BACK_BORING
        if not boring.any():
            return []
        pair = pair.take(boring)
        # The cycle's last motion goes from beside the hole back over it, and knows words that are sticky.
        last = self._last[pair.block]
        aside = self._isometry.turn(self._path.start[last] - self._path.end[last])[:, :2]
        return [self._written(pair, "IJ", *self._rounded(aside, pair.block))]

    def _flat_arcs(self, arcs: Index, block: Index) -> Edits:
        radius = self._row_in_block("R")[block]
        chord = self._path.end[arcs, :2] - self._path.start[arcs, :2]
        size = np.hypot(chord[:, 0], chord[:, 1])
        middle = (self._path.end[arcs, :2] + self._path.start[arcs, :2]) / 2
        from_chord = self._path.centre[arcs, :2] - middle
        flat = (radius >= 0) & (np.hypot(from_chord[:, 0], from_chord[:, 1]) < _FLAT_ARC * size)
        steep = np.flatnonzero((radius >= 0) & ~flat)
        if steep.size:
            flat[steep] = self._centre_moves(arcs[steep], block[steep], self._modes.values[radius[steep]])
        arcs, block, row = arcs[flat], block[flat], radius[flat]
        value, decimals = self._centre_values(arcs, block)
        texts = [
            b"I" + i + b" J" + j
            for i, j in zip(*(number_texts(value[:, axis], decimals).each() for axis in (0, 1)), strict=True)
        ]
        edits = Edits(self._blocks.start[row], self._blocks.end[row], Texts.of(texts))
        again = self._said_again("R", block)
        lost = Edits(self._blocks.start[again], self._blocks.end[again], Texts.of([b""] * len(again)))
        return Edits.joined([edits, lost])

    def _centre_moves(self, arcs: Index, block: Index, radius: Floats) -> NDArray[np.bool_]:
        """Return where rounded ends and the radius name a circle that is too far off."""
        start, end, centre = self._rounded_arcs(arcs, block)
        slack = 2 * np.where(self._inch(block), RADIUS_TOLERANCE_INCH, RADIUS_TOLERANCE_MM)
        found = centre_from_radius(start, end, radius, self._path.sweep_deg[arcs] > 0, slack_mm=slack)
        off_mm = np.hypot(*(found - centre).T) * self._unit(block)
        # Written so that no circle is one that is off.
        moves: NDArray[np.bool_] = ~(off_mm <= _MOVED_CENTRE_MM)
        return moves

    def _rounded_arcs(self, arcs: Index, block: Index) -> tuple[Floats, Floats, Floats]:
        """Return starts, ends and centres in their blocks' units; the ends as the controller will see them."""
        unit, places = self._unit(block)[:, None], self._decimals(block)[:, None]
        start, end, centre = (
            self._isometry.apply(points[arcs] - self._modes.origins(block))[:, :2] / unit
            for points in (self._path.start, self._path.end, self._path.centre)
        )
        start, end = (round_to_decimals(point, places) / 10.0**places for point in (start, end))
        return start, end, centre

    def _centre_values(self, arcs: Index, block: Index) -> tuple[Index, Index]:
        """Return mantissas and decimals of arc centres as their blocks write them, shapes (k, 2) and (k,)."""
        decimals = self._decimals(block)
        absolute = np.asarray(at(self._modes.absolute_centres, block))[:, None]
        start, end, centre = self._rounded_arcs(arcs, block)
        centre, moved = balanced(start, end, centre, self._allowed(arcs, block))
        decimals = decimals + np.where(moved, 2, 0)
        return round_to_decimals(np.where(absolute, centre, centre - start), decimals[:, None]), decimals

    def _allowed(self, arcs: Index, block: Index) -> Floats:
        """Return how far the radii of arcs may differ: as far as the report has it, or as arcs that differ more."""
        inch = self._inch(block)
        allowed = np.where(inch, RADIUS_TOLERANCE_INCH, RADIUS_TOLERANCE_MM)
        centre = self._path.centre[arcs, :2]
        radii = [np.hypot(*(points[arcs, :2] - centre).T) for points in (self._path.start, self._path.end)]
        wide = np.abs(radii[0] - radii[1]) > allowed * self._unit(block)
        return np.where(wide, np.where(inch, LARGEST_DIFFERENCE_INCH, LARGEST_DIFFERENCE_MM), allowed)

    def _pair(self, first: str, second: str, *, among: Index | None = None) -> _Pair:
        one, other = (self._row_in_block(letter) for letter in (first, second))
        block = np.flatnonzero(self._usual) if among is None else among
        block = block[(one[block] >= 0) | (other[block] >= 0)]
        return _Pair(block, one[block], other[block])

    def _row_in_block(self, letter: str) -> Index:
        return word_in_block(self._blocks, rows_of(self._blocks, self._modes, letter))

    def _said_again(self, letter: str, block: Index) -> Index:
        """Return the rows of the named blocks' words that another word of the block repeats further on."""
        rows = rows_of(self._blocks, self._modes, letter)
        again = rows[:-1][np.diff(self._blocks.block[rows]) == 0]
        return np.asarray(again[np.isin(self._blocks.block[again], block)])

    def _inch(self, block: Index) -> NDArray[np.bool_]:
        return np.asarray(at(self._modes.inch, block))

    def _unit(self, block: Index) -> Floats:
        return np.where(self._inch(block), INCH_MM, 1.0)

    def _rounded(self, points_mm: Floats, block: Index) -> tuple[Index, Index]:
        """Return mantissas and decimals of points as their blocks write them, shapes (k, 2) and (k,)."""
        decimals = self._decimals(block)
        return round_to_decimals(points_mm / self._unit(block)[:, None], decimals[:, None]), decimals

    def _vector(self, pair: _Pair) -> Floats:
        """Return the two words' values as written, 0 for a missing one, shape (k, 2)."""
        values = [np.where(rows >= 0, self._modes.values[rows], 0.0) for rows in (pair.first, pair.second)]
        return np.column_stack(values)

    def _decimals(self, block: Index) -> Index:
        """Return how many decimals coordinates are written with."""
        return self._places.of(self._inch(block))

    def _repeats(self, block: Index) -> Floats:
        row = self._row_in_block("L")[block]
        cycle = np.asarray(at(self._modes.motion, block)) >= CYCLES[0]
        return np.where(cycle & (row >= 0), self._modes.values[row], 1.0)

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
        for column, letter in enumerate(letters):
            again = self._said_again(letter, pair.block)
            which = np.searchsorted(pair.block, self._blocks.block[again])
            parts.append(self._replaced(again, value[which, column], decimals[which]))
        for column, (missing, present) in enumerate(((pair.first, pair.second), (pair.second, pair.first))):
            parts.append(self._added(missing, present, letters[column], value[:, column], decimals))
        return Edits.joined(parts)

    def _replaced(self, rows: Index, value: Index, decimals: Index) -> Edits:
        there = rows >= 0
        rows = rows[there]
        texts = number_texts(value[there], decimals[there])
        return Edits(self._blocks.number[rows], self._blocks.end[rows], texts)

    def _added(self, missing: Index, present: Index, letter: str, value: Index, decimals: Index) -> Edits:
        """Return the insertions of missing words after the word they are coupled with."""
        absent = missing < 0
        rows = present[absent]
        numbers = number_texts(value[absent], decimals[absent]).each()
        cases = blocks_case(self._blocks, rows).tolist()
        texts = [bytes((32, ord(letter) | case)) + number for number, case in zip(numbers, cases, strict=True)]
        end = self._blocks.end[rows]
        return Edits(end, end, Texts.of(texts))
