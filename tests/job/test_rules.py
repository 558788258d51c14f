"""The rules of a job, which hold for jobs made in Python as for those of a file."""

from dataclasses import replace
from itertools import pairwise
from math import hypot

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flipreg.align.job_budget import job_budget
from flipreg.align.marks import marking_sheet
from flipreg.job.blank import BlankFace
from flipreg.job.budget import Budget, Feature
from flipreg.job.estimate import Estimate, Shape
from flipreg.job.mark import Mark
from flipreg.job.problem import JobFileError
from flipreg.job.rules import rules
from flipreg.job.setup import Section, Tilt
from flipreg.job.station import Station
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


@settings(max_examples=150, deadline=None)
@given(shapes, st.sampled_from(BlankFace), st.sampled_from([-0.01, 0.01]))
def test_the_tape_of_its_own_face_says_whether_a_mark_is_on_a_blank_that_bends(
    shape: TwoBends, face: BlankFace, beyond_mm: float
) -> None:
    points = shape.drawing().corners[face]
    length = sum(hypot(*(b - a)) for a, b in pairwise(points))
    made = bent_twice(shape, [Mark("end", (face,), length + beyond_mm)], [])
    told = [problem.path for problem in rules(made)]
    assert told == ([("marks", 3, "along")] if beyond_mm > 0 else [])


@settings(max_examples=100, deadline=None)
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
