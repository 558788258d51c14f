"""How long something takes: the seconds of its motions and of its dwells."""

from collections.abc import Iterable
from dataclasses import dataclass

from flipreg.job.machine import Machine
from flipreg.program.time import MachineSpeed, ProgramTime

__all__ = ["Duration", "duration", "machine_speed", "together"]


@dataclass(frozen=True, slots=True)
class Duration:
    """Seconds of motions and dwells, without tool changes, dwells of canned cycles and the way to the first point.

    Attributes
    ----------
    least_s, estimate_s, most_s : float
        Never stopping where motion of one speed goes on, stopping at sharp corners, stopping after every motion.
    rapid_s : float
        Share of the traverses in the estimate.
    dwell_s : float
        Share of the G4 blocks in all three.
    unknown : int
        Motions whose time is not known, which are left out; with any of them the time is not determined.
    """

    least_s: float
    estimate_s: float
    most_s: float
    rapid_s: float
    dwell_s: float
    unknown: int


def machine_speed(machine: Machine | None) -> MachineSpeed | None:
    """Return the speeds that times are told with; None where the job does not say them."""
    if machine is None or machine.rapid_mm_per_min is None or machine.acceleration_mm_per_s2 is None:
        return None
    return MachineSpeed(machine.rapid_mm_per_min, machine.acceleration_mm_per_s2)


def duration(time: ProgramTime, dwell_s: float) -> Duration:
    """Return how long motions take together with dwells in seconds."""
    return Duration(
        time.least_s + dwell_s, time.estimate_s + dwell_s, time.most_s + dwell_s, time.rapid_s, dwell_s, time.unknown
    )


def together(durations: Iterable[Duration]) -> Duration:
    """Return how long things take one after the other."""
    parts = tuple(durations)
    return Duration(
        least_s=sum(part.least_s for part in parts),
        estimate_s=sum(part.estimate_s for part in parts),
        most_s=sum(part.most_s for part in parts),
        rapid_s=sum(part.rapid_s for part in parts),
        dwell_s=sum(part.dwell_s for part in parts),
        unknown=sum(part.unknown for part in parts),
    )
