"""Run the check on a made pair, and say what of its answer is wrong. Only the library's public functions are used."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

import numpy as np

import flipreg
from tests.pairs.directions import wrong_directions
from tests.pairs.pair import MadeProgram, Pair
from tests.pairs.placement import HALF_TURN, Placement, farthest, flip, shift, turn
from tests.pairs.remedies import named
from tests.pairs.truth import MARGIN_MM, claimed_away, seen_corners, truth


@dataclass(slots=True)
class Outcome:
    """What the check said of a pair, and what of it is wrong.

    Attributes
    ----------
    verdict : str
        `passed`, `failed` or `open`.
    flip : str
        `told`, `found`, `wrong` or `open`.
    wrong : list of str
        What is wrong, in words; empty where nothing is.
    error_mm : float or None
        How far the estimated placement is from the planted one at the part's middle.
    named : str
        Of the mistakes that the report names: `none`, `right`, `wrong` or `vague`.
    report : dict
        The report as JSON.
    """

    verdict: str
    flip: str
    named: str
    report: dict[str, Any]
    error_mm: float | None = None
    wrong: list[str] = field(default_factory=list)

    @property
    def is_determined(self) -> bool:
        return self.flip == "found" or (self.flip == "told" and self.verdict != "open")


def run(pair: Pair) -> dict[str, Any]:
    """Return the report of the check of a pair, as its JSON."""
    told = pair.told
    lies = None
    if told.axis is not None and told.datum is not None:
        datum = Decimal(str(told.datum[0])), Decimal(str(told.datum[1]))
        lies = flipreg.flip_isometry(flipreg.FlipAxis(told.axis), datum)
    report = flipreg.check(
        _face(pair.front),
        _face(pair.back),
        tolerance_mm=told.tolerance,
        flip=lies,
        axis="x" if told.axis == "x" else "y" if told.axis == "y" else None,
        thickness_mm=told.thickness,
    )
    return dict(flipreg.to_json(report))


def _face(programs: Sequence[MadeProgram]) -> list[flipreg.FaceProgram]:
    return [
        flipreg.face_program(flipreg.parse(made.text, source=made.name), tools=_tools(made) or None)
        for made in programs
    ]


def _tools(made: MadeProgram) -> dict[int, flipreg.Tool]:
    shapes = {number: "ball" if number in made.balls else "flat" for number in made.tools_mm}
    return {
        number: flipreg.Tool(f"{shapes[number]} {mm:g}", flipreg.ToolShape(shapes[number]), mm)
        for number, mm in made.tools_mm.items()
    }


def judge(pair: Pair) -> Outcome:
    """Run the check on a pair and hold its answer to the truth."""
    try:
        report = run(pair)
    except Exception as error:  # a judge counts what breaks, whatever it is
        outcome = Outcome("open", "open", "none", {"remedies": [], "diagnosis": None})
        outcome.wrong.append(f"breaks with {type(error).__name__}: {error}")
        return outcome
    return judged(pair, report)


def judged(pair: Pair, report: dict[str, Any]) -> Outcome:
    """Hold a report of a pair, as its JSON, to the truth."""
    verdict = {True: "passed", False: "failed", None: "open"}[report["in_register"]]
    outcome = Outcome(verdict, "told", named(pair, report), report)
    stands = _claimed(report["flip"])
    fit = _fit(report["register"])
    away = None
    if stands is not None and fit is not None:
        # What is said of the back's placement: the flip, and how far the back lies off under it.
        outcome.error_mm, away = _errors(pair, stands @ fit)
    if pair.told.datum is None:
        _judge_flip(pair, outcome, stands, away)
    _judge_verdict(pair, outcome, stands)
    outcome.wrong += wrong_directions(pair, report["directions"], stands)
    if verdict == "passed" and any(found["status"] != "pass" for found in report["directions"].values()):
        outcome.wrong.append("passed though a direction is open")
    return outcome


def _claimed(told: dict[str, Any]) -> Placement | None:
    """Return the map from the front's numbers to the back's that the report names; None where it names none."""
    if told["axis"] is None or told["datum_mm"] is None:
        return None
    x, y = told["datum_mm"]
    if told["axis"] == "none":
        lies = shift(-x, -y)
        return HALF_TURN @ lies if told["half_turn"] else lies
    return flip(told["axis"], (x, y))


def _fit(register: dict[str, Any]) -> Placement | None:
    """Return the map that brings the front's places to where the back's lie."""
    if register["dx_mm"] is None or register["dy_mm"] is None:
        return None
    return shift(register["dx_mm"], register["dy_mm"]) @ turn(register["rotation_deg"] or 0.0)


def _errors(pair: Pair, stands: Placement) -> tuple[float, float]:
    """Return how far a placement is from the nearest right one, at the part's middle and over all of it."""
    lies = stands @ pair.setting.front
    middle = np.zeros((1, 2))
    away = [(farthest(pair.posted.placed, lies @ move, seen_corners(pair)), move) for move in pair.equal]
    worst, nearest = min(away, key=lambda found: found[0])
    return farthest(pair.posted.placed, lies @ nearest, middle), worst


def _judge_flip(pair: Pair, outcome: Outcome, stands: Placement | None, away: float | None) -> None:
    told = outcome.report["flip"]
    if stands is None or not told["found"]:
        outcome.flip = "open"
        return
    off = claimed_away(pair, stands)
    allowed = pair.told.tolerance + MARGIN_MM
    if min(off, off if away is None else away) <= allowed:
        outcome.flip = "found"
    elif told["alternatives"] and outcome.verdict != "passed":
        outcome.flip = "open"
    else:
        outcome.flip = "wrong"
        outcome.wrong.append(f"wrong flip: {told['axis']} {told['datum_mm']}, off by {off:.3f} mm")


def _judge_verdict(pair: Pair, outcome: Outcome, stands: Placement | None) -> None:
    known = truth(pair)
    tolerance = pair.told.tolerance
    if outcome.verdict == "passed":
        if known.shown_mm > tolerance + MARGIN_MM:
            outcome.wrong.append(f"passed though out by {known.shown_mm:.3f} mm")
        elif stands is not None and claimed_away(pair, stands) > tolerance + MARGIN_MM:
            outcome.wrong.append(f"passed with a placement that is off by {claimed_away(pair, stands):.3f} mm")
    if outcome.verdict == "failed" and known.part_mm < tolerance - MARGIN_MM:
        outcome.wrong.append(f"failed though right ({known.part_mm:.3f} mm out)")
