"""The centre line of a face: the line in which the shape that it is cut to mirrors itself.

Many parts are symmetric about a line. The two faces need no common edge and no common hole to be judged by it: each has
an axis of its own, and in register the flip carries one to the other. It needs neither tools nor thickness, and it
tells the position across the line and the turn, never the position along it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, radians, sin, tan

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Status
from flipreg.register.faces.chords import Cut
from flipreg.register.faces.placement import Placement
from flipreg.register.wood.mirror_fit import fitted
from flipreg.register.wood.mirror_line import MirrorLine
from flipreg.register.wood.symmetry import FaceShape, median_size
from flipreg.register.wood.tip_surface import tip_surface
from flipreg.units import length_text, place_text

__all__ = ["CentreLine", "CentreLines", "LineAgreement", "agreement", "centre_lines"]

Floats = NDArray[np.float64]

_APART_DEG = 5.0
"""Lines that differ in direction by less are one line; degrees (chosen)."""
_POINTS = 6_000
"""Points of the face that a line is fitted to (chosen), to bound the time."""
_LEAST_OVERLAP = 0.7
"""So much of the shape has its mirror image within the cut, as a share (chosen)."""
_SHARPEST = 4.0
"""So many times worse a centre line fits when it is moved by a tenth of the width, at least (chosen)."""
_TURNED_DEG = 12.0
"""A centre line has to fit worse when it is turned by this; degrees (chosen). A square's next axis is 45 away."""
_ROOM = 3.0
"""So many times what interpolation explains a symmetric face's residual may be (chosen), measured: up to 2."""
_EXACT_MM = 0.03
"""Residuals up to this are symmetric however fine the passes are; millimetres (chosen): below what wood shows."""
_LOOSEST_MM = 0.3
"""Above this residual a face is not called symmetric, however wide the passes are; millimetres (chosen)."""
_HOPELESS_MM = 0.6
"""Above this residual no line is fitted (chosen): the search before is true to some hundredths of a millimetre."""
_COVERAGE = 2.0
"""Standard uncertainties to either side that are taken for sure: 95 % where errors are normal (GUM, 6.3.3)."""
_FINEST_MM, _FINEST_DEG = 0.001, 0.0005
"""No uncertainty is given as smaller than what the decimals of programs leave (chosen)."""


@dataclass(frozen=True, slots=True)
class CentreLine:
    """An axis of mirror symmetry of one face, in that face's program frame.

    Attributes
    ----------
    point_mm : (float, float)
        The point of the line at which its position and its direction are uncertain independently of one another.
    direction_deg : float
        Its direction against +X, counter-clockwise, from -45 up to 135: near 0 along X, near 90 along Y.
    uncertainty_mm, uncertainty_deg : float
        Standard uncertainties (k = 1) of the position across the line at that point, and of the direction.
    residual_mm : float
        Median difference between heights and their mirror images.
    asymmetry_mm : float
        The same with the line moved by a tenth of the width across it, the smaller of both sides: how sharp it is.
    overlap : float
        Share of the shape whose mirror image lies within what is cut.
    """

    point_mm: tuple[float, float]
    direction_deg: float
    uncertainty_mm: float
    uncertainty_deg: float
    residual_mm: float
    asymmetry_mm: float
    overlap: float


@dataclass(frozen=True, slots=True)
class CentreLines:
    """The centre lines of a face.

    Attributes
    ----------
    lines : tuple of CentreLine
        All that were found, the sharpest first.
    reason : str or None
        Why there is none.
    """

    lines: tuple[CentreLine, ...]
    reason: str | None


@dataclass(frozen=True, slots=True)
class LineAgreement:
    """How the centre lines of two faces lie to one another.

    Attributes
    ----------
    offset_mm : float
        How far the back's line is from the front's at the front's point, to the left of the front's direction positive.
    turn_deg : float
        How far the back's line is turned against the front's, counter-clockwise, -90 to 90.
    uncertainty_mm, uncertainty_deg : float
        Standard uncertainties (k = 1) of both.
    status : Status
        Of the position across the line at that point: PASS where it agrees within the tolerance with twice its
        uncertainty, FAIL where it does not even so, else NOT_DETERMINED. The turn is not in it.
    """

    offset_mm: float
    turn_deg: float
    uncertainty_mm: float
    uncertainty_deg: float
    status: Status


def agreement(front: CentreLine, back: CentreLine, placement: Placement, *, tolerance_mm: float) -> LineAgreement:
    """Compare the centre lines of two faces.

    Parameters
    ----------
    front, back : CentreLine
        Each in its face's program frame.
    placement : Placement
        Where the back lies in the front's frame.
    tolerance_mm : float
        Largest deviation that is in register, in millimetres.
    """
    way = radians(front.direction_deg)
    along, left = np.array([cos(way), sin(way)]), np.array([-sin(way), cos(way)])
    there = radians(back.direction_deg)
    x, y = placement.matrix @ np.array([cos(there), sin(there)])
    turn = (degrees(atan2(y, x)) - front.direction_deg + 90.0) % 180.0 - 90.0
    apart = placement.apply(np.array([back.point_mm]))[0] - np.array(front.point_mm)
    distance = float(apart @ along)
    # The back's line is asked where it passes the front's point, not where its own point is.
    offset = float(apart @ left) - distance * tan(radians(turn))
    uncertainty = hypot(front.uncertainty_mm, back.uncertainty_mm, distance * radians(back.uncertainty_deg))
    sure = _COVERAGE * uncertainty
    status = Status.NOT_DETERMINED
    if abs(offset) + sure <= tolerance_mm:
        status = Status.PASS
    elif abs(offset) - sure > tolerance_mm:
        status = Status.FAIL
    return LineAgreement(offset, turn, uncertainty, hypot(front.uncertainty_deg, back.uncertainty_deg), status)


def centre_lines(cuts: Sequence[Cut]) -> CentreLines:
    """Find the lines in which the shape of a face mirrors itself.

    Parameters
    ----------
    cuts : sequence of Cut
        The stretches of the face in the order in which they run, in its program frame.

    Returns
    -------
    CentreLines
        None where the face is flat, where it is not symmetric, and where it mirrors in any line through a point.
    """
    surface = tip_surface(cuts)
    if surface is None:
        return CentreLines((), "nothing is cut that has an area")
    shape = FaceShape(surface)
    candidates = shape.candidates()
    if not candidates:
        return CentreLines((), "what is cut is flat: it has no shape that could be symmetric")
    found: list[CentreLine] = []
    reasons: list[tuple[float, str]] = []
    for candidate in candidates:
        line, reason = _judged(shape, candidate)
        if line is None:
            reasons.append(reason)
        elif not any(_same(line, other) for other in found):
            found.append(line)
    if found:
        return CentreLines(tuple(sorted(found, key=lambda line: line.residual_mm / line.asymmetry_mm)), None)
    return CentreLines((), min(reasons)[1])


def _same(one: CentreLine, other: CentreLine) -> bool:
    turn = abs((one.direction_deg - other.direction_deg + 90.0) % 180.0 - 90.0)
    return turn < _APART_DEG


def _judged(shape: FaceShape, start: MirrorLine) -> tuple[CentreLine | None, tuple[float, str]]:
    """Return the centre line near a line; or None, and why not, with how far it is from being one."""
    line = shape.zoomed(start)
    rows = shape.shaped(line, _POINTS)
    begun = np.abs(shape.residuals(rows, line))
    if np.isfinite(begun).any() and float(np.nanmedian(begun)) > _HOPELESS_MM:
        return None, (1.0, _differing(line, float(np.nanmedian(begun))))
    found = fitted(shape, rows, line)
    if found is None:
        return None, (3.0, "the face is not symmetric")
    line, uncertainty = found
    residual = shape.residuals(rows, line)
    overlap = float(np.isfinite(residual).mean())
    left = median_size(residual)
    if overlap < _LEAST_OVERLAP:
        share = f"{100 * overlap:z.0f} % of it have a mirror image"
        return None, (2.0, f"the face is not symmetric: about a line {line.words} {share}")
    limit = min(max(_EXACT_MM, _ROOM * shape.surface.error_mm), _LOOSEST_MM)
    if left > limit:
        return None, (1.0, _differing(line, left))
    width = shape.width(line)
    moved = min(median_size(shape.residuals(rows, line.moved(off))) for off in (-0.1 * width, 0.1 * width))
    if moved < max(_SHARPEST * left, limit):
        return None, (0.5, f"the shape hardly changes across a line {line.words}: many lines fit")
    turned = min(_best_turned(shape, rows, line, way) for way in (-_TURNED_DEG, _TURNED_DEG))
    if turned < max(_SHARPEST * left, limit):
        return None, (0.0, f"the face is round: it mirrors in any line through {place_text(line.point_mm.tolist(), 2)}")
    # What is left may be one and the same error of interpolation all along: the line may be off by as much as
    # doubles it.
    uncertainty[0, 0] += (left / moved * 0.1 * width) ** 2
    uncertainty[1, 1] += (left / turned * radians(_TURNED_DEG)) ** 2
    return _described(line, uncertainty, left, moved, overlap), (0.0, "")


def _differing(line: MirrorLine, residual_mm: float) -> str:
    about = f"about a line {line.words}"
    return f"the face is not symmetric: {about} heights differ by {length_text(residual_mm, 3)} (median)"


def _best_turned(shape: FaceShape, rows: NDArray[np.intp], line: MirrorLine, turn_deg: float) -> float:
    """Return the residual of the best line at a turn from one."""
    turned = line.moved(0.0, radians(turn_deg))
    step = 0.02 * shape.width(line)
    for _ in range(5):
        tries = [turned.moved(i * step) for i in range(-3, 4)]
        _, turned = shape.best(rows, tries)
        step /= 3
    return median_size(shape.residuals(rows, turned))


def _described(line: MirrorLine, covariance: Floats, left: float, moved: float, overlap: float) -> CentreLine:
    # The point along the line where offset and angle do not depend on one another.
    shift = -float(covariance[0, 1] / covariance[1, 1])
    at_best = float(covariance[0, 0] - covariance[0, 1] ** 2 / covariance[1, 1])
    x_mm, y_mm = line.point_mm + shift * line.along
    direction = (degrees(line.angle) + 90.0 + 45.0) % 180.0 - 45.0
    return CentreLine(
        point_mm=(float(x_mm), float(y_mm)),
        direction_deg=direction,
        uncertainty_mm=hypot(max(at_best, 0.0) ** 0.5, _FINEST_MM),
        uncertainty_deg=hypot(degrees(float(covariance[1, 1]) ** 0.5), _FINEST_DEG),
        residual_mm=left,
        asymmetry_mm=moved,
        overlap=overlap,
    )
