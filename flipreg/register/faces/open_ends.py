"""Ends of straight slots and of cuts in a curve: where a cut that doesn't close begins and ends."""

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.near import near_pairs
from flipreg.register.faces.open_chains import OpenChains
from flipreg.register.faces.raster import PARALLEL, SAME_LINE_MM, are_passes

__all__ = ["nothing", "open_ends"]

Complexes = NDArray[np.complex128]
Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

_LEAST_SLOT_MM = 3.0
"""Shorter cuts along one line are no slots, in millimetres (chosen)."""
_LEAST_CURVE_MM, _WINDING = 15.0, 5.0
"""Cuts in a curve whose ends are closer together, in millimetres, or that are so many times longer than that, are leads
into something or clear a field (chosen)."""
_FLAT_SHARE = 0.5
"""A slot of which less than this share lies on its floor has a curved floor (chosen)."""
_LEAST_TURN_DEG, _WINDING_ROUND_KNEES = 20.0, 2.0
"""A cut that turns by more at once, in degrees, and is so many times longer than its ends are apart clears a field
(chosen): what locks one piece into another is less long."""


def open_ends(chains: OpenChains, tool_mm: float, side_mm: float) -> tuple[NDArray[np.generic], ...]:
    """Return the ends of slots and of cuts in a curve: tips, directions twice, rows of the path, depths, and sizes.

    The size is how much wider than the tool a slot is. Two cuts side by side, closer than the tool is wide, are one
    such slot along the middle between them; more of them clear a field and are none.

    Parameters
    ----------
    chains : OpenChains
        What is cut without closing.
    tool_mm : float
        How wide the tool is.
    side_mm : float
        Sides that are longer make a corner: a cut with one is known by that.
    """
    if len(chains) == 0:
        return nothing()
    number, floor_mm = chains.numbers(), chains.floors_mm()
    flat_mm = chains.flat_mm(number, floor_mm)
    start = chains.at(chains.chord[chains.begins])
    # How far the end of each chord is along the first way of its chain, and to the side of it.
    along = (chains.at(chains.chord + 1) - start[number]) * chains.unit[chains.begins].conj()[number]
    is_straight = np.maximum.reduceat(np.abs(along.imag), chains.begins) <= SAME_LINE_MM
    # What leads into a closed loop is neither.
    is_free = chains.leads() == 0
    slots = _slots(chains, start, along.real, np.flatnonzero(is_straight & is_free), flat_mm, tool_mm)
    curves = _curves(chains, start, np.flatnonzero(~is_straight & is_free), flat_mm, tool_mm, side_mm)
    at, outward, chain, wider_mm = (np.concatenate(columns) for columns in zip(slots, curves, strict=True))
    row = chains.cut.row[chains.chord[chains.begins[chain]] + 1]
    return np.column_stack([at.real, at.imag]), outward, outward, row, floor_mm[chain], wider_mm


def nothing() -> tuple[NDArray[np.generic], ...]:
    """Return no ends, and no corners either, as columns."""
    way = np.empty(0, np.complex128)
    return np.empty((0, 2)), way, way, np.empty(0, np.intp), np.empty(0), np.empty(0)


def _slots(
    chains: OpenChains, start: Complexes, along_mm: Floats, some: Rows, flat_mm: Floats, tool_mm: float
) -> tuple[Complexes, Complexes, Rows, Floats]:
    """Return where cuts along one line, once or to and fro, end, which way the ends look, their chains and sizes."""
    unit = chains.unit[chains.begins]
    first = np.minimum(np.minimum.reduceat(along_mm, chains.begins), 0.0)
    last = np.maximum(np.maximum.reduceat(along_mm, chains.begins), 0.0)
    middle = start + unit * (first + last) / 2.0
    some = some[(last - first)[some] >= _LEAST_SLOT_MM]
    beside = _beside(middle[some], unit[some] ** 2, tool_mm)
    some, other = some[beside >= 0], some[beside[beside >= 0]]
    is_curved = flat_mm[some] < _FLAT_SHARE * (last - first)[some]
    is_slot = ~(is_curved & are_passes(middle[some], unit[some] ** 2, is_curved))
    half, halves = ((last - first)[rows] / 2.0 * unit[rows] for rows in (some, other))
    halves = np.where((half * halves.conj()).real < 0.0, -halves, halves)
    is_slot &= np.abs(half - halves) <= tool_mm
    some, other, half, halves = some[is_slot], other[is_slot], half[is_slot], halves[is_slot]
    at = (middle[some] + middle[other]) / 2.0 + np.array([[-0.5], [0.5]]) * (half + halves)
    wider_mm = np.abs(((middle[other] - middle[some]) * unit[some].conj()).imag)
    outward = np.array([[-1.0], [1.0]]) * half / np.abs(half)
    return at.ravel(), outward.ravel(), np.tile(some, 2), np.tile(wider_mm, 2)


def _curves(
    chains: OpenChains, start: Complexes, some: Rows, flat_mm: Floats, tool_mm: float, side_mm: float
) -> tuple[Complexes, Complexes, Rows, Floats]:
    """Return the same of cuts with a flat floor that follow no line, have no corners and don't wind: of saw cuts."""
    final, length_mm = chains.lasts(), chains.lengths_mm()
    over = chains.at(chains.chord[final] + 1) - start
    bend = np.zeros(len(chains.chord))
    bend[1:] = np.where(chains.linked, np.abs(np.angle(chains.unit[1:] * chains.unit[:-1].conj())), 0.0)
    is_knee = np.degrees(bend) >= _LEAST_TURN_DEG
    is_corner = is_knee & (np.minimum(chains.length_mm, np.roll(chains.length_mm, 1)) >= side_mm)
    has_knee, has_corner = (np.logical_or.reduceat(one, chains.begins) for one in (is_knee, is_corner))
    most_mm = np.where(has_knee, _WINDING_ROUND_KNEES, _WINDING) * np.abs(over)
    is_flat = flat_mm >= _FLAT_SHARE * length_mm
    is_cut = (np.abs(over) >= _LEAST_CURVE_MM) & (length_mm <= most_mm) & ~has_corner
    some = some[(is_flat & is_cut)[some]]
    centre = chains.at(chains.chord) + chains.unit * chains.length_mm / 2.0
    middle = np.add.reduceat(chains.length_mm * centre, chains.begins) / length_mm
    middle_mm = np.asarray(middle[some], np.complex128)
    beside = _beside(middle_mm, (over[some] / np.abs(over[some])) ** 2, tool_mm)
    some = some[beside == np.arange(len(some))]
    at = np.concatenate([start[some], start[some] + over[some]])
    outward = np.concatenate([-chains.unit[chains.begins[some]], chains.unit[final[some]]])
    return at, outward, np.tile(some, 2), np.zeros(len(at))


def _beside(middle: Complexes, way: Complexes, reach_mm: float) -> Rows:
    """Return which line lies beside each one, by their middles and squared directions.

    It is the line itself where it lies alone, the other one where they are two, and -1 where they are more. Passes at
    several depths are one line.
    """
    at = np.column_stack([middle.real, middle.imag])
    key = np.round(np.column_stack([at / SAME_LINE_MM, way.real / PARALLEL, way.imag / PARALLEL]))
    _, first, group = np.unique(key, axis=0, return_index=True, return_inverse=True)
    a, b, apart = near_pairs(at[first], at[first], reach_mm)
    is_beside = (apart > SAME_LINE_MM) & (np.abs(way[first][a] - way[first][b]) <= PARALLEL)
    a, b = a[is_beside], b[is_beside]
    count = np.bincount(a, minlength=len(first))
    beside = np.arange(len(first))
    beside[a] = b
    beside[(count > 1) | (count[beside] > 1)] = -1
    found = beside[group.ravel()]
    return np.where(found < 0, -1, np.where(found == group.ravel(), np.arange(len(middle)), first[found]))
