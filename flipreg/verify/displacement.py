"""How far the back lies from the front at what both show, feature by feature: what arrows are drawn of."""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.isometry import Isometry
from flipreg.verify.align import best_match, pull_of
from flipreg.verify.features import face_features
from flipreg.verify.match import Faces
from flipreg.verify.pair import in_section
from flipreg.verify.placement import Placement
from flipreg.verify.setup_face import SetupFace

__all__ = ["Displacements", "displacements"]

Floats = NDArray[np.float64]

_PER_OUTLINE = 12
"""Places of an outline that are looked at, each way; ours: a picture has no room for more."""


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


def displacements(front: SetupFace, back: SetupFace, *, tolerance_mm: float) -> Displacements:
    """Compare two setups of opposite faces of one section, at all shared holes and along all shared outlines.

    Parameters
    ----------
    front, back : SetupFace
        The same section lies flat in both.
    tolerance_mm : float
        Of the job.

    Returns
    -------
    Displacements
        Empty where no hole and no outline is shared.
    """
    faces = Faces(face_features(in_section(front)), face_features(in_section(back)), tolerance_mm)
    placed = Placement.of(Isometry.mirror_x(datum_mm=(Decimal(0), Decimal(0))))
    match = best_match(faces, placed.matrix, placed)
    if match is None:
        return Displacements(np.empty((0, 2)), np.empty((0, 2)))
    # Partners are those of the best fit: by the nearest place, an outline would seem to move across itself only.
    pull = pull_of(faces, match, match.placement, most=_PER_OUTLINE)
    return Displacements(pull.front_mm, placed.apply(pull.back_mm) - pull.front_mm)
