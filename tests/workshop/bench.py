"""The bench at which a part is made: which faces cut what, with which tools, in which programs.

Each kind of part draws its sizes from the bench's random numbers and adds cuts to both faces.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from random import Random

import shapely

from tests.workshop import clearing, lines, profiling
from tests.workshop.clearing import Clearing, Way
from tests.workshop.cuts import FACES, Cut, Cutter, Face
from tests.workshop.drilling import Hole, any_method
from tests.workshop.placement import Point
from tests.workshop.shapes import Outline, Shape, narrowest

_SAME_EDGE_MM = 0.03
_PROUD_MM = 0.3
"""How far a cut through the blank goes into the spoilboard."""


@dataclass
class Bench:
    rng: Random
    depths: Random
    """Decides how the depth of what goes through is shared out, apart from what the part looks like."""
    cuts: dict[Face, list[Cut]] = field(default_factory=lambda: {"front": [], "back": []})
    pitch: float | None = None
    """By which step the part repeats, if it does: what one is off by who counts wrong."""
    part: int = 0

    def __post_init__(self) -> None:
        rng = self.rng
        self.thickness: float = rng.choice([9, 12, 15, 18, 18, 20, 22, 25, 30, 38.1])
        self.profile_tools: dict[Face, Cutter] = {"front": Cutter(rng.choice([3, 4, 6, 6, 6.35, 8, 10]))}
        self.profile_tools["back"] = (
            self.profile_tools["front"] if rng.random() < 0.7 else Cutter(rng.choice([4.0, 6.0, 8.0]))
        )
        self.programs_by = rng.choice(["tool", "face", "job", "job"])
        self._share = rng.choice(["half", "half", "all", "front", "back"])
        self._each_its_own = self.depths.random() < 0.12
        self._front_share = rng.uniform(0.4, 0.6)
        self._beyond = {face: rng.uniform(0.2, 0.8) for face in FACES}

    def perhaps(self, chance: float) -> bool:
        return self.rng.random() < chance

    def through_depths(self) -> dict[Face, float]:
        """Return how deep each face cuts what goes through: together more than the blank is thick.

        Mostly it is the same for all of a part; in some each feature has its own.
        """
        t = self.thickness
        share = self.depths.choice(["half", "all", "front", "back"]) if self._each_its_own else self._share
        if share == "half":
            front = t * self._front_share
            return {"front": front + self._beyond["front"], "back": t - front + self._beyond["back"]}
        if share == "all":
            return {"front": t + _PROUD_MM, "back": t + _PROUD_MM}
        deep, shallow = t * 0.7, t * 0.3 + 1
        return {"front": deep, "back": shallow} if share == "front" else {"front": shallow, "back": deep}

    def add(self, face: Face, cut: Cut | None) -> None:
        if cut is not None:
            self.cuts[face].append(replace(cut, part=self.part))

    def profile(self, shape: Shape, *, inside: bool = False) -> None:
        """Cut the part's edge, or that of a large opening, from both faces."""
        assert shape.polygon.is_valid, "an edge crosses itself"
        tools = self.profile_tools
        if not all(_follows(tool, shape) for tool in tools.values()):
            # Where they would leave unlike fillets, a thin one goes round on both faces.
            thin = next((tool for tool in map(Cutter, (6.0, 4.0, 3.0)) if _follows(tool, shape)), Cutter(2.0))
            tools = dict.fromkeys(FACES, thin)
        for face, depth in self.through_depths().items():
            tool = tools[face]
            step = tool.diameter * self.rng.choice([0.5, 1, 1, 3])
            cut = profiling.profile(
                shape, "inside" if inside else "outside", tool, depth, habit=profiling.any_habit(self.rng),
                program="profile", name="profile", step=step,
            )
            self.add(face, cut)

    def opening(self, shape: Shape, diameter: float | None = None, program: str = "openings") -> None:
        """Cut an opening through the blank from both faces, round its wall or cleared."""
        assert shape.polygon.is_valid, "a wall crosses itself"
        width = narrowest(shape)
        fitting = [float(d) for d in (2, 3, 4, 6, 8) if d < width - 0.2]
        front = diameter or self.rng.choice(fitting)
        back = diameter or (front if self.perhaps(0.8) else self.rng.choice(fitting))
        if not (_follows(Cutter(front), shape) and _follows(Cutter(back), shape)):
            front = back = next((d for d in fitting[::-1] if _follows(Cutter(d), shape)), 2.0)
        for (face, depth), tool in zip(self.through_depths().items(), (Cutter(front), Cutter(back)), strict=True):
            way: Way = self.rng.choice(["rings", "rings from outside"])
            habit = replace(profiling.any_habit(self.rng), compensated=False, allowance=0.0, tabs=0)
            if habit.lead in ("arc", "line") and width < tool.diameter * 2.6:
                habit = replace(habit, lead="plunge")
            if width < 60 and self.perhaps(0.33):
                cut = clearing.pocket(shape, Clearing(tool, depth, way), program, kind="edge", name="opening")
            else:
                cut = profiling.profile(
                    shape, "inside", tool, depth, habit=habit, program=program, name="opening", step=tool.diameter
                )
            self.add(face, cut)

    def cleared_opening(self, shape: Shape, ways: Sequence[Way]) -> None:
        """Clear an opening right through, each face in its own way."""
        for (face, depth), way in zip(self.through_depths().items(), ways, strict=True):
            self.add(face, clearing.pocket(shape, Clearing(Cutter(6), depth, way, self.rng.choice([0, 90])), "openings",
                                           kind="edge", name="opening"))

    def through_holes(
        self, places: Sequence[Point], diameter: float, program: str = "holes", faces: Sequence[Face] = FACES
    ) -> None:
        """Make holes through the blank, each face in its own way and order; shared if both faces do."""
        for face, depth in self.through_depths().items():
            if face not in faces:
                continue
            deep = depth if len(faces) == 2 else self.thickness + _PROUD_MM
            self._holes(face, [Hole(place, diameter, deep, shared=len(faces) == 2) for place in places], program)

    def recesses(self, face: Face, places: Sequence[Point], diameter: float, depth: float, program: str) -> None:
        """Make blind holes, or wells, in one face."""
        self._holes(face, [Hole(place, diameter, depth, shared=False) for place in places], program)

    def _holes(self, face: Face, holes: list[Hole], program: str) -> None:
        method = any_method(self.rng, holes[0].diameter, program) if holes else None
        order = self.rng.choice(["as drawn", "as drawn", "backwards", "any"])
        if order == "any":
            self.rng.shuffle(holes)
        for hole in holes[::-1] if order == "backwards" else holes:
            assert method
            self.add(face, method.cut(hole))

    def pocket(
        self, face: Face, shape: Shape, *, depth: float | None = None, diameter: float | None = None,
        program: str = "pockets", way: Way | None = None, islands: Sequence[Shape] = (),
    ) -> None:
        rng = self.rng
        tool = Cutter(diameter or rng.choice([3.0, 4.0, 6.0, 8.0]))
        ways: list[Way] = ["rings", "rings from outside", "raster", "raster and wall"]
        deep = depth or round(self.thickness * rng.uniform(0.15, 0.45), 2)
        plan = Clearing(tool, deep, way if way else rng.choice(ways), rng.choice([0, 0, 90]))
        self.add(face, clearing.pocket(shape, plan, program, islands=islands))

    def letters(self, face: Face, place: Point, height: float, degrees: float = 0.0) -> None:
        word, depth = lines.any_word(self.rng), self.rng.uniform(0.5, 1.5)
        tool = Cutter(6.35, "vee", 60)
        self.add(face, lines.lettering(word, lines.at(*place, degrees), height, tool, depth, face=face))

    def slot(self, face: Face, start: Point, end: Point, depth: float, width: float, program: str) -> None:
        self.add(face, lines.slot(start, end, Cutter(width), depth, program=program, step=4))

    def saw(self, start: Point, end: Point, width: float, program: str = "saw cuts") -> None:
        """Make a slot that is as wide as its tool, through the blank from both faces."""
        for face, depth in self.through_depths().items():
            self.add(face, lines.slot(start, end, Cutter(width), depth, program=program, step=5, shared=True))

    def open_through(self, way: Sequence[Point], width: float, program: str) -> None:
        """Cut along a line of several legs, through the blank from both faces."""
        for face, depth in self.through_depths().items():
            self.add(face, lines.open_cut(way, Cutter(width), depth, program=program, step=4, wood=way))

    def pins(self, half_width: float, half_height: float, count: int) -> None:
        """Make holes for registration, in the waste or at the corners of the part."""
        w, h = half_width, half_height
        corners = [(-w, -h), (w, h), (-w, h), (w, -h)]
        pairs = [corners[:2], [(0.0, -h), (0.0, h)], [(-w, 0.0), (w, 0.0)], [corners[0], corners[3]]]
        places = self.rng.choice(pairs) if count == 2 else corners[:count]
        self.through_holes(places, self.rng.choice([3, 5, 6, 8]), program="pins")


def _follows(tool: Cutter, shape: Shape) -> bool:
    """Tell whether tools of other diameters leave the same edge: in a narrow hollow of a curve they don't."""
    if not isinstance(shape, Outline) or not shape.smooth:
        return True
    polygon, radius = shape.polygon, tool.diameter / 2
    opened = polygon.buffer(radius).buffer(-radius)
    closed = polygon.buffer(-radius).buffer(radius)
    return bool(max(shapely.hausdorff_distance(polygon, other) for other in (opened, closed)) < _SAME_EDGE_MM)

