"""Blunders to plant: each makes the job or its programs say something else than what the plan is."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path as File

import numpy as np

from tests.commands.blunders.part import NAMES, WIDTH, part
from tests.commands.blunders.plan import CUTTER, Place, Plan

__all__ = ["BLUNDERS", "Blunder", "right_plan"]

Rng = np.random.Generator


@dataclass(frozen=True)
class Blunder:
    """A name, what the reports must call it, and how it is planted.

    Attributes
    ----------
    codes : names that a report may give it, the job check's first; empty: nothing is to be named, it must not pass
    plans : the right plan to (what the programs were made from, what is told)
    edit : changes the written programs of the faces, by their files
    also_pair : whether it exists without a job file
    """

    name: str
    codes: tuple[str, ...]
    plans: Callable[[Plan, Rng], tuple[Plan, Plan]]
    edit: Callable[[dict[str, list[File]], Rng], None] | None = None
    also_pair: bool = True


def right_plan(rng: Rng, name: str | None = None) -> Plan:
    """Return a plan without a mistake, drawn at random."""
    chosen = part(str(rng.choice(NAMES)) if name is None else name)
    b, c = float(rng.choice((130.0, 210.0, 290.0))), float(rng.choice((-30.0, 45.0)))
    marks = {"A": (0.0, 0.0), "B": (0.0, b), "C": (c, 90.0)}

    def jog() -> tuple[float, float]:
        return float(np.round(rng.uniform(-60, 60), 1)), float(np.round(rng.uniform(-40, 90), 1))

    unit, z_zero = str(rng.choice(("mm", "mm", "mm", "inch"))), str(rng.choice(("top", "top", "spoilboard")))
    quarters = int(rng.choice((0, 0, 0, 1, 3)))
    front = Place(None, "A", jog() if rng.random() < 0.5 else (0.0, 0.0), quarters, z_zero, unit)
    back_z = str(rng.choice(("top", "top", "spoilboard")))
    back = Place(str(rng.choice(("x", "y"))), str(rng.choice(("A", "B", "C"))), jog(), quarters, back_z, unit)
    return Plan(chosen, marks, front, back)


def _told(change: Callable[[Plan, Rng], Plan]) -> Callable[[Plan, Rng], tuple[Plan, Plan]]:
    return lambda plan, rng: (plan, change(plan, rng))


def _made(change: Callable[[Plan, Rng], Plan]) -> Callable[[Plan, Rng], tuple[Plan, Plan]]:
    return lambda plan, rng: (change(plan, rng), plan)


def _other(mirror: str | None) -> str:
    return "x" if mirror == "y" else "y"


def _other_mark(plan: Plan, rng: Rng) -> Plan:
    return plan.with_back(mark=str(rng.choice([name for name in plan.marks if name != plan.back.mark])))


def _sign(plan: Plan, rng: Rng) -> Plan:
    x, y = plan.back.jog
    signs = ((-1, 1), (1, -1), (-1, -1))[int(rng.integers(3))]
    return plan.with_back(jog=(x * signs[0], y * signs[1]))


def _other_jog(plan: Plan, rng: Rng) -> Plan:
    front = replace(plan.front, jog=(37.5, -12.0)) if plan.front.jog == (0.0, 0.0) else plan.front
    return replace(plan, front=front).with_back(jog=front.jog)


def _plans_of_other_jog(plan: Plan, rng: Rng) -> tuple[Plan, Plan]:
    told = _other_jog(plan, rng)
    return replace(plan, front=told.front), told


def _tool(plan: Plan, rng: Rng) -> Plan:
    x, y = plan.back.jog
    by = float(rng.choice((CUTTER / 2, CUTTER))) * int(rng.choice((-1, 1)))
    return plan.with_back(jog=(x + by, y) if rng.random() < 0.5 else (x, y + by))


def _slip(plan: Plan, rng: Rng) -> Plan:
    x, y = plan.back.jog
    by = rng.uniform(0.6, 9.0, 2) * rng.choice((-1, 1), 2)
    return plan.with_back(jog=(round(x + float(by[0]), 1), round(y + float(by[1]), 1)))


def _line(plan: Plan, rng: Rng) -> Plan:
    """Say that the blank is turned about another line than the programs were mirrored about."""
    off = 2.0 * float(rng.choice((10.0, WIDTH / 4, 17.5)))
    across = np.array((off, 0.0)) if plan.back.mirror == "y" else np.array((0.0, off))
    jog = np.array(plan.back.jog) + plan.back.axes() @ across
    return plan.with_back(jog=(float(jog[0]), float(jog[1])))


def _not_mirrored(plan: Plan, rng: Rng) -> Plan:
    return replace(plan, back=replace(plan.front, z_zero=plan.back.z_zero))


def _half_turn(plan: Plan, rng: Rng) -> Plan:
    turned = (plan.front.quarters + 2) % 4
    return replace(plan, back=replace(plan.front, quarters=turned, z_zero=plan.back.z_zero))


def _units_of_one(face: str, to: str) -> Callable[[dict[str, list[File]], Rng], None]:
    def edit(files: dict[str, list[File]], rng: Rng) -> None:
        file = files[face][int(rng.integers(len(files[face])))]
        text = file.read_text()
        wrong = "G20" if text.startswith("G21") else "G21"
        if to == "all":
            for other in files[face]:
                other.write_text(wrong + other.read_text()[3:])
        else:
            file.write_text(wrong + text[3:])

    return edit


def _nothing(plan: Plan, rng: Rng) -> Plan:
    return plan


def _z(plan: Plan, rng: Rng) -> Plan:
    return plan.with_back(z_zero="top" if plan.back.z_zero == "spoilboard" else "spoilboard")


def _z_front(plan: Plan, rng: Rng) -> Plan:
    other = "top" if plan.front.z_zero == "spoilboard" else "spoilboard"
    return replace(plan, front=replace(plan.front, z_zero=other))


# A shift may have more than one cause: two marks 90 mm apart, a jog of 45 with the wrong sign.
_SHIFT = (
    *("jog", "offset", "mark", "jog sign", "flip line", "wrong end"),
    *("cutter edge", "jog of another setup", "jog swapped", "jog unit"),
)

BLUNDERS = (
    Blunder("mark mixed up", ("mark", *_SHIFT), _told(_other_mark)),
    Blunder("jog sign", ("jog sign", *_SHIFT), _told(_sign)),
    Blunder("jog of the other setup", ("jog of another setup", *_SHIFT), _plans_of_other_jog),
    Blunder("zero at the cutter's edge", ("cutter edge",), _told(_tool)),
    Blunder("slipped jog", _SHIFT, _told(_slip)),
    Blunder("flip about the wrong line", ("flip line", *_SHIFT), _told(_line)),
    Blunder("not mirrored", ("not mirrored",), _made(_not_mirrored)),
    Blunder("not mirrored, half a turn", ("not mirrored",), _made(_half_turn)),
    Blunder("other axis told", ("other axis",), _told(lambda plan, _: plan.with_back(mirror=_other(plan.back.mirror)))),
    Blunder("other axis made", ("other axis",), _made(lambda plan, _: plan.with_back(mirror=_other(plan.back.mirror)))),
    Blunder("unit of one back program", ("units",), _told(_nothing), _units_of_one("back", "one")),
    Blunder("unit of all back programs", ("units",), _told(_nothing), _units_of_one("back", "all")),
    Blunder("unit of one front program", ("units",), _told(_nothing), _units_of_one("front", "one")),
    Blunder("job in inches", ("job units",), _told(lambda plan, _: replace(plan, units="inch")), also_pair=False),
    Blunder("Z zero of the back", ("z zero",), _told(_z), also_pair=False),
    Blunder("Z zero of the front", ("z zero",), _told(_z_front), also_pair=False),
    Blunder(
        "quarter turn",
        ("quarter turn", "other axis"),
        _told(lambda plan, rng: plan.with_back(quarters=(plan.back.quarters + int(rng.integers(1, 4))) % 4)),
        also_pair=False,
    ),
    Blunder(
        "other axis and slipped jog",
        (),
        _told(lambda plan, rng: _slip(plan.with_back(mirror=_other(plan.back.mirror)), rng)),
    ),
    Blunder("unit and sign", (), _told(_sign), _units_of_one("back", "all")),
    Blunder("Z zero and mark", (), _told(lambda plan, rng: _other_mark(_z(plan, rng), rng)), also_pair=False),
    Blunder(
        "not mirrored and Z zero", (), lambda plan, rng: (_not_mirrored(plan, rng), _z(plan, rng)), also_pair=False
    ),
)
