"""Holes that setups of one face have in common: both make them at the same points of the blank.

Setups that lay different sections flat share only the line where the sections' faces meet, so only holes on that line
can be the same in both: witness spots on the hinge line, for instance. Setups that lay the same section flat, with the
same face up, can share any hole.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from flipreg.program.setup_face import SetupFace
from flipreg.register.faces.features import face_holes

__all__ = ["CommonHoles", "Entries", "common_holes", "entries"]

Floats = NDArray[np.float64]

_NEAR_MM = 25.0
"""Holes of two setups nearer than this may be meant to be one, in millimetres (chosen)."""
_LEAST = 2
"""Fewer common holes show nothing: one agrees by chance, and leaves the turn open (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Entries:
    """Where a setup's holes enter the wood.

    Attributes
    ----------
    face : SetupFace
        The setup.
    points_program_mm : callable
        Returns them, shape (n, 3), on the face that is up, in the program's numbers. They are looked for when they are
        asked for: most jobs have no two setups with one face up.
    """

    face: SetupFace
    points_program_mm: Callable[[], Floats]

    def points_mm(self) -> Floats:
        """Return the points in the blank frame, shape (n, 3)."""
        return self.face.blank_from_program.apply(self.points_program_mm())

    def moved_with(self, face: SetupFace) -> "Entries":
        """Return the entries that the same programs make where `face` has them lie."""
        return Entries(face, self.points_program_mm)


@dataclass(frozen=True, slots=True)
class CommonHoles:
    """Two setups of one face and the holes that both make.

    Attributes
    ----------
    one, other : str
        Names of the setups.
    agreeing : int
        Holes of both that coincide within the tolerance.
    apart_mm : float or None
        How far apart the holes are that seem to be meant as one but lie at one distance from each other; None if
        there are none.
    """

    one: str
    other: str
    agreeing: int
    apart_mm: float | None

    @property
    def agrees(self) -> bool:
        """Whether there are enough of them to show where the setups lie to each other."""
        return self.agreeing >= _LEAST


def entries(face: SetupFace) -> Entries:
    """Return where the holes of a setup enter the wood."""

    @cache
    def points() -> Floats:
        centre = face_holes(face.programs).centre_mm
        return np.column_stack([centre, np.zeros(len(centre))])

    return Entries(face, points)


def common_holes(made: Sequence[Entries], tolerance_mm: float) -> list[CommonHoles]:
    """Return what holes setups that have the same face up have in common, for each two of them.

    Parameters
    ----------
    made : sequence of Entries
        One for each setup.
    tolerance_mm : float
        How far apart the same hole may be.
    """
    return [
        _compared(one, other, tolerance_mm)
        for one, other in combinations(made, 2)
        if one.face.is_front == other.face.is_front
    ]


def _compared(one: Entries, other: Entries, tolerance_mm: float) -> CommonHoles:
    ours, theirs = one.points_mm(), other.points_mm()
    names = one.face.name, other.face.name
    if not (len(ours) and len(theirs)):
        return CommonHoles(*names, 0, None)
    way = theirs[np.newaxis] - ours[:, np.newaxis]
    distance = np.linalg.norm(way, axis=2)
    nearest = distance.argmin(axis=1)
    rows = np.arange(len(ours))
    mutual = (distance.argmin(axis=0)[nearest] == rows) & (distance[rows, nearest] <= _NEAR_MM)
    off = way[rows[mutual], nearest[mutual]]
    size = np.linalg.norm(off, axis=1)
    agreeing = int(np.count_nonzero(size <= tolerance_mm))
    if agreeing >= _LEAST or len(off) < _LEAST:
        return CommonHoles(*names, agreeing, None)
    alike = (np.linalg.norm(off[np.newaxis] - off[:, np.newaxis], axis=2) <= tolerance_mm).sum(axis=1)
    best = int(alike.argmax())
    return CommonHoles(*names, agreeing, float(size[best]) if alike[best] >= _LEAST else None)
