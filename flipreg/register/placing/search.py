"""Finding the flip: which way the blank was turned over, and where the back's zero lies on it.

A back program that was mirrored about Y and one that was mirrored about X differ by half a turn. So for any part
that half a turn changes, only one of the two fits, and what both faces share tells which.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Status
from flipreg.geometry.isometry import Isometry
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.coincidence import best_matches, pull_of
from flipreg.register.placing.deviation import Register, measured
from flipreg.register.placing.evidence import Evidence, are_apart, evidence_at, is_clearly_less, outweighs
from flipreg.register.placing.match import Match, quick_distances
from flipreg.register.placing.matching import Faces

__all__ = [
    "ORIENTATIONS",
    "QUARTERS",
    "Axis",
    "Fit",
    "FlipFound",
    "Orientation",
    "choose",
    "fits",
    "orientation_of",
    "unturned",
    "with_quarters",
]

Floats = NDArray[np.float64]

Axis = Literal["x", "y", "none"]

_SHARE = 0.75
"""Where the best way round explains more than this share, quarter turns are not looked at (chosen)."""
_TURNED = 1e-4
"""A match is turned if it is by more than this, in radians (chosen): more than the last decimals of programs make."""
_MOST_TURNED = 0.1
"""A blank that was clamped askew, or a program made askew, is turned by no more, in radians (chosen)."""
_ONE_MM = 0.1
"""Placements closer than this are one, in millimetres (chosen)."""


@dataclass(frozen=True, slots=True)
class Orientation:
    """One way round in which the back's numbers may lie in the front's frame.

    Attributes
    ----------
    axis : 'x', 'y' or 'none'
        The flip axis; 'none' where the back is not mirrored.
    is_turned : bool
        Whether half a turn is needed besides; only told apart for 'none', where no axis can mean it.
    is_quarter : bool
        Whether a quarter turn, counter-clockwise, comes after that: never a flip, but a back made for a blank that lies
        otherwise on the table.
    """

    axis: Axis
    is_turned: bool = False
    is_quarter: bool = False

    @property
    def matrix(self) -> Floats:
        """Maps directions of the back to the front, shape (2, 2)."""
        x, y = {"y": (-1.0, 1.0), "x": (1.0, -1.0), "none": (1.0, 1.0)}[self.axis]
        sign = -1.0 if self.is_turned else 1.0
        way = np.diag([sign * x, sign * y])
        return np.array([[0.0, -1.0], [1.0, 0.0]]) @ way if self.is_quarter else way

    @property
    def words(self) -> str:
        """How a person would say it."""
        if self.is_quarter:
            return "turned by a quarter turn" if self.axis != "none" else "turned by a quarter turn and not mirrored"
        if self.axis == "none":
            return "not mirrored, turned by 180°" if self.is_turned else "not mirrored"
        how = "like turning a page" if self.axis == "y" else "end over end"
        return f"flipped about {self.axis.upper()}, {how}"


ORIENTATIONS = (Orientation("y"), Orientation("x"), Orientation("none"), Orientation("none", is_turned=True))
"""All ways round that are tried, the likeliest first."""
QUARTERS = tuple(Orientation(way.axis, way.is_turned, is_quarter=True) for way in ORIENTATIONS)
"""Those that are tried where what is shared fits none of the others."""


@dataclass(frozen=True, eq=False)
class Fit:
    """What the back shares with the front in one orientation, at the datum that suits it best.

    Attributes
    ----------
    faces : Faces
        Both faces.
    orientation : Orientation
        The way round.
    placement : Placement
        Back to front, without any rotation but the orientation's.
    match : Match
        What corresponds.
    evidence : Evidence
        How much coincides there.
    is_turned : bool
        Whether so much coincides only where the back is turned a little besides, as the match has it.
    """

    faces: Faces
    orientation: Orientation
    placement: Placement
    match: Match
    evidence: Evidence
    is_turned: bool = False

    @cached_property
    def register(self) -> Register:
        """How well; measured when it is asked for, for most fits explain too little to be."""
        return measured(self.faces, self.match, self.placement, is_found=not self.is_turned)

    @property
    def is_evident(self) -> bool:
        """Whether it would disprove another placement: by what goes through, or by very much."""
        return self.register.is_sure or self.evidence.is_plenty

    @cached_property
    def is_passing(self) -> bool:
        """Whether it fits within the tolerance."""
        # One place of an outline that is further off tells as much as all of them.
        off = (float(quick_distances(pair, self.placement).max(initial=0.0)) for pair in self.match.outlines)
        return all(most <= self.faces.tolerance_mm for most in off) and self.register.status is Status.PASS

    @property
    def datum_mm(self) -> tuple[float, float]:
        """Where the back's zero lies in the front program's numbers."""
        x_mm, y_mm = self.placement.offset_mm.tolist()
        return x_mm, y_mm


@dataclass(frozen=True, slots=True, eq=False)
class FlipFound:
    """The flip that what both faces share tells.

    Attributes
    ----------
    best : Fit or None
        The fit with most evidence; None where nothing is enough to find it.
    others : tuple of Fit
        Placements that explain about as much: the part is symmetric or its pattern repeats, and what both faces share
        cannot tell which is meant.
    not_mirrored : tuple of Fit
        Placements of a back that is not mirrored that explain just as much: the part is symmetric, and it does no harm.
    """

    best: Fit | None
    others: tuple[Fit, ...] = ()
    not_mirrored: tuple[Fit, ...] = ()


def fits(faces: Faces, ways: Sequence[Orientation] = ORIENTATIONS) -> list[Fit]:
    """Return the placements in which most coincides, for each way round, most evidence first."""
    found: list[Fit] = []
    matches = best_matches(faces, [orientation.matrix for orientation in ways])
    for orientation, of_orientation in zip(ways, matches, strict=True):
        of_way: list[Fit] = []
        for match in of_orientation:
            placement = unturned(faces, match, orientation.matrix)
            if any(float(np.abs(placement.offset_mm - fit.placement.offset_mm).max()) <= _ONE_MM for fit in of_way):
                continue
            there = faces.match(placement)
            evidence = None if there.is_empty else evidence_at(faces, there, placement, is_told=False)
            turned = _turned_evidence(faces, match, orientation)
            if turned is not None and outweighs(turned, evidence):
                of_way.append(Fit(faces, orientation, placement, match, turned, is_turned=True))
            elif evidence is not None:
                of_way.append(Fit(faces, orientation, placement, match, evidence))
        found += of_way
    return sorted(found, key=lambda fit: fit.evidence.rank, reverse=True)


def _turned_evidence(faces: Faces, match: Match, orientation: Orientation) -> Evidence | None:
    """Return how much coincides in a match that is turned a little; None in one that isn't, or by more."""
    turned = float((match.placement.matrix @ orientation.matrix.T)[1, 0])
    if not _TURNED < abs(turned) <= _MOST_TURNED:
        return None
    return evidence_at(faces, match, match.placement, is_told=False)


def with_quarters(faces: Faces, found: Sequence[Fit]) -> list[Fit]:
    """Return fits, with those after a quarter turn that explain significantly more, most evidence first."""
    best = found[0].evidence if found else None
    if best is not None and best.coincide > _SHARE * best.features:
        return list(found)
    more = [fit for fit in fits(faces, QUARTERS) if outweighs(fit.evidence, best)]
    return sorted([*found, *more], key=lambda fit: fit.evidence.rank, reverse=True)


def choose(found: Sequence[Fit]) -> FlipFound:
    """Return the fit with most evidence, and those that explain about as much."""
    sound = [fit for fit in found if fit.evidence.may_be_found]
    if not sound:
        return FlipFound(None)
    passing = next((fit for fit in sound if fit.is_passing), sound[0])
    best = sound[0] if is_clearly_less(passing.evidence, sound[0].evidence) else passing
    meant = [fit for fit in sound if fit is best or _may_be_meant(fit, best)]
    # A blank is turned over to cut its back. That numbers which are not mirrored would do as well shows a symmetry.
    flips = [fit for fit in meant if fit.orientation.axis != "none"]
    if not flips or flips[0].evidence.coincide < best.evidence.coincide:
        return FlipFound(best, tuple(fit for fit in meant if fit is not best))
    alike = [fit for fit in meant if fit not in flips and fit.evidence.coincide <= flips[0].evidence.coincide]
    return FlipFound(flips[0], tuple(flips[1:]), tuple(alike))


def _may_be_meant(fit: Fit, best: Fit) -> bool:
    """Return whether a placement explains about as much as the best one, and is no worse out of tolerance."""
    if fit.orientation == best.orientation and are_apart(fit.evidence, best.evidence):
        # What is told by other features is no other answer but another zero, if the best has what goes through.
        explains = fit.evidence.through > best.evidence.through
    else:
        explains = not is_clearly_less(fit.evidence, best.evidence)
    more = fit.evidence.coincide - best.evidence.coincide
    if more > 0 or (more >= -1 and len(fit.match.front_hole) + len(fit.match.outlines) > 1):
        # One misplaced hole puts the right placement out of tolerance; it explains no less than a pitch beside it.
        return explains
    return explains and not (best.is_passing and fit.register.status is Status.FAIL)


def unturned(faces: Faces, match: Match, matrix: Floats) -> Placement:
    """Return the placement with exactly the orientation's matrix that lies best, its datum to 0.0001 mm.

    A flip does not rotate: what the match had to be turned remains as an error of register.
    """
    pull = pull_of(faces, match, match.placement, most=600)
    off = np.hypot(*(match.placement.apply(pull.back_mm) - pull.front_mm).T)
    if len(off) == 0:
        return Placement(matrix, _plain(match.placement.offset_mm))
    turned = float((match.placement.matrix @ matrix.T)[1, 0])
    if abs(turned) > _TURNED and not faces.front.is_empty:
        # Of all zeros that can be set the one that moves the part's corners least.
        middle = (faces.front.cut_box_mm[:2] + faces.front.cut_box_mm[2:]) / 2.0
        return Placement(matrix, _plain(middle - matrix @ match.placement.undo(middle)))
    weight = pull.weight / (1.0 + (off / max(0.02, 1.5 * float(np.median(off)))) ** 2)
    shift = np.average(pull.front_mm - pull.back_mm @ matrix.T, axis=0, weights=weight)
    return Placement(matrix, _plain(shift))


def orientation_of(front_from_back: Isometry, ways: Sequence[Orientation] = ORIENTATIONS) -> Orientation | None:
    """Return the orientation of a placement, None where it is none of the ways round that are asked for."""
    for orientation in ways:
        if np.array_equal(orientation.matrix, front_from_back.matrix):
            return orientation
    return None


def _plain(shift_mm: Floats) -> Floats:
    """Return the datum as a person would have set it: in hundredths where it is that to 0.001 mm."""
    hundredths = np.round(shift_mm, 2)
    return np.where(np.abs(hundredths - shift_mm) <= 0.001, hundredths, np.round(shift_mm, 4)) + 0.0
