"""Read the plain programs that the generator writes, and nothing more."""

import math
import re
from dataclasses import dataclass

import numpy as np

from tests.dexels.bench import Floats

_WORD = re.compile(r"([A-Z])\s*(-?\d*\.?\d+)")
_COMMENT = re.compile(r"\([^)]*\)|;.*")
_CHORD = 0.002


@dataclass(frozen=True)
class Move:
    line: int
    tool: int
    points: Floats
    """The way in the program's frame, (n, 3) in millimetres; a start that nobody knows is left out."""
    fed: bool = True


def read(text: str) -> list[Move]:
    moves: list[Move] = []
    at = np.full(3, np.nan)
    scale, absolute, mode, tool, asked = 1.0, True, 0, 0, 0
    cycle: dict[str, float] = {}
    for number, line in enumerate(text.split("\n"), 1):
        words = [(letter, float(value)) for letter, value in _WORD.findall(_COMMENT.sub("", line))]
        place = {letter: value * scale for letter, value in words if letter in "XYZIJR"}
        for letter, value in words:
            if letter == "T":
                asked = int(value)
            elif letter == "M" and value == 6:
                tool = asked
            elif letter == "G" and value in (20, 21):
                scale = 25.4 if value == 20 else 1.0
            elif letter == "G" and value in (90, 91):
                absolute = value == 90
            elif letter == "G" and value in (0, 1, 2, 3, 81, 80):
                mode = int(value)
                cycle = {}
        if not {"X", "Y", "Z"} & place.keys():
            continue
        end = at.copy()
        for axis, letter in enumerate("XYZ"):
            if letter in place and not (mode == 81 and letter == "Z"):
                end[axis] = place[letter] if absolute else at[axis] + place[letter]
        if mode == 81:
            cycle |= {letter: place[letter] for letter in "ZR" if letter in place}
            over = np.array([end[0], end[1], max(at[2], cycle["R"])])
            down = np.array([end[0], end[1], cycle["Z"]])
            moves.append(Move(number, tool, _known(at, over), fed=False))
            moves.append(Move(number, tool, np.array([over, down])))
            at = over
        elif mode in (2, 3):
            moves.append(Move(number, tool, _arc(at, end, place["I"], place["J"], ccw=mode == 3)))
            at = end
        else:
            way = _known(at, end)
            if len(way):
                moves.append(Move(number, tool, way, fed=mode == 1))
            at = end
    return moves


def _known(start: Floats, end: Floats) -> Floats:
    return np.array([point for point in (start, end) if not np.isnan(point).any()]).reshape(-1, 3)


def _arc(start: Floats, end: Floats, i: float, j: float, *, ccw: bool) -> Floats:
    cx, cy = start[0] + i, start[1] + j
    radius = math.hypot(i, j)
    first = math.atan2(start[1] - cy, start[0] - cx)
    turn = math.atan2(end[1] - cy, end[0] - cx) - first
    turn = (turn if ccw else -turn) % (2 * math.pi)
    if math.hypot(end[0] - start[0], end[1] - start[1]) < 1e-6:
        turn = 2 * math.pi
    turn = turn if ccw else -turn
    steps = max(2, math.ceil(abs(turn) / (2 * math.acos(max(0.0, 1 - _CHORD / radius)))))
    share = np.linspace(0, 1, steps + 1)
    angles = first + turn * share
    z = start[2] + (end[2] - start[2]) * share
    way = np.column_stack([cx + radius * np.cos(angles), cy + radius * np.sin(angles), z])
    way[-1] = end
    return way
