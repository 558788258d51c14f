"""How long motions take, from feeds, traverse speed and acceleration.

Each stretch that is run without stopping speeds up, keeps its speed and slows down again at one acceleration: the
trapezoidal profile of the textbooks (Lynch and Park, *Modern Robotics*, section 9.2). Where a controller slows down
at corners is its own affair, so there are two figures that hold it between them and one between the two: stopping
at the end of every motion, never stopping where cutting goes on, and stopping at corners sharper than an angle.
Dwells, tool changes and the spindle's run-up are not in the motions and not in the time, and neither is the way to
the first point that a program names: nobody knows where the machine stood before.
"""

from dataclasses import dataclass
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.arc import arc_length, plane_axes
from flipreg.path import Path
from flipreg.program.stretch import JOINED_MM, Rows, Stretches, trapezoid_seconds

__all__ = [
    "Clock",
    "MachineSpeed",
    "ProgramTime",
    "motion_lengths",
    "program_time",
    "trapezoid_seconds",
]

Floats = NDArray[np.float64]


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
        Motions without a feed or a known way, after the first known point: they are not in the seconds, and with any
        of them the program's time is not determined.
    approach : int
        Motions to the first known point, which are not in the seconds either.
    """

    least_s: float
    estimate_s: float
    most_s: float
    rapid_s: float
    unknown: int
    approach: int = 0


def motion_lengths(path: Path, stands_still: NDArray[np.bool_] | None = None) -> Floats:
    """Return the length of each motion in millimetres, shape (n,); NaN where an end is not known.

    Parameters
    ----------
    path : Path
        The motions.
    stands_still : bool array, shape (n, 3), optional
        The axes that stand still in a motion, wherever that is.
    """
    way = path.end - path.start
    if stands_still is not None:
        way[stands_still] = 0.0
    length: Floats = np.sqrt(np.einsum("ij,ij->i", way, way))
    arcs = np.flatnonzero(path.is_arc)
    if len(arcs):
        first, second = plane_axes(path.normal[arcs])
        from_centre = path.start[arcs] - path.centre[arcs]
        each = np.arange(len(arcs))
        radius = np.hypot(from_centre[each, first], from_centre[each, second])
        length[arcs] = arc_length(radius, path.sweep_deg[arcs], way[arcs, path.normal[arcs].astype(np.intp)])
    return length


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
    clock = Clock(machine, stop_deg=stop_deg)
    clock.add(path)
    return clock.time()


class Clock:
    """Times a program whose motions come in parts, however it is cut up: a stretch goes on from one part to the next.

    Parameters
    ----------
    machine : MachineSpeed
        Traverse speed and acceleration.
    stop_deg : float
        As in `program_time`.

    Raises
    ------
    ValueError
        If the angle is not 0 to 180 degrees.
    """

    def __init__(self, machine: MachineSpeed, *, stop_deg: float) -> None:
        if not 0.0 <= stop_deg <= 180.0:
            raise ValueError(f"an angle to stop at is 0 to 180 degrees, got {stop_deg}")
        self._machine, self._stop_deg = machine, stop_deg
        self._last: Rows | None = None
        self._known_axes = np.zeros(3, np.bool_)
        # Way of the stretch that is still open and seconds of those that are closed, cut and traverse.
        self._least, self._estimate = Stretches(), Stretches()
        self._most_s = 0.0
        self._unknown = self._approach = 0

    def add(self, path: Path) -> None:
        """Time the next motions."""
        length = motion_lengths(path)
        is_approach = self._settle(path, length)
        moves = ~(length <= JOINED_MM)
        path, length, is_approach = path.take(moves), length[moves], is_approach[moves]
        if not len(path):
            return
        rows = Rows.of(path, length, _speeds(path, self._machine))
        known = np.isfinite(rows.length_mm) & np.isfinite(rows.speed_mm_per_s)
        # A cut without a feed has no time however it begins.
        is_approach &= np.isfinite(rows.speed_mm_per_s)
        self._approach += int(np.count_nonzero(is_approach))
        self._unknown += int(np.count_nonzero(~known & ~is_approach))
        acceleration = self._machine.acceleration_mm_per_s2
        self._most_s += float(np.nansum(trapezoid_seconds(rows.length_mm, rows.speed_mm_per_s, acceleration)))
        before = rows.take(slice(0, 1)) if self._last is None else self._last
        joined = before.followed_by(rows)
        goes_on = joined.goes_on()
        if self._last is None:
            goes_on[0] = False
        self._last = rows.take(slice(-1, None))
        self._least.add(goes_on, rows, acceleration)
        self._estimate.add(goes_on & (joined.turn_deg() <= self._stop_deg), rows, acceleration)

    def time(self) -> ProgramTime:
        """Return the time of all motions so far."""
        acceleration = self._machine.acceleration_mm_per_s2
        least = self._least.seconds(acceleration)
        estimate = self._estimate.seconds(acceleration)
        return ProgramTime(
            least_s=least[0] + least[1],
            estimate_s=estimate[0] + estimate[1],
            most_s=self._most_s,
            rapid_s=estimate[1],
            unknown=self._unknown,
            approach=self._approach,
        )

    def _settle(self, path: Path, length: Floats) -> NDArray[np.bool_]:
        """Return which motions start where the machine was never known to be; mend `length` where they stand still.

        An axis that was never named stands still, wherever it stands; one that was lost may be anywhere.
        """
        is_approach = np.zeros(len(path), np.bool_)
        if bool(self._known_axes.all()) or not len(path):
            return is_approach
        named = np.logical_or.accumulate(~np.isnan(path.end), axis=0) | self._known_axes
        before = np.concatenate([self._known_axes[None], named[:-1]]) | ~np.isnan(path.start)
        self._known_axes = named[-1]
        still = np.isnan(path.start) & np.isnan(path.end) & ~before
        is_approach = np.asarray((~before & ~still).any(axis=1))
        rows = np.flatnonzero(still.any(axis=1) & ~is_approach)
        if rows.size:
            length[rows] = motion_lengths(path.take(rows), still[rows])
        # Where nothing at all was named yet, a machine position may have moved it all the same.
        nothing = ~before.any(axis=1) & still.all(axis=1)
        length[nothing] = np.nan
        return np.asarray(is_approach | nothing)


def _speeds(path: Path, machine: MachineSpeed) -> Floats:
    """Return the speed of each motion in mm/s; NaN where a feed is missing or no number over 0."""
    feed = np.where(path.feed_mm_per_min > 0.0, path.feed_mm_per_min, np.nan)
    return np.where(path.is_cut, feed, machine.rapid_mm_per_min) / 60.0
