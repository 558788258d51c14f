"""The fit of one face's walls to the other's: the shift and the turn between them, by distances across the walls.

A wall tells nothing along itself, so that only the distance across it counts. All walls of a loop may stand off by one
and the same gap as well, for tools are not as wide as they are said to be: the gap is fitted with them.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.register.wood.wall import EVERY_MM, Walls

__all__ = ["WallFit", "fit_walls"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_REACH_MM = 6.0
"""Walls farther apart than this are not taken for one edge; millimetres (chosen)."""
_ALIKE = 0.9
"""Cosine of the largest angle between walls of one edge (chosen)."""
_NEIGHBOURS = 12
"""Points of the other face that are looked at for a partner (chosen): the nearest may be on the wall across a kerf."""
_ROUNDS = 30
"""Rounds of the least squares; it ends earlier, mostly (chosen)."""
_FEWEST = 40
"""With fewer points that have a partner nothing is fitted (chosen)."""
_BLOCKS = 12
"""Parts of the rim that are left out one at a time (chosen): enough for a spread, each still large."""
_SHIFT_PRIOR_MM, _TURN_PRIOR_DEG, _GAP_PRIOR_MM = 10.0, 5.0, 2.0
"""What is known before the fit: the shift and the turn hardly, a gap a little; standard deviations (chosen)."""
_LEAST_FACING = 0.01
"""A direction that walls face by less than this, mean square of their normals, is not told by them (chosen): a wall of
less than a hundredth of the edge. For the turn a tenth of that, of the mean square distance from the middle."""
_INDEPENDENT_MM = 5.0
"""Errors of walls are taken as independent over this length; millimetres (chosen)."""
_LEAST_NOISE_MM = 0.01
"""No wall is taken to be known better than this, in millimetres (chosen)."""
_STEPPED_MM = 0.1
"""A wall that stands this much farther from its like than the scatter of all explains is another one, in millimetres
(chosen)."""
_SAME_RADIUS_MM, _SAME_GAP_MM = 0.05, 0.1
"""Tools whose radii differ by more, and walls that stand apart by more, are different; millimetres (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class WallFit:
    """How the back's walls lie to the front's.

    Attributes
    ----------
    about_mm : float64, shape (2,)
        The middle of the walls: the shift is that of this point, the turn about it.
    shift_mm : float64, shape (2,)
        Where the back lies less where it should.
    turn_deg : float
        Counter-clockwise positive.
    uncertainty : float64, shape (3,)
        Standard uncertainties (k = 1) of the shift in X and Y, in millimetres, and of the turn, in degrees.
    residual_mm : float
        Median distance that is left.
    gap_mm : float
        By how much the back leaves more wood than the front all round, median over the walls.
    stepped : float
        Share of the walls which have one of the back beside them that stands elsewhere after the fit.
    agreeing : float
        Share of all walls that have one of the back where the fit says.
    apart_mm : float64, shape (n,)
        Distances across the walls before anything is fitted, positive where the back leaves more wood.
    at_mm : float64, shape (n, 2)
        Where they are.
    """

    about_mm: Floats
    shift_mm: Floats
    turn_deg: float
    uncertainty: Floats
    residual_mm: float
    gap_mm: float
    stepped: float
    agreeing: float
    apart_mm: Floats
    at_mm: Floats


def fit_walls(front: Walls, back: Walls) -> WallFit | None:
    """Fit the back's walls to the front's, both in one frame; None where too few of them belong together."""
    if min(len(front.at_mm), len(back.at_mm)) < _FEWEST:
        return None
    used = np.ones(len(front.at_mm), np.bool_)
    # Loops that are no edge of both show only after a first fit, and are left out of the second.
    for _ in range(2):
        kept = front.take(used)
        solved = _solved(kept, back)
        if solved is None:
            return None
        fit, rows, gaps, partner = solved
        misled = _misled(kept, back, rows, gaps, partner)
        if not misled:
            return fit
        used &= ~np.isin(front.loop, list(misled))
        if int(used.sum()) < _FEWEST:
            return None
    return fit


def _misled(front: Walls, back: Walls, rows: NDArray[np.intp], gaps: Floats, partner: NDArray[np.intp]) -> set[int]:
    """Return loops round what is cut away whose tools differ and whose walls stand apart all round.

    The far side of a kerf is such a loop: it is where the tool's width leaves it, and no edge of the part.
    """
    found: set[int] = set()
    for number in np.unique(front.loop[rows]).tolist():
        mine = front.loop[rows] == number
        differ = np.median(np.abs(front.radius_mm[rows][mine] - back.radius_mm[partner][mine])) > _SAME_RADIUS_MM
        apart = abs(float(np.median(gaps[mine]))) > _SAME_GAP_MM
        if differ and apart and not bool(front.has_wood_inside[rows][mine][0]):
            found.add(number)
    return found


def _solved(front: Walls, back: Walls) -> tuple[WallFit, NDArray[np.intp], Floats, NDArray[np.intp]] | None:
    from scipy.spatial import cKDTree

    about = front.at_mm.mean(axis=0)
    numbers, loop = np.unique(front.loop, return_inverse=True)
    off = front.at_mm - about
    arm = off[:, 0] * front.normal[:, 1] - off[:, 1] * front.normal[:, 0]
    columns = np.zeros((len(off), 3 + len(numbers)))
    columns[:, :2], columns[:, 2] = front.normal, arm
    columns[np.arange(len(off)), 3 + loop] = 1.0
    size = max(float(np.sqrt((off**2).sum(axis=1).mean())), 1.0)
    prior = np.concatenate(
        [[_SHIFT_PRIOR_MM**-2] * 2, [np.radians(_TURN_PRIOR_DEG) ** -2], [_GAP_PRIOR_MM**-2] * len(numbers)]
    )
    tree = cKDTree(back.at_mm)
    answer = np.zeros(3 + len(numbers))
    reach = _REACH_MM
    for _ in range(_ROUNDS):
        rows, partner = _partners(front, back, tree, about, answer, loop, reach)
        if len(rows) < _FEWEST:
            return None
        across = ((back.at_mm[partner] - front.at_mm[rows]) * front.normal[rows]).sum(axis=1)
        # A back point has been turned with its wall: what it has gone along the wall counts for nothing.
        residual = across - columns[rows] @ answer
        scale = max(1.4826 * float(np.median(np.abs(residual))), 0.002)
        weight = np.maximum(1.0 - (residual / (4.685 * scale)) ** 2, 0.0) ** 2
        share = weight * (EVERY_MM / _INDEPENDENT_MM) / max(scale, _LEAST_NOISE_MM) ** 2
        normal = (columns[rows] * share[:, np.newaxis]).T @ columns[rows] + np.diag(prior)
        new = np.asarray(
            np.linalg.solve(normal, (columns[rows] * share[:, np.newaxis]).T @ across), dtype=np.float64
        )
        done = bool(np.abs((new - answer)[:2]).max() < 1e-5) and abs(new[2] - answer[2]) * size < 1e-5
        answer = new
        if done and reach <= 6.0 * scale + 1.0:
            break
        reach = max(6.0 * scale + 0.5, reach / 2)
    # Walls that the fit has left out may belong to it all the same, and show that this is another edge.
    seen, facing = _partners(front, back, tree, about, answer, loop, _REACH_MM)
    away = ((back.at_mm[facing] - front.at_mm[seen]) * front.normal[seen]).sum(axis=1) - columns[seen] @ answer
    is_off = np.abs(away) > 6.0 * scale + _STEPPED_MM
    covariance = _jackknife(columns[rows], share, across, prior, off[rows]) + np.linalg.inv(normal)
    covariance[:3, :3] += _undetermined(columns[rows, :3], share, size)
    deviation = np.sqrt(np.diag(covariance)[:3])
    left = across - columns[rows] @ answer
    gaps = answer[3 + loop[rows]]
    fit = WallFit(
        about_mm=about,
        shift_mm=answer[:2],
        turn_deg=float(np.degrees(answer[2])),
        uncertainty=np.array([deviation[0], deviation[1], np.degrees(deviation[2])]),
        residual_mm=float(np.median(np.abs(left))),
        gap_mm=float(np.median(gaps)),
        stepped=float(is_off.mean()) if len(seen) else 0.0,
        agreeing=float(np.count_nonzero(~is_off)) / len(front.at_mm),
        apart_mm=across,
        at_mm=front.at_mm[rows],
    )
    return fit, rows, gaps, partner


def _undetermined(columns: Floats, share: Floats, size_mm: float) -> Floats:
    """Return the covariance of what hardly any wall tells, shape (3, 3): as little is known of it as before the fit.

    A few points on the round ends of a straight wall, or normals that are off by a degree, would else pass for a wall
    across: a number of points makes no direction of its own.
    """
    weight = share / share.sum()
    facing, directions = np.linalg.eigh((columns[:, :2] * weight[:, np.newaxis]).T @ columns[:, :2])
    out = np.zeros((3, 3))
    for part, direction in zip(facing.tolist(), directions.T, strict=True):
        if part < _LEAST_FACING:
            out[:2, :2] += _SHIFT_PRIOR_MM**2 * np.outer(direction, direction)
    if float(weight @ columns[:, 2] ** 2) < _LEAST_FACING * size_mm**2 / 10.0:
        out[2, 2] = np.radians(_TURN_PRIOR_DEG) ** 2
    return out


def _partners(  # noqa: PLR0913 - both faces, and where the fit stands
    front: Walls,
    back: Walls,
    tree: object,
    about: Floats,
    answer: Floats,
    loop: NDArray[np.intp],
    reach: float,
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return rows of the front and of the back that belong together as the fit stands."""
    cosine, sine = np.cos(answer[2]), np.sin(answer[2])
    turn = np.array([[cosine, -sine], [sine, cosine]])
    normal = front.normal @ turn.T
    expected = (front.at_mm - about) @ turn.T + about + answer[:2] + answer[3 + loop][:, np.newaxis] * normal
    distance, near = tree.query(expected, k=_NEIGHBOURS, distance_upper_bound=reach)  # type: ignore[attr-defined]
    there = np.minimum(near, len(back.at_mm) - 1)
    alike = (back.normal[there] * normal[:, np.newaxis, :]).sum(axis=2) > _ALIKE
    distance = np.where(alike & np.isfinite(distance), distance, np.inf)
    best = distance.argmin(axis=1)
    rows = np.flatnonzero(np.isfinite(distance[np.arange(len(best)), best]))
    return rows, there[rows, best[rows]]


def _jackknife(columns: Floats, share: Floats, across: Floats, prior: Floats, off: Floats) -> Floats:
    """Return the covariance that leaving out one stretch of the walls at a time shows.

    References
    ----------
    B. Efron, The Jackknife, the Bootstrap and Other Resampling Plans, SIAM 1982, chapter 3.
    """
    angle = np.arctan2(off[:, 1], off[:, 0])
    block = np.searchsorted(np.quantile(angle, np.arange(1, _BLOCKS) / _BLOCKS), angle)
    answers = []
    for number in range(_BLOCKS):
        kept = share * (block != number)
        normal = (columns * kept[:, np.newaxis]).T @ columns + np.diag(prior)
        answers.append(np.linalg.solve(normal, (columns * kept[:, np.newaxis]).T @ across))
    off_mean = np.array(answers) - np.mean(answers, axis=0)
    return np.asarray((_BLOCKS - 1) / _BLOCKS * off_mean.T @ off_mean)
