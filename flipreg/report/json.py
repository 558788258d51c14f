"""The report of a check as one JSON object, for scripts."""

import json
from collections.abc import Sequence

from flipreg.findings import Finding
from flipreg.register.directions import Direction
from flipreg.register.mistake import Mistake
from flipreg.register.report import FlipChoice, Report, Vote

__all__ = ["remedies_json", "to_json", "to_json_text"]

_DECIMALS = 6
"""Millimetres and degrees are given to a millionth: below that it is noise of floats."""


def to_json(report: Report) -> dict[str, object]:
    """Return the report as plain dicts, lists, strings, numbers and None.

    Parameters
    ----------
    report : Report
        What a check found out.

    Returns
    -------
    dict
        Keys as documented for `flipreg check --json`; lengths in millimetres, angles in degrees, positions in the
        blank frame.
    """
    register, bounds = report.register, report.bounds
    return {
        "in_register": report.in_register,
        "tolerance_mm": report.tolerance_mm,
        "flip": {
            **_choice(report.flip.choice),
            "found": report.flip.is_found,
            "alternatives": [_choice(choice) for choice in report.flip.alternatives],
        },
        "register": {
            "dx_mm": _number(register.dx_mm),
            "dy_mm": _number(register.dy_mm),
            "rotation_deg": _number(register.rotation_deg),
            "worst_mm": _number(register.worst_mm),
            "worst_at_mm": _numbers(register.worst_at_mm),
            "part_mm": _number(None if register.landing is None else register.landing.part_mm),
            "part_at_mm": _numbers(None if register.landing is None else register.landing.part_at_mm),
            "evidence": register.evidence,
        },
        "directions": {direction.name: _direction(direction) for direction in report.directions},
        "vote": None if report.vote is None else _vote(report.vote),
        "datum": {"offset_mm": _numbers(report.datum.offset_mm)},
        "bounds": {"front_mm": _numbers(bounds.front_mm), "back_mm": _numbers(bounds.back_mm)},
        "diagnosis": report.diagnosis,
        "remedies": remedies_json([report.mistakes]),
        "findings": [_finding(finding) for finding in report.findings],
    }


def remedies_json(groups: Sequence[Sequence[Mistake]]) -> list[dict[str, object]]:
    """Return the mistakes and how to mend each; of each group one was made."""
    return [
        {
            "group": number,
            "mistake": mistake.code,
            "setup": mistake.setup,
            "reason": mistake.reason,
            "ways": [
                {
                    "words": way.words,
                    "changes": [
                        {"of": change.of, "names": list(change.names), "set": dict(change.values)}
                        for change in way.changes
                    ],
                }
                for way in mistake.ways
            ],
        }
        for number, group in enumerate(groups, start=1)
        for mistake in group
    ]


def to_json_text(report: Report) -> str:
    """Return the report as JSON text with a newline at its end."""
    return json.dumps(to_json(report), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _choice(choice: FlipChoice) -> dict[str, object]:
    return {"axis": choice.axis, "half_turn": choice.half_turn, "datum_mm": _numbers(choice.datum_mm)}


def _direction(direction: Direction) -> dict[str, object]:
    return {
        "status": direction.status.value,
        "evidence": direction.evidence,
        "off": _number(direction.off),
        "uncertainty": _number(direction.uncertainty),
        "unit": direction.unit,
        "settle": direction.settle,
    }


def _vote(vote: Vote) -> dict[str, object]:
    return {
        "coincide": vote.coincide,
        "features": vote.features,
        "by_chance": _number(vote.by_chance),
        "log10_false_alarms": _number(vote.log10_false_alarms),
        "others": [{**_choice(rival.choice), "coincide": rival.coincide} for rival in vote.others],
        "pitch_mm": _numbers(vote.pitch_mm),
    }


def _finding(finding: Finding) -> dict[str, object]:
    return {
        "check": finding.check,
        "status": finding.status.value,
        "message": finding.message,
        "program": finding.program,
        "line": finding.line,
    }


def _number(value: float | None) -> float | None:
    return None if value is None else round(value, _DECIMALS) + 0.0


def _numbers(values: Sequence[float] | None) -> list[float] | None:
    return None if values is None else [round(value, _DECIMALS) + 0.0 for value in values]
