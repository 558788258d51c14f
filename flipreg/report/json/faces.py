"""The check of two faces as JSON."""

from collections.abc import Sequence
from dataclasses import dataclass

from flipreg.findings import Finding
from flipreg.register.decision.directions import Direction
from flipreg.register.decision.mistake import Change, Mistake
from flipreg.register.faces.datum import Datum
from flipreg.register.placing.deviation import Register
from flipreg.register.report import Flip, FlipChoice, Report, Rival
from flipreg.report.json.encoder import SPREAD, Keys, Table, as_object, own
from flipreg.report.json.finding import FINDING

__all__ = ["FACES", "remedies", "to_json"]


@dataclass(frozen=True, slots=True)
class _Remedy:
    """A mistake, and the number of its group: of each group one was made."""

    group: int
    mistake: Mistake


def remedies(groups: Sequence[Sequence[Mistake]]) -> list[_Remedy]:
    """Return the mistakes of all groups, each with the number of its group from 1."""
    return [_Remedy(number, mistake) for number, group in enumerate(groups, 1) for mistake in group]


FACES: Table = {
    Report: Keys(
        {
            **own("in_register", "tolerance_mm", "flip", "register"),
            "directions": lambda report: {direction.name: direction for direction in report.directions},
            **own("vote", "datum", "bounds", "diagnosis"),
            "remedies": lambda report: remedies([report.mistakes]),
            "findings": "findings",
        },
        without=("front", "back", "verdict", "mistakes", "is_contradicted", "inch"),
    ),
    Flip: Keys(
        {
            "axis": "choice.axis",
            "half_turn": "choice.half_turn",
            "datum_mm": "choice.datum_mm",
            "found": "is_found",
        },
        without=("choice",),
    ),
    FlipChoice: Keys(own("axis", "half_turn", "datum_mm"), without=("words",)),
    Register: Keys(
        {
            **own("dx_mm", "dy_mm", "rotation_deg", "worst_mm", "worst_at_mm"),
            "part_mm": lambda register: None if register.landing is None else register.landing.part_mm,
            "part_at_mm": lambda register: None if register.landing is None else register.landing.part_at_mm,
        },
        without=(
            "status",
            "rms_left_mm",
            "outlines",
            "holes",
            "program",
            "line",
            "is_proof",
            "is_sure",
            "may_be_by_design",
            "landing",
            "support",
        ),
    ),
    Direction: Keys(own("status", "evidence", "off", "uncertainty", "unit", "settle"), without=("name",)),
    Rival: Keys({"choice": SPREAD, "coincide": "coincide"}),
    Datum: Keys(without=("front", "back")),
    _Remedy: Keys({"group": "group", "mistake": SPREAD}),
    Mistake: Keys(
        {"mistake": "code", "setup": "setup", "reason": "reason", "ways": "ways"},
        without=("finding", "is_small", "is_certain"),
    ),
    Change: Keys({"of": "of", "names": "names", "set": "values"}),
    Finding: FINDING,
}
"""What is written of a check of two faces."""


def to_json(report: Report) -> dict[str, object]:
    """Return the report of two faces as plain dicts, lists, strings, numbers and None.

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
    return as_object(report, FACES)
