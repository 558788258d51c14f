"""What happens to a right back program: nothing, a habit, or one blunder."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from random import Random

import numpy as np

from tests.pairs.operations import Hole, Operation
from tests.pairs.part import Part
from tests.pairs.placement import HALF_TURN, Placement, flip, shift, turn
from tests.pairs.program import INCH_MM, Hand


@dataclass(frozen=True, slots=True)
class Posted:
    """How the back was posted.

    Attributes
    ----------
    operations : tuple of Operation
        What it cuts, in the blank's frame.
    placed : Placement
        From the blank's frame to its programs' numbers.
    hand : Hand
        How it is written.
    strays : dict
        For a group of operations that was posted elsewhere: its shift in the blank's frame.
    fault_mm : float
        By how much something other than the placement is out.
    """

    operations: tuple[Operation, ...]
    placed: Placement
    hand: Hand = field(default_factory=Hand)
    strays: dict[str, Placement] = field(default_factory=dict)
    fault_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Setting:
    """Where both programs have their zero: what a blunder mistakes.

    Attributes
    ----------
    front : Placement
        From the blank's frame to the front's numbers.
    axis : str
        The flip axis that is meant.
    datum : (float, float)
        The back's zero in the front's numbers.
    """

    front: Placement
    axis: str
    datum: tuple[float, float]

    @property
    def back(self) -> Placement:
        return flip(self.axis, self.datum) @ self.front


Treatment = Callable[[Random, Part, Setting, Posted], Posted | None]


def right(random: Random, part: Part, setting: Setting, posted: Posted) -> Posted:
    return posted


def forgotten_mirror(random: Random, part: Part, setting: Setting, posted: Posted) -> Posted:
    if random.random() < 0.6:
        return replace(posted, placed=setting.front)
    return replace(posted, placed=shift(round(random.uniform(-50, 50), 2), round(random.uniform(-50, 50), 2)))


def other_axis(random: Random, part: Part, setting: Setting, posted: Posted) -> Posted:
    other = "x" if setting.axis == "y" else "y"
    return replace(posted, placed=flip(other, setting.datum) @ setting.front)


def half_turn(random: Random, part: Part, setting: Setting, posted: Posted) -> Posted:
    return replace(posted, placed=setting.back @ HALF_TURN)


def by_pitch(random: Random, part: Part, setting: Setting, posted: Posted) -> Posted | None:
    if part.lure is not None:
        return replace(posted, placed=setting.back @ shift(*part.lure))
    if not part.pitch:
        return None
    count = random.choice((-3, -2, -1, 1, 2, 3))
    move = shift(count * part.pitch, 0.0) if random.random() < 0.5 else shift(0.0, count * part.pitch)
    return replace(posted, placed=setting.back @ move)


def shifted(random: Random, part: Part, setting: Setting, posted: Posted) -> Posted:
    far = random.choice((0.05, 0.2, 0.4, 0.8, 2.0, 8.0, 30.0))
    angle = random.uniform(0, 2 * np.pi) if random.random() < 0.5 else random.randrange(4) * np.pi / 2
    move = shift(round(far * float(np.cos(angle)), 3), round(far * float(np.sin(angle)), 3))
    return replace(posted, placed=move @ setting.back)


def by_cutter(random: Random, part: Part, setting: Setting, posted: Posted) -> Posted:
    tool = random.choice(posted.operations).tool_mm * random.choice((0.5, 1.0)) * random.choice((-1, 1))
    move = random.choice((shift(tool, 0.0), shift(0.0, tool)))
    return replace(posted, placed=move @ setting.back)


def small_turn(random: Random, part: Part, setting: Setting, posted: Posted) -> Posted:
    degrees = random.choice((-1, 1)) * random.choice((0.05, 0.1, 0.3, 1.0, 3.0))
    return replace(posted, placed=turn(degrees) @ setting.back)


def inch_right(random: Random, part: Part, setting: Setting, posted: Posted) -> Posted:
    return replace(posted, hand=replace(posted.hand, decimals=4, numbers_mm=INCH_MM, unit_word="G20"))


def inch_wrong(random: Random, part: Part, setting: Setting, posted: Posted) -> Posted:
    inch = replace(posted.hand, decimals=4, numbers_mm=INCH_MM)
    mistaken = random.choice((
        replace(posted.hand, unit_word="G20"),
        replace(inch, unit_word="G21"),
        replace(inch, unit_word=""),
    ))  # fmt: skip
    return replace(posted, hand=mistaken, fault_mm=float("inf"))


def one_program_off(random: Random, part: Part, setting: Setting, posted: Posted) -> Posted | None:
    """One group of several that share something with the front was posted with another zero."""
    groups = sorted({operation.group for operation in posted.operations})
    if len(groups) < 2:
        return None
    names = {shown[0] for operation in part.front for shown in operation.shown()}
    sharing = [group for group in groups if any(
        shown[0] in names for operation in posted.operations if operation.group == group for shown in operation.shown()
    )]  # fmt: skip
    if not sharing:
        return None
    far = random.choice((0.8, 2.0, 5.0, 12.0)) * random.choice((-1, 1))
    move = random.choice((shift(far, 0.0), shift(0.0, far)))
    return replace(posted, strays={random.choice(sharing): move}, fault_mm=abs(far))


def hole_missing(random: Random, part: Part, setting: Setting, posted: Posted) -> Posted | None:
    holes = part.holes()
    if len(holes) < 4:
        return None
    gone = random.choice(holes)
    return replace(posted, operations=tuple(o for o in posted.operations if o != gone))


def hole_extra(random: Random, part: Part, setting: Setting, posted: Posted) -> Posted | None:
    """A hole more in the back, away from every hole of the front and on the part."""
    holes = part.holes()
    if len(holes) < 3:
        return None
    low, high = part.corners.min(axis=0) + 8, part.corners.max(axis=0) - 8
    every = [(o.x, o.y) for o in (*part.front, *part.back) if isinstance(o, Hole)]
    for _ in range(50):
        x, y = (round(random.uniform(*ends), 2) for ends in zip(low, high, strict=True))
        if all(np.hypot(x - a, y - b) > 9 for a, b in every):
            return replace(posted, operations=(*posted.operations, replace(holes[0], x=x, y=y)))
    return None


def hole_misplaced(random: Random, part: Part, setting: Setting, posted: Posted) -> Posted | None:
    holes = part.holes()
    if len(holes) < 3:
        return None
    wrong = random.choice(holes)
    far, angle = round(random.uniform(0.3, 3.0), 2), random.uniform(0, 2 * np.pi)
    x, y = round(wrong.x + far * float(np.cos(angle)), 3), round(wrong.y + far * float(np.sin(angle)), 3)
    moved = tuple(replace(wrong, x=x, y=y) if o == wrong else o for o in posted.operations)
    return replace(posted, operations=moved, fault_mm=far)


TREATMENTS: dict[str, Treatment] = {
    "right": right,
    "forgotten mirror": forgotten_mirror,
    "other axis": other_axis,
    "half turn": half_turn,
    "by a pitch": by_pitch,
    "shifted": shifted,
    "by the cutter": by_cutter,
    "small turn": small_turn,
    "inch, right": inch_right,
    "inch, wrong": inch_wrong,
    "one program off": one_program_off,
    "hole missing": hole_missing,
    "hole extra": hole_extra,
    "hole misplaced": hole_misplaced,
}
