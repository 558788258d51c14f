"""One setup with programs given as text, for the checks of motion that need no height maps."""

from collections.abc import Sequence
from dataclasses import replace

from flipreg import parse
from flipreg.job.clamp import Clamp
from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.job.limits import Limits
from flipreg.job.machine import Machine, Range
from flipreg.job.setup import SetupProgram, ZZero
from flipreg.program.face import FaceProgram
from flipreg.program.face_program import face_program
from flipreg.program.setup_face import SetupFace, setup_face
from tests.stock.wood_jobs import part

__all__ = ["THICK_MM", "machine", "one_setup"]

THICK_MM = 20.0
"""Of the blank; with Z zero on the spoilboard, a program's Z is this much more."""


def machine(x: Range | None = None, y: Range | None = None, z: Range | None = None) -> Machine:
    """Return a machine with travel."""
    return Machine(6000.0, 250.0, travel_mm=(x, y, z))


def one_setup(
    *texts: str,
    clamps: Sequence[Clamp] = (),
    machine: Machine | None = None,
    machine_zero_mm: tuple[float, float, float] | None = None,
    z_zero: ZZero = ZZero.TOP,
    limits: Limits | None = None,
    tool: str = "6 flat",
) -> tuple[list[SetupFace], Layout]:
    """Return the setup 'front' of programs 'front 0.nc', 'front 1.nc' ... and the layout of its job."""
    programs = {f"front {place}.nc": (tool, text) for place, text in enumerate(texts)}
    job: Job = part(programs, limits=limits)
    setup = replace(job.setups[0], clamps=tuple(clamps), machine_zero_mm=machine_zero_mm, z_zero=z_zero)
    layout = Layout.of(replace(job, setups=(setup,), machine=machine))

    def read(named: SetupProgram) -> FaceProgram:
        return face_program(parse(programs[named.file][1], source=named.file))

    return [setup_face(layout, setup, read)], layout
