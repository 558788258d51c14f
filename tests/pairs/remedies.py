"""Do what a report says would mend a pair, on paper, and see whether the pair is right then."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import islice, product
from typing import Any

import numpy as np

from tests.pairs.pair import Pair
from tests.pairs.placement import Placement, farthest, flip, shift, turn
from tests.pairs.program import INCH_MM
from tests.pairs.truth import MARGIN_MM, seen_corners

MOST_WAYS = 200  # ways to combine remedies of several groups that are tried


@dataclass(frozen=True, slots=True)
class Posting:
    """A program as it lies: from the blank's frame to its numbers, and by what factor they are read too large."""

    placed: Placement
    factor: float


@dataclass(frozen=True, slots=True)
class Stand:
    """How a pair stands: each of its programs, and the flip that holds."""

    programs: dict[str, Posting]
    axis: str | None
    datum: tuple[float, float] | None


def named(pair: Pair, report: dict[str, Any]) -> str:
    """Return what the named mistakes are worth: `none` named, `right`, `wrong`, or `vague` if left to decide."""
    remedies = report["remedies"]
    if not remedies:
        return "none"
    groups: dict[int, list[Any]] = {}
    vague = False
    for remedy in remedies:
        for way in remedy["ways"]:
            vague = vague or not way["changes"]
            if way["changes"]:
                groups.setdefault(remedy["group"], []).append(way["changes"])
            elif _is_meant(pair, remedy["mistake"]):
                return "right"
    for ways in islice(product(*groups.values()), MOST_WAYS):
        if groups and _is_right(pair, _after(pair, report, [change for changes in ways for change in changes])):
            return "right"
    return "vague" if vague else "wrong"


def _is_meant(pair: Pair, mistake: str) -> bool:
    return (mistake == "hole" and pair.treatment in ("hole misplaced", "hole missing", "hole extra")) or (
        mistake == "tool" and not any(made.tools_mm for made in pair.back)
    )  # fmt: skip


def _after(pair: Pair, report: dict[str, Any], changes: Sequence[dict[str, Any]]) -> Stand:
    stand = _as_posted(pair, report)
    for change in changes:
        done = change["set"]
        if change["of"] == "check":
            datum = done.get("datum_mm")
            stand = replace(
                stand,
                axis=done.get("axis", stand.axis),
                datum=(float(datum[0]), float(datum[1])) if datum is not None else stand.datum,
            )  # fmt: skip
            continue
        programs = dict(stand.programs)
        for name in change["names"]:
            programs[name] = _changed(pair, name, programs[name], done)
        stand = replace(stand, programs=programs)
    return stand


def _as_posted(pair: Pair, report: dict[str, Any]) -> Stand:
    hand = pair.posted.hand
    read = INCH_MM if hand.unit_word == "G20" else 1.0
    programs = {made.name: Posting(pair.setting.front, 1.0) for made in pair.front}
    for made in pair.back:
        stray = next((move for group, move in pair.posted.strays.items()
                      if made.name.startswith(f"back-{group.replace(' ', '-')}-")), Placement())  # fmt: skip
        programs[made.name] = Posting(pair.posted.placed @ stray, read / hand.numbers_mm)
    told = report["flip"]
    datum = told["datum_mm"]
    return Stand(programs, told["axis"], (datum[0], datum[1]) if datum is not None else None)


def _changed(pair: Pair, name: str, posting: Posting, done: dict[str, Any]) -> Posting:
    placed, factor = posting.placed, posting.factor
    if "unit" in done:
        meant = pair.posted.hand.numbers_mm if name.startswith("back") else 1.0
        factor = (INCH_MM if done["unit"] == "inch" else 1.0) / meant
    if done.get("flip"):
        x, y = (float(value) for value in done["flip"]["datum_mm"])
        placed = flip(done["flip"]["axis"], (x, y)) @ placed
    if done.get("turn_deg"):
        placed = turn(float(done["turn_deg"])) @ placed
    if done.get("by_mm"):
        placed = shift(float(done["by_mm"][0]), float(done["by_mm"][1])) @ placed
    return Posting(placed, factor)


def _is_right(pair: Pair, stand: Stand) -> bool:
    if any(posting.factor != 1 for posting in stand.programs.values()):
        return False
    if stand.axis is None:
        # No flip was told or found: what was named is the unit, and that is right now.
        return bool(np.isinf(pair.posted.fault_mm))
    if stand.axis not in ("x", "y") or stand.datum is None:
        return False
    front = [posting.placed for name, posting in stand.programs.items() if name.startswith("front")]
    # Where a program lies that shares nothing with the front, nobody can tell.
    back = [posting.placed for name, posting in stand.programs.items() if name in pair.sharing]
    lies = flip(stand.axis, stand.datum)
    allowed = pair.told.tolerance + MARGIN_MM
    return any(
        all(farthest(there, lies @ here @ move, seen_corners(pair)) <= allowed for here in front for there in back)
        for move in pair.equal
    )
