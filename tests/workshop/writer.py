"""Writes cuts as one program, in the numbers of its face and with the habits of a shop."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from tests.workshop.cuts import Compensated, Cut, Cutter, Down, Drilled, Lift, Move, Over, Round, Straight
from tests.workshop.habits import Habits
from tests.workshop.paths import Leg, along, swept
from tests.workshop.pen import SAFE_MM, Pen
from tests.workshop.placement import Placement, Point

_NEAR_MM, _RETURN_MM = 1.0, 2.0
"""Heights above the wood: where feeds down begin, and where cycles return to."""


def write(
    cuts: Sequence[Cut], placement: Placement, habits: Habits, tools: Mapping[Cutter, int], *, title: str, zero: float,
    wrong_unit: bool = False,
) -> str:
    """Return the program; `placement` takes the blank's places to the program's numbers, `zero` is added to heights."""
    pen = _Writer(habits, placement, zero, tools=tools)
    pen.header(title, wrong_unit=wrong_unit)
    cutter: Cutter | None = None
    for cut in cuts:
        if cut.cutter != cutter:
            pen.change_tool(cut.cutter, first=cutter is None)
            cutter = cut.cutter
        if habits.comments and cut.name != "hole":
            pen.line(f"({cut.name})")
        pen.feed_due = True
        for move in cut.moves:
            pen.move(move)
    return pen.end()


@dataclass
class _Writer(Pen):
    tools: Mapping[Cutter, int] = field(default_factory=dict)
    tool: int = 0
    feed_due: bool = True
    waiting: str = ""
    """Compensation that goes on with the next move."""
    subprograms: dict[float, int] = field(default_factory=dict)

    def header(self, title: str, *, wrong_unit: bool) -> None:
        habits = self.habits
        if habits.percent:
            self.lines.append("%")
        if habits.comments:
            self.line(f"({title})".upper())
        unit = "G20" if habits.inch != wrong_unit else "G21"
        if not (habits.unit_said or wrong_unit):
            unit = ""
        whole = ["G90", unit, "G17", "G40 G49 G80"] if habits.long_header else [f"G90 {unit} G17 G94 G40"]
        for words in whole:
            if words:
                self.line(" ".join(words.split()))

    def end(self) -> str:
        self.up()
        self.absolute()
        if self.habits.goes_home:
            self.line(f"G0 X{self.number(0.0)} Y{self.number(0.0)}")
        self.line("M5")
        self.line("M30")
        for z, name in self.subprograms.items():
            self.lines += [f"O{name}", f"G90 G0 Z{self.number(self.height(_NEAR_MM))}"]
            self.lines += [f"G1 Z{self.number(z)} {self.feed(250)}", f"G0 Z{self.number(self.height(SAFE_MM))}", "M99"]
        if self.habits.percent:
            self.lines.append("%")
        return "\n".join(self.lines) + "\n"

    def change_tool(self, cutter: Cutter, *, first: bool) -> None:
        if not first:
            self.up()
        self.absolute()
        said = f" ({cutter.diameter:g} MM {cutter.shape})".upper() if self.habits.comments else ""
        self.tool = self.tools[cutter]
        self.line(f"T{self.tool} M6{said}")
        self.line("S16000 M3")
        self.mode, self.at["Z"] = "", None
        self.up()

    def move(self, move: Move) -> None:
        match move:
            case Lift():
                self.up()
            case Over(place):
                self.go("G0", place)
            case Down(z):
                self.go("G0", z=max(_NEAR_MM, z + _NEAR_MM))
                self.go("G1", z=z, more=self.feed(300))
                self.feed_due = True
            case Straight(place, z):
                self.cut("G1", place, z)
            case Round():
                self.arc(move)
            case Drilled():
                self.drill(move)
            case Compensated(side):
                code = {"left": "G41", "right": "G42", None: "G40"}[side]
                # What was left in the blank is right in numbers that are mirrored.
                if self.placement.mirrors and side:
                    code = {"G41": "G42", "G42": "G41"}[code]
                self.waiting = code if code == "G40" else f"{code} D{self.tool}"

    def cut(self, code: str, place: Point, z: float, more: str = "") -> None:
        if self.waiting:
            self.line(self.waiting)
            self.waiting = ""
        feed = self.feed(self.habits.feed) if self.feed_due else ""
        if self.go(code, place, z, " ".join(f"{more} {feed}".split())):
            self.feed_due = False

    def arc(self, arc: Round) -> None:
        (start, z), leg = self.here, Leg(arc.place, arc.centre, arc.ccw)
        if self.habits.arcs == "chords":
            chords = along(start, leg, 0.01)
            for number, place in enumerate(chords, 1):
                self.cut("G1", place, z + (arc.z - z) * number / len(chords))
            return
        radius, sweep = math.dist(arc.place, arc.centre), abs(swept(start, leg))
        if self.habits.arcs == "radius" and 0.05 < sweep < 3.0 and radius > 1:
            more = f"R{self.number(self.rounded(radius))}"
        else:
            # Centres are told from where the program has said it is, which is rounded.
            i, j = (
                self.rounded(centre) - (self.at[axis] or 0.0)
                for axis, centre in zip("XY", self.placement(arc.centre), strict=True)
            )
            more = f"I{self.number(i)} J{self.number(j)}"
        self.cut("G3" if arc.ccw != self.placement.mirrors else "G2", arc.place, arc.z, more)

    def drill(self, hole: Drilled) -> None:
        x, y = (self.number(self.rounded(value)) for value in self.placement(hole.place))
        bottom = self.rounded(self.height(hole.z))
        self.up()
        self.absolute()
        if hole.cycle != "plunge" and self.habits.cycles:
            peck = f"Q{self.number(self.rounded(max(1.0, -hole.z / 4)))}"
            more = {"G81": "", "G82": "P0.5", "G83": peck}[hole.cycle]
            back = self.rounded(self.height(_RETURN_MM))
            words = f"G99 {hole.cycle} X{x} Y{y} Z{self.number(bottom)} R{self.number(back)} {more} {self.feed(250)}"
            self.line(" ".join(words.split()))
            self.line("G80")
            self.mode = ""
            self.at = dict(zip("XYZ", (*(self.rounded(v) for v in self.placement(hole.place)), back), strict=True))
            self.here = (hole.place, _RETURN_MM)
        elif self.habits.subprograms and not self.habits.incremental:
            self.go("G0", hole.place)
            self.line(f"M98 P{self.subprograms.setdefault(bottom, 100 + len(self.subprograms))}")
            self.mode = ""
        else:
            self.go("G0", hole.place)
            self.go("G0", z=_NEAR_MM)
            for share in (1 / 3, 2 / 3, 1) if hole.cycle == "G83" else (1,):
                self.go("G1", z=hole.z * share, more=self.feed(250))
                self.go("G0", z=_NEAR_MM)
        self.up()
