"""Whether every program starts and ends over program zero, as high as the job says."""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.job.layout import Layout
from flipreg.program.known_positions import KnownPositions
from flipreg.program.setup_face import SetupFace
from flipreg.units import limit_text, shown_now

__all__ = ["over_zero_findings"]

Floats = NDArray[np.float64]

_OVER_MM = 0.005
"""As near to zero as this is over it, and as little below the height is at it; millimetres (chosen)."""


def over_zero_findings(faces: Sequence[SetupFace], layout: Layout) -> Iterator[Finding]:
    """Yield findings of the code 'zero', if the job wants it: one for each program at fault, or one for the setup.

    A program starts where it first knows its X and Y: the first X and the first Y that it names have to be 0, and Z has
    to be known by then, high enough, and not to have been lower since it was named. It ends where its last motion
    ends. How the machine comes to the start, it does not say.
    """
    height_mm = layout.job.limits.over_zero_at_mm
    if height_mm is None:
        return
    for face in faces:
        found = []
        moving = [program for program in face.programs if len(program.path)]
        for program in moving:
            one = KnownPositions.of(face, program, layout.thickness_mm)
            found += [*_start(face, one, height_mm), *_end(face, one, height_mm)]
        yield from found
        if moving and not found:
            yield Finding(
                "zero",
                Status.PASS,
                f"every program starts and ends over program zero at Z {limit_text(height_mm)} or higher",
                setups=(face.name,),
            )


def _start(face: SetupFace, one: KnownPositions, height_mm: float) -> Iterator[Finding]:
    end = one.path.end
    is_home = one.path.work_offset == one.path.work_offset[0]
    both = np.flatnonzero(np.isfinite(end[:, :2]).all(axis=1) & is_home)
    if not both.size:
        yield _finding(
            face, one, 0, Status.NOT_DETERMINED, "starts where it does not say: X and Y are never both known"
        )
        return
    row = int(both[0])
    # An X or a Y that is named before the other one has to be that of zero as well.
    off = np.flatnonzero((np.abs(end[: row + 1, :2]) > _OVER_MM).any(axis=1))
    if off.size:
        row = int(off[0])
        yield _finding(
            face, one, row, Status.FAIL, f"does not start over program zero: it first goes to {_at(end[row])}"
        )
        return
    heights = end[: row + 1, 2]
    low = np.flatnonzero(heights < height_mm - _OVER_MM)
    if low.size:
        row = int(low[0])
        says = f"starts too low: {_at(end[row])}, not {limit_text(height_mm)} or higher"
        yield _finding(face, one, row, Status.FAIL, says)
    elif np.isnan(heights[-1]):
        says = (
            f"starts over program zero, and does not say how high it is there; {limit_text(height_mm)} or higher is "
            "wanted"
        )
        yield _finding(face, one, row, Status.NOT_DETERMINED, says)


def _end(face: SetupFace, one: KnownPositions, height_mm: float) -> Iterator[Finding]:
    row = len(one.path) - 1
    last = one.path.end[row]
    if one.path.work_offset[row] != one.path.work_offset[0]:
        says = "ends in another work offset than it starts in, and where the zero of that is it does not say"
        yield _finding(face, one, row, Status.NOT_DETERMINED, says)
    elif (np.abs(last[:2]) > _OVER_MM).any():
        yield _finding(face, one, row, Status.FAIL, f"does not end over program zero: it ends at {_at(last)}")
    elif last[2] < height_mm - _OVER_MM:
        says = f"ends too low: at {_at(last)}, not {limit_text(height_mm)} or higher"
        yield _finding(face, one, row, Status.FAIL, says)
    elif np.isnan(last).any():
        yield _finding(face, one, row, Status.NOT_DETERMINED, f"ends where it does not say: at {_at(last)}")


def _finding(face: SetupFace, one: KnownPositions, row: int, status: Status, says: str) -> Finding:
    return Finding("zero", status, says, one.program.name, int(one.path.line[row]), setups=(face.name,))


def _at(point: Floats) -> str:
    bare, named = shown_now().bare, zip("XYZ", point.tolist(), strict=True)
    return " ".join(f"{axis} {'not known' if np.isnan(value) else bare(value)}" for axis, value in named)
