"""Compare what the check of a job says with what happens in the wood."""

import json
import math
import re
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from tests.commands.command import run
from tests.dexels.board import Job
from tests.dexels.facts import Facts, confirmed, facts, kinds
from tests.dexels.jobfile import write
from tests.dexels.reader import read

CODES = {
    "loose": {"holding"},
    "rapid": {"rapid"},
    "opening": {"breakthrough"},
    "web": {"web"},
    "meet": {"breakthrough", "web"},
    "tab": {"holding", "tab"},
    "tab gone": {"holding", "tab"},
    "skin": {"skin"},
    "bite": {"bite"},
    "order": {"order"},
    "wrong way": {"plunge", "drill"},
}
"""Codes of the findings that are right for what is planted."""

_WEB = re.compile(r"thinnest web is ([\d.]+) mm")
_THIN_SIDE_MM = 0.3
"""How far a thickness may be told too small: flat floors are exact, a vee's or a ball's err by their slope."""
_WIDTH_MM = 1.0
"""How far a width may be told too small, and the dexels' own error in a width, of about a cell of each edge."""


_LATE_MM = 3.0
"""How far the cutter may go between the line that sets a piece free and the one that is told: some cells."""


_CLOSER = 2.5


@dataclass
class Result:
    job: Job
    status: int
    answer: str
    """Of a planted fault: right, otherwise, not determined, missed; of a right job: passed, not determined, failed."""
    notes: list[str] = field(default_factory=list)
    """Each thing that is told otherwise than it is in the wood."""
    report: dict[str, Any] = field(default_factory=dict)


class NotConfirmedError(AssertionError):
    """The wood doesn't show what the job's maker planted: the generator or the simulator is wrong."""


def compare(job: Job, *, grid: float = 0.4) -> Result:
    seen = facts(job)
    if not confirmed(job, seen):
        raise NotConfirmedError(f"{job.name}: planted {sorted(job.faults)}, in the wood {sorted(kinds(job, seen))}")
    status, report, err = _checked(job, grid)
    if status not in (0, 1):
        return Result(job, status, "missed" if job.faults else "failed", [err.strip()[:300]])
    notes = _notes(job, seen, report, grid)
    if notes:
        # Before anything is called a disagreement, the wood is looked at more closely, and so are the check's maps:
        # what hangs by less than one of their cells is told loose a line too early.
        job.grid /= _CLOSER
        closer = facts(job)
        notes = _notes(job, closer, report, grid) and _notes(job, closer, _checked(job, grid / _CLOSER)[1], grid)
    return Result(job, status, _answer(job, status, report), notes, report)


def _checked(job: Job, grid: float) -> tuple[int, dict[str, Any], str]:
    """Return the exit status of the check, its report, and what it says on standard error."""
    with tempfile.TemporaryDirectory() as folder:
        status, out, err = run(["check", str(write(job, Path(folder), grid=grid)), "--json"])
    return status, json.loads(out) if status in (0, 1) else {}, err


def _notes(job: Job, seen: Facts, report: dict[str, Any], grid: float) -> list[str]:
    notes = [*_loose(job, seen, report, grid), *_traverses(seen, report), *_tabs(job, seen, report, grid)]
    return [*notes, *_web(job, seen, report), *_bites(job, seen, report)]


def _answer(job: Job, status: int, report: dict[str, Any]) -> str:
    if not job.faults:
        if status == 0:
            return "passed"
        return "failed" if _with(report, "fail") else "not determined"
    if status == 0:
        return "missed"
    wanted = set().union(*(CODES[kind] for kind in job.faults))
    if any(finding["check"] in wanted for finding in _with(report, "fail")):
        return "right"
    if any(finding["check"] in wanted for finding in _with(report, "not determined")):
        return "not determined"
    return "otherwise"


def _with(report: dict[str, Any], status: str) -> list[dict[str, Any]]:
    return [finding for finding in report["findings"] if finding["status"] == status]


def _place(finding: dict[str, Any]) -> tuple[str, int]:
    return Path(finding["program"] or "").name, finding["line"] or 0


def _loose(job: Job, seen: Facts, report: dict[str, Any], grid: float) -> list[str]:
    told = [_place(f) for f in _with(report, "fail") if f["check"] == "holding" and "loose" in f["message"]]
    texts = {program.file: program.text for setup in job.bench.setups for program in setup.programs}
    notes = [
        f"a piece of {event.size:.0f} mm² comes loose at {event.file}:{event.line}, told {told}"
        for event in seen.loose
        if not any(file == event.file and _way(texts[file], event.line, line) < _LATE_MM for file, line in told)
    ]
    real = [(event.file, event.line) for event in seen.loose]
    if any(min(tab.width, tab.thickness) < 2.5 * grid for tab in seen.tabs):
        # What holds is narrower than the maps of the check can tell: it may well be called loose.
        return notes
    return notes + [f"told loose at {place}, and in the wood nothing is" for place in told if not real]


def _way(text: str, one: int, other: int) -> float:
    """Return how far the cutter goes between the ends of two lines: the last wood may go in either of two near ones."""
    low, high = sorted((one, other))
    moves = [move for move in read(text) if low < move.line <= high]
    return sum(float(np.hypot(*np.diff(move.points[:, :2], axis=0).T).sum()) for move in moves)


def _traverses(seen: Facts, report: dict[str, Any]) -> list[str]:
    told = {_place(f) for f in _with(report, "fail") if f["check"] == "rapid"}
    real = {(event.file, event.line) for event in seen.traverses}
    return [f"traverses through wood at {sorted(real)}, told {sorted(told)}"] if bool(told) != bool(real) else []


def _tabs(job: Job, seen: Facts, report: dict[str, Any], grid: float) -> list[str]:
    told = report.get("tabs") or []
    notes = []
    for tab in seen.tabs:
        near = [t for t in told if math.dist(t["at_mm"], tab.at) < 6]
        if not near and job.faults and min(tab.width, tab.thickness) < 2.5 * grid:
            # Narrower than the maps of the check can tell: it has to say so, and need not list it.
            continue
        if len(near) != 1:
            notes.append(f"a tab {tab.width:.1f} by {tab.thickness:.1f} mm at {_at(tab.at)}, told {len(near)} there")
            continue
        for name, real, says, low in (
            ("wide", tab.width, near[0]["width_mm"], _WIDTH_MM),
            ("thick", tab.thickness, near[0]["thickness_mm"], _THIN_SIDE_MM),
        ):
            most = job.grid if name == "wide" else 0.02
            if not real - low <= says <= real + most:
                notes.append(f"a tab {real:.2f} mm {name} at {_at(tab.at)}, told {says:.2f}")
    extra = [t for t in told if all(math.dist(t["at_mm"], tab.at) > 6 for tab in seen.tabs)]
    return notes + [f"told a tab at {_at(tuple(t['at_mm']))}, and there is none" for t in extra]


def _web(job: Job, seen: Facts, report: dict[str, Any]) -> list[str]:
    told = [float(m[1]) for f in report["findings"] if f["check"] == "web" and (m := _WEB.search(f["message"]))]
    if seen.web is None or seen.openings:
        return []
    if not told:
        return [f"a web of {seen.web:.2f} mm, told none"]
    # A web in the waste may be thinner than the part's, which is what the dexels look at.
    wrong = min(told) > seen.web + 0.02 or (min(told) < seen.web - _THIN_SIDE_MM and job.least_web < 90)
    return [f"a web of {seen.web:.2f} mm, told {min(told):.2f}"] if wrong else []


def _bites(job: Job, seen: Facts, report: dict[str, Any]) -> list[str]:
    told = {(Path(b["program"]).name, b["tool"]): b["depth_mm"] for b in report.get("bites", ())}
    shapes = {t.name: t.shape for s in job.bench.setups for p in s.programs for t in p.tools.values()}
    notes = []
    for key, depth in seen.bites.items():
        if shapes[key[1]] not in ("flat", "drill"):
            # Of a ball or a vee the check tells how far up its side it is in wood, which the dexels don't look at.
            continue
        # A drill's tip lies between the centres of cells.
        most = 0.05 if shapes[key[1]] == "flat" else 0.7 * job.grid
        if abs(told.get(key, 0.0) - depth) > most:
            notes.append(f"{key[0]} bites {depth:.2f} mm with its {key[1]}, told {told.get(key)}")
    return notes


def _at(place: tuple[float, ...]) -> str:
    return f"X {place[0]:.1f} Y {place[1]:.1f}"
