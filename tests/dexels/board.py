"""A random board with one part in it: blank, outline, cutters, the two faces, and the right cuts to choose from."""

import math
from dataclasses import dataclass, field
from random import Random

import shapely

from tests.dexels.bench import Bench, Blank, Cutter, Setup
from tests.dexels.paths import (
    Line,
    Path,
    Stroke,
    circle,
    length,
    nearest,
    offset,
    point,
    polyline,
    region,
    ring,
    rounded,
)
from tests.dexels.writer import Cut, Lift, Writer, contour, holes, levels, program

Place = tuple[float, float]
Cuts = list[tuple[Cutter, Cut]]


@dataclass
class Contour:
    """What a closed cut goes round, and the tabs that are to be left in its kerf."""

    region: shapely.Polygon
    kerf: tuple[float, float]
    """The distances from the region's edge between which the cut goes through."""
    tabs: list[Place]


@dataclass
class Job:
    """A bench with what its maker knows about it."""

    name: str
    bench: Bench
    grid: float
    part: shapely.Polygon
    contours: list[Contour]
    faults: frozenset[str]
    """What is planted, kinds of `facts.KINDS`; empty in a right job."""
    meant: list[Place]
    """A place in each opening of the part that is meant."""
    may_fall: list[Place]
    """The middle of each piece that may come loose."""
    least_web: float
    least_tab: tuple[float, float]
    """Thickness and width."""


LEAST_TAB = (1.0, 2.0)
"""Thickness and width that a tab of a right job has at least."""


@dataclass
class Plan:
    """A program before it is written; what may fall is told by places in the blank frame."""

    file: str
    cuts: Cuts
    profile: bool
    through: bool
    inch: bool
    may_fall: list[Place] = field(default_factory=list)


class Board:
    def __init__(
        self, rng: Random, *, thickness: float | None = None, kind: str | None = None, roomy: bool = False
    ) -> None:
        self.rng = rng
        self.thickness = thickness or rng.choice([8.0, 10.0, 12.0, 16.0, 20.0, rng.uniform(8, 26), 40.0])
        self.measured = rng.choice([None, round(self.thickness + rng.uniform(-0.3, 0.3), 2)])
        self.flat = Cutter(*rng.choice([("4 flat", "flat", 4.0), ("5 flat", "flat", 5.0), ("6 flat", "flat", 6.0)]))
        self.small = Cutter("3 flat", "flat", 3.0)
        self.ball = Cutter("6 ball", "ball", 6.0)
        self.vee = Cutter("12 vee", "vee", 12.0, 90.0)
        self.drill = Cutter("4 drill", "drill", 4.0, 118.0)
        # Small parts, for a job is to take a fraction of a second.
        more = 10 if roomy else 0
        wide, long = rng.uniform(36, 46) + more, rng.uniform(34, 42) + more
        self.outline = self._shape(kind or rng.choice(["rounded", "rounded", "ellipse", "L"]), wide, long)
        self.part = region(self.outline)
        self.margin = self.flat.diameter + rng.uniform(7, 10)
        self.front = Setup("front", "y", self._zero(), rng.choice(["top", "top", "spoilboard"]))
        self.back = Setup("back", rng.choice(["y", "y", "x"]), self._zero(), rng.choice(["top", "top", "spoilboard"]))
        self.plans: dict[str, list[Plan]] = {"front": [], "back": []}
        self.used: list[tuple[float, float, float]] = []
        self.meant: list[Place] = []
        self.contours: list[Contour] = []
        self.tab_thickness = rng.uniform(2.0, 3.5)
        self.tab_width = rng.uniform(4.0, 6.0)
        self.web = 2.0
        self.shift = rng.uniform(0.06, 0.12)
        self.grid = 0.4

    @property
    def real(self) -> float:
        return self.measured or self.thickness

    @property
    def thin(self) -> float:
        """What is certainly there of the wood, and is left of it by a cut from either Z zero."""
        return min(self.thickness, self.real) - abs(self.thickness - self.real)

    def _zero(self) -> Place:
        return round(self.rng.uniform(-8, 8), 1), round(self.rng.uniform(-8, 8), 1)

    def _shape(self, kind: str, wide: float, long: float) -> Path:
        x, y = self.rng.uniform(-5, 5), self.rng.uniform(-5, 5)
        x0, y0, x1, y1 = x - wide / 2, y - long / 2, x + wide / 2, y + long / 2
        if kind == "ellipse":
            angles = [2 * math.pi * k / 60 - math.pi / 2 for k in range(61)]
            return polyline([(x + wide / 2 * math.cos(a), y + long / 2 * math.sin(a)) for a in angles[:-1]] + [(x, y0)])
        if kind == "L":
            corner = shapely.box(x, y, x1 + 1, y1 + 1)
            # No cutter is to be wider than the inner corner is round.
            rough, inner = shapely.box(x0, y0, x1, y1) - corner, self.rng.choice([3.5, 6.0])
            return ring(rough.buffer(-3).buffer(3 + inner, quad_segs=6).buffer(-inner, quad_segs=4))
        return rounded(x0, y0, x1, y1, self.rng.uniform(4, 12))

    # Where things go

    def spot(self, least: float, most: float = 9.0, *, beside: float = 2.5) -> tuple[float, float, float]:
        """Return a place in the part, X, Y and radius, where nothing is yet."""
        x0, y0, x1, y1 = self.part.bounds
        best = (0.0, 0.0, 0.0)
        for _ in range(300):
            x, y = self.rng.uniform(x0, x1), self.rng.uniform(y0, y1)
            at = shapely.Point(x, y)
            if not self.part.contains(at):
                continue
            room = [math.hypot(x - u, y - v) - r - 2.0 for u, v, r in self.used]
            radius = min([most, self.part.exterior.distance(at) - beside, *room])
            if radius > best[2]:
                best = (x, y, radius)
            if radius >= least + 1.5:
                break
        if best[2] < least:
            raise NoRoomError
        self.used.append(best)
        return best

    def tab_places(self, count: int = 4) -> list[Place]:
        total = length(self.outline)
        return [point(self.outline, total * (self.shift + k / count)) for k in range(count)]

    # What can be cut

    def profile(
        self, tabs: list[Place], lift: float, cutter: Cutter, depth: float, *, allowance: float = 0.0,
        width: float | None = None, traverse: bool = False,
    ) -> Cut:
        """Go round the part to a depth, and lift to `lift` over the tabs."""
        way = offset(self.outline, cutter.radius + allowance)
        self._remember(tabs, (allowance, allowance + cutter.diameter))
        wide = (self.tab_width if width is None else width) + cutter.diameter
        lifts = []
        for tab in tabs:
            middle = nearest(way, tab)
            lifts.append(Lift(middle - wide / 2, middle + wide / 2, lift, traverse))
        return contour(way, depth, self.step(depth), tuple(lifts))

    def _remember(self, tabs: list[Place], kerf: tuple[float, float]) -> None:
        """Note the profile: where both faces' kerfs are, tabs of either face are to be."""
        if not self.contours or self.contours[0].region is not self.part:
            self.contours.insert(0, Contour(self.part, kerf, list(tabs)))
        else:
            low, high = self.contours[0].kerf
            self.contours[0].kerf = max(low, kerf[0]), min(high, kerf[1])
            self.contours[0].tabs += [tab for tab in tabs if tab not in self.contours[0].tabs]

    def step(self, depth: float) -> float:
        return max(2.0, depth / self.rng.choice([1, 2, 3]))

    def both_faces(self, tabs: list[Place] | None = None, *, flagged: bool = True) -> None:
        """Cut the profile half from each face."""
        tabs = self.tab_places() if tabs is None else tabs
        depth = self.thickness / 2 + 0.5
        lift = self.thickness / 2 - self.tab_thickness / 2
        traverse = self.rng.random() < 0.3 and length(self.outline) > 100
        for face in ("front", "back"):
            cut = self.profile(tabs, lift, self.flat, depth, traverse=traverse)
            self.add(face, f"{face}-profile.nc", [(self.flat, cut)], profile=flagged)

    def one_face(self, tabs: list[Place] | None = None, *, flagged: bool = True) -> None:
        """Cut the profile through from one face."""
        face = self.rng.choice(["front", "back"])
        tabs = self.tab_places() if tabs is None else tabs
        cut = self.profile(tabs, self.real - self.tab_thickness - 0.3, self.flat, self.through)
        self.add(face, f"{face}-profile.nc", [(self.flat, cut)], profile=flagged)
        self.register_holes()

    @property
    def through(self) -> float:
        """A depth that goes through the blank, whichever Z zero and thickness."""
        return max(self.thickness, self.real) + 0.7

    def any_profile(self, tabs: list[Place] | None = None, *, flagged: bool = True) -> None:
        (self.both_faces if self.rng.random() < 0.6 else self.one_face)(tabs, flagged=flagged)

    def register_holes(self) -> None:
        """Drill two holes in the waste from both faces."""
        x0, y0, x1, y1 = self.box
        places = [(x0 + 4.5, y0 + 4.5), (x1 - 4.5, y1 - 5.5)]
        for face in ("front", "back"):
            cut = holes(places, self.thickness / 2 + 1.5)
            self.add(face, f"{face}-holes.nc", [(self.drill, cut)])

    def clear(self, x: float, y: float, r: float, depth: float, cutter: Cutter, *, square: bool | None = None) -> Cut:
        """Clear a round or square pocket of that radius."""
        if self.rng.random() < 0.5 if square is None else square:
            shape = shapely.box(x - 0.7 * r, y - 0.7 * r, x + 0.7 * r, y + 0.7 * r)
        else:
            shape = region(circle(x, y, r))
        return self.clear_shape(shape, depth, cutter)

    def clear_shape(
        self, shape: shapely.Polygon, depth: float, cutter: Cutter, *, step: float | None = None
    ) -> Cut:
        ways, inner = [], shape.buffer(-cutter.radius, join_style="mitre")
        while not inner.is_empty and inner.area > 0.01:
            ways.append(ring(inner))
            inner = inner.buffer(-0.45 * cutter.diameter, join_style="mitre")
        return levels(ways[::-1], depth, step or self.step(depth))

    def bowl(self, x: float, y: float, r: float, depth: float) -> Cut:
        """Cut a hollow with a ball in concentric passes, the deepest in the middle."""
        ways = []
        for k in range(5):
            away = (r - 1) * (4 - k) / 4
            ways.append((circle(x, y, max(away, 0.4)), depth * (1 - (away / r) ** 2)))

        def cut(writer: Writer) -> None:
            for way, down in ways:
                contour(way, down, down + 1)(writer)

        return cut

    def groove(self, start: Place, end: Place, depth: float) -> Cut:
        strokes: list[Stroke] = [Line(start, end)]
        return contour(strokes, depth, self.step(depth))

    def drilled(self, places: list[Place], depth: float) -> Cut:
        return holes(places, depth)

    # The bench

    @property
    def box(self) -> tuple[float, float, float, float]:
        x0, y0, x1, y1 = self.part.bounds
        return x0 - self.margin, y0 - self.margin, x1 + self.margin, y1 + self.margin

    def add(
        self, face: str, file: str, cuts: Cuts, *, profile: bool = False, through: bool = False, first: bool = False
    ) -> Plan:
        plans = self.plans[face]
        plan = Plan(file, cuts, profile, through, self.rng.random() < 0.1)
        plans.insert(0 if first else len(plans), plan)
        return plan

    def job(self, name: str, *faults: str) -> Job:
        x0, y0, x1, y1 = self.box
        edge = self.rng.choice(["left", "right"])
        centre = -x0 if edge == "left" else x1
        blank = Blank(y1 - y0, x1 - x0, self.thickness, self.measured, edge, centre, -y0)
        setups = []
        for setup in (self.front, self.back):
            for plan in self.plans[setup.up]:
                written = program(setup, plan.file, plan.cuts, self.thickness, inch=plan.inch)
                written.profile, written.through = plan.profile, plan.through
                written.may_fall = [setup.to_program(*place) for place in plan.may_fall]
                setup.programs.append(written)
            if setup.programs:
                setups.append(setup)
        bench = Bench(blank, setups)
        return Job(
            name=name,
            bench=bench,
            grid=self.grid,
            part=self.part,
            contours=self.contours,
            faults=frozenset(faults),
            meant=self.meant,
            may_fall=[place for plans in self.plans.values() for plan in plans for place in plan.may_fall],
            least_web=self.web,
            least_tab=LEAST_TAB,
        )


class NoRoomError(Exception):
    """The part is too small for what was to be cut in it; another seed has a larger one."""
