"""How far the whole part is displaced, with the uncertainty that what both faces share leaves.

A feature that only one face has is displaced as the fit says, not as the nearest shared feature does: a turn seen by
two holes close together moves a far corner by more than it moves the holes.

References
----------
JCGM 100:2008 (GUM), 5.1.2; for the least squares, JCGM 102:2011, 6.2.
"""

from dataclasses import dataclass
from math import inf, radians, sqrt

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.fit import fit_rigid
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.coincidence import Pull
from flipreg.register.placing.matching import Faces

__all__ = ["Landing", "landing_of", "uncertainties"]

Floats = NDArray[np.float64]

_PROGRAM_MM = 0.002
"""Programs tell a place no better than this, as a standard uncertainty, in millimetres (chosen): their last decimal."""
_COVERAGE = 2.0
"""Standard uncertainties that have to fit into the tolerance; common practice, about 95 %."""


@dataclass(frozen=True, slots=True)
class Landing:
    """The displacement of the part in the front's frame: where the back lies, less where it should.

    Attributes
    ----------
    x_mm, y_mm : float
        Of the middle of the part.
    turn_deg : float
        Counter-clockwise positive.
    x_uncertainty_mm, y_uncertainty_mm, turn_uncertainty_deg : float
        Standard uncertainties; infinite where nothing shows it.
    part_mm : float
        The largest displacement over the part: at one of its corners.
    part_at_mm : (float, float)
        That corner.
    part_uncertainty_mm : float
        Standard uncertainty of a corner's displacement.
    reach_mm : float
        From the middle of the part to its corners: how far a turn of one radian would move them.
    """

    x_mm: float
    y_mm: float
    turn_deg: float
    x_uncertainty_mm: float
    y_uncertainty_mm: float
    turn_uncertainty_deg: float
    part_mm: float
    part_at_mm: tuple[float, float]
    part_uncertainty_mm: float
    reach_mm: float

    def is_known(self, tolerance_mm: float) -> bool:
        """Whether all three directions are known well enough to compare them with the tolerance."""
        turn_mm = radians(self.turn_uncertainty_deg) * self.reach_mm
        return _COVERAGE * max(self.x_uncertainty_mm, self.y_uncertainty_mm, turn_mm) <= tolerance_mm


def landing_of(
    faces: Faces, pull: Pull, weight: Floats, best: Placement, placement: Placement, *, is_turned: bool
) -> Landing:
    """Return the displacement of the whole part.

    Parameters
    ----------
    faces : Faces
        What is compared.
    pull : Pull
        The places that ought to coincide.
    weight : array, shape (n,)
        How much each counts.
    best : Placement
        Where they coincide best.
    placement : Placement
        Where the back lies.
    is_turned : bool
        Whether the turn between both is more than rounding.
    """
    corners = _corners(faces, pull, best)
    middle = corners.mean(axis=0)
    fit = fit_rigid(pull.front_mm, placement.apply(pull.back_mm), weights=weight)
    moved = fit.isometry.apply(corners) - corners if is_turned else np.tile(fit.shift_mm, (4, 1))
    x_mm, y_mm = moved.mean(axis=0).tolist()
    off = np.hypot(*moved.T)
    row = int(off.argmax())
    ux, uy, ut = uncertainties(pull, weight, best, middle)
    reach = float(np.hypot(*(corners - middle).T).max())
    return Landing(
        x_mm=x_mm,
        y_mm=y_mm,
        turn_deg=fit.turn_deg if is_turned else 0.0,
        x_uncertainty_mm=ux,
        y_uncertainty_mm=uy,
        turn_uncertainty_deg=float(np.degrees(ut)),
        part_mm=float(off[row]),
        part_at_mm=(float(corners[row, 0]), float(corners[row, 1])),
        part_uncertainty_mm=sqrt(ux**2 + uy**2 + (ut * reach) ** 2),
        reach_mm=reach,
    )


def _corners(faces: Faces, pull: Pull, best: Placement) -> Floats:
    """Return the corners of what both faces cut, or of what is shared where neither cuts across, shape (4, 2).

    Of a part that is cut out from the back, the front may show a few holes in the middle and nothing of its size.
    """
    box = faces.box_mm(best)
    low, high = box[:2], box[2:]
    if np.isnan(box).any():
        low, high = pull.front_mm.min(axis=0), pull.front_mm.max(axis=0)
    return np.array([low, [high[0], low[1]], high, [low[0], high[1]]])


def uncertainties(pull: Pull, weight: Floats, best: Placement, middle: Floats) -> tuple[float, float, float]:
    """Return standard uncertainties of shift along X and Y, and of turn in radians, about the middle of the part.

    Arguments as `landing_of` takes them; what nothing shows has an infinite one.
    """
    gap = best.apply(pull.back_mm) - pull.front_mm
    arm = pull.front_mm - middle
    size = max(1.0, float(np.hypot(*arm.T).max(initial=0.0)))
    normal = np.column_stack([-pull.along[:, 1], pull.along[:, 0]])
    edge = np.abs(pull.along).sum(axis=1) > 0
    rows, left = [], []
    for axis, here in ((normal, edge), (np.array([[1.0, 0.0]]), ~edge), (np.array([[0.0, 1.0]]), ~edge)):
        way = np.broadcast_to(axis, (len(gap), 2))[here]
        spun = (np.column_stack([-arm[here, 1], arm[here, 0]]) * way).sum(axis=1) / size
        root = np.sqrt(weight[here])
        rows.append(np.column_stack([way, spun]) * root[:, np.newaxis])
        left.append((gap[here] * way).sum(axis=1) * root)
    design, residual = np.concatenate(rows), np.concatenate(left)
    total = float(weight.sum())
    scatter = max(_PROGRAM_MM, sqrt(float(residual @ residual) / total)) if total > 0.0 else inf
    values, vectors = np.linalg.eigh(design.T @ design)
    # What no feature shows (the turn of a circle) has no weight, and any uncertainty.
    size_of = np.where(values > 1e-6 * max(float(values.max()), 1e-12), values, 0.0)
    with np.errstate(divide="ignore"):
        inverse = 1.0 / size_of
    share = vectors**2
    share = np.where(share > 1e-9, share, 0.0)
    variance = np.where(share > 0.0, share * np.where(share > 0.0, inverse, 0.0), 0.0).sum(axis=1)
    ux, uy, ut = (scatter * np.sqrt(variance)).tolist()
    return ux, uy, ut / size


