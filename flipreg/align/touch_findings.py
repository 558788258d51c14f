"""What touched marks say of how a blank lies: every question that is asked of them, with its answer.

Positions are in the frame of the program that is about to run, in millimetres.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import degrees

import numpy as np
from numpy.typing import NDArray

from flipreg.align.line import fit_line
from flipreg.align.touch_report import MarkDistance
from flipreg.findings import Finding, Status
from flipreg.geometry.fit import RigidFit, fit_rigid
from flipreg.units import INCH_MM, length_text, limit_text, shown_now

__all__ = ["Fitted", "blunder", "findings_of", "outlier_row"]

Floats = NDArray[np.float64]

_LARGEST_TURN_DEG = 10.0
"""Nobody lays a blank with more skew than this (chosen). With more it lies some other way round."""

_ABOUT = 0.02
"""How near a stretch has to be to 25.4 to be told as inches read as millimetres (chosen)."""

_ONE_LINE_MM = 1.0
"""Planned marks within this of one line say nothing across it (chosen), about a pencil line."""


@dataclass(frozen=True, eq=False)
class Fitted:
    """Touches with the rigid motion that was fitted to them.

    Attributes
    ----------
    names : tuple of str
        The touched marks.
    planned, touched : array, shape (n, 2)
        Where they should be and where they were found.
    outlier : int or None
        The row of the one mark that was left out of the fit, because the others fit without it.
    fit : RigidFit
        From planned to touched.
    away_mm : float
        How far the touched mark that is farthest away lies from its plan.
    cut_away_mm : float
        How far the part of the cut that is farthest off its plan would land, by the fitted motion.
    turn_within_rad : float or None
        How far off the turn may be, 19 times in 20; None where there is none.
    unsure_mm : float
        What such a turn makes at the part of the cut that is farthest from the marks.
    reading_mm : float
        How far off a mark may be drawn and touched, 19 times in 20.
    tolerance_mm : float
        The largest distance from the plan that is accepted.
    """

    names: tuple[str, ...]
    planned: Floats
    touched: Floats
    outlier: int | None
    fit: RigidFit
    away_mm: float
    cut_away_mm: float
    turn_within_rad: float | None
    unsure_mm: float
    reading_mm: float
    tolerance_mm: float

    @property
    def too_close(self) -> bool:
        """Whether the marks are too close together to tell the turn as exactly as the cut needs it."""
        return self.unsure_mm > self.tolerance_mm


def findings_of(fitted: Fitted, distances: Sequence[MarkDistance]) -> Iterator[Finding]:
    """Yield every answer about touches that were not refused."""
    yield _position(fitted)
    yield from _turn(fitted)
    yield from _rigid(fitted)
    yield from _lengths(distances, fitted.tolerance_mm)
    yield from _line(fitted)


def blunder(fit: RigidFit, tolerance_mm: float) -> Finding | None:
    """Return what is wrong where the blank does not lie nearly as planned."""
    for factor, words in ((INCH_MM, "millimetres read where inches were meant"), (1 / INCH_MM, "inches given as mm")):
        if abs(fit.scale / factor - 1) < _ABOUT:
            return Finding(
                "units",
                Status.FAIL,
                f"the touched marks are {fit.scale:z.4g} times as far apart as planned: {words}; "
                "give inches with their unit, as in 0.5in,42.5in",
            )
    if fit.mirrored and fit.rms_mm > tolerance_mm:
        return Finding(
            "mirrored",
            Status.FAIL,
            f"the touched marks are a mirror image of the plan (they miss by {length_text(fit.rms_mm)} as they are, by "
            f"{length_text(fit.mirror_rms_mm)} mirrored): the wrong face is up, or the marks were measured from the "
            "wrong edge; nothing can be corrected by these touches",
        )
    if abs(fit.turn_deg) > _LARGEST_TURN_DEG:
        return Finding(
            "turned",
            Status.FAIL,
            f"the blank is turned by {fit.turn_deg:+z.1f}° against the plan: {_round_the_wrong_way(fit.turn_deg)}; "
            "lay it the way the marking sheet shows, or name the marks right",
        )
    return None


def _round_the_wrong_way(turn_deg: float) -> str:
    if abs(turn_deg) > 180 - _LARGEST_TURN_DEG:
        return "it lies end for end, or two marks were named the wrong way round"
    if abs(abs(turn_deg) - 90) < _LARGEST_TURN_DEG:
        return "it lies a quarter turn from where it should, or X and Y were exchanged"
    return "that is more than a blank laid along its line can be"


def outlier_row(planned: Floats, touched: Floats, tolerance_mm: float) -> int | None:
    """Return the row of the one mark without which the others fit; None where all fit, or it cannot be told."""
    if fit_rigid(planned, touched).worst_mm <= tolerance_mm:
        return None
    culprits = _culprits(planned, touched, tolerance_mm)
    return culprits[0] if len(culprits) == 1 else None


def _position(fitted: Fitted) -> Finding:
    within = max(fitted.away_mm, fitted.cut_away_mm) <= fitted.tolerance_mm
    how, of = ("within", "of") if within else ("up to", "from")
    open_turn = fitted.turn_within_rad is None or fitted.too_close
    touches = "these touches, as if it were not turned," if open_turn else "these touches"
    message = (
        f"by {touches} the cut would land {how} {length_text(fitted.cut_away_mm, 3)} {of} the plan, and the "
        f"touched marks lie {how} {length_text(fitted.away_mm, 3)} {of} it "
        f"(allowed {limit_text(fitted.tolerance_mm)})"
    )
    return Finding("position", Status.PASS if within else Status.FAIL, message)


def _turn(fitted: Fitted) -> Iterator[Finding]:
    if fitted.turn_within_rad is None:
        message = "one mark says nothing about the turn of the blank; touch a second one, as far away as there is"
        yield Finding("turn", Status.NOT_DETERMINED, message)
    elif fitted.too_close:
        reading = limit_text(float(f"{fitted.reading_mm:z.2g}"))
        message = (
            f"the marks are too close together to tell the turn: touched to {reading} they give it to "
            f"{degrees(fitted.turn_within_rad):z.2g}°, which is {length_text(fitted.unsure_mm)} at the end of the cut "
            f"(allowed {limit_text(fitted.tolerance_mm)}); touch marks that are farther apart"
        )
        yield Finding("turn", Status.NOT_DETERMINED, message)


def _rigid(fitted: Fitted) -> Iterator[Finding]:
    """Say whether a rigid motion explains the touches, and which mark may be to blame if not."""
    if len(fitted.names) == 1:
        return
    fit, allowed = fitted.fit, f"allowed {limit_text(fitted.tolerance_mm)}"
    if fitted.outlier is not None:
        off = fit.residuals_mm(fitted.planned, fitted.touched)[fitted.outlier]
        message = (
            f"no push and turn explains all touches: without {fitted.names[fitted.outlier]!r} the others fit, and it "
            f"is {length_text(float(np.hypot(*off)), 3)} off ({allowed}); it is left out of what is said to do, so "
            "look at that mark first"
        )
        yield Finding("rigid", Status.FAIL, message)
    elif fit.worst_mm <= fitted.tolerance_mm:
        message = f"a push and a turn explain all touches within {length_text(fit.worst_mm, 3)}"
        yield Finding("rigid", Status.PASS, message)
    else:
        message = (
            f"no push and turn explains the touches: {fitted.names[fit.worst_row]!r} is left "
            f"{length_text(fit.worst_mm, 3)} off ({allowed}); a mark is misdrawn or was touched wrongly, and these "
            "touches cannot tell which"
        )
        yield Finding("rigid", Status.FAIL, message)


def _culprits(planned: Floats, touched: Floats, tolerance_mm: float) -> list[int]:
    """Return the rows without which the others fit; two marks left over always leave a length to be held to."""
    rows: list[int] = []
    for row in range(len(planned)):
        others = np.arange(len(planned)) != row
        if others.sum() >= 2 and fit_rigid(planned[others], touched[others]).worst_mm <= tolerance_mm:
            rows.append(row)
    return rows


def _lengths(distances: Sequence[MarkDistance], tolerance_mm: float) -> list[Finding]:
    """Name the distances that are not as planned: a push and a turn never change one."""
    return [
        Finding(
            "distance",
            Status.FAIL,
            f"{gap.first!r} and {gap.second!r} are {length_text(gap.measured_mm, 3)} apart where "
            f"{length_text(gap.planned_mm, 3)} were planned ({shown_now().signed(gap.excess_mm, 3)} "
            f"{shown_now().name}): a line is misdrawn, or the wood has moved",
        )
        for gap in distances
        if abs(gap.excess_mm) > 2 * tolerance_mm
    ]


def _line(fitted: Fitted) -> Iterator[Finding]:
    """Say what marks on one line cannot tell, and whether the drawn line is straight."""
    names, touched = fitted.names, fitted.touched
    if len(names) < 2 or fit_line(fitted.planned).worst_mm > _ONE_LINE_MM:
        return
    message = (
        "all touched marks lie on one line: whether the right face is up and the line was measured from the right "
        "edge can't be told from them; touch something beside the line for that"
    )
    yield Finding("one line", Status.WARN, message)
    drawn = fit_line(touched)
    if len(names) > 2 and drawn.worst_mm > fitted.tolerance_mm:
        message = f"the line is not straight: {names[drawn.worst_row]!r} is {length_text(drawn.worst_mm, 3)} beside it"
        yield Finding("straight", Status.FAIL, message)
