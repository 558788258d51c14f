"""Many blocks at once: runs of plain motions, of which only the last words of each letter count afterwards."""

from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from flipreg.prove.machine.coordinate import Coordinate
from flipreg.prove.machine.history import History
from flipreg.prove.machine.line import Lines
from flipreg.prove.machine.machine import AXES, MachineState
from flipreg.prove.machine.step import step
from flipreg.units import INCH

__all__ = ["advance"]

_PLAIN = np.frombuffer(b"NXYZIJKRF", np.uint8)
_CENTRES, _ENDS = np.frombuffer(b"IJK", np.uint8), np.frombuffer(b"XYZ", np.uint8)
_MOTIONS = (0.0, 1.0, 2.0, 3.0)
_SHORTEST = 24
"""Shorter runs are walked block after block (chosen)."""


def advance(machine: MachineState, history: History, lines: Lines, first: int, stop: int) -> None:
    """Carry out the blocks from `first` up to, not including, `stop`; machine and history change."""
    if machine.ended:
        return
    plain = _plain(lines)
    block = first
    while block < stop:
        after = int(np.argmin(plain[block:stop])) + block if not plain[block:stop].all() else stop
        if after - block >= _SHORTEST and _is_ready(machine):
            _run(machine, history, lines, block, after)
            block = after
            continue
        for each in range(block, min(stop, max(after, block + 1))):
            if machine.ended:
                return
            line = lines.line(each)
            history.add(line, step(machine, line))
        block = min(stop, max(after, block + 1))


def _plain(lines: Lines) -> NDArray[np.bool_]:
    """Return for each block whether it holds nothing but motions of G0 to G3 and a feed."""
    blocks = lines.blocks
    fine = np.isin(blocks.letter, _PLAIN)
    fine |= (blocks.letter == ord("G")) & np.isin(lines.values, _MOTIONS)
    fine &= np.isfinite(lines.values)
    odd = np.bincount(blocks.block[~fine], minlength=len(blocks)) if not fine.all() else np.zeros(len(blocks))
    # A centre without an end may be a full circle.
    centred, named = (np.zeros(len(blocks), np.bool_) for _ in range(2))
    centred[blocks.block[np.isin(blocks.letter, _CENTRES)]] = True
    named[blocks.block[np.isin(blocks.letter, _ENDS)]] = True
    return np.asarray((odd == 0) & (named | ~centred), np.bool_)


def _is_ready(machine: MachineState) -> bool:
    return (
        machine.motion in (0, 10, 20, 30)
        and machine.distance == 900
        and machine.feed_mode == 940
        and machine.cutter[0] == 400
        and not machine.radius_off
        and not machine.ended
    )


def _run(machine: MachineState, history: History, lines: Lines, first: int, stop: int) -> None:
    blocks = lines.blocks
    last_motion = -1
    is_moving = np.zeros(stop - first, np.bool_)
    for axis, letter in enumerate(AXES):
        rows = _rows(lines, letter, first, stop)
        if rows.size:
            is_moving[blocks.block[rows] - first] = True
            machine.place[axis] = machine.zero(axis) + Coordinate(_mm(machine, lines, int(rows[-1])))
            last_motion = max(last_motion, int(blocks.block[rows[-1]]))
            if axis == 2:
                history.add_height(machine.frame())
            else:
                history.has_moved_across = True
    feeds = _rows(lines, "F", first, stop)
    if feeds.size:
        machine.feed_mm = _mm(machine, lines, int(feeds[-1]))
    codes = _rows(lines, "G", first, stop)
    values = np.r_[machine.motion, np.rint(lines.values[codes] * 10)].astype(np.int64)
    # The code in force in each block is the last one up to it.
    in_force = values[np.searchsorted(blocks.block[codes] - first, np.arange(stop - first), side="right")]
    machine.motion = int(values[-1])
    if last_motion < 0:
        return
    history.is_parked = False
    history.last_motion = machine.frame()
    history.ends_with_cut = bool(in_force[last_motion - first] > 0)
    if (in_force[is_moving] > 0).any():
        history.add_cut(machine.frame())


def _rows(lines: Lines, letter: str, first: int, stop: int) -> NDArray[np.int64]:
    rows = lines.blocks.rows(letter)
    low, high = np.searchsorted(lines.blocks.block[rows], [first, stop]).tolist()
    return rows[low:high]


def _mm(machine: MachineState, lines: Lines, row: int) -> Decimal:
    value = lines.value(row)
    return value * INCH if machine.units == 200 else value
