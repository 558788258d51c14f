"""A second interpreter for the tests: one block at a time, exact decimals, nothing shared with the first.

It knows G0 to G3, planes, units, distance modes and F; programs for it are drawn by `programs()`.
"""

import cmath
import math
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple

from hypothesis import strategies as st

__all__ = ["Motion", "Slow", "programs"]

Word = tuple[str, Decimal]
Known = Decimal | None

_PLANES = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}
_AXES, _OFFSETS = "XYZ", "IJK"
_INCH = Decimal("25.4")


class Motion(NamedTuple):
    """One motion; lengths in millimetres, None where unknown or without meaning."""

    line: int
    kind: int
    start: list[float]
    end: list[float]
    centre: list[float]
    normal: int
    sweep: float
    feed: float


@dataclass
class Slow:
    """What is in force, and the motions so far."""

    motion: int | None = None
    plane: int = 17
    incremental: bool = False
    inch: bool = False
    feed: Known = None
    position: list[Known] = field(default_factory=lambda: [None, None, None])
    motions: list[Motion] = field(default_factory=list)

    @property
    def unit(self) -> Decimal:
        return _INCH if self.inch else Decimal(1)

    def mode(self, code: int) -> None:
        if code <= 3:
            self.motion = code
        elif code in _PLANES:
            self.plane = code
        elif code in (20, 21):
            self.inch = code == 20
        elif code in (90, 91):
            self.incremental = code == 91

    def block(self, line: int, words: list[Word]) -> None:
        for letter, value in words:
            if letter == "G":
                self.mode(int(value))
        lengths = {letter: value * self.unit for letter, value in words if letter != "G"}
        self.feed = lengths.get("F", self.feed)
        if not any(axis in lengths for axis in _AXES):
            return
        assert self.motion is not None
        start = list(self.position)
        for index, axis in enumerate(_AXES):
            if axis in lengths:
                origin = (start[index] or Decimal(0)) if self.incremental else Decimal(0)
                self.position[index] = origin + lengths[axis]
        centre, sweep = [math.nan] * 3, 0.0
        if self.motion >= 2:
            centre, sweep = self.arc(start, lengths)
        feed = math.nan if self.motion == 0 else _float(self.feed)
        self.motions.append(
            Motion(
                line,
                min(self.motion, 2),
                list(map(_float, start)),
                list(map(_float, self.position)),
                centre,
                _PLANES[self.plane][2],
                sweep,
                feed,
            )
        )

    def arc(self, start: list[Known], lengths: dict[str, Decimal]) -> tuple[list[float], float]:
        first, second, along = _PLANES[self.plane]
        begin = complex(_float(start[first]), _float(start[second]))
        end = complex(_float(self.position[first]), _float(self.position[second]))
        if "R" in lengths:
            radius = float(lengths["R"])
            half = (end - begin) / 2
            height = math.sqrt(radius**2 - abs(half) ** 2)
            side = 1j if (self.motion == 3) == (radius > 0) else -1j
            middle = begin + half + side * height * half / abs(half)
        else:
            offsets = [float(lengths.get(_OFFSETS[axis], 0)) for axis in (first, second)]
            middle = begin + complex(*offsets)
        if begin == end:
            turned = 360.0
        else:
            turned = math.degrees(cmath.phase((end - middle) / (begin - middle)))
            turned = turned % 360 if self.motion == 3 else -turned % 360
        centre = [0.0, 0.0, 0.0]
        centre[first], centre[second], centre[along] = middle.real, middle.imag, _float(start[along])
        return centre, turned if self.motion == 3 else -turned


def _float(value: Known) -> float:
    return math.nan if value is None else float(value)


@st.composite
def programs(draw: st.DrawFn, *, most: int = 25) -> tuple[str, list[Motion]]:
    """Draw a legal program and what the slow interpreter makes of it."""
    slow, lines = Slow(), []
    for line in range(1, draw(st.integers(1, most)) + 1):
        words: list[Word] = [("G", Decimal(code)) for code in _modes(draw)]
        for _, code in words:
            slow.mode(int(code))
        if draw(st.integers(0, 4)) == 0:
            words.append(("F", Decimal(draw(st.integers(1, 3000)))))
        words += _movement(draw, slow)
        words = words or [("F", Decimal(7))]
        slow.block(line, words)
        lines.append(" ".join(f"{letter}{value}" for letter, value in draw(st.permutations(words))))
    return "\n".join(lines) + "\n", slow.motions


def _modes(draw: st.DrawFn) -> list[int]:
    groups = ((17, 18, 19), (20, 21), (90, 91))
    return [draw(st.sampled_from(group)) for group in groups if draw(st.integers(0, 5)) == 0]


def _movement(draw: st.DrawFn, slow: Slow) -> list[Word]:
    kind = draw(st.sampled_from("nllllac"))
    if kind == "n":
        return []
    if kind in "ac" and None not in slow.position:
        return _arc(draw, slow, by_centre=kind == "c")
    code = draw(st.sampled_from((0, 1)))
    axes = draw(st.sets(st.sampled_from(_AXES), min_size=1))
    words = [(axis, draw(_numbers(-100, 100))) for axis in sorted(axes)]
    return words if code == slow.motion and draw(st.booleans()) else [("G", Decimal(code)), *words]


def _arc(draw: st.DrawFn, slow: Slow, *, by_centre: bool) -> list[Word]:
    """Draw a quarter, half or full turn: their ends are exact numbers."""
    first, second, along = _PLANES[slow.plane]
    code = draw(st.sampled_from((2, 3)))
    radius = draw(_numbers(1, 20))
    sign = 1 if code == 3 else -1
    quarters = draw(st.sampled_from((1, 2, 3, 4) if by_centre else (1, 3)))
    # From the centre the start lies at (-radius, 0).
    ends = {1: (radius, -sign * radius), 2: (2 * radius, Decimal(0)), 3: (radius, sign * radius), 4: (Decimal(0),) * 2}
    travel = dict(zip((first, second), ends[quarters], strict=True))
    if draw(st.booleans()):
        travel[along] = draw(_numbers(-5, 5))
    words: list[Word] = [] if code == slow.motion and draw(st.booleans()) else [("G", Decimal(code))]
    for axis, by in travel.items():
        position = slow.position[axis]
        assert position is not None
        there = by if slow.incremental else round(position / slow.unit + by, 6)
        # A full turn ends exactly where it starts, and not every millimetre can be written in inches.
        if quarters < 4 or axis == along or slow.incremental or there * slow.unit == position:
            words.append((_AXES[axis], there))
    if not any(letter in (_AXES[first], _AXES[second]) for letter, _ in words):
        return []
    if by_centre:
        words.append((_OFFSETS[first], radius))
        if draw(st.booleans()):
            words.append((_OFFSETS[second], Decimal(0)))
    else:
        words.append(("R", radius if quarters == 1 else -radius))
    return words


def _numbers(low: int, high: int) -> st.SearchStrategy[Decimal]:
    return st.builds(lambda whole, places: Decimal(whole) / 10**places, st.integers(low, high), st.integers(0, 3))
