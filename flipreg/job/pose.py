"""The pose of a setup: how the numbers of its programs lie in the blank frame.

It is composed of named steps, read from the program to the blank. Each is a rigid motion that a person does or
measures at the machine: the jog from the mark to program zero, the height of Z zero, the quarter turns on the table,
the flip, the place of the mark on the blank, the tilt about the hinge line.
"""

from dataclasses import dataclass
from functools import reduce

from flipreg.geometry.pose import Pose
from flipreg.job.bend import Bend
from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.job.rules import obeyed
from flipreg.job.setup import Setup, ZZero

__all__ = ["PoseStep", "blank_from_setup", "section_from_setup", "setup_steps"]


@dataclass(frozen=True, slots=True)
class PoseStep:
    """One step from the program frame towards the blank frame.

    Attributes
    ----------
    name : str
        'jog', 'Z zero', 'quarter turns', 'flip', 'mark' or 'tilt'.
    pose : Pose
        The rigid motion from the frame before it to the frame after it.
    """

    name: str
    pose: Pose


def blank_from_setup(job: Job, setup: Setup, *, thickness_mm: float | None = None) -> Pose:
    """Return the pose of a setup's program frame in the blank frame.

    Parameters
    ----------
    job : Job
        The job the setup is of.
    setup : Setup
        One of its setups.
    thickness_mm : float, optional
        Thickness of the blank; without it the measured one where there is one, else the planned one.

    Returns
    -------
    Pose
        Maps positions in the program's numbers, in millimetres, to the blank frame.

    Raises
    ------
    JobFileError
        If parts of the job contradict each other.
    """
    layout = Layout.of(obeyed(job), thickness_mm=thickness_mm)
    return reduce(lambda before, step: step.pose @ before, setup_steps(layout, setup), Pose())


def section_from_setup(layout: Layout, setup: Setup) -> Pose:
    """Return the pose of a setup's program frame in the frame of the section that lies flat.

    That frame is the blank frame for the straight section and the bend's flat frame for a bent one. Z of the
    programs and of the section then run along one line, so what is seen from above is a motion of the plane.
    """
    steps = [step for step in setup_steps(layout, setup) if step.name != "tilt"]
    return reduce(lambda before, step: step.pose @ before, steps, Pose())


def setup_steps(layout: Layout, setup: Setup) -> tuple[PoseStep, ...]:
    """Return the steps from a setup's program frame to the blank frame, in the order they are applied.

    The frames between them: after 'jog' and 'Z zero' the machine's axes with the origin on the mark, at the
    height of the face that is up; after 'quarter turns' the same, along and across the blank; after 'flip' along the
    blank's axes; after 'mark' the frame of the section that lies flat; after 'tilt' the blank frame.
    """
    bend = layout.bend_of(setup)
    zero_x_mm, zero_y_mm = setup.zero_mm
    z_mm = 0.0 if setup.z_zero is ZZero.TOP else -layout.thickness_mm
    flip = Pose() if setup.flip_axis is None else Pose.rotation(setup.flip_axis, 180.0)
    return (
        PoseStep("jog", Pose.translation(zero_x_mm, zero_y_mm)),
        PoseStep("Z zero", Pose.translation(0.0, 0.0, z_mm)),
        # The blank was turned counter-clockwise, so its own axes see the machine's turned the other way.
        PoseStep("quarter turns", Pose.rotation("z", -90.0 * setup.quarter_turns)),
        PoseStep("flip", flip),
        PoseStep("mark", Pose.translation(*_mark_mm(layout, setup, bend), layout.face_z_mm(setup.up))),
        PoseStep("tilt", layout.blank_from_section(bend)),
    )


def _mark_mm(layout: Layout, setup: Setup, bend: Bend | None) -> tuple[float, float]:
    """Return the setup's mark as the pointer sees it from above, in the frame of the section that lies flat.

    The mark may be on the other section, where its height differs: the pointer looks straight down all the same, and
    Z zero is touched off on the section that lies flat.
    """
    point_mm = layout.place(layout.job.mark(setup.mark), setup.up).point_mm
    x_mm, y_mm, _ = (~layout.blank_from_section(bend) @ Pose.translation(*point_mm)).offset_mm
    return x_mm, y_mm
