"""Post the programs of the demo paddle: a bent-shaft canoe paddle carved in four setups.

The paddle is 1320 mm long. Grip and shaft are straight; the blade leans 12 degrees towards the front face from the
hinge line on, 500 mm before its tip. The blank is a lamination glued up over a form, so it has the bend in it
already: two flat sections of one thickness. Shaft and grip are carved with the straight section flat on the table,
front and back; the blade is carved with the blank tilted so that the bent section lies flat, front and back.

Everything is drawn once: `a` across from the centre line, `b` along the centre line from the paddle's grip end, on
the front face and laid flat across the hinge, `c` up from the planned face that is up, millimetres. Front and
back of the paddle are alike, so each setup has the same shapes and only its own way of laying a and b down; those four
ways are written by hand below. flipreg is not used, so that checking these programs with flipreg is a check.

Run it to write the programs next to this file: `python make_programs.py`. The output is always the same.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, hypot, pi, radians, sin, sqrt, tan
from pathlib import Path

__all__ = ["programs", "write"]

Point = tuple[float, float]
Place = tuple[float, float, float]

THICKNESS = 34.0
"""Thickness of the blank as planned, mm."""
HINGE = 820.0
"""b of the hinge line, mm; mark A is at b = 20."""
LENGTH = 1320.0
"""Length of the paddle, mm."""
ANGLE = 12.0
"""How far the blade leans towards the front, degrees."""
RIDGE = THICKNESS * tan(radians(ANGLE) / 2)
"""How far the back's ridge lies from the hinge line, along either section's back: on the bisector of both, mm."""
MARK_A = 20.0
"""b of the first mark, mm."""
SAFE = 20.0
"""Height of traverses above the planned face, mm."""
BALL = FLAT = 3.0
"""Radius of the ball and of the flat end mill, mm."""
LEVELS = (-6.0, -12.0, -17.5)
"""Passes of profiles and of the slot: half the thickness and 0.5 mm of overlap at the seam."""
HOLE_DEPTH = -18.0
"""Half the thickness and 1 mm of overlap."""
TAB_TOP = -13.0
"""How deep any program goes over a tab, mm."""
TABS = (0.2, 0.42, 0.58, 0.8)
"""Where the tabs are, as shares of the way round the edge."""
TAB_HALF = 8.0
"""Half the length of a tab, mm."""
SHAFT_HOLES: tuple[Point, ...] = ((-60.0, 120.0), (75.0, 140.0), (52.0, 720.0), (-80.0, 720.0))
"""In the waste beside the shaft."""
BLADE_HOLES: tuple[Point, ...] = ((-95.0, 855.0), (88.0, 880.0), (100.0, 1335.0), (-60.0, 1340.0))
"""In the waste beside the blade."""
SPOTS: tuple[float, ...] = (-96.0, 84.0)
"""a of the witness spots on the hinge line, in the waste at both sides; front setups only."""


@dataclass(frozen=True, slots=True)
class Setup:
    """How one setup lays the drawing down on the table.

    Attributes
    ----------
    name : str
        As in the job file, with a hyphen.
    plan : callable
        From (a, b) to the program's X and Y.
    top : float
        Z of the planned face that is up.
    first, last : float
        b where carving begins and ends.
    """

    name: str
    plan: Callable[[float, float], Point]
    top: float
    first: float
    last: float

    @property
    def is_shaft(self) -> bool:
        """Whether the straight section lies flat."""
        return self.first < HINGE - 50.0

    @property
    def is_front(self) -> bool:
        """Whether the front is up."""
        return self.name.endswith("front")

    def at(self, place: Place) -> Place:
        """Return a place of the drawing in the program's numbers."""
        x, y = self.plan(place[0], place[1])
        return x, y, place[2] + self.top


SETUPS = (
    # Zero 15 mm beyond mark A, Z zero on top. The front is concave at the hinge: the ball stops short of it.
    Setup("shaft-front", lambda a, b: (a, b - MARK_A - 15.0), 0.0, 0.0, HINGE - BALL),
    # Turned like a page: what is right is left. The back is convex; its ridge lies beyond the hinge.
    Setup("shaft-back", lambda a, b: (-a, b - MARK_A - 15.0), 0.0, 0.0, HINGE + RIDGE),
    # Turned half round on the table. Zero 20 mm from mark B, towards the tip.
    Setup("blade-front", lambda a, b: (-a, HINGE + 20.0 - b), 0.0, HINGE + BALL, LENGTH),
    # Turned end over end. Zero 30 mm from mark C, towards the tip; Z zero on the spoilboard.
    Setup("blade-back", lambda a, b: (a, HINGE + 30.0 - b), THICKNESS, HINGE - RIDGE, LENGTH),
)


class Post:
    """Collects the blocks of one program: writes only the words that change, three decimals, millimetres."""

    def __init__(self, setup: Setup, title: str, tool: str, spindle: int) -> None:
        self._setup = setup
        self._last: tuple[str, str, str] = ("", "", "")
        zero = "SPOILBOARD" if setup.top else "TOP OF THIS FACE"
        self._lines = [
            f"(PADDLE {setup.name.upper().replace('-', ' ')}: {title})",
            f"(Z ZERO: {zero}, MILLIMETRES)",
            "G21 G90 G17 G94",
            "G54",
            tool,
            f"S{spindle} M3",
        ]
        self._lift()
        self._lines.append("G0 X0.000 Y0.000")

    def block(self, text: str) -> None:
        """Write a block as it is."""
        self._lines.append(text)

    def run(self, places: Sequence[Place], *, feed: int, plunge: int) -> None:
        """Traverse over the first place, feed down to it, then feed along all others, and lift."""
        x, y, z = (_mm(value) for value in self._setup.at(places[0]))
        self._lines += [f"G0 X{x} Y{y}", f"Z{_mm(self._setup.top + 1.0)}", f"G1 Z{z} F{plunge}"]
        self._last = (x, y, z)
        code = f"F{feed} "
        for place in places[1:]:
            words = tuple(_mm(value) for value in self._setup.at(place))
            said = zip("XYZ", words, self._last, strict=True)
            self._lines.append(code + " ".join(letter + new for letter, new, old in said if new != old))
            self._last, code = (words[0], words[1], words[2]), ""
        self._lift()

    def holes(self, places: Iterable[Point], codes: str, depth: float, words: str) -> None:
        """Drill holes in a run of one canned cycle."""
        for place in places:
            x, y, z = (_mm(value) for value in self._setup.at((*place, depth)))
            self._lines.append(f"{codes} X{x} Y{y} Z{z} R{_mm(self._setup.top + 2.0)} {words}")
        self._lines.append("G80")

    def text(self) -> str:
        """Return the program with its end: spindle up, back over program zero, spindle off."""
        return "\n".join([*self._lines, "G0 X0.000 Y0.000", "M5", "M30"]) + "\n"

    def _lift(self) -> None:
        self._lines.append(f"G0 Z{_mm(self._setup.top + SAFE)}")


def programs() -> dict[str, str]:
    """Return every program's text by its file name."""
    made = {}
    for setup in SETUPS:
        for part, make in (("rough", _rough), ("finish", _finish), ("profile", _profile), ("holes", _holes)):
            made[f"{setup.name}-{part}.nc"] = make(setup)
    return made


def write(folder: Path) -> None:
    """Write every program under a folder."""
    for name, text in programs().items():
        (folder / name).write_bytes(text.encode("ascii"))


def half_width(b: float) -> float:
    """Return half the paddle's width at b: grip, shaft, flare, blade."""
    if b <= 30.0:
        return 52.0 * sqrt(max(1.0 - ((30.0 - b) / 30.0) ** 2, 0.0))
    if b <= HINGE:
        return 14.5 + 37.5 * (1.0 - _smooth(b, 30.0, 120.0)) + 3.5 * _smooth(b, 740.0, HINGE)
    if b <= 1240.0:
        return 18.0 + 89.5 * _smooth(b, HINGE, 1100.0)
    return 107.5 * max(1.0 - ((b - 1240.0) / 80.0) ** 3, 0.0) ** (1.0 / 3.0)


def half_height(b: float) -> float:
    """Return half the paddle's thickness on the centre line at b."""
    return 11.0 + 4.5 * _smooth(b, 40.0, 160.0) - 10.5 * _smooth(b, HINGE + 10.0, 1120.0)


def _edge(b: float) -> float:
    """Return half the thickness left at the edge: none on the shaft, 2.5 mm on the blade."""
    return 2.5 * _smooth(b, HINGE + 10.0, 1000.0)


def _surface(u: float, b: float) -> Place:
    """Return a point of the surface: u from -1 to 1 goes across the paddle at b."""
    share = sqrt(max(1.0 - u * u, 0.0))
    edge = _edge(b)
    return u * half_width(b), b, edge + (half_height(b) - edge) * share - THICKNESS / 2


def _ball_tip(u: float, b: float) -> Place:
    """Return where the tip of the ball end mill is when it touches the surface there."""
    step = 0.01
    along = [_surface(u, b + way) for way in (-step, step)]
    across = [_surface(u + way, b) for way in (-step * 0.1, step * 0.1)]
    p = [high - low for low, high in zip(*across, strict=True)]
    q = [high - low for low, high in zip(*along, strict=True)]
    normal = (p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0])
    size = sqrt(sum(part * part for part in normal))
    a, b_at, c = _surface(u, b)
    n_a, n_b, n_c = (part / size for part in normal)
    return a + BALL * n_a, b_at + BALL * n_b, c + BALL * (n_c - 1.0)


def _ends(setup: Setup) -> tuple[float, float]:
    """Return b of the first and of the last place a ball or a flat touches: clear of the round ends."""
    return max(setup.first, 4.0), min(setup.last, LENGTH - 4.0)


def _finish(setup: Setup) -> str:
    post = Post(setup, "FINISH ALONG THE GRAIN", "T2 M6 (6 MM BALL END MILL)", 18000)
    first, last = _ends(setup)
    if setup.is_shaft:
        rows = [sin(radians(angle)) for angle in range(-84, 85, 8)]
    else:
        rows = [sin(pi * (row / 44.0 - 0.5)) * 0.985 for row in range(45)]
    steps = 110
    places_b = [first + (last - first) * step / steps for step in range(steps + 1)]
    tabs = _tabs(setup)
    for index, u in enumerate(rows):
        way = places_b if index % 2 == 0 else places_b[::-1]
        run = [_over_tabs(_ball_tip(u, b), tabs) for b in way]
        post.run(_thinned(run, 0.02), feed=3000, plunge=600)
    return post.text()


def _rough(setup: Setup) -> str:
    post = Post(setup, "ROUGH IN STEP-DOWNS", "T1 M6 (6 MM FLAT END MILL)", 18000)
    first, last = _ends(setup)
    steps = 60
    places_b = [first + (last - first) * step / steps for step in range(steps + 1)]
    widest = max(half_width(b) for b in places_b)
    stepover = 4.0
    half = int((widest + FLAT) / stepover) + 1
    tabs = _tabs(setup)
    for level in (-5.0, -10.0, -15.0):
        for column in range(-half, half + 1):
            a = column * stepover
            run = [
                _over_tabs((a, b, max(level, _above(a, b) + 0.6)), tabs)
                for b in places_b
                if abs(a) <= half_width(b) + 2 * FLAT
            ]
            if len(run) > 1 and min(place[2] for place in run) < level + 5.0 - 1e-9:
                post.run(_thinned(run, 0.05), feed=2600, plunge=500)
    return post.text()


def _above(a: float, b: float) -> float:
    """Return the height that a flat end mill over (a, b) must keep to leave the surface alone, about."""
    width = half_width(b)
    inner = max(abs(a) - FLAT, 0.0)
    if inner >= width:
        return -THICKNESS
    return _surface(inner / width, b)[2]


def _profile(setup: Setup) -> str:
    post = Post(setup, "PROFILE", "T1 M6 (6 MM FLAT END MILL)", 18000)
    outline = _outline(setup)
    length = _length(outline)
    for index, level in enumerate(LEVELS):
        run: list[Place] = []
        done = 0.0
        for place, after in zip(outline, [*outline[1:], outline[-1]], strict=True):
            over_tab = any(abs(done - share * length) < TAB_HALF + FLAT for share in TABS)
            run.append((*place, max(level, TAB_TOP) if over_tab else level))
            done += hypot(after[0] - place[0], after[1] - place[1])
        post.run(_thinned(run if index % 2 == 0 else run[::-1], 0.01), feed=2400, plunge=600)
    if setup.is_shaft:
        _slot(post, setup)
    return post.text()


def _tabs(setup: Setup) -> list[Point]:
    """Return the middles of the tabs, on the way of the profile's cutter."""
    outline = _outline(setup)
    length = _length(outline)
    middles, done = [], 0.0
    for place, after in pairwise(outline):
        way = hypot(after[0] - place[0], after[1] - place[1])
        middles += [place for share in TABS if done <= share * length < done + way]
        done += way
    return middles


def _over_tabs(place: Place, tabs: Sequence[Point]) -> Place:
    """Return a place of a pass that runs over the whole part, lifted where it would cut a tab away."""
    a, b, c = place
    near = any(hypot(a - x, b - y) < TAB_HALF + 4 * FLAT for x, y in tabs)
    return (a, b, max(c, TAB_TOP)) if near else place


def _length(outline: Sequence[Point]) -> float:
    return sum(hypot(q[0] - p[0], q[1] - p[1]) for p, q in pairwise(outline))


def _outline(setup: Setup) -> list[Point]:
    """Return the way of the tool's centre round the paddle's edge, from the hinge round the end and back."""
    end = 0.0 if setup.is_shaft else LENGTH
    start = min(setup.last, HINGE - FLAT) if setup.is_shaft else max(setup.first, HINGE + FLAT)
    # Denser towards the round end, where the edge turns.
    places_b = [end + (start - end) * (step / 160.0) ** 2 for step in range(161)]
    side = [_beside(b, end) for b in places_b[1:]]
    tip = (0.0, end - FLAT if setup.is_shaft else end + FLAT)
    return [*reversed(side), tip, *((-a, b) for a, b in side)]


def _beside(b: float, end: float) -> Point:
    """Return the tool's centre when it touches the right edge at b."""
    step = 1e-4 * abs(b - end)
    slope = (half_width(b + step) - half_width(b - step)) / (2 * step)
    size = hypot(1.0, slope)
    return half_width(b) + FLAT / size, b - FLAT * slope / size


def _slot(post: Post, setup: Setup) -> None:
    """Cut the lanyard slot across the grip, 30 x 12 mm, as a closed loop of two lines and two half circles."""
    half, radius, b = 9.0, 6.0 - FLAT, 55.0
    arc = [(radius * sin(turn), radius * cos(turn)) for turn in (pi * step / 24 for step in range(25))]
    loop = [(half + x, b + y) for x, y in arc] + [(-half - x, b - y) for x, y in arc]
    for level in LEVELS:
        post.run([(*place, level) for place in [*loop, loop[0]]], feed=1800, plunge=400)


def _holes(setup: Setup) -> str:
    post = Post(setup, "HOLES", "T3 M6 (5 MM DRILL)", 6000)
    if setup.is_front:
        # The second front setup goes over the spots of the first: there it can be seen whether it lies right.
        post.holes([(a, HINGE) for a in SPOTS], "G98 G81", -1.5, "F200")
    holes = SHAFT_HOLES if setup.is_shaft else BLADE_HOLES
    post.holes(holes, "G98 G83", HOLE_DEPTH, "Q5.000 F300")
    return post.text()


def _thinned(places: Sequence[Place], tolerance: float) -> list[Place]:
    """Return places without those that lie within a tolerance of the line between their kept neighbours."""
    return [places[0], *_between(places, 0, len(places) - 1, tolerance), places[-1]]


def _between(places: Sequence[Place], first: int, last: int, tolerance: float) -> Iterator[Place]:
    """Yield the places to keep between two kept ones: the farthest off, and what it asks for on both sides."""
    if last - first < 2:
        return
    worst, at = max((_off_line(places[i], places[first], places[last]), i) for i in range(first + 1, last))
    if worst <= tolerance:
        return
    yield from _between(places, first, at, tolerance)
    yield places[at]
    yield from _between(places, at, last, tolerance)


def _off_line(place: Place, start: Place, end: Place) -> float:
    along = [q - p for p, q in zip(start, end, strict=True)]
    rest = [q - p for p, q in zip(start, place, strict=True)]
    size = sum(part * part for part in along)
    share = 0.0 if size == 0.0 else sum(p * q for p, q in zip(along, rest, strict=True)) / size
    return sqrt(sum((r - share * part) ** 2 for r, part in zip(rest, along, strict=True)))


def _smooth(value: float, low: float, high: float) -> float:
    """Return 0 below low, 1 above high, and a smooth step between."""
    share = min(max((value - low) / (high - low), 0.0), 1.0)
    return share * share * (3.0 - 2.0 * share)


def _mm(value: float) -> str:
    """Return a length with three decimals and no negative zero."""
    text = f"{value:.3f}"
    return "0.000" if text == "-0.000" else text


if __name__ == "__main__":
    write(Path(__file__).resolve().parent)
