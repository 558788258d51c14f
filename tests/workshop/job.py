"""A random job: a part, a fault or none, the programs of both faces, and what the check is told.

Each of these has random numbers of its own, so that the same part is seen with every fault.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random
from typing import Literal

from tests.workshop.bench import Bench
from tests.workshop.besides import add_besides
from tests.workshop.catalogue import KINDS
from tests.workshop.cuts import FACES, Cut, Cutter, Face, reach
from tests.workshop.faults import Fault, Right, Spoilt
from tests.workshop.faults_of_all import OF_ALL
from tests.workshop.faults_of_size import OF_SIZE
from tests.workshop.faults_of_some import OF_SOME
from tests.workshop.habits import Habits, any_habits
from tests.workshop.placement import SAME, Axis, Placement, Point, flip, shift, turn
from tests.workshop.writer import write

FAULTS: dict[str, Fault] = {fault.__name__: fault for fault in (*OF_ALL, *OF_SOME, *OF_SIZE)}
NONE = "none"
_RIGHT_SHARE = 0.32


@dataclass(frozen=True, slots=True)
class Told:
    """What the check is told besides the programs and the tolerance."""

    flip: Literal["all", "axis", "nothing"]
    tools: bool
    thickness: bool


ALL_TOLD = Told("all", tools=True, thickness=True)


@dataclass(frozen=True, slots=True)
class Job:
    kind: str
    seed: int
    fault: str
    spoilt: Spoilt
    front: tuple[Cut, ...]
    low: Point
    high: Point
    axis: Axis
    datum: Point
    thickness: float
    tolerance: float
    told: Told
    tools: dict[Cutter, int]
    programs: dict[Face, dict[str, str]]
    """By face and name, such as ``front-holes.ngc``."""

    @property
    def flip(self) -> Placement:
        """Return what takes the blank's places, which are the front's numbers, to the back's."""
        return flip(self.axis, self.datum)

    @property
    def corners(self) -> list[Point]:
        """Return the corners of all that a right job cuts."""
        (x0, y0), (x1, y1) = self.low, self.high
        return [(x0, y0), (x1, y0), (x0, y1), (x1, y1)]


def make(kind: str, seed: int, fault: str | None = None) -> Job:
    """Return a job; without a fault named it may have any, or none."""
    bench = _part(kind, seed, "part")
    rng = Random(f"table {kind} {seed}")
    if not any(bench.cuts[face] == [] for face in FACES):
        add_besides(bench)
    place, axis, datum = _laid(rng, bench)
    front, back = (tuple(cut.moved(place) for cut in bench.cuts[face]) for face in FACES)
    low, high = ((float(x), float(y)) for x, y in reach([*front, *back]))
    tolerance = rng.choice([0.05, 0.1, 0.1, 0.2, 0.2, 0.3, 0.5])

    def other() -> tuple[Cut, ...]:
        another = _part(kind, seed, "another", bench.thickness)
        return tuple(cut.moved(place) for cut in another.cuts["back"])

    name, spoilt = fault or _any_fault(kind, seed), None
    if name != NONE:
        chance = Random(f"fault {name} {kind} {seed}")
        right = Right(chance, back, axis, flip(axis, datum), tolerance, bench.pitch, low, high, other)
        spoilt = FAULTS[name](right)
    told = Told(rng.choices(["all", "axis", "nothing"], [0.65, 0.15, 0.2])[0], rng.random() < 0.7, rng.random() < 0.5)  # type: ignore[arg-type]
    habits = any_habits(rng)
    spoilt, name = (spoilt, name) if spoilt else (Spoilt(back), NONE)
    cutters = dict.fromkeys(cut.cutter for cut in (*front, *spoilt.back))
    tools = {cutter: number + 1 for number, cutter in enumerate(cutters)}
    shop = {"front": habits, "back": any_habits(rng, habits)}
    return Job(
        kind, seed, name, spoilt, front, low, high, axis, datum, bench.thickness, tolerance, told, tools,
        {
            "front": _programs("front", front, SAME, shop["front"], tools, bench),
            "back": _programs(
                "back", spoilt.back, flip(axis, datum), shop["back"], tools, bench, wrong_unit=spoilt.wrong_unit
            ),
        },
    )


def _any_fault(kind: str, seed: int) -> str:
    rng = Random(f"which {kind} {seed}")
    return NONE if rng.random() < _RIGHT_SHARE else rng.choice(list(FAULTS))


def _part(kind: str, seed: int, which: str, thickness: float | None = None) -> Bench:
    bench = Bench(Random(f"{which} {kind} {seed}"), Random(f"depths of {which} {kind} {seed}"))
    bench.thickness = thickness or bench.thickness
    KINDS[kind](bench)
    return bench


def _laid(rng: Random, bench: Bench) -> tuple[Placement, Axis, Point]:
    """Return where the part lies in the front's numbers, and how the blank is turned over."""
    (x0, y0), (x1, y1) = ((float(x), float(y)) for x, y in reach([*bench.cuts["front"], *bench.cuts["back"]]))
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    gap = rng.choice([0, 10])
    zeros = [middle, (x0 - gap, y0 - gap), (middle[0], y0), (rng.uniform(-300, 50), rng.uniform(-300, 50)), (0.0, 0.0)]
    zero = rng.choice(zeros)
    turned = rng.choice([0.0, 0.0, 0.0, 90.0])
    if rng.random() < 0.25:
        turned = rng.choice([rng.uniform(-40, 40), 30, 45, 1.5, -12])
    place = shift(-round(zero[0], 3), -round(zero[1], 3)) @ turn(turned, middle)
    (x0, y0), (x1, y1) = (
        (float(x), float(y)) for x, y in reach([cut.moved(place) for face in FACES for cut in bench.cuts[face]])
    )
    axis: Axis = rng.choice(["x", "y"])
    if axis == "y":
        same, corner = (round(x0 + x1, 1), 0.0), (x1 + 10, y0 - 10)
    else:
        same, corner = (0.0, round(y0 + y1, 1)), (x0 - 10, y1 + 10)
    anywhere = (rng.uniform(0, 400), rng.uniform(-200, 200))
    datum = rng.choice([same, corner, anywhere, ((x0 + x1) / 2, (y0 + y1) / 2)])
    return place, axis, (round(datum[0], 2), round(datum[1], 2))


def _programs(
    face: Face, cuts: Sequence[Cut], placement: Placement, habits: Habits, tools: dict[Cutter, int], bench: Bench, *,
    wrong_unit: bool = False,
) -> dict[str, str]:
    groups: dict[str, list[Cut]] = {}
    for cut in cuts:
        name = {"tool": f"T{tools[cut.cutter]}", "face": "all", "job": cut.program}[bench.programs_by]
        groups.setdefault(name.replace(" ", "-"), []).append(cut)
    zero = bench.thickness if habits.spoilboard_zero else 0.0
    return {
        f"{face}-{name}.ngc": write(
            _tool_by_tool(group), placement, habits, tools, title=f"{face} {name}", zero=zero, wrong_unit=wrong_unit
        )
        for name, group in groups.items()
    }


def _tool_by_tool(cuts: Sequence[Cut]) -> list[Cut]:
    """Return the cuts so that no tool is changed twice within a program."""
    order = list(dict.fromkeys(cut.cutter for cut in cuts))
    return sorted(cuts, key=lambda cut: order.index(cut.cutter))
