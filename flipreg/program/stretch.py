"""Stretches of motions that are run without a stop, and how long each takes."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.arc import plane_axes
from flipreg.path import Path

__all__ = ["JOINED_MM", "Rows", "Stretches", "trapezoid_seconds"]

Floats = NDArray[np.float64]

JOINED_MM = 1e-6
"""A motion goes on from the one before if it starts this close to where that one ends; millimetres (chosen)."""


def trapezoid_seconds(length_mm: Floats, speed_mm_per_s: Floats, acceleration_mm_per_s2: float) -> Floats:
    """Return the seconds from rest to rest.

    Parameters
    ----------
    length_mm : array, shape (n,)
        Ways, 0 or more.
    speed_mm_per_s : array, shape (n,)
        Speeds that are not exceeded, over 0.
    acceleration_mm_per_s2 : float
        Over 0.

    Returns
    -------
    array, shape (n,)
        L/v + v/a where the speed is reached, that is for L >= v²/a, else 2 sqrt(L/a). NaN where a number is NaN.
    """
    length, speed = np.asarray(length_mm), np.asarray(speed_mm_per_s)
    full = length / speed + speed / acceleration_mm_per_s2
    short = 2.0 * np.sqrt(length / acceleration_mm_per_s2)
    return np.where(length * acceleration_mm_per_s2 < speed * speed, short, full)


@dataclass(frozen=True, eq=False, slots=True)
class Rows:
    """What joins motions to each other, one row each; the columns are those of a Path."""

    length_mm: Floats
    speed_mm_per_s: Floats
    is_cut: NDArray[np.bool_]
    start: Floats
    end: Floats
    leaving: Floats
    arriving: Floats

    @classmethod
    def of(cls, path: Path, length_mm: Floats, speed_mm_per_s: Floats) -> "Rows":
        """Return the rows of motions, their lengths and speeds."""
        return cls(length_mm, speed_mm_per_s, path.is_cut, path.start, path.end, *_directions(path))

    def take(self, rows: slice) -> "Rows":
        """Return some of the rows."""
        return Rows(*(getattr(self, name)[rows] for name in self.__slots__))

    def followed_by(self, rows: "Rows") -> "Rows":
        """Return these rows and others after them."""
        return Rows(*(np.concatenate([getattr(self, name), getattr(rows, name)]) for name in self.__slots__))

    def goes_on(self) -> NDArray[np.bool_]:
        """Return for each row but the first whether it goes on from the one before, at its speed."""
        known = np.isfinite(self.length_mm) & np.isfinite(self.speed_mm_per_s)
        goes_on = known[1:] & known[:-1] & (self.speed_mm_per_s[1:] == self.speed_mm_per_s[:-1])
        goes_on &= self.is_cut[1:] == self.is_cut[:-1]
        # An axis that stands still, wherever it stands, does not part them.
        parted = np.abs(self.start[1:] - self.end[:-1]) > JOINED_MM
        return np.asarray(goes_on & ~parted.any(axis=1))

    def turn_deg(self) -> Floats:
        """Return for each row but the first by how much it turns from the one before."""
        cosine = (self.arriving[:-1] * self.leaving[1:]).sum(axis=1)
        return np.asarray(np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))))


class Stretches:
    """Seconds of stretches that are run without a stop; the last one is still open."""

    def __init__(self) -> None:
        self._closed_s = [0.0, 0.0]
        self._open: tuple[float, float, bool] | None = None

    def add(self, goes_on: NDArray[np.bool_], rows: Rows, acceleration: float) -> None:
        """Add motions; `goes_on` says of each whether it goes on from the one before."""
        way, speed, is_cut = rows.length_mm, rows.speed_mm_per_s, rows.is_cut
        first = np.flatnonzero(~goes_on)
        if self._open is not None:
            # The open stretch comes before them as one more motion.
            way = np.concatenate([[self._open[0]], way])
            speed = np.concatenate([[self._open[1]], speed])
            is_cut = np.concatenate([[self._open[2]], is_cut])
            first = np.concatenate([[0], first + 1])
        way, speed, is_cut = np.add.reduceat(way, first), speed[first], is_cut[first]
        self._open = (float(way[-1]), float(speed[-1]), bool(is_cut[-1]))
        seconds = trapezoid_seconds(way[:-1], speed[:-1], acceleration)
        self._closed_s[0] += float(np.nansum(seconds[is_cut[:-1]]))
        self._closed_s[1] += float(np.nansum(seconds[~is_cut[:-1]]))

    def seconds(self, acceleration: float) -> tuple[float, float]:
        """Return the seconds of cutting and of traverses, the open stretch included as if it ended here."""
        cut_s, rapid_s = self._closed_s
        if self._open is None:
            return cut_s, rapid_s
        way, speed, is_cut = self._open
        last = float(np.nansum(trapezoid_seconds(np.array([way]), np.array([speed]), acceleration)))
        return (cut_s + last, rapid_s) if is_cut else (cut_s, rapid_s + last)


def _directions(path: Path) -> tuple[Floats, Floats]:
    """Return the unit directions in which motions leave their starts and arrive at their ends, shape (n, 3)."""
    leaving = path.end - path.start
    arriving = leaving.copy()
    arcs = np.flatnonzero(path.is_arc)
    if len(arcs):
        first, second = plane_axes(path.normal[arcs])
        normal = path.normal[arcs].astype(np.intp)
        turn = np.radians(path.sweep_deg[arcs])
        rise = path.end[arcs, normal] - path.start[arcs, normal]
        for direction, ends in ((leaving, path.start), (arriving, path.end)):
            from_centre = ends[arcs] - path.centre[arcs]
            each = np.arange(len(arcs))
            tangent = np.zeros_like(from_centre)
            tangent[each, first] = -from_centre[each, second] * turn
            tangent[each, second] = from_centre[each, first] * turn
            tangent[each, normal] = rise
            direction[arcs] = tangent
    return _unit(leaving), _unit(arriving)


def _unit(vectors: Floats) -> Floats:
    # An axis that is not known stands still in every motion that has a length.
    known = np.where(np.isnan(vectors), 0.0, vectors)
    size = np.linalg.norm(known, axis=1, keepdims=True)
    return np.asarray(known / np.where(size > 0.0, size, 1.0), dtype=np.float64)
