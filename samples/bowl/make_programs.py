"""Post the programs of the demo bowl: an oval nut bowl, hollowed from the front, rounded from the back, in inches.

Each face has one program that changes tools inside: T1, a 1/4 in flat end mill, roughs and cuts round the outside;
T2, a 1/4 in ball end mill, finishes; T3, a 3/16 in drill, drills two holes in the waste half-way from each face.

Everything is drawn once, in inches: `inset` is how far inside the bowl's edge a place is (negative outside), `depth`
how far below the face that is up. The oval is made of four arcs, and every arc that is offset is an arc again, so each
loop is posted as four arcs, or as two in the middle of the bowl. The bowl is alike on both sides of its centre line and
of the line across its middle; the two holes are not, so that the blank can be laid in one way only. Zero is on
mark A, near the near end. The back is seen from behind, turned over like a page: x -> -x. flipreg is not used, so
that checking these programs with flipreg is a check.

Run it to write the programs next to this file: `python make_programs.py`. The output is always the same.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import acos, ceil, cos, hypot, pi, sin, sqrt
from pathlib import Path

__all__ = ["programs", "write"]

Point = tuple[float, float]

THICKNESS = 1.25
"""Thickness of the blank, in."""
MIDDLE_Y = 4.5
"""The middle of the bowl, from mark A along the centre line, in."""
HALF_WIDTH, HALF_LENGTH = 2.5, 4.0
"""Half the bowl's width and length, in."""
END_RADIUS, SIDE_RADIUS = 1.75, 5.5
"""Radii of the oval's arcs, in. They run into each other: from side's centre to end's centre it is 3 across, 2.25 along
and so 3.75 in, which is how much the radii differ."""
RIM = 0.25
"""Width of the flat rim on top, in."""
COVE = 0.875
"""Radius of the hollow's wall, and the hollow's depth: a quarter circle from the rim to the level floor, in."""
FOOT_INSET, FOOT_HEIGHT = 1.5, 0.125
"""The foot on the back: how far its edge is inside the bowl's, and how far it stands out, in."""
ROUND = 0.375
"""Radius of the back's edge: a quarter circle from the outside to the base round the foot, in."""
CUTTER = 0.125
"""Radius of the flat and of the ball end mill, in."""
SAFE = 0.75
"""Height of traverses above the face, in."""
LEVELS = (0.25, 0.5, 0.65625)
"""Passes of the outside: half the thickness and 1/32 in of overlap at the seam."""
SKIN = 0.5625
"""How deep the back is finished before the last pass of its outside: 1/32 in short of what the front has cut, in."""
TAB_TOP, TAB_LENGTH = 0.5, 0.375
"""How deep any program of a face goes over a tab, and how long a tab is, in; one in the middle of each arc."""
HOLES: tuple[Point, ...] = ((-2.5, 0.75), (2.25, 8.125))
"""In the waste, not alike on both sides of anything."""
HOLE_DEPTH = 0.7
"""Half the thickness, and the drill's point, in."""
ALLOWANCE = 1 / 32
"""What roughing leaves, in."""


@dataclass(frozen=True, slots=True)
class Arc:
    """An arc of less than half a turn.

    Attributes
    ----------
    centre : Point
        Its centre.
    radius : float
        Its radius.
    start, end : float
        From where to where it runs, in radians, counter-clockwise from X.
    """

    centre: Point
    radius: float
    start: float
    end: float

    def at(self, angle: float) -> Point:
        """Return its point at an angle."""
        return self.centre[0] + self.radius * cos(angle), self.centre[1] + self.radius * sin(angle)

    def turned(self) -> "Arc":
        """Return it run the other way."""
        return Arc(self.centre, self.radius, self.end, self.start)


def loop(inset: float) -> list[Arc]:
    """Return the oval inside (or outside) the edge, counter-clockwise from where the first two arcs meet."""
    reach, side = HALF_LENGTH - END_RADIUS, SIDE_RADIUS - HALF_WIDTH
    r, big = END_RADIUS - inset, SIDE_RADIUS - inset
    # Farther in than the end's radius the side arcs meet each other; there the ends are gone.
    turn = acos(side / hypot(side, reach)) if r > 0.0 else acos(side / big)
    left, right = Arc((side, MIDDLE_Y), big, pi - turn, pi + turn), Arc((-side, MIDDLE_Y), big, -turn, turn)
    if r <= 0.0:
        return [left, right]
    far = Arc((0.0, MIDDLE_Y + reach), r, turn, pi - turn)
    near = Arc((0.0, MIDDLE_Y - reach), r, pi + turn, 2 * pi - turn)
    return [far, left, near, right]


class Post:
    """Collects the blocks of one program: four decimals, inches, only what a block needs."""

    def __init__(self, title: str) -> None:
        self._lines = [f"(NUT BOWL {title})", "(ZERO: MARK A, TOP OF THIS FACE, INCHES)", "G20 G90 G17 G94", "G54"]

    def tool(self, words: str, does: str, *, spindle: int) -> None:
        """Change the tool; the spindle stands still meanwhile."""
        is_first = not any("M6" in line for line in self._lines)
        stop = [] if is_first else [f"G0 Z{_inch(SAFE)}", "M5"]
        self._lines += [*stop, f"({does})", words, f"S{spindle} M3", f"G0 Z{_inch(SAFE)}", "X0.0000 Y0.0000"]

    def enter(self, at: Point, depth: float, *, above: float = 0.0) -> None:
        """Traverse over a place and feed down there, from a little over what is `above` deep."""
        self._lines += [f"G0 Z{_inch(SAFE)}", f"X{_inch(at[0])} Y{_inch(at[1])}", f"Z{_inch(0.05 - above)}"]
        self._lines.append(f"G1 Z{_inch(-depth)} F25")

    def helix(self, above: float, depth: float) -> None:
        """Feed down in the middle of the bowl on a turn of a helix, and once round at its foot."""
        radius = 0.1
        self.enter((radius, MIDDLE_Y), above, above=above)
        for words in (f" Z{_inch(-depth)} I{_inch(-radius)} J0.0000 F25", f" I{_inch(-radius)} J0.0000 F70"):
            self._lines.append(f"G3 X{_inch(radius)} Y{_inch(MIDDLE_Y)}{words}")

    def run(self, inset: float, depth: float, *, is_clockwise: bool) -> None:
        """Feed to the start of a loop and along it, lifted over the tabs where it would cut them away."""
        arcs = _clockwise(inset) if is_clockwise else loop(inset)
        x, y = arcs[0].at(arcs[0].start)
        self._lines.append(f"G1 X{_inch(x)} Y{_inch(y)} Z{_inch(-depth)} F70")
        for arc in arcs:
            if depth > TAB_TOP and inset < CUTTER:
                self._over_tab(arc, depth)
            else:
                self._arc(arc, arc.start, arc.end)

    def drill(self, holes: Iterable[Point]) -> None:
        """Drill holes in one canned cycle."""
        for number, (x, y) in enumerate(holes):
            place = f"X{_inch(x)} Y{_inch(y)}"
            words = f" Z{_inch(-HOLE_DEPTH)} R0.1000 Q0.2000 F12"
            self._lines.append(f"G98 G83 {place}{words}" if number == 0 else place)
        self._lines.append("G80")

    def text(self) -> str:
        """Return the program with its end: spindle up, back over program zero, spindle off."""
        return "\n".join([*self._lines, f"G0 Z{_inch(SAFE)}", "X0.0000 Y0.0000", "M5", "M30"]) + "\n"

    def _over_tab(self, arc: Arc, depth: float) -> None:
        way = 1.0 if arc.end > arc.start else -1.0
        half = way * (TAB_LENGTH / 2 + CUTTER) / arc.radius
        middle = (arc.start + arc.end) / 2
        self._arc(arc, arc.start, middle - half)
        self._lines.append(f"G1 Z{_inch(-TAB_TOP)}")
        self._arc(arc, middle - half, middle + half)
        self._lines += [f"G1 Z{_inch(-depth)} F25", "F70"]
        self._arc(arc, middle + half, arc.end)

    def _arc(self, arc: Arc, start: float, end: float) -> None:
        (x0, y0), (x, y) = arc.at(start), arc.at(end)
        over = f"I{_inch(arc.centre[0] - x0)} J{_inch(arc.centre[1] - y0)}"
        self._lines.append(f"{'G3' if end > start else 'G2'} X{_inch(x)} Y{_inch(y)} {over}")


def programs() -> dict[str, str]:
    """Return every program's text by its file name."""
    return {"front.nc": _front(), "back.nc": _back()}


def write(folder: Path) -> None:
    """Write every program under a folder."""
    for name, text in programs().items():
        (folder / name).write_bytes(text.encode("ascii"))


def hollow_depth(inset: float) -> float:
    """Return how deep the finished front is below its face."""
    over = RIM + COVE - inset
    return 0.0 if inset < RIM else sqrt(max(COVE**2 - max(over, 0.0) ** 2, 0.0))


def base_depth(inset: float) -> float:
    """Return how deep the finished back is below its face, on the bowl."""
    if inset >= FOOT_INSET:
        return 0.0
    return FOOT_HEIGHT + ROUND - sqrt(ROUND**2 - max(ROUND - inset, 0.0) ** 2)


def _front() -> str:
    post = Post("FRONT: HOLLOW, OUTSIDE, HOLES")
    post.tool("T1 M6 (1/4 IN FLAT END MILL)", "ROUGH THE HOLLOW, CUT ROUND THE OUTSIDE", spindle=16000)
    above = 0.0
    for depth in (0.22, 0.44, 0.64, COVE - ALLOWANCE - 0.005):
        wall = RIM + COVE - sqrt((COVE - ALLOWANCE) ** 2 - depth**2) + CUTTER
        post.helix(above, depth)
        for inset in _steps(HALF_WIDTH - 0.05, wall, 0.1):
            post.run(inset, depth, is_clockwise=False)
        above = depth
    _outside(post, LEVELS)
    post.tool("T2 M6 (1/4 IN BALL END MILL)", "FINISH THE HOLLOW", spindle=18000)
    rows = [_in_cove(angle) for angle in _steps(0.0, pi / 2, 0.05 / COVE)]
    rows += [(inset, COVE) for inset in _steps(RIM + COVE, HALF_WIDTH - 0.02, 0.05)][1:]
    _finish(post, rows, is_clockwise=False)
    post.tool("T3 M6 (3/16 IN DRILL)", "HOLES IN THE WASTE", spindle=5000)
    post.drill(HOLES)
    return post.text()


def _back() -> str:
    post = Post("BACK: BASE, OUTSIDE, ROUND EDGE, HOLES")
    post.tool("T1 M6 (1/4 IN FLAT END MILL)", "CLEAR ROUND THE FOOT, BEGIN THE OUTSIDE", spindle=16000)
    post.enter(_start(-CUTTER), FOOT_HEIGHT)
    for inset in _steps(-CUTTER, FOOT_INSET - CUTTER, 0.1):
        post.run(inset, FOOT_HEIGHT, is_clockwise=True)
    # One terrace in the round edge; below it the outside's own passes leave little.
    depth = 0.25
    terrace = ROUND - sqrt((ROUND + ALLOWANCE) ** 2 - (FOOT_HEIGHT + ROUND - depth) ** 2) - CUTTER
    post.enter(_start(-CUTTER), depth, above=FOOT_HEIGHT)
    for inset in _steps(-CUTTER, terrace, 0.1):
        post.run(inset, depth, is_clockwise=True)
    _outside(post, LEVELS[:-1])
    post.tool("T2 M6 (1/4 IN BALL END MILL)", "FINISH THE ROUND EDGE", spindle=18000)
    lowest = acos((FOOT_HEIGHT + ROUND + CUTTER - SKIN) / (ROUND + CUTTER))
    _finish(post, [_on_round(angle) for angle in _steps(0.0, lowest, 0.05 / ROUND)], is_clockwise=True)
    post.tool("T3 M6 (3/16 IN DRILL)", "HOLES IN THE WASTE", spindle=5000)
    post.drill([(-x, y) for x, y in HOLES])
    post.tool("T1 M6 (1/4 IN FLAT END MILL)", "THE LAST PASS OF THE OUTSIDE", spindle=16000)
    _outside(post, LEVELS[-1:], above=SKIN - CUTTER)
    return post.text()


def _outside(post: Post, levels: Iterable[float], *, above: float = 0.0) -> None:
    """Cut round the outside in passes, clockwise: climb milling."""
    for depth in levels:
        post.enter(_start(-CUTTER), depth, above=above)
        post.run(-CUTTER, depth, is_clockwise=True)
        above = depth


def _finish(post: Post, rows: Iterable[tuple[float, float]], *, is_clockwise: bool) -> None:
    """Finish in loops: of each the inset of the ball's middle and the depth of its tip."""
    for number, (inset, depth) in enumerate(rows):
        if number == 0:
            first = (_clockwise(inset) if is_clockwise else loop(inset))[0]
            post.enter(first.at(first.start), depth)
        post.run(inset, depth, is_clockwise=is_clockwise)


def _in_cove(angle: float) -> tuple[float, float]:
    """Return inset and depth of the ball in the hollow's wall: 0 touches the rim, a quarter turn the floor."""
    radius = COVE - CUTTER
    return RIM + COVE - radius * cos(angle), radius * sin(angle) + CUTTER


def _on_round(angle: float) -> tuple[float, float]:
    """Return inset and depth of the ball on the back's edge: 0 touches the base, a quarter turn the outside."""
    radius = ROUND + CUTTER
    return ROUND - radius * sin(angle), FOOT_HEIGHT + ROUND - radius * cos(angle) + CUTTER


def _clockwise(inset: float) -> list[Arc]:
    return [arc.turned() for arc in reversed(loop(inset))]


def _start(inset: float) -> Point:
    first = _clockwise(inset)[0]
    return first.at(first.start)


def _steps(first: float, last: float, most: float) -> list[float]:
    """Return places from the first to the last, evenly, no farther apart than `most`."""
    steps = max(1, ceil(abs(last - first) / most - 1e-9))
    return [first + (last - first) * step / steps for step in range(steps + 1)]


def _inch(value: float) -> str:
    """Return a length with four decimals and no negative zero."""
    text = f"{value:.4f}"
    return "0.0000" if text == "-0.0000" else text


if __name__ == "__main__":
    write(Path(__file__).resolve().parent)
