"""Run all programs of a bench over the wood, motion by motion, and write down what happens to it."""

from dataclasses import dataclass, field

import numpy as np

from tests.dexels.bench import Bench, Program, Setup
from tests.dexels.pieces import Piece, held_label, label, loose_pieces
from tests.dexels.reader import Move, read
from tests.dexels.wood import Wood

CHIP_MM2 = 4.0
TOUCH = 0.1
"""A traverse that takes off less than this, in millimetres, is none through wood."""


@dataclass(frozen=True)
class Event:
    file: str
    line: int
    size: float
    """Of a traverse the depth in millimetres, of a piece its area in mm²."""
    at: tuple[float, float]


@dataclass
class Outcome:
    wood: Wood
    loose: list[Event] = field(default_factory=list)
    traverses: list[Event] = field(default_factory=list)
    bites: dict[tuple[str, str], float] = field(default_factory=dict)
    """Of each program and each of its cutters, the deepest wood that is met at once."""
    states: dict[str, tuple[Wood, Wood]] = field(default_factory=dict)
    """The wood before and after each program."""
    wrong: list[Event] = field(default_factory=list)
    """Motions in wood that their cutter can't do: down with one that can't plunge, sideways with a drill."""


def simulate(bench: Bench, grid: float) -> Outcome:
    wood = Wood(bench.blank, grid)
    outcome = Outcome(wood)
    known: set[tuple[int, int]] = set()
    for setup in bench.setups:
        for program in setup.programs:
            before = wood.copy()
            moves = read(program.text)
            _run(wood, moves, setup, program, outcome)
            outcome.states[program.file] = before, wood.copy()
            for piece in loose_pieces(wood, CHIP_MM2):
                if piece.cell in known:
                    continue
                names = label(wood)
                known |= {(int(r), int(c)) for r, c in zip(*(names == piece.label).nonzero(), strict=True)}
                line = _release(before, moves, setup, program, piece)
                outcome.loose.append(Event(program.file, line, piece.area_mm2, piece.at))
    return outcome


def _run(wood: Wood, moves: list[Move], setup: Setup, program: Program, outcome: Outcome) -> None:
    for move in moves:
        way = setup.to_blank(move.points, wood.thickness)
        cutter = program.tools[move.tool]
        met = wood.cut(way, cutter, from_back=setup.mirrored)
        if met < TOUCH:
            continue
        if not move.fed:
            outcome.traverses.append(Event(program.file, move.line, met, (way[-1][0], way[-1][1])))
            continue
        key = program.file, cutter.name
        outcome.bites[key] = max(outcome.bites.get(key, 0.0), met)
        across = np.hypot(*np.ptp(move.points[:, :2], axis=0))
        down = move.points[0, 2] - move.points[-1, 2] > across
        if (cutter.shape == "drill" and across > TOUCH) or (not cutter.plunge and down):
            outcome.wrong.append(Event(program.file, move.line, met, (way[-1][0], way[-1][1])))


def _release(before: Wood, moves: list[Move], setup: Setup, program: Program, piece: Piece) -> int:
    """Line of the first motion after which a piece no longer hangs together with what is held.

    Wood only ever goes, so whether the piece still hangs changes once, and halving finds where.
    """
    low, high = 0, len(moves)
    while low < high:
        middle = (low + high) // 2
        wood = before.copy()
        for move in moves[: middle + 1]:
            way = setup.to_blank(move.points, wood.thickness)
            wood.cut(way, program.tools[move.tool], from_back=setup.mirrored)
        names = label(wood)
        if names[piece.cell] == held_label(names):
            low = middle + 1
        else:
            high = middle
    return moves[min(low, len(moves) - 1)].line
