"""Write the text of one program from what it is to cut, given in the blank frame."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from tests.dexels.bench import Cutter, Program, Setup
from tests.dexels.paths import Arc, Path, Stroke, split

SAFE = 12.0


@dataclass(frozen=True)
class Lift:
    """A place along a contour where the cutter stays above `depth`, to leave a tab."""

    low: float
    high: float
    depth: float
    traverse: bool = False
    """Whether the cutter leaves the wood for it, and goes over it without cutting."""


@dataclass
class Writer:
    """A program in the making; depths are below the face that is up, positive."""

    setup: Setup
    thickness: float
    inch: bool = False
    lines: list[str] = field(default_factory=list)

    def number(self, mm: float) -> str:
        return f"{mm / 25.4:.5f}" if self.inch else f"{mm:.4f}"

    def xy(self, place: tuple[float, float]) -> str:
        x, y = self.setup.to_program(*place)
        return f"X{self.number(x)} Y{self.number(y)}"

    def z(self, depth: float) -> str:
        return f"Z{self.number((self.thickness if self.setup.z_zero == 'spoilboard' else 0.0) - depth)}"

    def start(self, number: int, cutter: Cutter) -> None:
        if not self.lines:
            self.lines += [f"{'G20' if self.inch else 'G21'} G90 G17 G94"]
        else:
            self.lines += [f"G0 {self.z(-SAFE)}", "M5"]
        self.lines += [f"T{number} M6 ({cutter.name})", "S15000 M3", f"G0 {self.z(-SAFE)}"]
        if len(self.lines) == 4:
            self.lines += ["X0 Y0"]

    def end(self) -> str:
        return "\n".join([*self.lines, f"G0 {self.z(-SAFE)}", "X0 Y0", "M5", "M30", ""])

    def over(self, place: tuple[float, float]) -> None:
        self.lines += [f"G0 {self.z(-SAFE)}", f"G0 {self.xy(place)}", f"G0 {self.z(-1.0)}"]

    def plunge(self, depth: float) -> None:
        self.lines.append(f"G1 {self.z(depth)} F{self.number(400)}")

    def stroke(self, stroke: Stroke) -> None:
        if isinstance(stroke, Arc):
            start, centre = self.setup.to_program(*stroke.start), self.setup.to_program(*stroke.centre)
            way = "G3" if (stroke.turn > 0) != self.setup.mirrored else "G2"
            i, j = self.number(centre[0] - start[0]), self.number(centre[1] - start[1])
            self.lines.append(f"{way} {self.xy(stroke.end)} I{i} J{j}")
        else:
            self.lines.append(f"G1 {self.xy(stroke.end)} F{self.number(1500)}")

    def traverse(self, places: list[tuple[float, float]]) -> None:
        self.lines += [f"G0 {self.xy(place)}" for place in places]


Cut = Callable[[Writer], None]


def contour(path: Path, depth: float, step: float, lifts: tuple[Lift, ...] = ()) -> Cut:
    """Go along a path, level by level down to a depth, and lift over the tabs."""

    def cut(writer: Writer) -> None:
        places = [place for lift in lifts for place in (lift.low, lift.high)]
        pieces = list(split(path, places))
        closed = abs(path[0].start[0] - path[-1].end[0]) + abs(path[0].start[1] - path[-1].end[1]) < 1e-6
        # Where the cutter is lifted out, nothing cuts the tab's top but a level at its height.
        tops = {lift.depth for lift in lifts if lift.traverse}
        for index, down in enumerate(_downs(depth, step, tops)):
            if index == 0 or not closed:
                writer.over(path[0].start)
            writer.plunge(down)
            at, over = down, path[0].start
            for along, stroke in pieces:
                lift = next((one for one in lifts if one.low - 1e-6 <= along < one.high - 1e-6), None)
                want = down if lift is None else min(down, lift.depth)
                away = lift is not None and lift.traverse and lift.depth < down
                if away:
                    if at != -1.0:
                        writer.lines.append(f"G0 {writer.z(-1.0)}")
                    at, over = -1.0, stroke.end
                    continue
                if at == -1.0:
                    writer.traverse([over])
                if at != want:
                    writer.plunge(want)
                    at = want
                writer.stroke(stroke)

    return cut


def _downs(depth: float, step: float, more: set[float]) -> list[float]:
    """Return the depths of a cut's levels, evenly spaced, and some more."""
    number = math.ceil(depth / step - 1e-9)
    return sorted({depth * (k + 1) / number for k in range(number)} | more)


def levels(paths: list[Path], depth: float, step: float) -> Cut:
    """Clear a pocket: all ways of one level, then the next level."""

    def cut(writer: Writer) -> None:
        for down in _downs(depth, step, set()):
            for path in paths:
                writer.over(path[0].start)
                writer.plunge(down)
                for stroke in path:
                    writer.stroke(stroke)

    return cut


def holes(places: list[tuple[float, float]], depth: float) -> Cut:
    def cut(writer: Writer) -> None:
        for index, place in enumerate(places):
            head = f"G99 G81 {writer.xy(place)} {writer.z(depth)} R{writer.z(-2.0)[1:]} F{writer.number(200)}"
            writer.lines.append(writer.xy(place) if index else head)
        writer.lines += ["G80", f"G0 {writer.z(-SAFE)}"]

    return cut


def program(
    setup: Setup,
    file: str,
    cuts: list[tuple[Cutter, Cut]],
    thickness: float,
    *,
    inch: bool = False,
) -> Program:
    """Write a program; each cutter gets a T number, and is changed where another one comes."""
    writer = Writer(setup, thickness, inch)
    numbers: dict[str, int] = {}
    tools: dict[int, Cutter] = {}
    now = None
    for cutter, cut in cuts:
        if cutter.name != now:
            number = numbers.setdefault(cutter.name, 2 * len(numbers) + 1)
            tools[number] = cutter
            writer.start(number, cutter)
            now = cutter.name
        cut(writer)
    return Program(file, tools, writer.end())
