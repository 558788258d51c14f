"""Finding the flip: which way the blank was turned over, and where the back's zero lies on it.

A back program that was mirrored about Y and one that was mirrored about X differ by half a turn. So for any part
that half a turn changes, only one of the two fits, and what both faces share tells which.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import Face
from flipreg.register.coincidence import best_match, pull_of
from flipreg.register.deviation import Register, measured
from flipreg.register.features import face_features
from flipreg.register.matching import Faces, Match
from flipreg.register.placement import Placement

__all__ = [
    "ORIENTATIONS",
    "Axis",
    "Fit",
    "FlipFound",
    "Orientation",
    "choose",
    "find_flip",
    "fits",
    "orientation_of",
    "unturned",
]

Floats = NDArray[np.float64]

Axis = Literal["x", "y", "none"]

_EQUAL = 0.3
"""Scores this close are equal evidence: about a third of a hole (chosen)."""


@dataclass(frozen=True, slots=True)
class Orientation:
    """One way round in which the back's numbers may lie in the front's frame.

    Attributes
    ----------
    axis : 'x', 'y' or 'none'
        The flip axis; 'none' where the back is not mirrored.
    is_turned : bool
        Whether half a turn is needed besides; only told apart for 'none', where no axis can mean it.
    """

    axis: Axis
    is_turned: bool = False

    @property
    def matrix(self) -> Floats:
        """Maps directions of the back to the front, shape (2, 2)."""
        x, y = {"y": (-1.0, 1.0), "x": (1.0, -1.0), "none": (1.0, 1.0)}[self.axis]
        sign = -1.0 if self.is_turned else 1.0
        return np.diag([sign * x, sign * y])

    @property
    def words(self) -> str:
        """How a person would say it."""
        if self.axis == "none":
            return "not mirrored, turned by 180°" if self.is_turned else "not mirrored"
        how = "like turning a page" if self.axis == "y" else "end over end"
        return f"flipped about {self.axis.upper()}, {how}"


ORIENTATIONS = (Orientation("y"), Orientation("x"), Orientation("none"), Orientation("none", is_turned=True))
"""All ways round that are tried, the likeliest first."""


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """What the back shares with the front in one orientation, at the datum that suits it best.

    Attributes
    ----------
    orientation : Orientation
        The way round.
    placement : Placement
        Back to front, without any rotation but the orientation's.
    match : Match
        What corresponds.
    register : Register
        How well.
    """

    orientation: Orientation
    placement: Placement
    match: Match
    register: Register

    @property
    def datum_mm(self) -> tuple[float, float]:
        """Where the back's zero lies in the front program's numbers."""
        x_mm, y_mm = self.placement.offset_mm.tolist()
        return x_mm, y_mm


@dataclass(frozen=True, slots=True, eq=False)
class FlipFound:
    """The flip that the shared features tell.

    Attributes
    ----------
    best : Fit or None
        The best fit; None where the faces share nothing that could tell.
    alternatives : tuple of Fit
        Other ways round that fit within the tolerance with as much evidence: the part is symmetric, and what
        both faces share cannot tell which is meant.
    """

    best: Fit | None
    alternatives: tuple[Fit, ...] = ()

    @property
    def all(self) -> tuple[Fit, ...]:
        """The best fit and its alternatives."""
        return () if self.best is None else (self.best, *self.alternatives)

    @property
    def is_sure(self) -> bool:
        """Whether exactly one way round fits within the tolerance, and by proof."""
        return self.best is not None and self.best.register.status is Status.PASS and not self.alternatives

    @property
    def front_from_back(self) -> Isometry | None:
        """Maps the back's program frame to the front's; None where nothing was found."""
        return None if self.best is None else self.best.placement.isometry


def find_flip(front: Face, back: Face, tolerance_mm: float) -> FlipFound:
    """Find flip axis and datum from what both faces share.

    Parameters
    ----------
    front, back : sequence of FaceProgram
        The programs of each face, each in its own program frame.
    tolerance_mm : float
        What counts as agreement, in millimetres.

    Returns
    -------
    FlipFound
        With the alternatives where several ways round fit. The axis 'none' means that the back is not mirrored.
    """
    faces = Faces.of(face_features(front), face_features(back), tolerance_mm)
    return choose(fits(faces))


def fits(faces: Faces) -> list[Fit]:
    """Return the best fit of each orientation in which anything corresponds."""
    found: list[Fit] = []
    for orientation in ORIENTATIONS:
        match = best_match(faces, orientation.matrix)
        if match is None:
            continue
        placement = unturned(faces, match, orientation.matrix)
        found.append(Fit(orientation, placement, match, measured(faces, match, placement, is_found=True)))
    return found


def choose(found: list[Fit]) -> FlipFound:
    """Return the fit with most evidence, and those that are as good."""
    if not found:
        return FlipFound(None)
    passing = [fit for fit in found if fit.register.status is Status.PASS]
    most = max(fit.match.score for fit in found)
    best_passing = max((fit.match.score for fit in passing), default=0.0)
    # A way round in which much more coincides is the one meant, even if it is out of tolerance.
    if not passing or most > best_passing + max(1.0, 0.2 * most):
        return FlipFound(max(found, key=lambda fit: fit.match.score))
    equal = [fit for fit in passing if fit.match.score >= best_passing - _EQUAL]
    return FlipFound(equal[0], tuple(equal[1:]))


def unturned(faces: Faces, match: Match, matrix: Floats) -> Placement:
    """Return the placement with exactly the orientation's matrix that lies best, its datum to 0.0001 mm.

    A flip does not rotate: what the match had to be turned remains as an error of register.
    """
    pull = pull_of(faces, match, match.placement, most=600)
    off = np.hypot(*(match.placement.apply(pull.back_mm) - pull.front_mm).T)
    weight = pull.weight / (1.0 + (off / max(0.02, 1.5 * float(np.median(off)))) ** 2)
    shift = np.average(pull.front_mm - pull.back_mm @ matrix.T, axis=0, weights=weight)
    return Placement(matrix, _plain(shift))


def orientation_of(front_from_back: Isometry) -> Orientation | None:
    """Return the orientation of a placement, None where it is turned by anything but half turns."""
    for orientation in ORIENTATIONS:
        if np.array_equal(orientation.matrix, front_from_back.matrix):
            return orientation
    return None


def _plain(shift_mm: Floats) -> Floats:
    """Return the datum as a person would have set it: in hundredths where it is that to 0.001 mm."""
    hundredths = np.round(shift_mm, 2)
    return np.where(np.abs(hundredths - shift_mm) <= 0.001, hundredths, np.round(shift_mm, 4)) + 0.0
