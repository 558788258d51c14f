"""How much of what both faces show coincides at a placement, and how much chance would make coincide there."""

from copy import copy
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.landmarks import LandmarkKind, Landmarks, compatible
from flipreg.register.faces.near import SortedPoints
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.chance import log10_false_alarms

__all__ = ["NEAR_MM", "Agreement", "Comparable"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

_SAMPLED = 300
"""Features a face by which chance is reckoned (chosen)."""
_NARROWEST = 0.25
"""A part is taken to be at least this wide, as a share of its length (chosen)."""
NEAR_MM = 5.0
"""The back is looked for within this distance of where it was said to be, in millimetres (chosen)."""
_ONE_SIDE = 0.6
"""Corners and ends open to one side if the mean of their directions, as unit vectors, is longer than this (chosen): it
is 0.71 for the corners of a row of notches, 1 for one end each of parallel slots, and 0 for those of a frame."""


@dataclass(frozen=True, slots=True, eq=False)
class Agreement:
    """What coincides at one placement.

    Attributes
    ----------
    coincide : int
        How many features of one face have their like at the same place of the other.
    features : int
        How many could: as many as the face with fewer of them shows.
    by_chance : float
        How many chance would make coincide at that density.
    log10_false_alarms : float
        How often chance would do as well in all the placements that were looked at, as a logarithm.
    front, back : int arrays, shape (k,)
        Rows of the features that coincide.
    """

    coincide: int
    features: int
    by_chance: float
    log10_false_alarms: float
    front: Rows
    back: Rows


class Comparable:
    """The features of both faces, ready to be laid on one another.

    Attributes
    ----------
    front, back : Landmarks
        Features of each face, in its own program frame.
    gate_mm : float
        What lies within this coincides.
    size_mm : float64, shape (2,)
        How far the front's cut reaches along X and Y: where features lie by chance.
    area_mm2 : float
        The same as an area, with a rim.
    """

    __slots__ = ("_chance", "_grids", "_places", "area_mm2", "back", "front", "gate_mm", "size_mm")

    def __init__(self, front: Landmarks, back: Landmarks, gate_mm: float, size_mm: Floats) -> None:
        self.front, self.back, self.gate_mm = front, back, gate_mm
        self._places = front.places(), back.places()
        self._grids: dict[float, SortedPoints] = {}
        self._chance: float | None = None
        self.size_mm = np.fmax(size_mm, np.ptp(front.centre_mm, axis=0) if len(front) else 0.0)
        # A part whose features lie in one row is wider than the row.
        wide = np.maximum(self.size_mm, _NARROWEST * self.size_mm.max())
        self.area_mm2 = float(np.prod(wide + 20.0 * gate_mm))

    @property
    def features(self) -> int:
        """How many places the face with fewer of them shows."""
        return min(int(places.max(initial=-1)) + 1 for places in self._places)

    @property
    def front_places(self) -> NDArray[np.int64]:
        """The number of the place of each feature of the front, shape (n,)."""
        return self._places[0]

    @property
    def back_places(self) -> NDArray[np.int64]:
        """The number of the place of each feature of the back, shape (n,)."""
        return self._places[1]

    def thinned(self, most: int) -> "Comparable":
        """Return the same with no more than about so many features of the back."""
        some = np.arange(0, len(self.back), max(1, len(self.back) // most))
        if len(some) == len(self.back):
            return self
        few = copy(self)
        few.back, few._places, few._chance = self.back.take(some), (self._places[0], self._places[1][some]), None
        return few

    def pairs(self, placement: Placement, reach_mm: float) -> tuple[Rows, Rows, Floats]:
        """Return features that may be one and lie within reach: each of the back with the nearest of the front.

        Returns
        -------
        front, back : int arrays, shape (k,)
            Their rows; each of the back once, and each of the front at most once.
        distance_mm : array, shape (k,)
        """
        _, ours, theirs, off = self.pairs_at(placement.matrix, placement.offset_mm[np.newaxis], reach_mm)
        return ours, theirs, off

    def pairs_at(self, matrix: Floats, offsets_mm: Floats, reach_mm: float) -> tuple[Rows, Rows, Rows, Floats]:
        """Return what `pairs` does for several shifts of the back turned as `matrix` says, looked at together.

        Parameters
        ----------
        matrix : array, shape (2, 2)
            The way round of all placements.
        offsets_mm : array, shape (m, 2)
            Their offsets.
        reach_mm : float
            How far apart the features of a pair may be.

        Returns
        -------
        which : int array, shape (k,)
            The number of the placement of each pair.
        front, back, distance_mm : arrays, shape (k,)
            As `pairs`, in each placement each feature once; nearest first.
        """
        if reach_mm not in self._grids:
            self._grids[reach_mm] = SortedPoints(self.front.centre_mm, reach_mm)
        count = len(self.back)
        there = (self.back.centre_mm @ matrix.T + offsets_mm[:, np.newaxis]).reshape(-1, 2)
        ours, rows, off = self._grids[reach_mm].pairs(there)
        may = compatible(self.front, self.back, ours, rows % max(1, count), matrix)
        ours, rows, off = ours[may], rows[may], off[may]
        which = rows // max(1, count)
        order = np.argsort(off, kind="stable")
        for names in (rows, which * len(self.front) + ours):
            _, first = np.unique(names[order], return_index=True)
            order = order[np.sort(first)]
        which, ours, theirs, off = which[order], ours[order], rows[order] - which[order] * count, off[order]
        stays = ~self._one_sided(which, ours, theirs)
        return which[stays], ours[stays], theirs[stays], off[stays]

    def _one_sided(self, which: Rows, ours: Rows, theirs: Rows) -> NDArray[np.bool_]:
        """Return which corners and ends of slots may coincide only because the back is shifted by what tools differ.

        The ways of two tools round one corner differ by that much, towards the side that the corner opens to, and those
        along one slot by how far each runs on beyond the wood. So ends, and corners where a tool is not known, count
        only if they open to opposite sides, along X and along Y.
        """
        kind = self.front.kind[ours]
        unknown = np.isnan(self.front.tool_radius_mm[ours]) | np.isnan(self.back.tool_radius_mm[theirs])
        found = np.zeros(len(kind), np.bool_)
        for rows in (np.flatnonzero((kind == LandmarkKind.CORNER) & unknown), np.flatnonzero(kind == LandmarkKind.END)):
            if len(rows) == 0:
                continue
            direction, number = self.front.direction[ours[rows]], which[rows]
            count = np.maximum(np.bincount(number), 1)
            mean = np.hypot(np.bincount(number, direction.real), np.bincount(number, direction.imag)) / count
            found[rows] = mean[number] > _ONE_SIDE
        return found

    def at(self, placement: Placement, *, placements: float, marks: tuple[Rows, Rows] | None = None) -> Agreement:
        """Return what coincides at a placement.

        Parameters
        ----------
        placement : Placement
            Where the back lies.
        placements : float
            How many were looked at to find it.
        marks : two int arrays, optional
            The features of front and back that coincide there, where they are known.
        """
        ours, theirs = self.pairs(placement, self.gate_mm)[:2] if marks is None else marks
        coincide = self._distinct(ours, theirs)
        chance = self._by_chance(placement.matrix)
        alarms = log10_false_alarms(coincide, self.features, chance, placements)
        return Agreement(coincide, self.features, chance * self.features, alarms, ours, theirs)

    def counts(self, matrix: Floats, offsets_mm: Floats, reach_mm: float | None = None) -> Rows:
        """Return how many features coincide at each of several shifts, shape (m,); arguments as `pairs_at`."""
        which, *pairs, _ = self.pairs_at(matrix, offsets_mm, self.gate_mm if reach_mm is None else reach_mm)
        distinct = []
        for places, rows in zip(self._places, pairs, strict=True):
            width = int(places.max(initial=0)) + 1
            distinct.append(np.bincount(np.unique(which * width + places[rows]) // width, minlength=len(offsets_mm)))
        return np.minimum(*distinct)

    def count(self, placement: Placement) -> int:
        """Return how many features coincide at a placement."""
        return int(self.counts(placement.matrix, placement.offset_mm[np.newaxis])[0])

    def _distinct(self, ours: Rows, theirs: Rows) -> int:
        sides = zip(self._places, (ours, theirs), strict=True)
        return min(int(np.count_nonzero(np.bincount(places[rows]))) for places, rows in sides)

    @property
    def near_placements(self) -> float:
        """How many placements near the one that was said an agreement can tell apart."""
        return (2.0 * NEAR_MM / self.gate_mm) ** 2

    @property
    def all_placements(self) -> float:
        """How many placements an agreement can tell apart: eight ways round, and all shifts by which faces overlap."""
        return 8.0 * 4.0 * self.area_mm2 / self.gate_mm**2

    def chance_among(self, likes: float) -> float:
        """Return the probability that a feature finds one of so many of its like by chance; each covers a disc."""
        return float(-np.expm1(-likes * np.pi * self.gate_mm**2 / self.area_mm2))

    def _by_chance(self, matrix: Floats) -> float:
        """Return the probability that a feature finds its like within the gate by chance."""
        if self._chance is None:
            ours, theirs = (
                np.arange(0, len(side), max(1, len(side) // _SAMPLED)) for side in (self.front, self.back)
            )
            if len(ours) == 0 or len(theirs) == 0:
                return 0.0
            a, b = np.repeat(ours, len(theirs)), np.tile(theirs, len(ours))
            share = float(compatible(self.front, self.back, a, b, matrix).mean())
            more = max(int(places.max()) + 1 for places in self._places)
            self._chance = self.chance_among(share * more)
        return self._chance
