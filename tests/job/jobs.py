"""Jobs for the tests: a plain one and bent ones."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from flipreg.job.blank import Blank, BlankFace, Edge
from flipreg.job.job import Job
from flipreg.job.mark import Carried, Mark, Square
from flipreg.job.setup import Section, Setup, SetupProgram, Tilt, ZZero
from flipreg.job.tool import Tool, ToolShape

__all__ = ["BACK", "FRONT", "bent_job", "job", "setup"]

FRONT, BACK = BlankFace.FRONT, BlankFace.BACK


def setup(
    name: str,
    *,
    flip_axis: Literal["x", "y"] | None = None,
    mark: str = "A",
    zero_mm: tuple[float, float] = (0.0, 0.0),
    z_zero: ZZero = ZZero.TOP,
    quarter_turns: int = 0,
    tilt: Tilt | None = None,
) -> Setup:
    """Return a setup with the front up, or with the back up if it is flipped."""
    up = FRONT if flip_axis is None else BACK
    programs = (SetupProgram(f"{name}.nc", "6 flat"),)
    return Setup(name, up, flip_axis, mark, zero_mm, z_zero, programs, quarter_turns, tilt)


def job(setups: Sequence[Setup], marks: Sequence[Mark] = (), *, thickness_mm: float = 30.0) -> Job:
    """Return a job on a board of 400 × 100 mm with a mark A on both faces, 50 mm from the near end."""
    return Job(
        source="job.toml",
        name="part",
        tolerance_mm=0.1,
        inch=False,
        blank=Blank(400.0, 100.0, thickness_mm, Edge.LEFT, 45.0),
        marks=(Mark("A", (FRONT, BACK), 50.0), *marks),
        tools=(Tool("6 flat", ToolShape.FLAT, 6.0),),
        setups=tuple(setups),
    )


def bent_job(
    hinge_face: BlankFace, section: Section, angle_deg: float, *, thickness_mm: float = 30.0, more: Sequence[Setup] = ()
) -> Job:
    """Return a job whose board bends at mark H, and whose marks S, B and R are carried from it to the other face."""
    along_mm = 250.0 if section is Section.FAR else 150.0
    first_mm = 50.0 if section is Section.FAR else 350.0
    other = (hinge_face.other,)
    tilt = Tilt("H", angle_deg, section)
    mark = "H" if hinge_face is FRONT else "B"
    made = job(
        [setup("tilted", mark=mark, tilt=tilt), *more],
        [
            Mark("H", (hinge_face,), along_mm),
            Mark("S", other, None, carried=Carried("H", Square.STRAIGHT)),
            Mark("B", other, None, carried=Carried("H", Square.BENT)),
            Mark("R", other, None, carried=Carried("H", Square.RIDGE)),
            Mark("near", (FRONT,), 20.0),
            Mark("far", (FRONT,), 390.0),
            Mark("far back", (BACK,), 345.0, across_mm=12.0),
            Mark("near back", (BACK,), 15.0),
        ],
        thickness_mm=thickness_mm,
    )
    return replace(made, marks=(Mark("A", (FRONT, BACK), first_mm), *made.marks[1:]))
