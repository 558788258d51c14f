"""What programs do with a tool: pockets, profiles, tabs, slots, ramps, holes, steps, and contours beside their edge."""

from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random

__all__ = ["OPERATIONS", "Pen"]


@dataclass
class Pen:
    """A program while it is written: its lines, its unit, and what it may hold."""

    random: Random
    inches: bool
    holds: frozenset[str]
    safe: float = 15.0
    tool: int = 1
    offset: str = "G54"
    measured: float = 0.5
    floor: float | None = None
    lines: list[str] = field(default_factory=list)
    floors: list[float] = field(default_factory=list)

    def say(self, line: str) -> None:
        """Write a line."""
        if line:
            self.lines.append(line)

    def chance(self, part: float) -> bool:
        """Return true in this part of all cases."""
        return self.random.random() < part

    def scaled(self, millimetres: float) -> float:
        """Return a length in the program's unit."""
        return round(millimetres / 25.4, 3) if self.inches else millimetres

    def number(self, value: float) -> str:
        """Return a number as posts write it."""
        text = f"{value:.4f}" if self.inches else f"{value:.3f}"
        return text.rstrip("0").rstrip(".") if self.random.random() < 0.7 else text

    def spot(self) -> tuple[float, float]:
        """Return a place in the part, in the program's unit."""
        return self.scaled(self.random.randrange(-60, 60)), self.scaled(self.random.randrange(-60, 60))

    def xy(self, x: float, y: float) -> str:
        """Return the words of a place in the plane."""
        return f"X{self.number(x)} Y{self.number(y)}"

    def z(self, value: float) -> str:
        """Return the word of a height."""
        return f"Z{self.number(value)}"

    def shuffled(self, *words: str) -> str:
        """Return words in any order."""
        return " ".join(self.random.sample(words, len(words)))

    def feed(self) -> str:
        """Return a feed."""
        return f"F{self.random.choice([20, 40]) if self.inches else self.random.choice([300, 600, 1200])}"

    def levels(self) -> list[float]:
        """Return heights of passes, the floor last."""
        floor = self.scaled(-self.random.choice([1.5, 4, 6, 7.5])) if self.floor is None else self.floor
        step = self.scaled(self.random.choice([2, 2.5, 3]))
        found = []
        at = -step
        while at > floor + 1e-6:
            found.append(round(at, 4))
            at -= step
        found.append(floor)
        self.floors.append(floor)
        return found


def _approach(pen: Pen, x: float, y: float) -> None:
    pen.say(f"G0 {pen.xy(x, y)}")
    if pen.chance(0.7):
        pen.say(pen.z(pen.scaled(2)))


def _up(pen: Pen) -> None:
    pen.say(f"G0 {pen.z(pen.safe)}")


def _pocket(pen: Pen) -> None:
    x, y = pen.spot()
    aside = pen.scaled(3.0)
    for level in pen.levels():
        _approach(pen, x, y)
        pen.say(f"G1 {pen.z(level)} {pen.feed()}")
        for ring in (1, 2):
            size = pen.scaled(6.0 * ring)
            left, low = x - aside * (ring - 1), y - aside * (ring - 1)
            if ring == 2:
                pen.say(f"G1 {pen.xy(left, low)}")
            pen.say(f"G1 {pen.xy(left + size, low)} {pen.feed()}")
            pen.say(pen.xy(left + size, low + size))
            pen.say(pen.xy(left, low + size))
            pen.say(pen.xy(left, low))
        _up(pen)
    if pen.chance(0.4):
        _finish(pen, x - aside, y - aside)


def _finish(pen: Pen, x: float, y: float) -> None:
    """Run a contour at full depth, round what was roughed."""
    size, aside = pen.scaled(12.5), pen.scaled(0.5)
    x, y = x - aside, y - aside
    _approach(pen, x, y)
    pen.say(f"G1 {pen.z(pen.floors[-1])} {pen.feed()}")
    pen.say(f"{pen.xy(x + size, y)} {pen.feed()}")
    pen.say(pen.xy(x + size, y + size))
    pen.say(pen.xy(x, y + size))
    pen.say(pen.xy(x, y))
    _up(pen)


def _profile(pen: Pen) -> None:
    x, y = pen.spot()
    wide, high, round_ = pen.scaled(40), pen.scaled(25), pen.scaled(5)
    turn = pen.random.choice([2, 3])
    levels = pen.levels()
    corners = [(1, 0), (1, 1), (0, 1), (0, 0)] if turn == 3 else [(0, 1), (1, 1), (1, 0), (0, 0)]
    for level in levels:
        _approach(pen, x + round_ if turn == 3 else x, y if turn == 3 else y + round_)
        pen.say(f"G1 {pen.z(level)} {pen.feed()}")
        here = (0, 0)
        for cx, cy in corners:
            ex = wide - round_ if cx else round_
            ey = high - round_ if cy else round_
            # To the beginning of the corner's arc, then round it.
            begin = (ex, cy * high) if cx == here[0] ^ 1 else (cx * wide, ey)
            end = (cx * wide, ey) if begin[1] == cy * high else (ex, cy * high)
            pen.say(f"G1 {pen.xy(x + begin[0], y + begin[1])}")
            centre = (ex - begin[0], ey - begin[1])
            if pen.chance(0.7):
                pen.say(f"G{turn} {pen.xy(x + end[0], y + end[1])} I{pen.number(centre[0])} J{pen.number(centre[1])}")
            else:
                pen.say(f"G{turn} {pen.xy(x + end[0], y + end[1])} R{pen.number(round_)}")
            here = (cx, cy)
        if level == levels[-1] or pen.chance(0.7):
            _up(pen)


def _tabs(pen: Pen) -> None:
    x, y = pen.spot()
    wide, high = pen.scaled(50), pen.scaled(30)
    clockwise = pen.chance(0.5)
    by = pen.random.choice(["G1", "G1", "G0"])
    levels = pen.levels()
    top = levels[-1] + pen.scaled(1)
    for level in levels:
        _approach(pen, x, y)
        pen.say(f"G1 {pen.z(level)} {pen.feed()}")
        pen.say(f"{pen.xy(x, y + high) if clockwise else pen.xy(x + wide, y)} {pen.feed()}")
        pen.say(pen.xy(x + wide, y + high))
        if level == levels[-1] and len(levels) > 1:
            side = (x + wide, y + high * 0.6) if clockwise else (x + wide * 0.6, y + high)
            far = (x + wide, y + high * 0.4) if clockwise else (x + wide * 0.4, y + high)
            pen.say(pen.xy(*side))
            pen.say(f"{by} {pen.z(top)}")
            pen.say(f"G1 {pen.xy(*far)}")
            pen.say(pen.z(level))
        pen.say(pen.xy(x + wide, y) if clockwise else pen.xy(x, y + high))
        pen.say(pen.xy(x, y))
        _up(pen)


def _slot(pen: Pen) -> None:
    x, y = pen.spot()
    long = pen.scaled(30)
    _approach(pen, x, y)
    for number, level in enumerate(pen.levels()):
        pen.say(f"G1 {pen.z(level)} {pen.feed()}")
        pen.say(f"X{pen.number(x + (0 if number % 2 else long))} {pen.feed()}")
    _up(pen)


def _ramp(pen: Pen) -> None:
    x, y = pen.spot()
    long = pen.scaled(20)
    _approach(pen, x, y)
    pen.say(f"G1 Z0 {pen.feed()}")
    for level in pen.levels():
        pen.say(f"X{pen.number(x + long)} {pen.z(level)}")
        pen.say(f"X{pen.number(x)}")
    if pen.chance(0.5):
        pen.say(f"G3 {pen.xy(x, y)} I{pen.number(pen.scaled(4))} J0")
    _up(pen)


def _drill(pen: Pen) -> None:
    code = pen.random.choice(["G81", "G81", "G82", "G83", "G83", "G85", "G89", "G86"])
    bottom = pen.scaled(-pen.random.choice([4, 8]))
    words = f"{pen.z(bottom)} R{pen.number(pen.scaled(2))}"
    words += f" Q{pen.number(pen.scaled(2.5))}" if code == "G83" else ""
    words += " P0.2" if code in {"G82", "G86", "G89"} else ""
    pen.floors.append(bottom)
    if code == "G86":
        pen.say("M3")
    first = True
    for _ in range(pen.random.choice([2, 3, 4])):
        x, y = pen.spot()
        begin = f"{pen.random.choice(['G98', 'G99'])} {code} "
        pen.say(f"{begin}{pen.xy(x, y)} {words} {pen.feed()}" if first else pen.xy(x, y))
        first = False
    if "increments" in pen.holds and pen.chance(0.15):
        pen.say("G80")
        pen.say(f"G0 {pen.z(pen.safe)}")
        pen.say(f"G91 G81 X{pen.number(pen.scaled(5))} R{pen.number(-pen.scaled(3))} Z{pen.number(-pen.scaled(3))} L3")
        pen.say("G90")
    pen.say("G80")
    _up(pen)


def _compensated(pen: Pen) -> None:
    x, y = pen.spot()
    size = pen.scaled(40)
    side = pen.random.choice(["G41", "G42"])
    _approach(pen, x - size / 2, y - size / 2)
    pen.say(f"G1 {pen.z(pen.levels()[-1])} {pen.feed()}")
    word = f" D{pen.tool}" if pen.chance(0.8) else ""
    pen.say(f"{side} G1 {pen.xy(x, y)}{word}")
    pen.say(pen.xy(x, y + size) if side == "G41" else pen.xy(x + size, y))
    pen.say(pen.xy(x + size, y + size))
    if pen.chance(0.9):
        pen.say(f"G40 G1 {pen.xy(x + size * 1.5, y + size * 1.5)}")
    else:
        pen.say(f"G0 {pen.z(pen.safe)}")
        pen.say("G40")
    _up(pen)


def _steps(pen: Pen) -> None:
    x, y = pen.spot()
    _approach(pen, x, y)
    pen.say(f"G1 Z0 {pen.feed()}")
    pen.say("G91")
    pen.say(f"G1 Z{pen.number(-pen.scaled(2))}")
    for sign in (1, -1):
        pen.say(f"X{pen.number(sign * pen.scaled(12))}")
        pen.say(f"Y{pen.number(sign * pen.scaled(7))}")
    if pen.chance(0.5):
        pen.say(f"G0 Z{pen.number(pen.scaled(6))}")
    pen.say("G90")
    _up(pen)


def _probe(pen: Pen) -> None:
    x, y = pen.spot()
    pen.say(f"G0 {pen.xy(x, y)}")
    pen.say(f"G38.2 Z{pen.number(pen.scaled(-4))} F{4 if pen.inches else 100}")
    if pen.chance(0.5):
        pen.say("G91")
        pen.say(f"G0 Z{pen.number(pen.scaled(2))}")
        pen.say("G90")
    _up(pen)


OPERATIONS: dict[str, Callable[[Pen], None]] = {
    "pocket": _pocket,
    "profile": _profile,
    "tabs": _tabs,
    "slot": _slot,
    "ramp": _ramp,
    "drill": _drill,
    "compensated": _compensated,
    "steps": _steps,
    "probe": _probe,
}
