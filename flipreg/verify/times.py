"""How long each program and each setup of a job takes, for planning a day."""

from collections.abc import Sequence
from dataclasses import dataclass

from flipreg.cut.time import MachineSpeed, ProgramTime, program_time
from flipreg.job.machine import Machine
from flipreg.verify.setup_face import SetupFace

__all__ = ["ProgramSeconds", "SetupTime", "machine_speed", "setup_times"]


@dataclass(frozen=True, slots=True)
class ProgramSeconds:
    """One program's time.

    Attributes
    ----------
    program : str
        Its name.
    time : ProgramTime or None
        Of its motions; None where the job says nothing about the machine's speed.
    dwell_s : float
        Seconds of its G4 blocks, which are not in `time`.
    """

    program: str
    time: ProgramTime | None
    dwell_s: float


@dataclass(frozen=True, slots=True)
class SetupTime:
    """One setup's time.

    Attributes
    ----------
    setup : str
        Its name.
    programs : tuple of ProgramSeconds
        In the order they run.
    """

    setup: str
    programs: tuple[ProgramSeconds, ...]


def machine_speed(machine: Machine | None) -> MachineSpeed | None:
    """Return the speeds that times are told with; None where the job does not say them."""
    if machine is None or machine.rapid_mm_per_min is None or machine.acceleration_mm_per_s2 is None:
        return None
    return MachineSpeed(machine.rapid_mm_per_min, machine.acceleration_mm_per_s2)


def setup_times(faces: Sequence[SetupFace], machine: Machine | None) -> tuple[SetupTime, ...]:
    """Return the time of every setup's programs, in the order of the job."""
    speed, stop_deg = machine_speed(machine), 0.0 if machine is None else machine.stop_deg
    return tuple(
        SetupTime(
            face.name,
            tuple(
                ProgramSeconds(
                    program.name,
                    None if speed is None else program_time(program.path, speed, stop_deg=stop_deg),
                    program.dwell_s,
                )
                for program in face.programs
            ),
        )
        for face in faces
    )
