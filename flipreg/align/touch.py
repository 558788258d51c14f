"""Touched marks against planned marks: how the blank really lies, and what to do about it.

Positions are in the frame of the program that is about to run, in millimetres: X and Y in the table's plane.
The blank can be pushed and turned, never mirrored or stretched, so that a rigid motion has to explain every touch;
what it leaves is drawing, touching, or a blunder. What counts is where the cut would land, not only where the
touched marks lie: a turn that marks close together hardly show moves the far end of the cut the most.
"""

from collections.abc import Mapping, Sequence
from itertools import combinations
from math import degrees, dist, sqrt

import numpy as np
from numpy.typing import NDArray

from flipreg.align.distribution import standard_uncertainty
from flipreg.align.nudge import correction, nudge
from flipreg.align.touch_findings import Fitted, blunder, findings_of, outlier_row
from flipreg.align.touch_report import MarkDistance, TouchedMark, TouchOutcome, TouchReport
from flipreg.errors import UsageError
from flipreg.geometry.fit import fit_rigid
from flipreg.job.budget import Budget
from flipreg.units import length_text

__all__ = ["READING_MM", "fit_touches", "reading_mm"]

Floats = NDArray[np.float64]
Point = tuple[float, float]
Points = Mapping[str, Point]

READING_MM = 0.1
"""How far off a mark may be drawn and touched, 19 times in 20, where nothing is said of it: a knife line and a pointer
seen through a lens (chosen)."""

_TWO_SIDED_95 = 1.96
"""Standard deviations that hold 95 % of a normal spread either way."""

_ONE_PLACE_MM = 1.0
"""Marks planned closer together than this, about a pencil line, are one mark (chosen)."""

_ONE_READING_MM = 0.001
"""Touches closer together than this are one reading: no readout shows so little."""


def fit_touches(
    planned_mm: Points,
    touched_mm: Points,
    *,
    tolerance_mm: float,
    reference: str,
    cut_mm: Sequence[Point],
    reading_mm: float = READING_MM,
) -> TouchReport:
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
        The mark that the setup is found by; where it was not touched, or is left out as the one that does not fit, the
        first touched mark stands in for it.
    cut_mm : sequence of (x, y)
        Corners of a polygon that holds everything that will be cut, in the frame of the program.
    reading_mm : float
        How far off a mark may be drawn and touched, 19 times in 20.

    Returns
    -------
    TouchReport
        Nothing to correct with where the touches are a mirror image, the blank lies some other way round, or the marks
        are too close together to tell its turn.

    Raises
    ------
    UsageError
        If nothing was touched, a mark is not planned, a number is not finite, two marks were planned at one
        place or touched at one, there is no cut, or the tolerance is not above 0.

    Examples
    --------
    >>> planned = {"throat": (0.0, 0.0), "tip": (0.0, 1080.0)}
    >>> report = fit_touches(
    ...     planned,
    ...     {"throat": (0.0, 0.0), "tip": (-0.3, 1080.0)},
    ...     tolerance_mm=0.1,
    ...     reference="throat",
    ...     cut_mm=[(-80.0, -20.0), (80.0, -20.0), (80.0, 1100.0), (-80.0, 1100.0)],
    ... )
    >>> print(report.nudge.words[0])
    hold the blank at 'throat' and push its end at 'tip' 0.30 mm to the right (X+); that turns it by 0.0159° clockwise
    """
    _check(planned_mm, touched_mm, cut_mm, tolerance_mm, reading_mm)
    names = list(touched_mm)
    planned = np.array([planned_mm[name] for name in names], dtype=np.float64)
    touched = np.array([touched_mm[name] for name in names], dtype=np.float64)
    cut = np.array(cut_mm, dtype=np.float64)
    fit = fit_rigid(planned, touched)
    distances = tuple(_distances(names, planned_mm, touched_mm))
    refusal = blunder(fit, tolerance_mm)
    if refusal is not None:
        marks = tuple(TouchedMark(name, planned_mm[name], touched_mm[name], None) for name in names)
        hold = reference if reference in touched_mm else names[0]
        found = (refusal,)
        return TouchReport(
            tolerance_mm, hold, TouchOutcome.REFUSED, marks, distances, findings=found, turn_deg=fit.turn_deg
        )
    outlier = outlier_row(planned, touched, tolerance_mm)
    kept = [row for row in range(len(names)) if row != outlier]
    if outlier is not None:
        fit = fit_rigid(planned[kept], touched[kept])
    within_rad = _turn_within_rad(planned[kept], reading_mm) if fit.rotation_determined else None
    fitted = Fitted(
        names=tuple(names),
        planned=planned,
        touched=touched,
        outlier=outlier,
        fit=fit,
        away_mm=float(np.hypot(*(touched - planned).T).max()),
        cut_away_mm=float(np.hypot(*(fit.isometry.apply(cut) - cut).T).max()),
        turn_within_rad=within_rad,
        unsure_mm=0.0 if within_rad is None else within_rad * float(np.hypot(*(cut - fit.centroid_mm).T).max()),
        reading_mm=reading_mm,
        tolerance_mm=tolerance_mm,
    )
    return _report(fitted, distances, reference)


def reading_mm(budget: Budget | None) -> float:
    """Return how far off a mark may be drawn and touched, 19 times in 20, by the budget; `READING_MM` without one."""
    given = () if budget is None else (budget.line_drawing_mm, budget.pointer_mm)
    variance = sum(standard_uncertainty(estimate) ** 2 for estimate in given if estimate is not None)
    return _TWO_SIDED_95 * sqrt(variance) if variance > 0.0 else READING_MM


def _report(fitted: Fitted, distances: tuple[MarkDistance, ...], reference: str) -> TouchReport:
    fit, places = fitted.fit, [(x, y) for x, y in fitted.planned.tolist()]
    kept = {name: place for row, (name, place) in enumerate(zip(fitted.names, places, strict=True))
            if row != fitted.outlier}  # fmt: skip
    hold = reference if reference in kept else next(iter(kept))
    # A turn that the marks cannot tell would do more harm than good; one mark says nothing that could be wrong.
    corrects = not fitted.too_close
    left = fit.residuals_mm(fitted.planned, fitted.touched).tolist()
    return TouchReport(
        tolerance_mm=fitted.tolerance_mm,
        reference=hold,
        fit=TouchOutcome.WHOLE if fit.rotation_determined and corrects else TouchOutcome.OFFSET,
        marks=tuple(
            TouchedMark(name, place, (touched[0], touched[1]), (residual[0], residual[1]))
            for name, place, touched, residual in zip(
                fitted.names, places, fitted.touched.tolist(), left, strict=True
            )
        ),
        distances=distances,
        findings=tuple(findings_of(fitted, distances)),
        turn_deg=fit.turn_deg if fit.rotation_determined else None,
        turn_within_deg=None if fitted.turn_within_rad is None else degrees(fitted.turn_within_rad),
        away_mm=fitted.away_mm,
        cut_away_mm=fitted.cut_away_mm,
        correction=correction(fit.isometry, kept[hold]) if corrects else None,
        nudge=nudge(fit.isometry, kept, hold, turns=fit.rotation_determined) if corrects else None,
    )


def _turn_within_rad(planned: Floats, reading_mm: float) -> float:
    """Return how far off the fitted turn may be where each mark may be off by `reading_mm` along X and along Y.

    Least squares gives the turn as the sum of r × d over the sum of r², with r from the centroid.
    """
    spread = float(((planned - planned.mean(axis=0)) ** 2).sum())
    return reading_mm / sqrt(spread)


def _check(
    planned_mm: Points, touched_mm: Points, cut_mm: Sequence[Point], tolerance_mm: float, reading_mm: float
) -> None:
    for name, size in (("tolerance", tolerance_mm), ("reading", reading_mm)):
        if not size > 0 or not np.isfinite(size):
            raise UsageError(f"the {name} has to be above 0, got {size}")
    if not touched_mm:
        raise UsageError("no mark was touched; give at least one as MARK=X,Y")
    if not len(cut_mm) or not np.isfinite(np.array(cut_mm, dtype=np.float64)).all():
        raise UsageError("the cut needs at least one corner, with finite positions")
    for name, place in touched_mm.items():
        if name not in planned_mm:
            raise UsageError(f"there is no mark {name!r}; this setup has {', '.join(map(repr, planned_mm))}")
        if not np.isfinite((*place, *planned_mm[name])).all():
            raise UsageError(f"mark {name!r} needs finite positions, got {place} for {planned_mm[name]}")
    for first, second in combinations(touched_mm, 2):
        apart = dist(planned_mm[first], planned_mm[second])
        if apart < _ONE_PLACE_MM:
            raise UsageError(f"marks {first!r} and {second!r} are planned at one place; touch one of them")
        if dist(touched_mm[first], touched_mm[second]) < _ONE_READING_MM:
            x, y = touched_mm[first]
            raise UsageError(
                f"marks {first!r} and {second!r} have one reading, {x:g},{y:g}, and are planned {length_text(apart)} "
                "apart; touch each of them and give what the readout says there"
            )


def _distances(names: list[str], planned_mm: Points, touched_mm: Points) -> list[MarkDistance]:
    return [
        MarkDistance(a, b, dist(planned_mm[a], planned_mm[b]), dist(touched_mm[a], touched_mm[b]))
        for a, b in combinations(names, 2)
    ]
