"""How long motions take, from feeds, traverse speed and acceleration.

Each stretch that is run without stopping speeds up, keeps its speed and slows down again at one acceleration: the
trapezoidal profile of the textbooks (Lynch and Park, *Modern Robotics*, section 9.2). Where a controller slows down
at corners is its own affair, so there are two figures that hold it between them and one between the two: stopping
at the end of every motion, never stopping where cutting goes on, and stopping at corners sharper than an angle.
Dwells, tool changes and the spindle's run-up are not in the motions and not in the time.
"""

from dataclasses import dataclass
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.arc import arc_length, plane_axes
from flipreg.path import Path

__all__ = ["MachineSpeed", "ProgramTime", "motion_lengths", "motion_seconds", "program_time", "trapezoid_seconds"]

Floats = NDArray[np.float64]

_JOINED_MM = 1e-6
"""Motions whose ends are this close go on from each other; millimetres, ours."""


@dataclass(frozen=True, slots=True)
class MachineSpeed:
    """What the machine can do.

    Attributes
    ----------
    rapid_mm_per_min : float
        Speed of traverses along their way, over 0.
    acceleration_mm_per_s2 : float
        Acceleration along the way, over 0.

    Raises
    ------
    ValueError
        If one of them is not a finite number over 0.
    """

    rapid_mm_per_min: float
    acceleration_mm_per_s2: float

    def __post_init__(self) -> None:
        for name in self.__slots__:
            value: float = getattr(self, name)
            if not (isfinite(value) and value > 0.0):
                raise ValueError(f"{name} is a number over 0, got {value}")


@dataclass(frozen=True, slots=True)
class ProgramTime:
    """Time of the motions whose time is known.

    Attributes
    ----------
    least_s, estimate_s, most_s : float
        Seconds: never stopping where motion of one speed goes on, stopping at sharp corners, stopping after every
        motion.
    rapid_s : float
        Share of the traverses in the estimate.
    unknown : int
        Motions without a feed or a known way: they are not in the seconds, and with any of them the program's time is
        not determined.
    """

    least_s: float
    estimate_s: float
    most_s: float
    rapid_s: float
    unknown: int


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


def motion_lengths(path: Path) -> Floats:
    """Return the length of each motion in millimetres, shape (n,); NaN where an end is not known."""
    length: Floats = np.sqrt(((path.end - path.start) ** 2).sum(axis=1))
    arcs = np.flatnonzero(path.is_arc)
    if len(arcs):
        first, second = plane_axes(path.normal[arcs])
        from_centre = path.start[arcs] - path.centre[arcs]
        each = np.arange(len(arcs))
        radius = np.hypot(from_centre[each, first], from_centre[each, second])
        normal = path.normal[arcs].astype(np.intp)
        rise = path.end[arcs, normal] - path.start[arcs, normal]
        length[arcs] = arc_length(radius, path.sweep_deg[arcs], rise)
    return length


def motion_seconds(path: Path, machine: MachineSpeed) -> Floats:
    """Return the seconds of each motion from rest to rest, shape (n,); NaN where feed or way is not known."""
    return trapezoid_seconds(motion_lengths(path), _speeds(path, machine), machine.acceleration_mm_per_s2)


def program_time(path: Path, machine: MachineSpeed, *, stop_deg: float) -> ProgramTime:
    """Return how long a program's motions take.

    Parameters
    ----------
    path : Path
        The motions, in order.
    machine : MachineSpeed
        Traverse speed and acceleration.
    stop_deg : float
        For the estimate, the machine stops at corners that turn by more than this angle in space, 0 to 180. It also
        stops where the speed changes.
    """
    if not 0.0 <= stop_deg <= 180.0:
        raise ValueError(f"an angle to stop at is 0 to 180 degrees, got {stop_deg}")
    length, speed = motion_lengths(path), _speeds(path, machine)
    moves = ~(length <= _JOINED_MM)
    length, speed, path = length[moves], speed[moves], path.take(moves)
    known = np.isfinite(length) & np.isfinite(speed)
    acceleration = machine.acceleration_mm_per_s2
    if not bool(known.any()):
        return ProgramTime(0.0, 0.0, 0.0, 0.0, len(known))
    goes_on = known[1:] & known[:-1] & (speed[1:] == speed[:-1])
    goes_on &= path.is_cut[1:] == path.is_cut[:-1]
    goes_on &= (np.abs(path.start[1:] - path.end[:-1]) <= _JOINED_MM).all(axis=1)
    leaving, arriving = _directions(path)
    cosine = (arriving[:-1] * leaving[1:]).sum(axis=1)
    is_gentle = np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))) <= stop_deg
    most = trapezoid_seconds(length, speed, acceleration)
    estimate, is_rapid = _stretches(goes_on & is_gentle, length, speed, path, acceleration)
    least, _ = _stretches(goes_on, length, speed, path, acceleration)
    return ProgramTime(
        least_s=float(np.nansum(least)),
        estimate_s=float(np.nansum(estimate)),
        most_s=float(np.nansum(most)),
        rapid_s=float(np.nansum(estimate[is_rapid])),
        unknown=int((~known).sum()),
    )


def _stretches(
    goes_on: NDArray[np.bool_], length: Floats, speed: Floats, path: Path, acceleration: float
) -> tuple[Floats, NDArray[np.bool_]]:
    """Return the seconds of each stretch that is run without a stop, and whether it is a traverse."""
    first = np.flatnonzero(np.concatenate([[True], ~goes_on]))
    way = np.add.reduceat(length, first)
    return trapezoid_seconds(way, speed[first], acceleration), ~path.is_cut[first]


def _speeds(path: Path, machine: MachineSpeed) -> Floats:
    """Return the speed of each motion in mm/s; NaN where a feed is missing or no number over 0."""
    feed = np.where(path.feed_mm_per_min > 0.0, path.feed_mm_per_min, np.nan)
    return np.where(path.is_cut, feed, machine.rapid_mm_per_min) / 60.0


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
    return np.asarray(vectors / np.linalg.norm(vectors, axis=1, keepdims=True), dtype=np.float64)
