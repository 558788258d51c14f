"""The floor of a pocket for a part that was measured, as the job plans it."""

from dataclasses import dataclass
from decimal import Decimal

from flipreg.arguments import checks_fields
from flipreg.errors import UsageError
from flipreg.job.job import Job
from flipreg.job.rules import obeyed
from flipreg.job.setup import ZZero
from flipreg.produce.depth import move_floor
from flipreg.produce.produced import Produced
from flipreg.rewrite.floor.floors import FloorChange, named_floor
from flipreg.rs274.interpret.whole import read_whole
from flipreg.rs274.read.location import RefusedError
from flipreg.rs274.read.program import Readable
from flipreg.units import Shown, plain

__all__ = ["FittedFloor", "MeasuredPart", "depth_for_part", "fitted_floor"]

_EXACT = Decimal("1e-6")
"""Lengths of a job are as exact as this, in millimetres: no more decimals than a program can have, in inches too."""

_OTHER_PART = Decimal("1.5")
"""A measured thickness this many times larger or smaller than the planned one is of another part, or in another unit
(chosen)."""


@checks_fields
@dataclass(frozen=True, slots=True)
class MeasuredPart:
    """What a caliper says of a part that lies in a pocket.

    Attributes
    ----------
    name : str
        The fitted part of the job.
    setup : str
        The setup that lies on the table: the one that cuts the part's pocket.
    thickness_mm : Decimal
    """

    name: str
    setup: str
    thickness_mm: Decimal


@dataclass(frozen=True, slots=True)
class FittedFloor:
    """Where the floor of a pocket is and where it shall be, in the numbers of its program, in millimetres.

    Attributes
    ----------
    level_mm : Decimal
        Where the plan has it.
    floor_mm : Decimal
        Where it shall be for the part as measured.
    top_mm : Decimal
        The face that is up.
    """

    level_mm: Decimal
    floor_mm: Decimal
    top_mm: Decimal


def fitted_floor(job: Job, part: MeasuredPart) -> FittedFloor:
    """Return the floor of the pocket that a measured part lies in.

    The floor is as far below the face that is up as the part is thick, less how far it has to stand proud. With Z
    zero on the spoilboard the face is as high as the blank is thick: as planned for the floor as planned, as measured,
    if it was, for the new one.

    Parameters
    ----------
    job : Job
        The job; it plans the part.
    part : MeasuredPart
        The part as measured.

    Raises
    ------
    JobFileError
        If parts of the job contradict each other.
    UnknownNameError
        If the job has no such part or setup.
    UsageError
        If the pocket is cut in another setup, or the measured part can't be the planned one or needs no pocket.
    """
    obeyed(job)
    fitted, setup, measured_mm = job.fitted_part(part.name), job.setup(part.setup), part.thickness_mm
    if setup.name != fitted.setup:
        raise UsageError(f"the pocket of {part.name!r} is cut in setup {fitted.setup!r}, not in {setup.name!r}")
    planned, proud = _exact(fitted.thickness_mm), _exact(fitted.proud_mm)

    def shown(length_mm: Decimal) -> str:
        return Shown(job.inch).plain(float(length_mm))

    if not planned / _OTHER_PART < measured_mm < planned * _OTHER_PART:
        message = f"{part.name!r} can't be the part that is planned {shown(planned)} thick"
        raise UsageError(f"{message}: it measures {shown(measured_mm)}; another part, or another unit?")
    board = _exact(job.blank.actual_thickness_mm)
    deep = measured_mm - proud
    if deep <= 0:
        message = f"{part.name!r} measures {shown(measured_mm)} and has to stand {shown(proud)} proud"
        raise UsageError(f"{message}: that needs no pocket")
    if deep >= board:
        message = f"the pocket of {part.name!r} would be {shown(deep)} deep, and the blank is {shown(board)} thick"
        raise UsageError(message)
    on_top = setup.z_zero is ZZero.TOP
    planned_top, top = (Decimal(0), Decimal(0)) if on_top else (_exact(job.blank.thickness_mm), board)
    return FittedFloor(planned_top - planned + proud, top - deep, top)


def depth_for_part(
    program: Readable,
    job: Job,
    part: MeasuredPart,
    *,
    level_mm: Decimal | None = None,
    step_down_mm: Decimal | None = None,
) -> Produced:
    """Move the floor of a pocket to where the part that lies in it needs it, now that it is measured; see `depth`.

    Parameters
    ----------
    program : Program or ProgramFile
        The program that cuts the pocket; all of it is held in memory.
    job, part
        As in `fitted_floor`.
    level_mm : Decimal, optional
        Where the floor is now, if that is not where the job plans it.
    step_down_mm : Decimal, optional
        As in `depth`.

    Returns
    -------
    Produced
        Its notes give the levels, and what was measured and planned.

    Raises
    ------
    ProgramError, ProofError
        As `depth`.
    RefusedError
        As `depth`, and if the program has no floor where the job plans it.
    UnknownNameError, UsageError
        As `fitted_floor`.
    """
    floor = fitted_floor(job, part)
    source = read_whole(program)
    level = floor.level_mm if level_mm is None else level_mm
    try:
        named_floor(source, level, floor.top_mm)
    except RefusedError as error:
        if level_mm is not None:
            raise
        message = f"the job plans the floor of {part.name!r} at Z{plain(level)}: {error.message}; is this its program?"
        raise RefusedError(message, error.location, error.excerpt) from None
    fitted = job.fitted_part(part.name)
    shown = Shown(job.inch).plain
    planned, proud = shown(fitted.thickness_mm), "flush with the face"
    if fitted.proud_mm:
        proud = f"{shown(abs(fitted.proud_mm))} {'proud of' if fitted.proud_mm > 0 else 'below'} the face"
    said = f"for {part.name!r}: measured {shown(float(part.thickness_mm))}, planned {planned}, {proud}"
    return move_floor(source, FloorChange(floor.floor_mm, level, step_down_mm, floor.top_mm), (said,))


def _exact(length_mm: float) -> Decimal:
    """Return a length of the job as the decimal that was written."""
    return Decimal(repr(length_mm)).quantize(_EXACT).normalize()
