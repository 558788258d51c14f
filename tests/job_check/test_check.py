"""The check of a whole job on the demo paddle: wrong jogs, other depths, other blanks, missing evidence."""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from flipreg.findings import Finding, Status
from flipreg.job.file.read import read_job
from flipreg.job.job import Job
from flipreg.job.mark import Mark
from flipreg.job.problem import JobFileError
from flipreg.job.setup import Setup
from flipreg.job_check.check import check_job as checked_job
from flipreg.job_check.report import JobReport
from flipreg.program.face import FaceProgram
from flipreg.program.face_program import face_program
from flipreg.register.decision.mistake import Mistake
from flipreg.rs274.read.program import ProgramFile

FOLDER = Path(__file__).parents[2] / "samples/paddle"
NAMES = ["shaft front", "shaft back", "blade front", "blade back"]


@cache
def program_of(file: str) -> FaceProgram:
    return face_program(ProgramFile(Path(file), file))


def check_job(job: Job) -> JobReport:
    """Return the check of a job, of which each program is read once for all tests."""
    return checked_job(job, read=lambda program: program_of(program.file))


@pytest.fixture(scope="module")
def whole() -> Job:
    # What is left of the wood is looked at elsewhere; here the maps may be coarse.
    job = read_job(FOLDER / "job.toml")
    return replace(job, limits=replace(job.limits, grid_mm=2.5))


@pytest.fixture(scope="module")
def paddle(whole: Job) -> Job:
    """Return the job without the passes that carve, which register doesn't rest on and which take most of the time."""
    return replace(whole, setups=tuple(only(setup, "holes.nc", "profile.nc") for setup in whole.setups))


@pytest.fixture(scope="module")
def drilled(whole: Job) -> Job:
    """Return the job with its holes only, which show register as well, for tests that are not about outlines."""
    return replace(whole, setups=tuple(only(setup, "holes.nc") for setup in whole.setups))


@pytest.fixture(scope="module")
def right(paddle: Job) -> JobReport:
    return check_job(paddle)


def changed(job: Job, name: str, **changes: object) -> Job:
    """Return the job with some fields of one setup replaced."""
    setups = [replace(setup, **changes) if setup.name == name else setup for setup in job.setups]  # type: ignore[arg-type]
    return replace(job, setups=tuple(setups))


def moved(job: Job, name: str, x_mm: float, y_mm: float) -> Job:
    zero_x, zero_y = job.setup(name).zero_mm
    return changed(job, name, zero_mm=(zero_x + x_mm, zero_y + y_mm))


def said(report: JobReport, code: str, status: Status) -> list[Finding]:
    return [finding for finding in report.findings if (finding.check, finding.status) == (code, status)]


def mistakes(report: JobReport) -> list[Mistake]:
    """Return the mistakes of the one place in which the report has any."""
    (group,) = report.mistakes
    return list(group)


def values(mistake: Mistake) -> list[dict[str, object]]:
    """Return what each way to mend a mistake puts into the job file."""
    return [dict(change.values) for way in mistake.ways for change in way.changes]


class TestRight:
    def test_the_paddle_is_in_register(self, right: JobReport) -> None:
        assert right.in_register is True
        assert right.diagnosis is None
        assert [(pair.front, pair.back) for pair in right.pairs] == [
            ("shaft front", "shaft back"),
            ("blade front", "blade back"),
        ]
        assert right.mistakes == ()

    def test_the_zeros_are_where_the_plan_has_them(self, right: JobReport) -> None:
        # Shaft: 15 mm beyond A. Blade front: 20 mm beyond the hinge at 800, along the slope of 12 degrees.
        at = {setup.setup.name: setup.zero_mm for setup in right.setups}
        assert at["shaft front"] == (0.0, 15.0, 0.0)
        assert at["shaft back"] == (0.0, 15.0, -33.6)
        rise = np.radians(12.0)
        assert at["blade front"] == pytest.approx((0.0, 800 + 20 * np.cos(rise), 20 * np.sin(rise)), abs=1e-6)
        # Blade back: 30 mm beyond C, which is right under the hinge; zero is on the spoilboard, at its front.
        assert at["blade back"] == pytest.approx((0.0, 800 + 30 * np.cos(rise), 30 * np.sin(rise)), abs=1e-6)

    def test_each_setup_cuts_on_the_blank_and_its_programs_end_over_zero(self, right: JobReport) -> None:
        assert len(said(right, "bounds", Status.PASS)) == len(said(right, "datum", Status.PASS)) == 4

    def test_both_fronts_have_the_spots_on_the_hinge_line_in_common(self, right: JobReport) -> None:
        assert [(common.one, common.other, common.agreeing) for common in right.common_holes if common.agrees] == [
            ("shaft front", "blade front", 2)
        ]


def _not_carried(job: Job) -> tuple[Mark, ...]:
    """Return the marks that need no tilted setup."""
    return tuple(mark for mark in job.marks if mark.carried is None)


class TestWrongJogs:
    @pytest.mark.parametrize(("name", "way_mm"), list(zip(NAMES, ((0.75, 0.0), (-3.0, 5.5)) * 2, strict=True)))
    def test_a_wrong_jog_is_found_and_named_with_the_right_one(
        self, drilled: Job, name: str, way_mm: tuple[float, float]
    ) -> None:
        report = check_job(moved(drilled, name, *way_mm))
        assert report.in_register is False
        (mistake,) = mistakes(report)
        assert mistake.setup == name
        assert values(mistake) == [{"zero": drilled.setup(name).zero_mm}]
        assert report.diagnosis is not None
        assert repr(name) in report.diagnosis

    def test_a_jog_the_other_way_is_named(self, drilled: Job) -> None:
        name = "blade back"
        x_mm, y_mm = drilled.setup(name).zero_mm
        report = check_job(moved(drilled, name, 0.0, -2.0 * y_mm))
        (mistake,) = mistakes(report)
        assert (mistake.code, mistake.setup) == ("jog sign", name)
        assert values(mistake) == [{"zero": (x_mm, y_mm)}]

    def test_the_register_finding_names_program_and_line(self, paddle: Job) -> None:
        (finding,) = said(check_job(moved(paddle, "blade back", 0.0, -2.0)), "register", Status.FAIL)
        assert finding.program is not None
        assert finding.program.endswith("blade-back-holes.nc")
        assert finding.line is not None
        lines = Path(finding.program).read_text().splitlines()
        assert "G83" in lines[finding.line - 1]

    def test_within_the_tolerance_nothing_is_wrong(self, drilled: Job) -> None:
        assert check_job(moved(drilled, "blade back", 0.2, 0.1)).in_register is True

    def test_without_a_third_setup_both_jogs_are_named(self, drilled: Job) -> None:
        wrong = moved(drilled, "shaft back", 0.0, 1.0)
        two = replace(wrong, setups=wrong.setups[:2], marks=_not_carried(drilled))
        found = mistakes(check_job(two))
        assert [mistake.setup for mistake in found] == ["shaft front", "shaft back"]
        assert values(found[1]) == [{"zero": (0.0, 15.0)}]

    def test_a_jog_in_inches_is_told_in_inches(self, drilled: Job) -> None:
        report = check_job(replace(moved(drilled, "blade back", 0.0, -25.4), inch=True))
        (mistake,) = mistakes(report)
        assert "the job file has zero = [0, -2.1811]" in mistake.reason
        assert values(mistake) == [{"zero": (0.0, -1.1811)}]

    def test_a_wrong_mark_is_named_with_the_one_whose_jog_it_is(self, paddle: Job) -> None:
        # From the throat, 740 mm further than A.
        report = check_job(changed(paddle, "shaft back", mark="throat"))
        assert report.in_register is False
        (mistake,) = mistakes(report)
        assert (mistake.code, mistake.setup) == ("mark", "shaft back")
        assert values(mistake)[0] == {"mark": "A"}


class TestOtherMistakes:
    def test_the_other_flip_axis_is_out_of_register(self, drilled: Job) -> None:
        report = check_job(changed(drilled, "shaft back", flip_axis="x"))
        assert report.in_register is False

    def test_the_other_way_round_of_a_part_with_a_symmetric_outline_is_told_in_its_own_numbers(self) -> None:
        job = read_job(FOLDER.parent / "bowl/job.toml")
        bowl = replace(job, limits=replace(job.limits, grid_mm=1.5))
        report = check_job(changed(bowl, "back", flip_axis="x", mark="far"))
        (mistake,) = mistakes(report)
        assert values(mistake)[0] == {"flip": "y", "zero": (0.0, -9.0)}
        (finding,) = said(report, "flip", Status.FAIL)
        assert "the back is taken as flipped about Y, like turning a page (zero at X 0 Y 0)" in finding.says

    def test_the_sign_of_the_tilt_does_not_show_in_programs_of_flat_sections(self, drilled: Job) -> None:
        setups = [
            setup if setup.tilt is None else replace(setup, tilt=replace(setup.tilt, angle_deg=-12.0))
            for setup in drilled.setups
        ]
        # Front and back of the blade still fit each other: both lie flat. What changed is where C is; it is under the
        # hinge either way. So the check cannot see the sign, and the report does not depend on it.
        assert check_job(replace(drilled, setups=tuple(setups))).in_register is True

    def test_a_blank_in_inches_is_refused_with_its_key(self, paddle: Job) -> None:
        small = replace(
            paddle.blank,
            length_mm=55.1,
            width_mm=9.45,
            thickness_mm=1.34,
            measured_thickness_mm=None,
            centre_line_mm=4.7,
        )
        with pytest.raises(JobFileError, match=r"\$\.units: the programs are far too large for the blank"):
            check_job(replace(paddle, blank=small))

    def test_a_setup_that_cuts_off_the_blank_fails_with_program_and_line(self, whole: Job) -> None:
        setups = tuple(only(setup, "holes.nc", "blade-front-rough.nc") for setup in whole.setups)
        narrow = replace(whole, setups=setups, blank=replace(whole.blank, width_mm=150.0, centre_line_mm=75.0))
        report = check_job(narrow)
        assert report.in_register is False
        finding = next(one for one in said(report, "bounds", Status.FAIL) if "'blade front'" in one.message)
        # The roughing goes to X 112, 37 mm beyond the edge at 75.
        assert "up to 37.0 mm beyond its edge" in finding.message
        assert finding.program is not None
        assert finding.program.endswith("blade-front-rough.nc")
        assert finding.line is not None

    def test_a_straight_setup_that_goes_on_over_the_bend_is_worth_a_look(self, paddle: Job) -> None:
        # With the hinge drawn 40 mm too near the grip, the shaft programs run past it.
        marks = [replace(mark, along_mm=820.0) if mark.name == "B" else mark for mark in paddle.marks]
        report = check_job(replace(paddle, marks=tuple(marks)))
        found = [one.message for one in said(report, "bounds", Status.WARN)]
        assert any("'shaft front' cuts up to 40.0 mm past the line where the sections meet" in text for text in found)


class TestEvidence:
    def test_setups_with_nothing_in_common_are_not_determined(self, paddle: Job) -> None:
        setups = [
            replace(setup, programs=tuple(part for part in setup.programs if not part.file.endswith("front-holes.nc")))
            for setup in paddle.setups
        ]
        report = check_job(replace(paddle, setups=tuple(setups)))
        assert report.in_register is None
        needs = [finding.message for finding in said(report, "tie", Status.NOT_DETERMINED)]
        assert needs
        assert all("it would need" in text for text in needs)

    def test_one_face_alone_is_not_determined(self, paddle: Job) -> None:
        fronts = tuple(setup for setup in paddle.setups if setup.name.endswith("front"))
        assert check_job(replace(paddle, setups=fronts)).in_register is None

    def test_moving_both_blade_setups_alike_does_not_pass(self, drilled: Job) -> None:
        # They agree with each other, and no longer with the shaft: only the spots on the hinge line show it.
        job = moved(moved(drilled, "blade front", 0.0, 4.0), "blade back", 0.0, 4.0)
        report = check_job(job)
        assert report.in_register is None
        (finding,) = said(report, "tie", Status.WARN)
        assert "shaft front / blade front: holes that may be meant as the same lie 4.00 mm apart" in finding.message

    def test_a_setup_that_cuts_nothing_is_not_determined(self, drilled: Job, tmp_path: Path) -> None:
        idle = tmp_path / "idle.nc"
        idle.write_text("G21 G90\nG0 X0 Y0 Z20\nM30\n")
        programs = (replace(drilled.setup("blade back").programs[0], file=str(idle)),)
        report = check_job(changed(drilled, "blade back", programs=programs))
        assert report.in_register is None
        assert "cuts nothing" in said(report, "bounds", Status.NOT_DETERMINED)[0].message


class TestDepth:
    def test_on_top_the_difference_goes_into_what_is_left(self, right: JobReport) -> None:
        floors = {Path(floor.program).name: floor for floor in right.floors}
        # 18 mm deep: 16 mm of 34 are planned to be left, 15.6 mm of 33.6 are.
        holes = floors["shaft-back-holes.nc"]
        assert (holes.planned_left_mm, holes.left_mm, holes.other_left_mm) == pytest.approx((16.0, 15.6, 16.0))

    def test_on_the_spoilboard_the_difference_goes_into_the_depth(self, right: JobReport) -> None:
        holes = {Path(floor.program).name: floor for floor in right.floors}["blade-back-holes.nc"]
        assert (holes.planned_left_mm, holes.left_mm, holes.other_left_mm) == pytest.approx((16.0, 16.0, 15.6))

    def test_a_difference_past_the_tolerance_is_worth_a_look(self, right: JobReport, drilled: Job) -> None:
        assert [finding.message.split("'")[1] for finding in said(right, "depth", Status.WARN)] == [
            "shaft front",
            "shaft back",
            "blade front",
        ]
        assert len(said(check_job(replace(drilled, tolerance_mm=0.5)), "depth", Status.PASS)) == 4

    def test_without_a_measured_thickness_it_is_not_determined(self, drilled: Job) -> None:
        report = check_job(replace(drilled, blank=replace(drilled.blank, measured_thickness_mm=None)))
        assert len(said(report, "depth", Status.NOT_DETERMINED)) == 4
        assert report.in_register is True

    def test_the_seam_of_the_blade(self, paddle: Job) -> None:
        # Profiles of 17.5 mm each; the back's leaves 16.5 mm from the spoilboard whatever the blank has.
        setups = tuple(only(setup, "profile.nc") for setup in paddle.setups)
        thick = replace(paddle, setups=setups, blank=replace(paddle.blank, measured_thickness_mm=35.2))
        _, blade = check_job(thick).seams
        assert (blade.planned_overlap_mm, blade.overlap_mm) == pytest.approx((1.0, 1.0))

    def test_cuts_that_no_longer_meet_are_worth_a_look(self, paddle: Job) -> None:
        setups = [only(setup, "profile.nc") for setup in paddle.setups[:2]]
        blank = replace(paddle.blank, measured_thickness_mm=36.0)
        thick = replace(paddle, setups=tuple(setups), blank=blank, marks=_not_carried(paddle))
        report = check_job(thick)
        (seam,) = report.seams
        assert (seam.planned_overlap_mm, seam.overlap_mm) == pytest.approx((1.0, -1.0))
        assert (seam.planned_z_mm, seam.z_mm) == pytest.approx((-17.0, -18.0))
        (finding,) = said(report, "seam", Status.WARN)
        assert "leave 1.00 mm between them, planned: overlap by 1.00 mm" in finding.message

    def test_a_floor_that_goes_through_a_thin_blank_is_told(self, drilled: Job, tmp_path: Path) -> None:
        deep = tmp_path / "deep.nc"
        deep.write_text("G21 G90 G17\nG0 Z20 X0 Y0\nX10 Y60\nG1 Z-33.7 F300\nX20\nG0 Z20\nX0 Y0\nM30\n")
        programs: Sequence[object] = (replace(drilled.setup("shaft front").programs[0], file=str(deep)),)
        report = check_job(changed(drilled, "shaft front", programs=tuple(programs)))
        (finding,) = [one for one in said(report, "depth", Status.WARN) if "'shaft front'" in one.message]
        assert "planned to leave 0.30 mm and leaves -0.10 mm" in finding.message
        assert "so it cuts through" in finding.message


def only(setup: Setup, *ends: str) -> Setup:
    return replace(setup, programs=tuple(part for part in setup.programs if part.file.endswith(ends)))
