"""A setup with its programs read: what is cut, in a frame that the other setups of the job can be compared in."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.isometry import Isometry
from flipreg.geometry.pose import Pose
from flipreg.job.bend import Bend
from flipreg.job.blank import BlankFace
from flipreg.job.layout import Layout
from flipreg.job.pose import section_from_setup
from flipreg.job.setup import Setup, SetupProgram, ZZero
from flipreg.job.tool import Tool
from flipreg.program.face import FaceProgram
from flipreg.program.job_tools import with_tools

__all__ = ["Reader", "SetupFace", "seen_from_above", "setup_face"]

Floats = NDArray[np.float64]

Reader = Callable[[SetupProgram], FaceProgram]
"""Reads a setup's program; the job says which tools it runs with."""


@dataclass(frozen=True, slots=True, eq=False)
class SetupFace:
    """One setup's programs and where they lie on the blank.

    Attributes
    ----------
    setup : Setup
        The setup.
    programs : tuple of FaceProgram
        In the program's numbers, but with Z zero on the face that is up, wherever the setup has it.
    tools : tuple of tuple of Tool
        Of each program, the tool of each of its runs.
    bend : Bend or None
        The bend whose section lies flat; None for the straight section.
    section_from_program : Pose
        From those numbers to the frame of the section that lies flat.
    blank_from_program : Pose
        From those numbers to the blank frame.
    top_mm : float
        How high the face that is up is above the setup's Z zero.
    """

    setup: Setup
    programs: tuple[FaceProgram, ...]
    tools: tuple[tuple[Tool, ...], ...]
    bend: Bend | None
    section_from_program: Pose
    blank_from_program: Pose
    top_mm: float = 0.0

    @property
    def name(self) -> str:
        """How the person calls the setup."""
        return self.setup.name

    @property
    def is_front(self) -> bool:
        """Whether the front face is up."""
        return self.setup.up is BlankFace.FRONT

    def runs(self) -> Iterator[tuple[SetupProgram, FaceProgram, Tool]]:
        """Yield the programs in their order, each cut up where its tool changes, with the tool of each part."""
        for named, program, tools in zip(self.setup.programs, self.programs, self.tools, strict=True):
            for part, tool in zip(program.by_tool(), tools, strict=True):
                yield named, part, tool

    @property
    def seen_from_above(self) -> Isometry:
        """From the program's numbers to the section's X and Y; with the back up it mirrors."""
        return _from_above(self.section_from_program)

    def in_section(self, places_mm: Sequence[tuple[float, float]]) -> Floats:
        """Return places in the program's numbers as X and Y of the section, shape (n, 2)."""
        return self.seen_from_above.apply(np.array(places_mm, dtype=np.float64))

    def with_jog(self, zero_mm: tuple[float, float]) -> "SetupFace":
        """Return the same programs with another jog, as if the job file said it."""
        old_x_mm, old_y_mm = self.setup.zero_mm
        moved = Pose.translation(zero_mm[0] - old_x_mm, zero_mm[1] - old_y_mm)
        return replace(
            self,
            section_from_program=self.section_from_program @ moved,
            blank_from_program=self.blank_from_program @ moved,
        )


def seen_from_above(layout: Layout, setup: Setup) -> Isometry:
    """Return the motion of the plane from the numbers of a setup's programs to the section that lies flat in it."""
    return _from_above(section_from_setup(layout, setup))


def _from_above(pose: Pose) -> Isometry:
    (xx, xy, _), (yx, yy, _), _ = pose.rows
    dx_mm, dy_mm = (Decimal(repr(round(value, 9))) for value in pose.offset_mm[:2])
    return Isometry(xx, xy, yx, yy, dx_mm, dy_mm)


def setup_face(layout: Layout, setup: Setup, read: Reader) -> SetupFace:
    """Return a setup with its programs read.

    Parameters
    ----------
    layout : Layout
        Of the setup's job, for the thickness that counts.
    setup : Setup
        One of its setups.
    read : callable
        Reads one program.

    Raises
    ------
    ProgramError, RefusedError
        If a program is not legal, cannot be interpreted, or has T numbers that the job does not know.
    JobFileError
        If the job does not say with which tool a program runs.
    """
    bend = layout.bend_of(setup)
    top_mm = 0.0 if setup.z_zero is ZZero.TOP else layout.thickness_mm
    lowered = Isometry.translation(Decimal(0), Decimal(0), Decimal(repr(-top_mm)))
    programs, tools = [], []
    for place, named in enumerate(setup.programs):
        where = ("setups", layout.job.setups.index(setup), "programs", place)
        program, mine = with_tools(read(named), named, layout.job, path=where)
        tools.append(mine)
        path = program.path.transformed(lowered) if top_mm else program.path
        programs.append(replace(program, path=path))
    section = section_from_setup(layout, setup) @ Pose.translation(0.0, 0.0, top_mm)
    return SetupFace(
        setup, tuple(programs), tuple(tools), bend, section, layout.blank_from_section(bend) @ section, top_mm
    )
