"""Coordinates under an isometry that keeps the axes or swaps them: each word by itself, exactly.

A mirror, a shift, a quarter turn and what they make together send each axis to one axis. No word needs
another, so that nothing is added, and every new number is the old one with its sign turned and an exact
decimal added.
"""

from decimal import Decimal
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.isometry import Isometry
from flipreg.rewrite.text.decimal_places import USUAL, DecimalPlaces
from flipreg.rewrite.text.digits import number_texts
from flipreg.rewrite.text.rows import IJK, XYZ, is_incremental, points_of, rows_of
from flipreg.rewrite.text.splice import Edits, Texts
from flipreg.rs274.code_numbers import CYCLES
from flipreg.rs274.interpret.column import at, is_constant
from flipreg.rs274.interpret.state import Modes
from flipreg.rs274.read.blocks import EXPRESSION, Blocks
from flipreg.units import INCH

__all__ = ["AxisMap", "axis_maps", "coordinate_edits", "is_exact"]

Index = NDArray[np.int64]


_COLUMN_DECIMALS, _COLUMN_MANTISSA, _COLUMN_OFFSET = 9, 10**9, 10**8
"""Numbers of up to this size are worked on as int64 columns: none of their sums reaches 10**18 with 9 decimals
more. Longer ones are worked on one by one."""

_TENS = 10 ** np.arange(_COLUMN_DECIMALS + 1, dtype=np.int64)

_NO_SIGN = Decimal(0)
"""Added to a number so that a zero has no sign."""

_EXACT_DECIMALS = 6
"""Offsets with more decimals than this are rounded: nobody measures nanometres, and 1/25.4 never ends."""


class AxisMap(NamedTuple):
    """Where one axis goes: `new[to] = sign * old[axis] + offset_mm`."""

    axis: int
    to: int
    sign: int
    offset_mm: Decimal

    @property
    def keeps_values(self) -> bool:
        """Whether every number stays."""
        return self.sign > 0 and self.offset_mm == 0


def axis_maps(isometry: Isometry) -> list[AxisMap]:
    """Return the maps of the axes that do not stay as they are.

    For a free rotation only Z has a map.
    """
    upright = AxisMap(2, 2, 1, isometry.dz_mm)
    if not isometry.is_axis_aligned:
        maps = [upright]
    elif isometry.keeps_axes:
        x = AxisMap(0, 0, int(isometry.xx), isometry.dx_mm)
        y = AxisMap(1, 1, int(isometry.yy), isometry.dy_mm)
        maps = [x, y, upright]
    else:
        x = AxisMap(0, 1, int(isometry.yx), isometry.dy_mm)
        y = AxisMap(1, 0, int(isometry.xy), isometry.dx_mm)
        maps = [x, y, upright]
    return [each for each in maps if not (each.keeps_values and each.axis == each.to)]


def is_exact(isometry: Isometry) -> bool:
    """Return whether no number of a program in either unit is rounded."""
    offsets = (isometry.dx_mm, isometry.dy_mm, isometry.dz_mm)
    both = [_Offset.of(offset, inch=inch, places=USUAL) for offset in offsets for inch in (False, True)]
    return isometry.is_axis_aligned and not any(offset.is_rounded for offset in both)


def coordinate_edits(
    blocks: Blocks, modes: Modes, axis: AxisMap, *, places: DecimalPlaces, except_for: Index
) -> list[Edits]:
    """Return the edits of all words that are coordinates along one axis, but not in the blocks excepted.

    Offsets that have no end in the unit of a word are rounded to the given places.

    Raises
    ------
    RefusedError
        Where a canned cycle would have to drill the other way, or a number would need more than 18 digits.
    """
    points = points_of(blocks, modes, XYZ[axis.axis])
    centres = rows_of(blocks, modes, IJK[axis.axis])
    levels = _levels(blocks, modes, axis)
    if except_for.size:
        points, centres, levels = (
            rows[~np.isin(blocks.block[rows], except_for)] for rows in (points, centres, levels)
        )
    rows = np.sort(np.concatenate((points, centres, levels))) if centres.size or levels.size else points
    if not rows.size:
        return []
    edits = [] if axis.keeps_values else _value_edits(blocks, modes, axis, rows, places)
    if axis.to != axis.axis:
        edits.append(_letter_edits(blocks, points, XYZ[axis.to]))
        edits.append(_letter_edits(blocks, centres, IJK[axis.to]))
    return edits


def _levels(blocks: Blocks, modes: Modes, axis: AxisMap) -> Index:
    """Return the R words that are levels of canned cycles along the axis."""
    rows = rows_of(blocks, modes, "R")
    block = blocks.block[rows]
    is_level = (at(modes.motion, block) >= CYCLES[0]) & (at(modes.normal, block) == axis.axis)
    rows = np.compress(is_level, rows)
    if rows.size and axis.sign < 0:
        what = f"a canned cycle along {XYZ[axis.axis]} would have to drill the other way; write its moves out"
        raise blocks.refusal(what, row=int(rows[0]))
    return rows


def _letter_edits(blocks: Blocks, rows: Index, letter: str) -> Edits:
    case = blocks_case(blocks, rows)
    characters = np.full(len(rows), ord(letter), np.uint8) | case
    start = blocks.start[rows]
    order = np.argsort(start)
    return Edits(start[order], start[order] + 1, Texts.single(characters[order]))


def blocks_case(blocks: Blocks, rows: Index) -> NDArray[np.uint8]:
    """Return the case bit of each word's letter as it is written."""
    written = np.frombuffer(blocks.text, np.uint8)[blocks.start[rows]]
    return written & np.uint8(0x20)


def _value_edits(blocks: Blocks, modes: Modes, axis: AxisMap, rows: Index, places: DecimalPlaces) -> list[Edits]:
    literal = blocks.decimals.take(rows) != EXPRESSION
    edits = []
    if not literal.all():
        edits = [_expression_edits(blocks, modes, axis, rows[~literal], places)]
        rows = rows[literal]
    if is_constant(modes.inch):
        by_unit = [(bool(modes.inch[0]), rows)]
    else:
        inch = modes.inch.take(blocks.block.take(rows))
        by_unit = [(False, rows[~inch]), (True, rows[inch])]
    for unit, of_unit in by_unit:
        if of_unit.size:
            point = ~is_incremental(blocks, modes, of_unit)
            offset = _Offset.of(axis.offset_mm, inch=unit, places=places)
            edits += _number_edits(blocks, of_unit, point, axis.sign, offset)
    return edits


class _Offset(NamedTuple):
    """An offset in a program's unit, and the decimals that it needs."""

    value: Decimal
    decimals: int
    is_rounded: bool = False

    @classmethod
    def of(cls, offset_mm: Decimal, *, inch: bool, places: DecimalPlaces) -> "_Offset":
        value = (offset_mm / INCH if inch else offset_mm).normalize()
        exponent = -int(value.as_tuple().exponent)
        decimals = places.inch if inch else places.mm
        if exponent <= max(_EXACT_DECIMALS, decimals):
            return cls(value, max(exponent, 0))
        # Rounded once for all words: two words of one position stay alike, and a full circle stays closed.
        return cls(value.quantize(Decimal(1).scaleb(-decimals)), decimals, is_rounded=True)

    def rounded(self, decimals: int) -> Decimal:
        """Return the offset to a number of decimals, half to even."""
        return self.value.quantize(Decimal(1).scaleb(-decimals))


def _number_edits(
    blocks: Blocks, rows: Index, is_point: NDArray[np.bool_], sign: int, offset: _Offset
) -> list[Edits]:
    """Return the edits of literal numbers: `sign * number`, and the offset added where they are points."""
    old, decimals = blocks.mantissa.take(rows), blocks.decimals.take(rows).astype(np.int64)
    wanted = np.maximum(decimals, offset.decimals) if offset.value else decimals
    fits = (wanted <= _COLUMN_DECIMALS) & (np.abs(old) < _COLUMN_MANTISSA)
    if abs(offset.value) >= _COLUMN_OFFSET:
        fits[:] = False
    edits = []
    if not fits.all():
        edits = [_long_number_edits(blocks, rows[~fits], is_point[~fits], sign, offset)]
        rows, is_point = rows[fits], is_point[fits]
        old, decimals, wanted = old[fits], decimals[fits], wanted[fits]
    mantissa = -old if sign < 0 else old
    changed = mantissa != old
    if offset.value:
        table = np.array([int(offset.rounded(places).scaleb(places)) for places in range(_COLUMN_DECIMALS + 1)])
        wanted = np.where(is_point, wanted, decimals)
        mantissa = mantissa * _TENS[wanted - decimals] + np.where(is_point, table[wanted], 0)
        changed = (mantissa != old) | (wanted != decimals)
        decimals = wanted
    changed |= _is_signed_zero(blocks, rows, old)
    if not changed.all():
        rows, mantissa, decimals = rows[changed], mantissa[changed], decimals[changed]
    text = np.frombuffer(blocks.text, np.uint8)
    number, end = blocks.number.take(rows), blocks.end.take(rows)
    pointed = text.take(end - 1) == ord(".")
    return [*edits, Edits(number, end, number_texts(mantissa, decimals, pointed=pointed))]


def _long_number_edits(
    blocks: Blocks, rows: Index, is_point: NDArray[np.bool_], sign: int, offset: _Offset
) -> Edits:
    """Return the edits of numbers too long for the columns, one by one: printed doubles with 17 decimals."""
    texts = []
    for row, point in zip(rows.tolist(), is_point.tolist(), strict=True):
        places = int(blocks.decimals[row])
        number = sign * Decimal(int(blocks.mantissa[row])).scaleb(-places)
        if point:
            number += offset.rounded(max(places, offset.decimals))
        spelled = f"{number + _NO_SIGN:f}"
        texts.append(spelled.encode())
    return Edits(blocks.number[rows], blocks.end[rows], Texts.of(texts))


def _is_signed_zero(blocks: Blocks, rows: Index, mantissa: Index) -> NDArray[np.bool_]:
    zero = np.equal(mantissa, 0)
    if zero.any():
        text = np.frombuffer(blocks.text, np.uint8)
        zero[zero] = text[blocks.number[rows[zero]]] == ord("-")
    return zero


def _expression_edits(blocks: Blocks, modes: Modes, axis: AxisMap, rows: Index, places: DecimalPlaces) -> Edits:
    """Keep parameters and expressions alive: X#1 becomes X[25.4 - #1]."""
    incremental = is_incremental(blocks, modes, rows)
    starts, ends, texts = [], [], []
    for row, vector in zip(rows.tolist(), incremental.tolist(), strict=True):
        start, end = int(blocks.number[row]), int(blocks.end[row])
        inch = bool(modes.inch[blocks.block[row]])
        offset = _Offset.of(Decimal(0) if vector else axis.offset_mm, inch=inch, places=places)
        if axis.sign > 0 and not offset.value:
            continue
        spelled = offset.rounded(offset.decimals) + _NO_SIGN
        operator = "-" if axis.sign < 0 else "+"
        texts.append(f"[{spelled:f}{operator}".encode() + blocks.text[start:end] + b"]")
        starts.append(start)
        ends.append(end)
    return Edits(np.array(starts, np.int64), np.array(ends, np.int64), Texts.of(texts))
