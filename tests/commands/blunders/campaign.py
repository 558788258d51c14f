"""Many random jobs, right and spoilt, judged by what is made and by what comes of doing what the report says.

    python -m tests.commands.blunders.campaign [SEED] [COUNT]
"""

import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path as File
from tempfile import TemporaryDirectory

import numpy as np
import shapely

from tests.commands.blunders.bench import Told, mended, pair_trial, said_badly, trial
from tests.commands.blunders.part import Part
from tests.commands.blunders.plan import Plan, points, zero
from tests.commands.blunders.plant import BLUNDERS, Blunder, right_plan

__all__ = ["complaints", "displacement", "judged"]


def displacement(made: Plan, told: Plan) -> float:
    """Return how far what both faces share is apart in the blank, in millimetres."""
    part = made.part
    away = 0.0
    if part.profile:
        ring = shapely.Polygon(part.outline).exterior
        moved = shapely.Polygon(_lands(made, told, part.outline)).exterior
        away = max(away, shapely.hausdorff_distance(ring, moved, densify=0.01))
    holes = np.array([*part.drilled, *((x, y) for x, y, _ in part.bored)])
    if len(holes):
        gaps = np.hypot(*np.moveaxis(holes[:, None] - _lands(made, told, holes)[None], 2, 0))
        away = max(away, float(gaps.min(axis=1).max()))
    return away


def _lands(made: Plan, told: Plan, on_blank: np.ndarray) -> np.ndarray:
    """Return where back features land that were made from one plan and are cut as another one tells.

    The front as it is told is where the faces are compared.
    """
    numbers = points(made, made.back, on_blank)
    back = numbers @ told.back.axes() + zero(told, told.back)
    return (points(told, told.front, back)) @ made.front.axes() + zero(made, made.front)


def complaints(told: Told, blunder: Blunder | None, part: Part) -> Iterator[str]:
    """Yield what is wrong with a check of a right job (no blunder) or of a spoilt one."""
    if told.status == 2:
        yield f"not checked: {told.text[:200]}"
        return
    if blunder is None:
        if told.status != 0:
            yield f"a right one does not pass ({told.report['in_register']}): {_not_passed(told)}"
    elif told.status == 0:
        yield "a spoilt one passes"
    yield from (f"wording: {what}" for what in said_badly(told.text))
    if blunder is None or told.status == 0:
        return
    if "What to do" not in told.text:
        yield "nothing is said about what to do"
    codes = {code for remedy in told.remedies for code in str(remedy["mistake"]).split(" + ")}
    if blunder.codes and not codes & set(blunder.codes):
        yield f"named {sorted(codes)}, expected one of {blunder.codes}"
    for remedy in told.remedies:
        for way in remedy["ways"]:  # type: ignore[attr-defined]
            if not way["changes"]:
                continue
            again = mended(told, remedy, way)
            if again.status != 0:
                left = again.text[:300] if again.status == 2 else _not_passed(again)[:4]
                yield f"not mended by {remedy['mistake']}: {way}: {left}"


def _not_passed(told: Told) -> list[str]:
    findings: list[dict[str, str]] = told.report["findings"]  # type: ignore[assignment]
    return [f"{one['check']}: {one['message']}" for one in findings if one["status"] in ("fail", "not determined")]


def judged(seed: int, blunder: Blunder | None, folder: File, *, pair: bool) -> list[str] | None:
    """Return the complaints about one random trial, None where the blunder changes nothing."""
    rng = np.random.default_rng(seed)
    plan = right_plan(rng)
    made, told = (plan, plan) if blunder is None else blunder.plans(plan, rng)
    if blunder is not None and blunder.edit is None and made.units == told.units:
        same_z = (made.back.z_zero, made.front.z_zero) == (told.back.z_zero, told.front.z_zero)
        if (pair or same_z) and displacement(made, told) < 0.5:
            return None
    check = pair_trial if pair else trial
    return list(complaints(check(made, told, folder, blunder, rng), blunder, plan.part))


def main(seed: int, count: int) -> None:
    """Print what went wrong in `count` trials of every kind."""
    tally: Counter[str] = Counter()
    for number in range(seed, seed + count):
        for blunder in (None, *BLUNDERS):
            for pair in (False, True) if blunder is None or blunder.also_pair else (False,):
                name = f"{'right' if blunder is None else blunder.name}, {'pair' if pair else 'job'}"
                with TemporaryDirectory() as folder:
                    found = judged(number, blunder, File(folder) / "trial", pair=pair)
                if found is None:
                    continue
                tally["trials"] += 1
                part = right_plan(np.random.default_rng(number)).part.name
                for what in found:
                    tally[f"{name}: {what.split(':')[0][:60]}"] += 1
                    sys.stdout.write(f"{number} [{part}] {name}: {what}\n")
        sys.stdout.write(f"{dict(tally)}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main(*(int(text) for text in sys.argv[1:3]))
