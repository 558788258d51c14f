"""How long each program and each setup of a job takes, for planning a day."""

from collections.abc import Sequence
from dataclasses import dataclass

from flipreg.job.machine import Machine
from flipreg.program.duration import Duration, duration, machine_speed, together
from flipreg.program.setup_face import SetupFace
from flipreg.program.time import program_time

__all__ = ["SetupTime", "TimedProgram", "setup_times"]


@dataclass(frozen=True, slots=True)
class TimedProgram:
    """One program's time.

    Attributes
    ----------
    program : str
        Its name.
    duration : Duration
        How long it takes.
    """

    program: str
    duration: Duration


@dataclass(frozen=True, slots=True)
class SetupTime:
    """One setup's time.

    Attributes
    ----------
    setup : str
        Its name.
    programs : tuple of TimedProgram
        In the order they run.
    """

    setup: str
    programs: tuple[TimedProgram, ...]

    @property
    def duration(self) -> Duration:
        """How long its programs take together."""
        return together(program.duration for program in self.programs)


def setup_times(faces: Sequence[SetupFace], machine: Machine | None) -> tuple[SetupTime, ...]:
    """Return the time of every setup, in the order of the job; nothing where the machine's speed is not said."""
    speed = machine_speed(machine)
    if machine is None or speed is None:
        return ()
    return tuple(
        SetupTime(
            face.name,
            tuple(
                TimedProgram(
                    program.name,
                    duration(program_time(program.path, speed, stop_deg=machine.stop_deg), program.dwell_s),
                )
                for program in face.programs
            ),
        )
        for face in faces
    )
