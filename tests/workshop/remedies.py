"""Does what the check says to do, as it stands, and asks again."""

import re
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any

import flipreg
from tests.workshop.answer import Answer, Flip, ask
from tests.workshop.cuts import FACES
from tests.workshop.job import NONE, Job, make
from tests.workshop.wrong import Kind, Wrong

Groups = list[list[dict[str, Any]]]


def judge_remedies(job: Job, answer: Answer) -> Iterator[Wrong]:
    """Try each way of the first group, together with the first way of the others: those come on top of it."""
    for mistake, way, changes in _ways(answer):
        if job.fault == NONE and job.told.tools and mistake == "tool":
            yield Wrong(Kind.REMEDY_FOR_A_RIGHT_JOB, way)
        if not changes:
            continue
        try:
            verdict = _done(job, changes)
        except flipreg.FlipregError as error:
            yield Wrong(Kind.REMEDY, f"{mistake}: {way} -> {type(error).__name__}: {error}")
            continue
        if verdict is None and job.fault != NONE and _right_is_open(job):
            yield Wrong(Kind.REMEDY_LEFT_OPEN, f"{mistake}: {way}; so is the right job")
        elif verdict is not True:
            yield Wrong(Kind.REMEDY, f"{mistake}: {way} -> {verdict}")


def _ways(answer: Answer) -> Iterator[tuple[str, str, list[dict[str, Any]]]]:
    groups: dict[int, list[dict[str, Any]]] = {}
    for remedy in answer.data["remedies"]:
        groups.setdefault(remedy["group"], []).append(remedy)
    first, *others = groups.values() or [[]]
    on_top = [change for group in others for change in group[0]["ways"][0]["changes"]]
    for remedy in first:
        for way in remedy["ways"]:
            yield remedy["mistake"], way["words"], [*way["changes"], *on_top] if way["changes"] else []


def _right_is_open(job: Job) -> bool:
    return ask(replace(make(job.kind, job.seed, NONE), told=job.told)).verdict is None


def _done(job: Job, changes: list[dict[str, Any]]) -> bool | None:
    programs = {face: dict(job.programs[face]) for face in FACES}
    told: Flip | None = (job.axis, job.datum) if job.told.flip == "all" else None
    for change in changes:
        new = change["set"]
        if change["of"] == "check":
            x, y = new.get("datum_mm") or job.datum
            told = (new.get("axis", job.axis), (x, y))
        else:
            assert change["of"] == "programs", change
            for face in FACES:
                for name in set(change["names"]) & programs[face].keys():
                    programs[face][name] = _changed(programs[face][name], new)
    return ask(job, programs, told).verdict


def _changed(text: str, new: dict[str, Any]) -> str:
    """Return a program with its unit word, its flip, its turn and its shift done, in this order."""
    if "unit" in new:
        text = _with_unit(text, "G20" if new["unit"] == "inch" else "G21")
    if "flip" in new:
        axis, (x, y) = flipreg.FlipAxis(new["flip"]["axis"]), new["flip"]["datum_mm"]
        text = flipreg.flip(flipreg.parse(text), axis=axis, datum_mm=(_exact(x), _exact(y))).text.decode()
    if "turn_deg" in new or "by_mm" in new:
        x, y, *_ = new.get("by_mm", (0, 0))
        moved = flipreg.shift(
            flipreg.parse(text), by_mm=(_exact(x), _exact(y), Decimal(0)), turn_deg=float(new.get("turn_deg") or 0)
        )
        text = moved.text.decode()
    return text


def _with_unit(text: str, word: str) -> str:
    changed, count = re.subn(r"G2[01]\b", word, text, flags=re.IGNORECASE)
    if count:
        return changed
    first, rest = ("%\n", text[2:]) if text.startswith("%\n") else ("", text)
    return f"{first}{word}\n{rest}"


def _exact(length: float) -> Decimal:
    return Decimal(str(length))
