"""A slow, plain machine: it runs a program block by block and says where the tip of the tool was.

Positions are machine coordinates in millimetres.  A number in a program is a place of the spindle:
number + origin of the work offset + axis offset (G92) + length offset along Z.  The tip is the spindle's place less
the real length of the tool, so that a change of offset or tool moves nothing and changes what the next number means.
"""

import math
from dataclasses import replace

from tests.machine.arcs import PLANES, points, solve
from tests.machine.cycles import Step, cycle
from tests.machine.reader import Block, blocks
from tests.machine.state import Event, Point, Shop, Start, State, Trace

__all__ = ["Unrunnable", "run"]

_OFFSETS = {54.0: 1, 55.0: 2, 56.0: 3, 57.0: 4, 58.0: 5, 59.0: 6, 59.1: 7, 59.2: 8, 59.3: 9}
_MOTIONS = {0.0, 1.0, 2.0, 3.0, 38.2, 80.0, 81.0, 82.0, 83.0, 84.0, 85.0, 86.0, 87.0, 88.0, 89.0}
_AXES = "XYZ"


class Unrunnable(ValueError):
    """What this machine stops at with an alarm."""


def run(text: str, shop: Shop, start: Start, *, skip_deletable: bool = False, state: State | None = None) -> Trace:
    """Run a program from its first line to its end and return what happened."""
    machine = _Machine(shop, start, state)
    for block in blocks(text):
        if block.deletable and skip_deletable:
            continue
        machine.execute(block)
        if machine.trace.ended:
            break
    machine.trace.last = machine.state
    machine.trace.spindle = machine.actual()
    machine.trace.tip = machine.tip(machine.actual())
    machine.trace.origins = tuple(machine.origins)
    return machine.trace


class _Machine:
    def __init__(self, shop: Shop, start: Start, state: State | None) -> None:
        self.shop = shop
        self.at = start.spindle  # of the programmed point
        self.aside = (0.0, 0.0)  # the cutter's middle beside it, under compensation
        self.origins = list(shop.origins)
        self.state = state or State(
            tool=start.tool, selected=start.tool, length_offset=start.length_offset, inches=start.inches
        )
        self.trace = Trace()
        self.line = 0
        self.sticky: dict[str, float] = {}
        self.active_cycle = ""

    # Places

    def actual(self) -> Point:
        return self.at[0] + self.aside[0], self.at[1] + self.aside[1], self.at[2]

    def tip(self, spindle: Point) -> Point:
        return spindle[0], spindle[1], spindle[2] - self.shop.lengths[self.state.tool]

    def zero(self, axis: int) -> float:
        """Return the spindle's place along an axis where the program's number is zero."""
        length = self.state.length_offset if axis == 2 else 0.0
        return self.origins[self.state.offset - 1][axis] + self.state.axis_offsets[axis] + length

    def mm(self, value: float) -> float:
        return value * 25.4 if self.state.inches else value

    def number(self, axis: int) -> float:
        return self.at[axis] - self.zero(axis)

    def target(self, block: Block) -> Point:
        found = list(self.at)
        for axis, letter in enumerate(_AXES):
            value = block.value(letter)
            if value is not None:
                there = self.mm(value)
                found[axis] = self.at[axis] + there if self.state.steps else self.zero(axis) + there
        return found[0], found[1], found[2]

    # One block, in the order of the report's Table 8

    def execute(self, block: Block) -> None:
        self.line = block.line
        codes = [round(code, 3) for code in block.codes("G")]
        stops = [round(code) for code in block.codes("M")]
        self._words(block, codes, stops)
        self._modes(block, codes)
        zero_codes = [code for code in codes if code in {10, 28, 30, 92, 92.1, 92.2, 92.3}]
        explicit = [code for code in codes if code in _MOTIONS]
        if explicit:
            name = f"G{explicit[0]:g}"
            if name != self.state.motion:
                self.sticky = {}
                self.active_cycle = ""
            self._set(motion=name)
        axes = any(block.value(letter) is not None for letter in _AXES)
        if zero_codes:
            self._without_motion(block, zero_codes[0])
        elif axes:
            self._move(block, machine=53 in codes)
        for stop in stops:
            if stop in {0, 1, 60}:
                self._event("stop", (self.actual(),), stop)
            elif stop in {2, 30}:
                self._end()
        self.trace.at_line[block.line] = self.state

    def _set(self, **changes: object) -> None:
        self.state = replace(self.state, **changes)  # type: ignore[arg-type]

    def _words(self, block: Block, codes: list[float], stops: list[int]) -> None:
        for code in (93, 94):
            if code in codes:
                self._set(feed_mode=f"G{code}")
        feed, speed, tool = block.value("F"), block.value("S"), block.value("T")
        units = next((code for code in codes if code in {20, 21}), None)
        inches = self.state.inches if units is None else units == 20
        if feed is not None:
            scale = 25.4 if inches and self.state.feed_mode == "G94" else 1.0
            self._set(feed=feed * scale)
        if speed is not None:
            self._set(speed=speed)
        if tool is not None:
            self._set(selected=round(tool))
        if 6 in stops:
            self._set(tool=self.state.selected, spindle="M5")
            self._event("tool", (self.actual(),), self.state.tool)
        for stop in stops:
            if stop in {3, 4, 5}:
                self._set(spindle=f"M{stop}")
            elif stop in {7, 8}:
                self._set(**({"mist": True} if stop == 7 else {"flood": True}))
            elif stop == 9:
                self._set(mist=False, flood=False)
            elif stop in {48, 49}:
                self._set(overrides=stop == 48)
        if 4 in codes:
            self._event("dwell", (self.actual(),), block.value("P") or 0.0)

    def _modes(self, block: Block, codes: list[float]) -> None:
        for code in codes:
            if code in {17, 18, 19}:
                self._set(plane=f"G{code:g}")
            elif code in {20, 21}:
                self._set(inches=code == 20)
            elif code in {40, 41, 42}:
                self._compensate(block, code)
            elif code == 43:
                index = block.value("H")
                self._set(length_offset=self.shop.lengths[self.state.tool if index is None else round(index)])
            elif code == 49:
                self._set(length_offset=0.0)
            elif code in _OFFSETS:
                self._set(offset=_OFFSETS[code])
            elif code in {61, 61.1, 64}:
                words = [word for word in block.words if word[0] in "PQ" and 4 not in codes]
                self._set(path=(f"G{code:g}", *words))
            elif code in {90, 91}:
                self._set(steps=code == 91)
            elif code in {90.1, 91.1}:
                self._set(centres=f"G{code:g}")
            elif code in {98, 99}:
                self._set(returns=f"G{code:g}")

    def _compensate(self, block: Block, code: float) -> None:
        if code == 40:
            self.at = self.actual()
            self.aside = (0.0, 0.0)
            self._set(compensation=("G40", 0.0))
            return
        index = block.value("D")
        width = self.shop.diameters[self.state.tool if index is None else round(index)]
        self._set(compensation=(f"G{code:g}", width / 2))

    def _without_motion(self, block: Block, code: float) -> None:
        if code in {28, 30}:
            named = [axis for axis, letter in enumerate(_AXES) if block.value(letter) is not None]
            if named:
                self._straight("rapid", self.target(block))
            home = self.shop.homes[0 if code == 28 else 1]
            there = [home[axis] if axis in (named or [0, 1, 2]) else self.at[axis] for axis in range(3)]
            self._straight("rapid", (there[0], there[1], there[2]))
        elif code == 10:
            index = round(block.value("P") or 0) - 1
            origin = list(self.origins[index])
            for axis, letter in enumerate(_AXES):
                value = block.value(letter)
                origin[axis] = origin[axis] if value is None else self.mm(value)
            self.origins[index] = (origin[0], origin[1], origin[2])
        elif code == 92:
            axis_offsets = list(self.state.axis_offsets)
            for axis, letter in enumerate(_AXES):
                value = block.value(letter)
                if value is not None:
                    axis_offsets[axis] += self.number(axis) - self.mm(value)
            new = (axis_offsets[0], axis_offsets[1], axis_offsets[2])
            self._set(axis_offsets=new, stored_axis_offsets=new)
        elif code == 92.3:
            self._set(axis_offsets=self.state.stored_axis_offsets)
        else:
            none = (0.0, 0.0, 0.0)
            self._set(axis_offsets=none, stored_axis_offsets=none if code == 92.1 else self.state.stored_axis_offsets)

    # Motion

    def _move(self, block: Block, *, machine: bool) -> None:
        motion = self.state.motion
        if machine:
            if self.state.steps or motion not in {"G0", "G1"}:
                raise Unrunnable(f"line {self.line}: G53 under {motion}")
            found = list(self.at)
            for axis, letter in enumerate(_AXES):
                value = block.value(letter)
                found[axis] = found[axis] if value is None else self.mm(value)
            self._straight("rapid" if motion == "G0" else "feed", (found[0], found[1], found[2]))
        elif motion in {"G0", "G1"}:
            self._straight("rapid" if motion == "G0" else "feed", self.target(block))
        elif motion in {"G2", "G3"}:
            self._arc(block, clockwise=motion == "G2")
        elif motion == "G38.2":
            self._probe(self.target(block))
        elif motion == "G80":
            raise Unrunnable(f"line {self.line}: axis words under G80")
        else:
            self._cycle(block)

    def _straight(self, kind: str, end: Point) -> None:
        begin = self.actual()
        dx, dy = end[0] - self.at[0], end[1] - self.at[1]
        self._beside(dx, dy)
        self.at = end
        self._event(kind, (begin, self.actual()))

    def _beside(self, dx: float, dy: float) -> None:
        """Set the cutter's middle beside the programmed point, at the end of a way in this direction."""
        side, radius = self.state.compensation
        along = math.hypot(dx, dy)
        if side == "G40" or along < 1e-9:
            return
        left = radius if side == "G41" else -radius
        self.aside = (-dy / along * left, dx / along * left)

    def _arc(self, block: Block, *, clockwise: bool) -> None:
        end = self.target(block)
        centre: list[float | None] = [None, None, None]
        for axis, letter in enumerate("IJK"):
            value = block.value(letter)
            if value is not None:
                base = self.zero(axis) if self.state.centres == "G90.1" else self.at[axis]
                centre[axis] = base + self.mm(value)
        radius = block.value("R")
        try:
            arc = solve(
                self.state.plane,
                self.at,
                end,
                tuple(centre),
                None if radius is None else self.mm(radius),
                clockwise=clockwise,
            )
        except ValueError as error:
            raise Unrunnable(f"line {self.line}: {error}") from None
        way = points(self.state.plane, self.at, end, arc)
        begin = self.actual()
        first, second, _ = PLANES[self.state.plane]
        beside = [begin]
        for point in way[1:]:
            if self.state.plane == "G17":
                turn = -1.0 if clockwise else 1.0
                self._beside(-(point[second] - arc[1]) * turn, (point[first] - arc[0]) * turn)
            beside.append((point[0] + self.aside[0], point[1] + self.aside[1], point[2]))
        self.at = end
        self._event("arc", tuple(beside))

    def _probe(self, end: Point) -> None:
        """Stop at the plate if the way crosses it, else at three fifths of the way, where a side was met."""
        begin = self.at
        surface = self.shop.surface + self.shop.lengths[self.state.tool]
        part = 0.6
        if begin[2] > surface >= end[2]:
            part = (begin[2] - surface) / (begin[2] - end[2])
        trip = tuple(a + (b - a) * part for a, b in zip(begin, end, strict=True))
        self.at = (trip[0], trip[1], trip[2])
        self._event("probe", (begin, self.at))

    def _cycle(self, block: Block) -> None:
        plane = self.state.plane
        first, second, depth = PLANES[plane]
        words = {letter: value for letter, value in block.words if letter in "XYZRPQIJKL"}
        if self.active_cycle != self.state.motion + plane:
            self.sticky = {}
            if _AXES[depth] not in words or "R" not in words:
                raise Unrunnable(f"line {self.line}: a cycle begins without its depth or R")
            self.active_cycle = self.state.motion + plane
        repeats = round(words.pop("L", 1))
        for letter in (_AXES[depth], "R", "P", "Q", "I", "J", "K"):
            if letter in words:
                self.sticky[letter] = words[letter]
        for step in cycle(
            self.state.motion,
            (first, second, depth),
            {**self.sticky, **{letter: words[letter] for letter in (_AXES[first], _AXES[second]) if letter in words}},
            tuple(self.number(axis) for axis in range(3)),
            scale=25.4 if self.state.inches else 1.0,
            steps=self.state.steps,
            to_r=self.state.returns == "G99",
            repeats=repeats,
        ):
            self._cycle_step(step)

    def _cycle_step(self, step: Step) -> None:
        if step.kind == "spindle":
            self._event("orient", (self.actual(),))
        elif step.kind == "dwell":
            self._event("dwell", (self.actual(),), step.seconds)
        else:
            end = tuple(self.zero(axis) + step.to[axis] for axis in range(3))
            self._straight(step.kind, (end[0], end[1], end[2]))

    def _event(self, kind: str, way: tuple[Point, ...], argument: float = 0.0) -> None:
        tips = tuple(self.tip(point) for point in way)
        self.trace.events.append(Event(self.line, kind, tips, self.state, argument))

    def _end(self) -> None:
        """Do what M2 and M30 do; the length offset stays, as the report's Table 10 shows."""
        self._event("end", (self.actual(),))
        self.at = self.actual()
        self.aside = (0.0, 0.0)
        self._set(axis_offsets=(0.0, 0.0, 0.0), offset=1, plane="G17", steps=False, feed_mode="G94", overrides=True)
        self._set(compensation=("G40", 0.0), spindle="M5", motion="G1", mist=False, flood=False)
        self.trace.ended = True
