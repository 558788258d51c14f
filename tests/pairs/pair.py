"""A made pair: programs of a front and a back, what is told of them, and the planted truth."""

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

import numpy as np
from numpy.typing import NDArray

from tests.pairs.equal import Places, coinciding, common, equal_placements, keeps, places, shown_by
from tests.pairs.families import FAMILIES
from tests.pairs.operations import Operation, Passes
from tests.pairs.part import Part, pick
from tests.pairs.placement import Placement, shift
from tests.pairs.program import Hand, Section, text
from tests.pairs.treatments import TREATMENTS, Posted, Setting

NEARLY = 0.8  # share of the coincidences that makes another placement a rival (chosen)


@dataclass(frozen=True, slots=True)
class MadeProgram:
    """A program: its text, and what is told of its tools by their T numbers: diameters, and which are ball noses."""

    name: str
    text: str
    tools_mm: dict[int, float]
    balls: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Told:
    """What is told of a pair; None for what is not."""

    axis: str | None
    datum: tuple[float, float] | None
    thickness: float | None
    tolerance: float

    @property
    def words(self) -> str:
        return "nothing" if self.axis is None else "axis" if self.datum is None else "flip"


@dataclass(frozen=True, slots=True)
class Pair:
    """A made pair with its truth.

    Attributes
    ----------
    family, treatment, seed
        How it was made.
    part : Part
        What it should be.
    setting : Setting
        Where the zeros are meant to lie.
    posted : Posted
        How the back was posted.
    front, back : tuple of MadeProgram
        The programs.
    told : Told
        What the check is told.
    equal : tuple of Placement
        Moves of the back, in the blank's frame, that what is shown can't tell from none.
    near : tuple of Placement
        Moves after which nearly as much coincides: where one of them is another flip, nobody has to decide.
    whole : tuple of Placement
        Those of them that make the same part.
    shared : int
        How many places both faces show, outlines counted by their corners.
    sharing : set of str
        Names of the back's programs that show something that the front shows too; all of them if none does.
    fault_shows : bool
        With what is told, the fault contradicts something else that both faces share.
    is_plain : bool
        Three places not on one line, or an edge, are shared and can be compared with what is told.
    """

    family: str
    treatment: str
    seed: int
    part: Part
    setting: Setting
    posted: Posted
    front: tuple[MadeProgram, ...]
    back: tuple[MadeProgram, ...]
    told: Told
    equal: tuple[Placement, ...]
    near: tuple[Placement, ...]
    whole: tuple[Placement, ...]
    shared: int
    sharing: frozenset[str]
    fault_shows: bool
    is_plain: bool


def make(family: str, seed: int, treatment: str | None = None) -> Pair:
    """Return a pair of a family; the same seed gives the same pair."""
    random = Random(f"{family}-{seed}")
    part = FAMILIES[family](random)
    names = list(TREATMENTS)
    chosen = treatment or (random.choice(names) if random.random() < 0.65 else "right")
    setting = _setting(random, part)
    hand = Hand(random.choice((3, 3, 4)), random.random() < 0.7, random.random() < 0.6, random.random() < 0.3)
    plain = Posted(part.back, setting.back, hand)
    posted = TREATMENTS[chosen](random, part, setting, plain)
    if posted is None:
        chosen, posted = "right", plain
    is_told = random.random() < 0.7
    told = _told(random, part, setting)
    front_hand = Hand(3, random.random() < 0.7, random.random() < 0.6)
    diameters = sorted({o.tool_mm for o in (*part.front, *posted.operations)})
    numbers = {mm: number for number, mm in enumerate(diameters, 1)}
    front = _programs(random, "front", part.front, setting.front, front_hand, {}, numbers, is_told=is_told)
    back = _programs(
        random, "back", posted.operations, posted.placed, posted.hand, posted.strays, numbers, is_told=is_told
    )  # fmt: skip
    shown_front = places(shown_by(part.front))
    shown_back = _places_of(posted)
    moves = [Placement(), *(~move for move in posted.strays.values())]
    equal = tuple(equal_placements(shown_front, shown_back, moves))
    near = tuple(equal_placements(shown_front, shown_back, moves, NEARLY))
    whole = tuple(move for move in equal if keeps(shown_back, move)
                  or (not move.is_mirror and keeps(shown_front, move)))  # fmt: skip
    shared = sum(min(len(shown_front[name]), len(shown_back[name])) for name in common(shown_front, shown_back))
    is_plain = _is_plain(part, shown_front, shown_back, told, is_told=is_told)
    # A stray program shows by two places that it shares, against a told flip or two that the others share.
    counts = [coinciding(shown_front, shown_back, move) for move in moves]
    shows = all(count > 1 for count in counts[1:]) and (told.datum is not None or counts[0] > 1)
    made = frozenset(program.name for program in back)
    sharing = made & {
        _name("back", o) for o in posted.operations if any(name in shown_front for name, _, _ in o.shown())
    } or made  # fmt: skip
    return Pair(
        family, chosen, seed, part, setting, posted, front, back, told,
        equal, near, whole, shared, sharing, shows, is_plain,
    )  # fmt: skip


def _setting(random: Random, part: Part) -> Setting:
    """Return where the zeros are meant to lie: the middle, a corner, or anywhere."""
    low = part.corners.min(axis=0)
    zero = random.choice((
        (0.0, 0.0),
        (round(-float(low[0]), 3), round(-float(low[1]), 3)),
        (pick(random, -200, 200, 0.1), pick(random, -200, 200, 0.1)),
    ))  # fmt: skip
    axis = random.choice("yyx")
    across, along = (0, 1) if axis == "y" else (1, 0)
    datum = [0.0, 0.0]
    datum[across] = 2 * zero[across]
    if random.random() < 0.3:
        datum[across] += pick(random, -30, 30, 0.25)
        datum[along] = pick(random, -60, 60, 0.25)
    return Setting(shift(*zero), axis, (round(datum[0], 3), round(datum[1], 3)))


def _told(random: Random, part: Part, setting: Setting) -> Told:
    how = random.choices(("flip", "axis", "nothing"), (0.55, 0.15, 0.3))[0]
    return Told(
        setting.axis if how != "nothing" else None,
        setting.datum if how == "flip" else None,
        part.thickness if random.random() < 0.5 else None,
        random.choice((0.1, 0.5)),
    )


def _programs(
    random: Random,
    face: str,
    operations: Sequence[Operation],
    placed: Placement,
    hand: Hand,
    strays: dict[str, Placement],
    numbers: dict[float, int],
    *,
    is_told: bool,
) -> tuple[MadeProgram, ...]:
    """Return a program for each group of operations in any order, or one that changes tools.

    `numbers` has the T number of each diameter.
    """
    groups: dict[str, list[Operation]] = {}
    for operation in operations:
        groups.setdefault(_name(face, operation), []).append(operation)
    names = list(groups)
    random.shuffle(names)
    sections = [
        Section(
            numbers[groups[name][0].tool_mm],
            tuple(motion for member in groups[name] for motion in member.motions(random)),
            placed @ strays.get(groups[name][0].group, Placement()),
        )
        for name in names
    ]
    tools = {number: mm for mm, number in numbers.items()}
    flat = {numbers[one.tool_mm] for one in operations if not isinstance(one, Passes)}
    if len(names) > 1 and not strays and random.random() < 0.3:
        here = {section.tool: tools[section.tool] for section in sections} if is_told else {}
        return (MadeProgram(f"{face}.nc", text(sections, hand, face), here, frozenset(here) - flat),)
    found = []
    for name, section in zip(names, sections, strict=True):
        here = {section.tool: tools[section.tool]} if is_told else {}
        balls = frozenset(here) if any(isinstance(one, Passes) for one in groups[name]) else frozenset()
        found.append(MadeProgram(name, text([section], hand, name.removesuffix(".nc")), here, balls))
    return tuple(found)


def _name(face: str, operation: Operation) -> str:
    """Return the name of the program that an operation is in: one for each group and tool."""
    return f"{face}-{operation.group.replace(' ', '-')}-{operation.tool_mm:g}.nc"


def _places_of(posted: Posted) -> Places:
    """Return what the back shows in the blank's frame, a program that was posted elsewhere there."""
    shown = []
    for operation in posted.operations:
        move = posted.strays.get(operation.group, Placement())
        shown += [(name, *move.point(x, y)) for name, x, y in operation.shown()]
    return places(shown)


def _is_plain(part: Part, front: Places, back: Places, told: Told, *, is_told: bool) -> bool:
    points = [front[name][_among(front[name], back[name])] for name in common(front, back)
              if not name.startswith(("edge", "rim"))]  # fmt: skip
    spread = np.vstack(points) if points else np.empty((0, 2))
    if len(spread) >= 3 and np.linalg.matrix_rank(spread - spread.mean(axis=0), tol=1.0) == 2:
        return True
    if not part.has_rim:
        return False
    if part.wood_only:
        return is_told and told.thickness is not None
    tools = {o.tool_mm for o in (*part.front, *part.back) if o.group == "profile"}
    return is_told or len(tools) == 1


def _among(these: NDArray[np.int64], those: NDArray[np.int64]) -> NDArray[np.bool_]:
    rows = {tuple(row) for row in those.tolist()}
    return np.array([tuple(row) in rows for row in these.tolist()], dtype=bool)
