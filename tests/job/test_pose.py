"""Poses of setups: against pytransform3d, against what they must do to marks and faces, and round all setups."""

from functools import reduce
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from pytransform3d.rotations import matrix_from_axis_angle
from pytransform3d.transform_manager import TransformManager
from pytransform3d.transformations import transform_from
from scipy.spatial.transform import Rotation

from flipreg.geometry.pose import Pose
from flipreg.job.blank import BlankFace
from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.job.pose import blank_from_setup, section_from_setup, setup_steps
from flipreg.job.setup import Section, Tilt, ZZero
from tests.job.jobs import BACK, FRONT, bent_job, setup

Floats = NDArray[np.float64]


@st.composite
def bent_jobs(draw: st.DrawFn) -> Job:
    """Draw a bent job with four setups: straight and tilted, front and back."""
    hinge_face = draw(st.sampled_from(BlankFace))
    section = draw(st.sampled_from(Section))
    angle_deg = draw(st.floats(-40, 40).filter(lambda angle: abs(angle) > 0.1))
    tilt = Tilt("H", angle_deg, section)
    made = []
    for name, is_back, tilted in (("1", False, None), ("2", True, None), ("3", False, tilt), ("4", True, tilt)):
        up = BACK if is_back else FRONT
        marks = ["A"] + (["H"] if up is hinge_face else ["S", "B", "R"])
        made.append(
            setup(
                name,
                flip_axis=draw(st.sampled_from(["x", "y"])) if is_back else None,
                mark=draw(st.sampled_from(marks)),
                zero_mm=(draw(st.floats(-300, 300)), draw(st.floats(-300, 300))),
                z_zero=draw(st.sampled_from(ZZero)),
                quarter_turns=draw(st.integers(0, 3)),
                tilt=tilted,
            )
        )
    return bent_job(hinge_face, section, angle_deg, thickness_mm=draw(st.floats(5, 60)), more=made)


@given(bent_jobs())
def test_a_pose_is_what_pytransform3d_makes_of_the_same_steps(job: Job) -> None:
    layout = Layout.of(job)
    for one in job.setups:
        manager = TransformManager()
        bend = layout.bend_of(one)
        turn = 0.0 if bend is None else np.radians(bend.turn_deg)
        z_hinge = 0.0 if bend is None or bend.hinge_face is FRONT else -layout.thickness_mm
        hinge = np.array([0.0, 0.0 if bend is None else bend.hinge_y_mm, z_hinge])
        tilt = matrix_from_axis_angle([1, 0, 0, turn])
        mark = np.array(layout.place(job.mark(one.mark), one.up).point_mm)
        mark_flat = tilt.T @ (mark - hinge) + hinge
        mark_flat[2] = 0.0 if one.up is FRONT else -layout.thickness_mm
        over = {None: [0, 0, 1, 0.0], "x": [1, 0, 0, np.pi], "y": [0, 1, 0, np.pi]}[one.flip_axis]
        zero = [*one.zero_mm, 0.0 if one.z_zero is ZZero.TOP else -layout.thickness_mm]
        manager.add_transform("program", "mark", transform_from(np.eye(3), zero))
        turned = matrix_from_axis_angle([0, 0, 1, -np.pi / 2 * one.quarter_turns])
        manager.add_transform("mark", "face", transform_from(turned, np.zeros(3)))
        manager.add_transform("face", "section", transform_from(matrix_from_axis_angle(over), mark_flat))
        manager.add_transform("section", "blank", transform_from(tilt, hinge - tilt @ hinge))
        expected = manager.get_transform("program", "blank")
        pose = blank_from_setup(job, one)
        assert np.abs(pose.matrix - expected[:3, :3]).max() < 1e-9
        assert np.abs(np.array(pose.offset_mm) - expected[:3, 3]).max() < 1e-6


@given(bent_jobs())
def test_the_spindle_looks_straight_at_the_face_that_is_up(job: Job) -> None:
    layout = Layout.of(job)
    for one in job.setups:
        bend = layout.bend_of(one)
        lean = Rotation.from_euler("x", 0.0 if bend is None else bend.turn_deg, degrees=True)
        outwards = lean.apply([0.0, 0.0, 1.0 if one.up is FRONT else -1.0])
        up = blank_from_setup(job, one).turn(np.array([[0.0, 0.0, 1.0]]))[0]
        assert np.abs(up - outwards).max() < 1e-9


@given(bent_jobs())
def test_the_reference_mark_is_the_jog_away_from_program_zero(job: Job) -> None:
    layout = Layout.of(job)
    for one in job.setups:
        mark = layout.place(job.mark(one.mark), one.up).point_mm
        seen = (~blank_from_setup(job, one)).apply(np.array([mark]))[0]
        assert seen[:2].tolist() == pytest.approx([-one.zero_mm[0], -one.zero_mm[1]], abs=1e-7)


@given(bent_jobs())
def test_z_zero_lies_in_the_plane_that_the_job_names(job: Job) -> None:
    layout = Layout.of(job)
    for one in job.setups:
        face = one.up if one.z_zero is ZZero.TOP else one.up.other
        bend = layout.bend_of(one)
        flat = np.array([[x, y, layout.face_z_mm(face)] for x, y in ((0.0, 0.0), (70.0, 10.0), (-5.0, 300.0))])
        points = layout.blank_from_section(bend).apply(flat)
        assert np.abs((~blank_from_setup(job, one)).apply(points)[:, 2]).max() < 1e-7


@given(bent_jobs())
def test_going_round_all_setups_and_back_is_the_identity(job: Job) -> None:
    poses = [blank_from_setup(job, one) for one in job.setups]
    ways = [~after @ before for before, after in pairwise([*poses, poses[0]])]
    off_mm, off_deg = reduce(lambda done, way: way @ done, ways, Pose()).differs_by(Pose())
    assert off_mm < 1e-6
    assert off_deg < 1e-9


@pytest.mark.parametrize(
    ("flip_axis", "quarter_turns", "x_goes", "y_goes"),
    [
        (None, 0, (1, 0, 0), (0, 1, 0)),
        # The blank turned a quarter counter-clockwise: its far end points along the program's -X.
        (None, 1, (0, -1, 0), (1, 0, 0)),
        (None, 2, (-1, 0, 0), (0, -1, 0)),
        (None, 3, (0, 1, 0), (-1, 0, 0)),
        ("y", 0, (-1, 0, 0), (0, 1, 0)),
        ("x", 0, (1, 0, 0), (0, -1, 0)),
        # Turned like a page, then a quarter counter-clockwise: the far end still comes to the program's -X.
        ("y", 1, (0, -1, 0), (-1, 0, 0)),
    ],
)
def test_the_programs_axes_run_along_the_blank_as_it_lies(
    flip_axis: str | None, quarter_turns: int, x_goes: tuple[int, ...], y_goes: tuple[int, ...]
) -> None:
    one = setup("a", flip_axis=flip_axis, quarter_turns=quarter_turns)  # type: ignore[arg-type]
    job = bent_job(FRONT, Section.FAR, 12.0, more=[one])
    axes = blank_from_setup(job, one).turn(np.eye(3)[:2])
    assert axes.tolist() == [[*map(float, x_goes)], [*map(float, y_goes)]]


def test_flipping_like_a_page_is_what_the_conventions_say() -> None:
    # 30 mm thick, zero 10 mm right of mark A as the back lies: x = -10 of the blank.
    one = setup("back", flip_axis="y", zero_mm=(10.0, 20.0))
    pose = blank_from_setup(bent_job(FRONT, Section.FAR, 12.0, more=[one]), one)
    assert pose.apply(np.array([[1.0, 2.0, -3.0]])).tolist() == [[-11.0, 22.0, -27.0]]


def test_the_measured_thickness_counts_where_nothing_else_is_said() -> None:
    one = setup("back", flip_axis="y")
    job = bent_job(FRONT, Section.FAR, 12.0, more=[one], thickness_mm=30.0)
    assert blank_from_setup(job, one).offset_mm[2] == -30.0
    assert blank_from_setup(job, one, thickness_mm=29.0).offset_mm[2] == -29.0


def test_the_steps_are_named_and_make_the_pose() -> None:
    one = setup("a", tilt=Tilt("H", 12.0, Section.FAR), mark="H", zero_mm=(3.0, 4.0), quarter_turns=1)
    job = bent_job(FRONT, Section.FAR, 12.0, more=[one])
    steps = setup_steps(Layout.of(job), one)
    assert [step.name for step in steps] == ["jog", "Z zero", "quarter turns", "flip", "mark", "tilt"]
    made = reduce(lambda done, step: step.pose @ done, steps, Pose())
    assert made == blank_from_setup(job, one)
    assert made == steps[-1].pose @ section_from_setup(Layout.of(job), one)
