"""How far the back lies from the front at what both show, feature by feature, for the arrows of a picture."""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.isometry import Isometry
from flipreg.job_check.pair import in_section
from flipreg.program.setup_face import SetupFace
from flipreg.register.faces.features import face_features
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.coincidence import best_matches, pull_of, refined
from flipreg.register.placing.match import Match
from flipreg.register.placing.matching import Faces

__all__ = ["Displacements", "displacements"]

Floats = NDArray[np.float64]

_LOOKED_AT = 400
"""Places of an outline that are compared, each way (chosen): closer together than arrows can be drawn."""
_PER_OUTLINE = 16
"""Places of an outline that are kept (chosen): a picture has no room for more."""


@dataclass(frozen=True, slots=True, eq=False)
class Displacements:
    """Where the front has what both faces show, and how far from there the back has it.

    Attributes
    ----------
    at_mm : float64, shape (n, 2)
        Places on the front, in the frame of the section.
    by_mm : float64, shape (n, 2)
        From there to where the back has the same.
    """

    at_mm: Floats
    by_mm: Floats

    @property
    def size_mm(self) -> Floats:
        """Length of each displacement, shape (n,)."""
        return np.asarray(np.hypot(self.by_mm[:, 0], self.by_mm[:, 1]))


def displacements(
    front: SetupFace, back: SetupFace, *, tolerance_mm: float, worst_at_mm: tuple[float, float] | None = None
) -> Displacements:
    """Compare two setups of opposite faces of one section, at all shared holes and along all shared outlines.

    Parameters
    ----------
    front, back : SetupFace
        The same section lies flat in both.
    tolerance_mm : float
        Of the job.
    worst_at_mm : (x, y), optional
        A place that is looked at first, in the frame of the section.

    Returns
    -------
    Displacements
        Empty where no hole and no outline is shared.
    """
    faces = Faces.of(face_features(in_section(front)), face_features(in_section(back)), tolerance_mm)
    placed = Placement.of(Isometry.mirror_x(datum_mm=(Decimal(0), Decimal(0))))
    near = refined(faces, placed)
    match = near if near is not None else next(iter(best_matches(faces, [placed.matrix])[0]), None)
    if match is None:
        return Displacements(np.empty((0, 2)), np.empty((0, 2)))
    # Partners are those of the best fit: by the nearest place, an outline would seem to move across itself only.
    pull = pull_of(faces, match, match.placement, most=_LOOKED_AT)
    holes = len(match.front_hole) if match.fixes_place else len(pull.front_mm)
    kept = [*range(holes), *(holes + row for row in _apart(pull.front_mm[holes:], worst_at_mm, match))]
    at_mm = pull.front_mm[kept]
    return Displacements(at_mm, placed.apply(pull.back_mm[kept]) - at_mm)


def _apart(points_mm: Floats, first_mm: tuple[float, float] | None, match: Match) -> list[int]:
    """Return rows of points far from one another, the one nearest to a place first."""
    if not len(points_mm):
        return []
    start = points_mm[0] if first_mm is None else np.array(first_mm)
    row = int(np.hypot(*(points_mm - start).T).argmin())
    rows, away = [], np.full(len(points_mm), np.inf)
    for _ in range(_PER_OUTLINE * len(match.outlines)):
        rows.append(row)
        away = np.minimum(away, np.hypot(*(points_mm - points_mm[row]).T))
        row = int(away.argmax())
        if away[row] == 0.0:
            break
    return rows
