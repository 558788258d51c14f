"""Touched marks against planned marks: how the blank really lies, and what to do about it.

Positions are in the frame of the program that is about to run, in millimetres: X and Y in the table's plane.
The blank can be pushed and turned, never mirrored or stretched, so that a rigid motion has to explain every touch;
what it leaves is drawing, touching, or a blunder.
"""

from collections.abc import Mapping
from itertools import combinations
from math import dist

import numpy as np
from numpy.typing import NDArray

from flipreg.align.line import fit_line
from flipreg.align.nudge import correction, nudge
from flipreg.align.remark import Remark, Verdict
from flipreg.align.touch_report import Fit, MarkDistance, TouchedMark, TouchReport
from flipreg.errors import UsageError
from flipreg.geometry.fit import RigidFit, fit_rigid

__all__ = ["fit_touches"]

Floats = NDArray[np.float64]
Points = Mapping[str, tuple[float, float]]

_LARGEST_TURN_DEG = 10.0
"""Nobody lays a blank along its line with more skew than this; ours. Past it, it lies some other way round."""

_INCH = 25.4
_ABOUT = 0.02
"""How near a stretch has to be to 25.4 to be told as inches read as millimetres; ours."""

_ONE_LINE_MM = 1.0
"""Planned marks within this of one line say nothing across it; ours, about a pencil line."""


def fit_touches(planned_mm: Points, touched_mm: Points, *, tolerance_mm: float, reference: str) -> TouchReport:
    """Fit touched marks to planned ones and say what to do.

    Parameters
    ----------
    planned_mm : mapping from name to (x, y)
        Every mark of the setup, in the frame of its program, in millimetres.
    touched_mm : mapping from name to (x, y)
        Where the pointer found them, in the numbers of the same program.
    tolerance_mm : float
        The largest distance from the plan that is accepted.
    reference : str
        The mark that the setup is found by; where it was not touched, the first touched mark stands in for it.

    Returns
    -------
    TouchReport
        Nothing to correct with where the touches are a mirror image, or the blank lies some other way round.

    Raises
    ------
    UsageError
        If nothing was touched, a mark is not planned, a number is not finite, two marks were planned at one
        place, or the tolerance is not above 0.

    Examples
    --------
    >>> planned = {"throat": (0.0, 0.0), "tip": (0.0, 1080.0)}
    >>> report = fit_touches(
    ...     planned, {"throat": (0.0, 0.0), "tip": (-0.3, 1080.0)}, tolerance_mm=0.1, reference="throat"
    ... )
    >>> print(report.nudge.words[0])
    hold the blank at 'throat' and push its end at 'tip' 0.30 mm to the right (X+); that turns it by 0.0159° clockwise
    """
    _check(planned_mm, touched_mm, tolerance_mm)
    names = list(touched_mm)
    hold = reference if reference in touched_mm else names[0]
    planned = np.array([planned_mm[name] for name in names], dtype=np.float64)
    touched = np.array([touched_mm[name] for name in names], dtype=np.float64)
    fit = fit_rigid(planned, touched)
    distances = tuple(_distances(names, planned_mm, touched_mm))
    blunder = _blunder(fit, tolerance_mm)
    if blunder is not None:
        marks = tuple(TouchedMark(name, planned_mm[name], touched_mm[name], None) for name in names)
        return TouchReport(
            tolerance_mm, hold, Fit.REFUSED, marks, distances, fit.turn_deg, None, None, None, (blunder,)
        )
    motion = fit.isometry
    away_mm = float(np.hypot(*(motion.apply(planned) - planned).T).max())
    remarks = [
        *_position(fit, away_mm, tolerance_mm),
        *_rigid(names, planned, touched, fit, tolerance_mm),
        *_lengths(distances, tolerance_mm),
        *_line(names, planned, touched, tolerance_mm),
    ]
    left = fit.residuals_mm(planned, touched).tolist()
    return TouchReport(
        tolerance_mm=tolerance_mm,
        reference=hold,
        fit=Fit.WHOLE if fit.rotation_determined else Fit.OFFSET,
        marks=tuple(
            TouchedMark(name, planned_mm[name], touched_mm[name], (residual[0], residual[1]))
            for name, residual in zip(names, left, strict=True)
        ),
        distances=distances,
        turn_deg=fit.turn_deg if fit.rotation_determined else None,
        away_mm=away_mm,
        correction=correction(motion, planned_mm[hold]),
        nudge=nudge(motion, {name: planned_mm[name] for name in names}, hold, turns=fit.rotation_determined),
        remarks=tuple(remarks),
    )


def _check(planned_mm: Points, touched_mm: Points, tolerance_mm: float) -> None:
    if not tolerance_mm > 0 or not np.isfinite(tolerance_mm):
        raise UsageError(f"the tolerance has to be above 0, got {tolerance_mm}")
    if not touched_mm:
        raise UsageError("no mark was touched; give at least one as MARK=X,Y")
    for name, place in touched_mm.items():
        if name not in planned_mm:
            raise UsageError(f"there is no mark {name!r}; this setup has {', '.join(map(repr, planned_mm))}")
        if not np.isfinite((*place, *planned_mm[name])).all():
            raise UsageError(f"mark {name!r} needs finite positions, got {place} for {planned_mm[name]}")
    for first, second in combinations(touched_mm, 2):
        if dist(planned_mm[first], planned_mm[second]) < _ONE_LINE_MM:
            raise UsageError(f"marks {first!r} and {second!r} are planned at one place; touch one of them")


def _distances(names: list[str], planned_mm: Points, touched_mm: Points) -> list[MarkDistance]:
    return [
        MarkDistance(a, b, dist(planned_mm[a], planned_mm[b]), dist(touched_mm[a], touched_mm[b]))
        for a, b in combinations(names, 2)
    ]


def _blunder(fit: RigidFit, tolerance_mm: float) -> Remark | None:
    """Return what is wrong where the blank does not lie nearly as planned."""
    for factor, words in ((_INCH, "millimetres read where inches were meant"), (1 / _INCH, "inches given as mm")):
        if abs(fit.scale / factor - 1) < _ABOUT:
            return Remark(
                "units",
                Verdict.FAIL,
                f"the touched marks are {fit.scale:.4g} times as far apart as planned: {words}; "
                "give inches with their unit, as in 0.5in,42.5in",
            )
    if fit.mirrored and fit.rms_mm > tolerance_mm:
        return Remark(
            "mirrored",
            Verdict.FAIL,
            f"the touched marks are a mirror image of the plan (they miss by {fit.rms_mm:.2f} mm as they are, by "
            f"{fit.mirror_rms_mm:.2f} mm mirrored): the wrong face is up, or the marks were measured from the wrong "
            "edge; nothing can be corrected by these touches",
        )
    if abs(fit.turn_deg) > _LARGEST_TURN_DEG:
        return Remark(
            "turned",
            Verdict.FAIL,
            f"the blank is turned by {fit.turn_deg:+.1f}° against the plan: {_round_the_wrong_way(fit.turn_deg)}; "
            "lay it the way the marking sheet shows, or name the marks right",
        )
    return None


def _round_the_wrong_way(turn_deg: float) -> str:
    if abs(turn_deg) > 180 - _LARGEST_TURN_DEG:
        return "it lies end for end, or two marks were named the wrong way round"
    if abs(abs(turn_deg) - 90) < _LARGEST_TURN_DEG:
        return "it lies a quarter turn from where it should, or X and Y were exchanged"
    return "that is more than a blank laid along its line can be"


def _position(fit: RigidFit, away_mm: float, tolerance_mm: float) -> list[Remark]:
    if away_mm > tolerance_mm:
        message = f"the blank lies up to {away_mm:.3f} mm from the plan at the marks (allowed {tolerance_mm:g} mm)"
        remarks = [Remark("position", Verdict.FAIL, message)]
    else:
        message = f"the blank lies within {away_mm:.3f} mm of the plan at the marks (allowed {tolerance_mm:g} mm)"
        remarks = [Remark("position", Verdict.PASS, message)]
    if not fit.rotation_determined:
        message = "one mark says nothing about the turn of the blank; touch a second one, as far away as there is"
        remarks.append(Remark("turn", Verdict.NOT_DETERMINED, message))
    return remarks


def _rigid(names: list[str], planned: Floats, touched: Floats, fit: RigidFit, tolerance_mm: float) -> list[Remark]:
    """Say whether a rigid motion explains the touches, and which mark may be to blame if not."""
    if len(names) == 1:
        return []
    if fit.worst_mm <= tolerance_mm:
        message = f"a push and a turn explain all touches within {fit.worst_mm:.3f} mm"
        return [Remark("rigid", Verdict.PASS, message)]
    message = (
        f"no push and turn explains the touches: {names[fit.worst_row]!r} is left {fit.worst_mm:.3f} mm off "
        f"(allowed {tolerance_mm:g} mm)"
    )
    culprits = _culprits(planned, touched, tolerance_mm)
    if len(culprits) == 1:
        message += f"; without {names[culprits[0]]!r} the others fit, so look at that mark first"
    else:
        message += "; a mark is misdrawn or was touched wrongly, and these touches cannot tell which"
    return [Remark("rigid", Verdict.FAIL, message)]


def _culprits(planned: Floats, touched: Floats, tolerance_mm: float) -> list[int]:
    """Return the rows without which the others fit; two marks left over always leave a length to be held to."""
    rows: list[int] = []
    for row in range(len(planned)):
        others = np.arange(len(planned)) != row
        if others.sum() >= 2 and fit_rigid(planned[others], touched[others]).worst_mm <= tolerance_mm:
            rows.append(row)
    return rows


def _lengths(distances: tuple[MarkDistance, ...], tolerance_mm: float) -> list[Remark]:
    """Name the distances that are not as planned: a push and a turn never change one."""
    return [
        Remark(
            "distance",
            Verdict.FAIL,
            f"{gap.first!r} and {gap.second!r} are {gap.measured_mm:.3f} mm apart where {gap.planned_mm:.3f} mm were "
            f"planned ({gap.excess_mm:+.3f} mm): a line is misdrawn, or the wood has moved",
        )
        for gap in distances
        if abs(gap.excess_mm) > 2 * tolerance_mm
    ]


def _line(names: list[str], planned: Floats, touched: Floats, tolerance_mm: float) -> list[Remark]:
    """Say what marks on one line cannot tell, and whether the drawn line is straight."""
    if len(names) < 2 or fit_line(planned).worst_mm > _ONE_LINE_MM:
        return []
    message = (
        "all touched marks lie on one line: whether the right face is up and the line was measured from the right "
        "edge can't be told from them; touch something beside the line for that"
    )
    remarks = [Remark("one line", Verdict.WARN, message)]
    drawn = fit_line(touched)
    if len(names) > 2 and drawn.worst_mm > tolerance_mm:
        message = f"the line is not straight: {names[drawn.worst_row]!r} is {drawn.worst_mm:.3f} mm beside it"
        remarks.append(Remark("straight", Verdict.FAIL, message))
    return remarks
