from dataclasses import replace

import numpy as np
import pytest

from flipreg.align.job_budget import job_budget
from flipreg.align.marking_sheet import TableSide
from flipreg.align.marks import marking_sheet
from flipreg.align.planned import planned_marks
from flipreg.errors import UsageError
from flipreg.job.blank import BlankFace, Edge
from flipreg.job.budget import Air, Budget, MoistureChange
from flipreg.job.estimate import Estimate, Shape
from flipreg.job.mark import Mark
from flipreg.job.pose import blank_from_setup
from flipreg.job.problem import JobFileError
from flipreg.job.setup import Setup, SetupProgram, ZZero
from flipreg.job.tool import Tool, ToolShape
from tests.job import jobs
from tests.jobs import BOTH, PROGRAMS, board, paddle


def _setup(flip: str | None, turns: int = 0, *, mark: str = "near") -> Setup:
    up = BlankFace.FRONT if flip is None else BlankFace.BACK
    return Setup("one", up, flip, mark, (10.0, 20.0), ZZero.TOP, PROGRAMS, turns)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ["front shaft", "back shaft", "front blade", "back blade"])
def test_the_jog_from_the_reference_mark_is_the_one_of_the_job(name: str) -> None:
    job = paddle()
    sheet = next(setup for setup in marking_sheet(job).setups if setup.name == name)
    assert job.setup(name).mark == sheet.jogs[0].mark
    assert [jog.is_reference for jog in sheet.jogs] == [True] + [False] * (len(sheet.jogs) - 1)
    assert job.setup(name).zero_mm == pytest.approx(sheet.jogs[0].by_mm)


def test_every_jog_ends_at_program_zero() -> None:
    job = paddle()
    for setup, sheet in zip(job.setups, marking_sheet(job).setups, strict=True):
        planned = planned_marks(job, setup)
        assert {jog.mark for jog in sheet.jogs} == set(planned) != set()
        for jog in sheet.jogs:
            assert pytest.approx(np.add(planned[jog.mark], jog.by_mm).tolist(), abs=1e-9) == [0.0, 0.0]


def test_jogs_on_the_back_are_worked_out_by_hand() -> None:
    # Turned like a page: the side mark, 60 to the right on the front, lies 60 to the left of the centre line.
    back = marking_sheet(board()).setups[1]
    jogs = {jog.mark: jog.by_mm for jog in back.jogs}
    assert jogs == {"near": (-10.0, 20.0), "far": (-10.0, -480.0), "side": (50.0, -230.0)}


def test_distances_are_from_the_reference_edge_and_the_near_end() -> None:
    (front, back) = marking_sheet(board()).faces
    for face in (front, back):
        assert [(mark.name, mark.along_mm, mark.from_edge_mm) for mark in face.marks] == [
            ("near", 50.0, 80.0),
            ("side", 300.0, 140.0),
            ("far", 550.0, 80.0),
        ]
    assert (front.edge_is, back.edge_is) == (Edge.LEFT, Edge.RIGHT)


def test_distances_from_a_right_edge_run_the_other_way() -> None:
    (front, back) = marking_sheet(board(edge=Edge.RIGHT)).faces
    assert {mark.name: mark.from_edge_mm for mark in front.marks} == {"side": 20.0, "near": 80.0, "far": 80.0}
    assert (front.edge_is, back.edge_is) == (Edge.RIGHT, Edge.LEFT)


@pytest.mark.parametrize(
    ("flip", "turns", "edge", "near"),
    [
        (None, 0, TableSide.LEFT, TableSide.NEAR),
        ("y", 0, TableSide.RIGHT, TableSide.NEAR),
        ("x", 0, TableSide.LEFT, TableSide.FAR),
        # A quarter turn counter-clockwise, seen from above, brings what was left to the near side.
        (None, 1, TableSide.NEAR, TableSide.RIGHT),
        (None, 2, TableSide.RIGHT, TableSide.FAR),
        (None, 3, TableSide.FAR, TableSide.LEFT),
        ("y", 1, TableSide.FAR, TableSide.RIGHT),
        ("x", 3, TableSide.FAR, TableSide.RIGHT),
    ],
)
def test_the_sheet_says_where_edge_and_end_lie(flip: str | None, turns: int, edge: TableSide, near: TableSide) -> None:
    (setup,) = marking_sheet(board(setups=(_setup(flip, turns),))).setups
    assert (edge, near) == (setup.edge_lies, setup.near_end_lies)


def test_the_outline_covers_the_blank_in_program_numbers() -> None:
    (setup,) = marking_sheet(board(setups=(_setup("y"),))).setups
    (outline,) = setup.outlines_mm
    # The mark is at (-10, -20); the blank reaches 80 to the reference edge, which is on the right now.
    assert {(70.0, -70.0), (-130.0, -70.0), (70.0, 530.0), (-130.0, 530.0)} == set(outline)


def test_marks_are_planned_where_the_pose_puts_them_back_on_the_blank() -> None:
    job = paddle()
    for setup in job.setups:
        if setup.tilt is None:
            pose = blank_from_setup(job, setup)
            x, y = planned_marks(job, setup)["throat"]
            assert pytest.approx(pose.apply(np.array([[x, y, 0.0]]))[0, :2].tolist(), abs=1e-9) == [0.0, 0.0]


def test_a_carried_mark_says_how_it_was_carried() -> None:
    back = marking_sheet(paddle()).faces[1]
    (carried,) = (mark for mark in back.marks if mark.remark is not None)
    assert "carried round the edge from 'hinge' with the square on the straight section" in str(carried.remark)
    # 34 mm thick, 12 degrees: the ridge lies 34 tan(6 degrees) = 3.5735 mm beyond the hinge.
    assert pytest.approx(back.corners_mm[0], abs=1e-4) == 848.5735


def _budget(**changes: object) -> Budget:
    return Budget(pointer_mm=Estimate(Shape.NORMAL, 0.1), **changes)  # type: ignore[arg-type]


def test_the_budget_of_a_job_aligns_by_the_mark_and_the_one_farthest_from_it() -> None:
    # At the far mark the pointer's own spread comes through, once for each face.
    report = job_budget(board(budget=_budget()))
    assert (report.front, report.back) == ("front", "back")
    far = float(report.map.distance_mm[-1, 2])
    near = float(report.map.distance_mm[0, 2])
    # The blank reaches 50 beyond both marks, 500 apart, and the spread along is the mark's everywhere.
    assert near == pytest.approx(far, rel=0.02)


def test_a_line_with_one_mark_is_aligned_by_the_end_of_the_blank() -> None:
    marks = (Mark("near", BOTH, 50.0),)
    assert job_budget(board(*marks, budget=_budget())).within is False


def test_flat_sawn_cherry_moves_by_its_tangential_coefficient() -> None:
    wood = MoistureChange(Estimate(Shape.NORMAL, 1e-9, 2.0))
    report = job_budget(board(budget=_budget(wood=wood)))
    corner = next(feature for feature in report.features if feature.name == "near right corner")
    assert pytest.approx(corner.mean_mm[0], rel=6e-3) == -120 * 0.00248 * 2


def test_a_job_without_budget_is_told_its_key() -> None:
    with pytest.raises(UsageError, match=r"board\.toml: \$\.budget: missing"):
        job_budget(board())


def test_a_job_without_a_back_has_no_budget() -> None:
    with pytest.raises(UsageError, match=r"\$\.setups: a budget needs a setup with the back up"):
        job_budget(board(budget=_budget(), setups=(_setup(None),)))


def test_air_that_dries_the_wood_beyond_the_table_is_refused() -> None:
    exact = {
        name: Estimate(Shape.NORMAL, 0.1, value) for name, value in (("warm", 20.0), ("dry", 15.0), ("damp", 50.0))
    }
    wood = Air(exact["warm"], exact["dry"], exact["warm"], exact["damp"])
    with pytest.raises(JobFileError, match=r"\$\.budget\.air_before: this air brings the wood to 3\.6 %"):
        job_budget(board(budget=_budget(wood=wood)))


@pytest.mark.parametrize(("name", "said"), [("T1", "T1"), ("T1 2", "T1 2"), ("6 flat", "T1 6 flat"), ("T12", "T1 T12")])
def test_a_tool_that_is_named_by_its_number_is_called_by_it_once(name: str, said: str) -> None:
    numbered = Tool(name, ToolShape.FLAT, 6.0, number=1)
    made = replace(jobs.job([jobs.setup("front")]), tools=(numbered,))
    made = replace(made, setups=(replace(made.setups[0], programs=(SetupProgram("front.nc"),)),))
    assert marking_sheet(made).setups[0].programs == (("front.nc", said),)
