"""The rules of a job, which hold for jobs made in Python as for those of a file."""

import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from math import hypot
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import flipreg
from flipreg.align.job_budget import job_budget
from flipreg.align.marks import marking_sheet
from flipreg.job.blank import BlankFace
from flipreg.job.budget import Budget, Feature
from flipreg.job.estimate import Estimate, Shape
from flipreg.job.fitted import FittedPart
from flipreg.job.job import Job
from flipreg.job.limits import Limits
from flipreg.job.mark import Carried, Mark, Square
from flipreg.job.problem import JobFileError
from flipreg.job.rules import rules
from flipreg.job.setup import Section, SetupProgram, Tilt
from flipreg.job.station import Station
from flipreg.job.tool import Tool, ToolShape
from flipreg.program.face_program import face_program
from tests.every import every
from tests.job.jobs import BACK, FRONT, bent_job, job, setup
from tests.job.test_two_bends import Shape as TwoBends
from tests.job.test_two_bends import bent_twice, shapes


def _told(*marks: Mark, stations: tuple[Station, ...] = ()) -> list[str]:
    made = replace(job([setup("front")], marks), stations=stations)
    return [f"{problem.path}: {problem.message}" for problem in rules(made)]


def test_a_mark_off_the_blank_is_refused_from_python_as_from_a_file() -> None:
    made = job([setup("front")], [Mark("far", (FRONT,), 6380.0)])
    with pytest.raises(JobFileError, match=r"\$\.marks\[1\]\.along: mark 'far' is off the blank: 6380"):
        marking_sheet(made)


@pytest.mark.parametrize(
    ("mark", "words"),
    [
        (Mark("m", (BACK,), 400.001), "('marks', 1, 'along'): mark 'm' is off the blank: 400.001 from the near end"),
        (Mark("m", (FRONT,), 10.0, 55.5), "('marks', 1, 'across'): mark 'm' is off the blank: 55.5 beside"),
        (Mark("m", (FRONT,), 10.0, -45.5), "('marks', 1, 'across'): mark 'm' is off the blank: -45.5 beside"),
        (Mark("two\nlines", (FRONT,), 10.0), "('marks', 1, 'name'): expected a name on one line"),
        (Mark("A", (FRONT,), 10.0), "('marks', 1, 'name'): the name 'A' is taken by $.marks[0] already"),
        (Mark("-A", (FRONT,), 10.0), "('marks', 1, 'name'): a mark '-A' would be taken for an option"),
    ],
)
def test_each_mark_is_on_the_blank_and_can_be_said(mark: Mark, words: str) -> None:
    (told,) = _told(mark)
    assert told.startswith(words)
    assert _told(Mark("m", (FRONT, BACK), 400.0, 55.0), Mark("n", (BACK,), 0.0, -45.0)) == []


def test_stations_are_on_the_blank() -> None:
    (told,) = _told(stations=(Station("s", 401.0),))
    assert told.startswith("('stations', 0, 'along'): station 's' is off the blank")
    (told,) = _told(stations=(Station("s", 10.0, 60.0),))
    assert told.startswith("('stations', 0, 'across'): station 's' is off the blank")


@given(shapes, st.sampled_from(BlankFace), st.sampled_from([-0.01, 0.01]))
def test_the_tape_of_its_own_face_says_whether_a_mark_is_on_a_blank_that_bends(
    shape: TwoBends, face: BlankFace, beyond_mm: float
) -> None:
    points = shape.drawing().corners[face]
    length = sum(hypot(*(b - a)) for a, b in pairwise(points))
    made = bent_twice(shape, [Mark("end", (face,), length + beyond_mm)], [])
    told = [problem.path for problem in rules(made)]
    assert told == ([("marks", 3, "along")] if beyond_mm > 0 else [])


@given(shapes, st.floats(-30, 30), st.sampled_from(Section))
def test_the_first_mark_is_on_the_straight_section_of_the_front(
    shape: TwoBends, beyond_mm: float, section: Section
) -> None:
    # The drawing's origin moves to beside a front corner: both hinges with it.
    number = 0 if section is Section.NEAR else 1
    corner = shape.drawing().corners[FRONT][number + 1][0]
    sign = -1.0 if section is Section.NEAR else 1.0
    moved = corner + sign * beyond_mm
    here = replace(shape, hinges=(shape.hinges[0] - moved, shape.hinges[1] - moved))
    told = [problem.path for problem in rules(bent_twice(here, [], []))]
    if abs(beyond_mm) > 1e-3:
        assert told == ([("marks", 0, "along")] if beyond_mm > 0 else [])


def test_hinges_in_the_wrong_order_are_told_once() -> None:
    made = bent_job(FRONT, Section.FAR, 12.0)
    tilt = Tilt("late", 12.0, Section.NEAR)
    tilted = replace(made.setups[0], name="late", tilt=tilt)
    late = replace(made, marks=(*made.marks, Mark("late", (FRONT,), 300.0)), setups=(*made.setups, tilted))
    assert [problem.path for problem in rules(late)] == [("marks",)]


def test_a_feature_at_a_hinge_is_on_the_straight_section_as_deep_as_that_reaches() -> None:
    # Leaning to the front, the back's corner lies 30 · tan 6° = 3.153 mm farther from A than the front's, at 200.
    made = bent_job(FRONT, Section.FAR, 12.0)

    def told(y_mm: float, depth_mm: float) -> int:
        budget = Budget(jog_mm=Estimate(Shape.NORMAL, 0.1), features=(Feature("f", (0.0, y_mm), depth_mm),))
        return len(list(rules(replace(made, budget=budget))))

    assert (told(200.0, 0.0), told(200.01, 0.0)) == (0, 1)
    assert (told(203.15, 30.0), told(203.16, 30.0)) == (0, 1)
    assert (told(201.57, 15.0), told(201.58, 15.0)) == (0, 1)


def test_a_budget_from_python_obeys_the_rules() -> None:
    budget = Budget(jog_mm=Estimate(Shape.NORMAL, 0.1), features=(Feature("f", (0.0, 900.0)),))
    made = replace(job([setup("front"), setup("back", flip_axis="y")]), budget=budget)
    with pytest.raises(JobFileError, match="feature 'f' is off the blank: Y 900"):
        job_budget(made)


def _verbs() -> list[Callable[[Job], object]]:
    return [
        lambda made: flipreg.check_job(made, read=lambda _: face_program(flipreg.parse("G21 G90 G0 X0 Y0 Z5\nM2\n"))),
        flipreg.marking_sheet,
        lambda made: flipreg.planned_marks(made, made.setups[0]),
        lambda made: flipreg.blank_from_setup(made, made.setups[0]),
        lambda made: flipreg.fitted_floor(made, flipreg.MeasuredPart("heel", "front", Decimal(8))),
        lambda made: flipreg.job_budget(replace(made, budget=Budget(jog_mm=Estimate(Shape.NORMAL, 0.1)))),
    ]


def _bent(**changes: Any) -> Job:  # noqa: ANN401 - any field of a job
    return replace(bent_job(FRONT, Section.FAR, 12.0), **changes)


CONTRADICTIONS = {
    "a mark off the blank": (job([setup("front")], [Mark("far", (FRONT,), 6380.0)]), "$.marks[1].along"),
    "a mark nobody knows": (_bent(setups=(setup("front", mark="a"),)), "$.setups[0].mark"),
    "a mark of the other face": (
        job([setup("front", mark="B")], [Mark("B", (BACK,), 60.0)]),
        "$.setups[0].mark",
    ),
    "a mark carried from no hinge": (
        job([setup("front")], [Mark("B", (BACK,), None, carried=Carried("A", Square.BENT))]),
        "$.marks[1].carried.from",
    ),
    "an origin on the back": (replace(job([setup("front")]), marks=(Mark("A", (BACK,), 50.0),)), "$.marks[0]"),
    "one section with two angles": (
        _bent(setups=(*_bent().setups, setup("more", mark="H", tilt=Tilt("H", 13.0, Section.FAR)))),
        "$.setups[1].tilt",
    ),
    "a hinge on both faces": (
        job([setup("front", tilt=Tilt("H", 5.0, Section.FAR))], [Mark("H", (FRONT, BACK), 200.0)]),
        "$.setups[0].tilt.hinge",
    ),
    "a tool nobody knows": (_bent(tools=(Tool("6 ball", ToolShape.BALL, 6.0),)), "$.setups[0].programs[0].tool"),
    "a tool wider than the blank": (_bent(tools=(Tool("6 flat", ToolShape.FLAT, 160.0),)), "$.tools[0].diameter"),
    "two tools of one number": (
        _bent(tools=(Tool("6 flat", ToolShape.FLAT, 6.0, number=1), Tool("b", ToolShape.BALL, 6.0, number=1))),
        "$.tools[1].number",
    ),
    "a program that runs twice": (
        job([replace(setup("front"), programs=setup("front").programs * 2)]),
        "$.setups[0].programs[1].file",
    ),
    "a program without a tool": (
        job([replace(setup("front"), programs=(SetupProgram("front.nc"),))]),
        "$.setups[0].programs[0]",
    ),
    "a web thicker than the blank": (_bent(limits=Limits(least_web_mm=31.0)), "$.check.least_web"),
    "a grid too coarse for the tool": (_bent(limits=Limits(grid_mm=3.5)), "$.check.grid"),
    "another board": (
        _bent(blank=replace(_bent().blank, measured_thickness_mm=3.0)),
        "$.blank.measured_thickness",
    ),
    "a pocket through the blank": (
        replace(job([setup("front")]), fitted_parts=(FittedPart("heel", "front", "front.nc", 31.0, 0.5),)),
        "$.fitted_parts[0].thickness",
    ),
    "a pocket of another program": (
        replace(job([setup("front")]), fitted_parts=(FittedPart("heel", "front", "back.nc", 10.0, 0.5),)),
        "$.fitted_parts[0].program",
    ),
}


@every("verb", range(len(_verbs())))
@every("what", CONTRADICTIONS)
def test_every_verb_refuses_a_job_that_contradicts_itself_with_the_key(what: str, verb: int) -> None:
    made, key = CONTRADICTIONS[what]
    with pytest.raises(JobFileError, match=re.escape(f"job.toml: {key}: ")):
        _verbs()[verb](made)


def test_every_verb_takes_the_job_that_the_contradictions_are_made_of() -> None:
    made = replace(
        job([setup("front"), setup("back", flip_axis="y")]),
        fitted_parts=(FittedPart("heel", "front", "front.nc", 8.0, 0.5),),
    )
    for verb in _verbs():
        verb(made)
