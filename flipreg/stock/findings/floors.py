"""Depth from the measured blank: what is left under each floor, and where front and back cuts meet.

With Z zero on the face that is up, a program cuts to a depth and leaves the rest of the blank, however thick it is.
With Z zero on the spoilboard it leaves a thickness, and takes the rest off. So a blank that is not as thick as planned
changes what is left in the first case, and how deep the cut is in the second.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from flipreg.findings import Finding, Status
from flipreg.job.layout import Layout
from flipreg.job.setup import ZZero
from flipreg.job.tool import ToolShape
from flipreg.program.setup_face import SetupFace
from flipreg.stock.findings.inside import CutExtent
from flipreg.units import length_text

__all__ = ["Floor", "Seam", "depth_findings", "floors", "seam_findings", "seams"]


_MEASURED = "measured_thickness in [blank]"


@dataclass(frozen=True, slots=True)
class Floor:
    """The lowest cut of one program with one tool, against the planned and the actual blank.

    Attributes
    ----------
    setup, program : str
        Their names.
    line : int
        Where the program is there.
    z_zero : ZZero
        Where the setup has Z zero.
    drills : bool
        Whether its tool is a drill.
    planned_left_mm, left_mm : float
        What is left under it to the opposite face, for the planned and for the actual thickness; negative: it goes
        through by that much.
    other_left_mm : float
        What would be left of the actual blank if Z zero were at the other place, and the program made for it.
    """

    setup: str
    program: str
    line: int
    z_zero: ZZero
    drills: bool
    planned_left_mm: float
    left_mm: float
    other_left_mm: float


@dataclass(frozen=True, slots=True)
class Seam:
    """Where the lowest cuts of a front and of a back meet: along the part's edge where both cut it, drills left out.

    Attributes
    ----------
    front, back : str
        Names of the setups.
    planned_overlap_mm, overlap_mm : float
        How far the cuts go past each other, for the planned and for the actual thickness; negative: a web is left.
    planned_z_mm, z_mm : float
        Height of the seam in the section's frame, half-way between both floors.
    """

    front: str
    back: str
    planned_overlap_mm: float
    overlap_mm: float
    planned_z_mm: float
    z_mm: float


def floors(face: SetupFace, found: Sequence[CutExtent], layout: Layout) -> list[Floor]:
    """Return the floors of a setup's programs, in their order; of a program that changes tools one for each stretch."""
    planned_mm, actual_mm = layout.job.blank.thickness_mm, layout.thickness_mm
    made = []
    for extent in found:
        under = extent.points_mm[:, 2] + actual_mm if face.is_front else -extent.points_mm[:, 2]
        row = int(np.argmin(under))
        left_mm = round(float(under[row]), 6) + 0.0
        # Kept is the depth with Z zero on top, the thickness with Z zero on the spoilboard.
        on_top = face.setup.z_zero is ZZero.TOP
        planned_left_mm = left_mm + (planned_mm - actual_mm if on_top else 0.0)
        other_left_mm = planned_left_mm if on_top else planned_left_mm + actual_mm - planned_mm
        made.append(
            Floor(
                face.name,
                extent.program,
                int(extent.line[row]),
                face.setup.z_zero,
                extent.tool.shape is ToolShape.DRILL,
                round(planned_left_mm, 6) + 0.0,
                left_mm,
                round(other_left_mm, 6) + 0.0,
            )
        )
    return made


def seams(
    fronts: Sequence[Floor], backs: Sequence[Floor], layout: Layout, edge_left_mm: Mapping[str, float]
) -> list[Seam]:
    """Return the seam of a front's floors and a back's floors; none where one of them only drills.

    Parameters
    ----------
    fronts, backs : sequence of Floor
        Of the two setups.
    layout : Layout
        Of the job.
    edge_left_mm : mapping
        Of setups that cut along a part's edge what their lowest cut there leaves of the actual blank. Where both do,
        the seam is that of the edge; a clearing cut in the waste may go deeper.
    """
    front = min((floor for floor in fronts if not floor.drills), key=lambda floor: floor.left_mm, default=None)
    back = min((floor for floor in backs if not floor.drills), key=lambda floor: floor.left_mm, default=None)
    if front is None or back is None:
        return []
    if front.setup in edge_left_mm and back.setup in edge_left_mm:
        front, back = (_at(floor, edge_left_mm[floor.setup]) for floor in (front, back))
    planned_mm, actual_mm = layout.job.blank.thickness_mm, layout.thickness_mm
    # What is left under the front's floor begins at the back face, at -thickness; under the back's floor, at 0.
    return [
        Seam(
            front.setup,
            back.setup,
            round(planned_mm - front.planned_left_mm - back.planned_left_mm, 6) + 0.0,
            round(actual_mm - front.left_mm - back.left_mm, 6) + 0.0,
            round((front.planned_left_mm - planned_mm - back.planned_left_mm) / 2, 6) + 0.0,
            round((front.left_mm - actual_mm - back.left_mm) / 2, 6) + 0.0,
        )
    ]


def _at(floor: Floor, left_mm: float) -> Floor:
    return replace(floor, left_mm=left_mm, planned_left_mm=floor.planned_left_mm + left_mm - floor.left_mm)


def depth_findings(made: Sequence[Floor], layout: Layout) -> Iterator[Finding]:
    """Yield a finding for each setup: what its lowest floor leaves of the blank as it is."""
    blank = layout.job.blank
    setups = dict.fromkeys(floor.setup for floor in made)
    for setup in setups:
        floor = min((floor for floor in made if floor.setup == setup), key=lambda floor: (floor.drills, floor.left_mm))
        where = "on top" if floor.z_zero is ZZero.TOP else "on the spoilboard"
        other = "on the spoilboard" if floor.z_zero is ZZero.TOP else "on top"
        planned = length_text(floor.planned_left_mm)
        says = f"setup {setup!r}, Z zero {where}: its lowest floor is planned to leave {planned}"
        if blank.measured_thickness_mm is None:
            yield Finding(
                "depth",
                Status.NOT_DETERMINED,
                f"{says}; what it leaves of the real blank would need {_MEASURED}",
                floor.program,
                floor.line,
                settle=_MEASURED,
            )
            continue
        change = floor.left_mm - floor.planned_left_mm
        off = abs(change) > layout.job.tolerance_mm
        through = floor.left_mm <= 0.0 < floor.planned_left_mm
        yield Finding(
            "depth",
            Status.WARN if off or through else Status.PASS,
            f"{says} and leaves {length_text(floor.left_mm)} ({length_text(abs(change))} "
            f"{'more' if change > 0 else 'less'})"
            + (", so it cuts through" if through else "")
            + f"; with Z zero {other} {length_text(floor.other_left_mm)}",
            floor.program,
            floor.line,
        )


def seam_findings(made: Sequence[Seam], layout: Layout) -> Iterator[Finding]:
    """Yield a finding for each seam: whether the lowest cuts of both faces meet, as planned and as it is."""
    for seam in made:
        moved = seam.z_mm - seam.planned_z_mm
        lost = seam.overlap_mm <= 0.0 < seam.planned_overlap_mm
        off = abs(seam.overlap_mm - seam.planned_overlap_mm) > layout.job.tolerance_mm
        yield Finding(
            "seam",
            Status.WARN if lost or off else Status.PASS,
            f"{seam.front} / {seam.back}: the lowest cuts {_meet(seam.overlap_mm)}, planned: "
            f"{_meet(seam.planned_overlap_mm)}; the seam is {length_text(-seam.z_mm)} below the front, "
            f"{length_text(abs(moved))} "
            f"{'higher' if moved > 0 else 'lower'} than planned",
        )


def _meet(overlap_mm: float) -> str:
    size = length_text(abs(overlap_mm))
    return f"overlap by {size}" if overlap_mm > 0.0 else f"leave {size} between them"
