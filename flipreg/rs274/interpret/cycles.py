"""Canned cycles G81 to G89: one block of words, a few motions (NISTIR 6556, 3.5.16).

In all planes alike: the hole lies along the plane's normal, its place is the pair of the two other axes in the
plane's order. Two points that the report leaves open are settled here: after a peck of G83 the tool returns to
just above the last depth by a chosen distance (the report gives no number), and the hand's retract of G88 is
no motion, but the next motion starts at the clear level.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from math import isnan, nan

from flipreg.path import Kind
from flipreg.rs274.interpret.controlled_point import ControlledPoint
from flipreg.rs274.interpret.frame import Point
from flipreg.rs274.interpret.position import stepped
from flipreg.rs274.interpret.state import CycleWords
from flipreg.rs274.read.location import ProgramError

__all__ = ["MOST_REPEATS", "Complaint", "CycleBlock", "Drilling"]

MOST_REPEATS = 10_000
"""Holes or pecks of one block (chosen): more is a slip of the decimal point, and would fill the memory."""

_BACK_OFF_MM = 0.25
"""How far above the last depth a peck's traverse ends, or half a peck if that is less (chosen)."""

_NOISE_MM = 1e-9
"""Levels closer than this are one: inches times 25.4 are not exact in floating point."""

_AXES = "XYZ"
_OFFSETS = "IJK"

_NEEDS_DWELL = frozenset({820, 860, 880, 890})
_PECK, _TAP, _STOP, _BACK, _BY_HAND = 830, 840, 860, 870, 880
_FEEDS_OUT = frozenset({840, 850, 890})

_RAPID, _FEED = int(Kind.RAPID), int(Kind.LINE)

Complaint = Callable[[str, str], ProgramError]
"""Makes the error that says the first argument and points at the word whose letter is the second."""


@dataclass(slots=True)
class CycleBlock:
    """The words and modes of one block with a canned cycle; lengths in millimetres, NaN where not named.

    Attributes
    ----------
    cycle : int
        Ten times the code.
    normal : int
        The axis of the hole.
    incremental, initial_level : bool
        G91; G98.
    turning : int
        1, -1 or 0 as in `State`.
    point_mm, offset_mm : tuple of three floats
        X Y Z and I J K.
    retract_mm, peck_mm, dwell_s, repeats : float
        R, Q, P and L.
    """

    cycle: int
    normal: int
    incremental: bool
    initial_level: bool
    turning: int
    point_mm: Point
    offset_mm: Point
    retract_mm: float
    peck_mm: float
    dwell_s: float
    repeats: float

    def words(self, run: CycleWords | None, complain: Complaint) -> CycleWords:
        """Return the cycle's numbers, the ones not named taken from the run under way."""
        if run is None or run.cycle != self.cycle or run.normal != self.normal:
            run = CycleWords(self.cycle, self.normal, nan, nan)
        depth = self.point_mm[self.normal]
        if all(map(isnan, (depth, self.retract_mm, self.peck_mm, self.dwell_s, *self.offset_mm))):
            _check_words(run, complain)
            return run
        named = run._replace(
            retract_mm=run.retract_mm if isnan(self.retract_mm) else self.retract_mm,
            depth_mm=run.depth_mm if isnan(depth) else depth,
            peck_mm=run.peck_mm if isnan(self.peck_mm) else self.peck_mm,
            dwell_s=run.dwell_s if isnan(self.dwell_s) else self.dwell_s,
            offset_mm=_first_known(self.offset_mm, run.offset_mm),
        )
        _check_words(named, complain)
        return named


def _first_known(named: Point, before: Point) -> Point:
    x, y, z = (old if isnan(new) else new for new, old in zip(named, before, strict=True))
    return x, y, z


def _check_words(words: CycleWords, complain: Complaint) -> None:
    name = f"G{words.cycle // 10}"
    first = f"the first block of a run of {name} needs"
    if isnan(words.retract_mm):
        raise complain(f"no R word: {first} R, the level above the hole", "G")
    if isnan(words.depth_mm):
        letter = _AXES[words.normal]
        raise complain(f"no {letter} word: {first} {letter}, the bottom of the hole", "G")
    if words.cycle in _NEEDS_DWELL and isnan(words.dwell_s):
        raise complain(f"no P word: {first} P, the dwell in seconds", "G")
    if words.dwell_s < 0:
        raise complain(f"a dwell of {words.dwell_s:g} s, expected P of 0 or more", "P")
    if words.cycle == _PECK and not words.peck_mm > 0:
        raise complain(f"no peck over 0: {first} Q, the depth of one peck", "Q" if words.peck_mm <= 0 else "G")
    if words.cycle == _BACK and any(map(isnan, words.offset_mm)):
        letter = _OFFSETS[[isnan(offset) for offset in words.offset_mm].index(True)]
        raise complain(f"no {letter} word: {first} I, J and K", "G")


@dataclass(slots=True)
class Drilling:
    """The motions of blocks one after the other, canned cycles and plain moves, as growing columns.

    Attributes
    ----------
    at : ControlledPoint
        Where the controlled point is, and what its numbers mean.
    run : CycleWords or None
        As `State.cycle`.
    end_mm : three lists
        The ends of the motions, one list an axis.
    kind : list of int
        `Kind` of each motion.
    starts : dict from row to point
        Motions that do not start where the one before ends.
    spindle : dict from row to factor
        Motions during which the spindle does not turn as the program says: stopped 0, reversed -1.
    """

    at: ControlledPoint
    run: CycleWords | None
    end_mm: tuple[list[float], list[float], list[float]] = field(default_factory=lambda: ([], [], []))
    kind: list[int] = field(default_factory=list)
    starts: dict[int, Point] = field(default_factory=dict)
    spindle: dict[int, int] = field(default_factory=dict)

    def move(self, kind: int, point_mm: Point, *, incremental: bool) -> None:
        """Add one motion of G0 to G3."""
        for axis in range(3):
            if not isnan(point_mm[axis]):
                self.at.name(axis, point_mm[axis], incremental=incremental)
        self.stand(kind)

    def stand(self, kind: int) -> None:
        """Add a motion to where the point is now."""
        for axis in range(3):
            self.end_mm[axis].append(self.at.position_mm[axis])
        self.kind.append(kind)

    def leap(self) -> None:
        """Let the next motion start where the point is now, not where the last one ended."""
        self.starts[len(self.kind)] = self.at.place()

    def drill(self, block: CycleBlock, complain: Complaint) -> None:
        """Add the motions of one canned cycle block.

        Raises
        ------
        ProgramError
            Made by `complain`, at words that are missing or make no hole.
        """
        words = block.words(self.run, complain)
        self.run = words
        holes = _holes(block, complain)
        u, v, w = (block.normal + 1) % 3, (block.normal + 2) % 3, block.normal
        here = self.at.position_mm
        if isnan(here[w]):
            if self.at.forgotten[w] and block.incremental:
                message = f"the {_AXES[w]} this cycle starts from is not known here; name {_AXES[w]} before it"
                raise complain(message, "G")
            if not self.at.forgotten[w]:
                self.at.assume_zero(w)
        # Where the cycle starts is where it returns to under G98, and is as little known after it.
        before = here[w]
        level = stepped(before, words.retract_mm) if block.incremental else self.at.at(w, words.retract_mm)
        bottom = stepped(level, words.depth_mm) if block.incremental else self.at.at(w, words.depth_mm)
        self.at.name_level(w)
        if level < bottom - _NOISE_MM:
            message = f"R is at {level:.4f} mm, below the bottom of the hole at {bottom:.4f} mm; write a higher R"
            raise complain(message, "R" + _AXES[w])
        clear = level
        if block.initial_level:
            clear = before if isnan(before) else max(before, level)
        if before < level - _NOISE_MM:
            self._go(w, level, _RAPID)
        for _ in range(holes):
            for axis in (u, v):
                if not isnan(block.point_mm[axis]):
                    self.at.name(axis, block.point_mm[axis], incremental=block.incremental)
            self._go(w, here[w], _RAPID)
            if not abs(here[w] - level) <= _NOISE_MM:
                self._go(w, level, _RAPID)
            self._hole(block, words, (level, bottom, clear), complain)
        if isnan(clear):
            self.at.forget(w)

    def _hole(
        self, block: CycleBlock, words: CycleWords, levels: tuple[float, float, float], complain: Complaint
    ) -> None:
        """Add the motions of one hole, from the R level to the clear level."""
        w, cycle = block.normal, block.cycle
        _, bottom, clear = levels
        if cycle == _PECK:
            self._peck(w, words.peck_mm, levels, complain)
        elif cycle == _BACK:
            self._bore_back(block, words, levels)
        else:
            if cycle in (_TAP, _STOP):
                _check_spindle(block, complain)
            self._go(w, bottom, _FEED)
            if cycle == _BY_HAND:
                self.at.position_mm[w] = clear
                self.leap()
                return
            if cycle in (_TAP, _STOP):
                self.spindle[len(self.kind)] = -1 if cycle == _TAP else 0
            self._go(w, clear, _FEED if cycle in _FEEDS_OUT else _RAPID)

    def _peck(self, w: int, peck: float, levels: tuple[float, float, float], complain: Complaint) -> None:
        level, bottom, clear = levels
        if (level - bottom) / peck > MOST_REPEATS:
            message = f"more than {MOST_REPEATS} pecks of {peck:g} mm from {level:g} to {bottom:g} mm; write a larger Q"
            raise complain(message, "Q")
        depth = level
        while True:
            depth = stepped(depth, -peck)
            if depth <= bottom + _NOISE_MM:
                depth = bottom
            self._go(w, depth, _FEED)
            self._go(w, clear, _RAPID)
            if depth <= bottom:
                return
            self._go(w, depth + min(_BACK_OFF_MM, peck / 2, (clear - depth) / 2), _RAPID)

    def _bore_back(self, block: CycleBlock, words: CycleWords, levels: tuple[float, float, float]) -> None:
        """Add the motions of G87: in beside the hole, up through it from below, out beside it."""
        w = block.normal
        u, v = (w + 1) % 3, (w + 2) % 3
        _, bottom, clear = levels
        here = self.at.position_mm
        hole = here[u], here[v]
        beside = stepped(here[u], words.offset_mm[u]), stepped(here[v], words.offset_mm[v])
        top = words.offset_mm[w]
        upper = stepped(bottom, top) if block.incremental else self.at.at(w, top)

        def across(place: tuple[float, float]) -> None:
            here[u], here[v] = place
            self._go(w, here[w], _RAPID)

        across(beside)
        stopped = len(self.kind)
        self._go(w, bottom, _RAPID)
        across(hole)
        self._go(w, upper, _FEED)
        self._go(w, bottom, _FEED)
        stopped_again = len(self.kind)
        across(beside)
        self._go(w, clear, _RAPID)
        across(hole)
        for row in (stopped, stopped + 1, stopped_again, stopped_again + 1, stopped_again + 2):
            self.spindle[row] = 0

    def _go(self, axis: int, coordinate: float, kind: int) -> None:
        here = self.at.position_mm
        here[axis] = coordinate
        self.end_mm[0].append(here[0])
        self.end_mm[1].append(here[1])
        self.end_mm[2].append(here[2])
        self.kind.append(kind)


def _holes(block: CycleBlock, complain: Complaint) -> int:
    if isnan(block.repeats):
        return 1
    holes = round(block.repeats)
    if holes < 1 or abs(block.repeats - holes) > 1e-4:
        raise complain(f"L{block.repeats:g} repeats, expected a whole number of 1 or more", "L")
    if holes > MOST_REPEATS:
        raise complain(f"{holes} repeats in one block, expected at most {MOST_REPEATS}; write more blocks", "L")
    return holes


def _check_spindle(block: CycleBlock, complain: Complaint) -> None:
    if block.cycle == _TAP and block.turning != 1:
        raise complain("G84 with the spindle not turning clockwise; expected M3 before it", "G")
    if block.cycle == _STOP and block.turning == 0:
        raise complain("G86 with the spindle not turning; expected M3 or M4 before it", "G")
