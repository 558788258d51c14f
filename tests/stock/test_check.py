"""What is left of the wood, on parts that can be reckoned by hand."""

from dataclasses import replace
from math import pi

import pytest

from flipreg.findings import Status
from flipreg.job.limits import Limits
from flipreg.job.problem import JobFileError
from flipreg.job.station import Station
from tests.stock.wood_jobs import HEAD, TAIL, checked, part, pocket, profile, said, statuses

FLAT = "6 flat"


class TestBothFaces:
    def test_pockets_that_meet_break_through_and_say_where(self) -> None:
        programs = {
            "front-pocket": (FLAT, pocket(10.0, 5.0, 8.0, -11.0)),
            "front-profile": (FLAT, profile(26.0, 40.0, -10.5, tab_mm=8.0, top_mm=-6.0)),
            "back-pocket": (FLAT, pocket(-10.0, 5.0, 5.0, -10.0)),
            "back-profile": (FLAT, profile(26.0, 40.0, -10.5, tab_mm=8.0, top_mm=-6.0)),
        }
        report = checked(part(programs), programs)
        (found,) = said(report, "breakthrough")
        assert found.status is Status.FAIL
        assert found.at_mm == pytest.approx((10.0, 5.0), abs=8.5)
        assert "deepest by 1.00 mm" in found.message
        # The smaller pocket, 10 mm and two radii wide, with corners rounded by the tool's radius.
        area = 16.0**2 - (4.0 - pi) * 3.0**2
        assert f"over {area:.0f} mm²" in found.message or abs(_area(found.message) - area) < 5.0
        assert report.fails

    def test_pockets_that_meet_in_the_waste_are_told_and_fail_nothing(self) -> None:
        programs = {
            "front-pocket": (FLAT, pocket(0.0, 44.0, 1.0, -11.0)),
            "front-profile": (FLAT, profile(20.0, 30.0, -10.5, tab_mm=8.0, top_mm=-6.0)),
            "back-pocket": (FLAT, pocket(0.0, 44.0, 1.0, -11.0)),
            "back-profile": (FLAT, profile(20.0, 30.0, -10.5, tab_mm=8.0, top_mm=-6.0)),
        }
        assert statuses(checked(part(programs), programs), "breakthrough") == [Status.WARN]

    def test_pockets_that_open_the_edge_are_told(self) -> None:
        programs = {
            "front-pocket": (FLAT, pocket(9.0, 5.0, 6.0, -11.0)),
            "front-profile": (FLAT, profile(20.0, 30.0, -10.5, tab_mm=8.0, top_mm=-6.0)),
            "back-pocket": (FLAT, pocket(-9.0, 5.0, 6.0, -11.0)),
            "back-profile": (FLAT, profile(20.0, 30.0, -10.5, tab_mm=8.0, top_mm=-6.0)),
        }
        (found,) = said(checked(part(programs), programs), "breakthrough")
        assert (found.status, "edge is open" in found.message) == (Status.FAIL, True)

    def test_cuts_that_meet_are_a_hole_without_a_profile_too(self) -> None:
        programs = {
            "front-pocket": (FLAT, pocket(10.0, 5.0, 8.0, -11.0)),
            "back-pocket": (FLAT, pocket(-10.0, 5.0, 5.0, -10.0)),
        }
        report = checked(part(programs), programs)
        assert statuses(report, "breakthrough") == [Status.FAIL]

    def test_holes_drilled_from_both_faces_are_meant_to_meet(self) -> None:
        drill = f"{HEAD}G98 G83 X12 Y4 Z-12 R2 Q3 F200\nG80\n{TAIL}"
        programs = {
            "front-holes": ("5 drill", drill),
            "back-holes": ("5 drill", drill.replace("X12", "X-12")),
        }
        report = checked(part(programs), programs)
        assert statuses(report, "breakthrough") == [Status.PASS]
        assert statuses(report, "rapid") == [Status.PASS]

    @pytest.mark.parametrize(
        ("least_mm", "status"), [(3.0, Status.PASS), (5.0, Status.FAIL), (None, Status.NOT_DETERMINED)]
    )
    def test_the_web_between_two_pockets_is_what_they_leave(self, least_mm: float | None, status: Status) -> None:
        programs = {
            "front-pocket": (FLAT, pocket(10.0, 5.0, 8.0, -9.0)),
            "back-pocket": (FLAT, pocket(-10.0, 5.0, 5.0, -7.0)),
        }
        report = checked(part(programs, limits=Limits(least_web_mm=least_mm)), programs)
        (found,) = said(report, "web")
        assert found.status is status
        assert "thinnest web is 4.00 mm" in found.message

    @pytest.mark.parametrize(
        ("floor_mm", "status", "says"), [(-10.5, Status.PASS, "by 1.00 mm"), (-9.25, Status.FAIL, "1.50 mm")]
    )
    def test_profiles_that_do_not_meet_leave_a_skin(self, floor_mm: float, status: Status, says: str) -> None:
        programs = {
            "front-profile": (FLAT, profile(20.0, 30.0, floor_mm, tab_mm=8.0, top_mm=-6.0)),
            "back-profile": (FLAT, profile(20.0, 30.0, floor_mm, tab_mm=8.0, top_mm=-6.0)),
        }
        (found,) = said(checked(part(programs), programs), "skin")
        assert found.status is status
        assert says in found.message

    def test_a_profile_from_one_face_has_to_go_through_alone(self) -> None:
        programs = {"front-profile": (FLAT, profile(20.0, 30.0, -19.0, tab_mm=8.0, top_mm=-6.0))}
        (found,) = said(checked(part(programs), programs), "skin")
        assert (found.status, "skin of up to 1.00 mm" in found.message) == (Status.FAIL, True)

    def test_a_back_that_lies_off_makes_a_step_of_as_much(self) -> None:
        back = profile(20.0, 30.0, -10.5, tab_mm=8.0, top_mm=-6.0)
        programs = {
            "front-profile": (FLAT, profile(20.0, 30.0, -10.5, tab_mm=8.0, top_mm=-6.0)),
            "back-profile": (FLAT, back.replace("X20.0", "X20.3").replace("X-20.0", "X-19.7")),
        }
        report = checked(part(programs), programs)
        (found,) = said(report, "step")
        assert found.status is Status.WARN
        assert "by up to 0.30 mm" in found.message
        (step,) = report.steps
        # The long edges, 54 of 54 + 34 mm, step by 0.3 mm; the short ones only at their rounded ends.
        assert 0.5 < float((step.step_mm > 0.29).mean()) < 0.7

    def test_how_deep_the_spoilboard_is_cut(self) -> None:
        programs = {"front-profile": (FLAT, profile(20.0, 30.0, -20.4, tab_mm=8.0, top_mm=-16.0))}
        for most_mm, status in ((None, Status.WARN), (0.5, Status.PASS), (0.3, Status.FAIL)):
            report = checked(part(programs, limits=Limits(most_into_spoilboard_mm=most_mm)), programs)
            (found,) = said(report, "spoilboard")
            assert (found.status, found.program) == (status, "front-profile")
            assert "cuts 0.40 mm below" in found.message

    def test_far_below_the_blank_fails_though_nothing_is_said_of_it(self) -> None:
        programs = {"front-slot": (FLAT, f"{HEAD}G0 X-10 Y0\nG1 Z-25.1\nX10\nG0 Z5\n{TAIL}")}
        for most_mm, status in ((None, Status.FAIL), (6.0, Status.PASS)):
            report = checked(part(programs, limits=Limits(most_into_spoilboard_mm=most_mm)), programs)
            assert [found.status for found in said(report, "spoilboard")] == [status]

    def test_the_thickness_at_stations_is_exact(self) -> None:
        programs = {
            "front-ball": ("6 ball", f"{HEAD}G0 X-10 Y0\nG1 Z-4\nX10\n{TAIL}"),
            "back-pocket": (FLAT, pocket(0.0, 0.0, 5.0, -5.0)),
        }
        at = [Station("middle", 50.0, 0.0), Station("beside", 52.0, 0.0), Station("far", 80.0, 0.0)]
        middle, beside, far = checked(part(programs, stations=at), programs).stations
        assert middle.left_mm == pytest.approx(11.0, abs=1e-4)
        # The ball's surface 2 mm beside its way: 3 - sqrt(9 - 4) above the tip.
        assert beside.front_mm == pytest.approx(4.0 - (3.0 - 5.0**0.5), abs=1e-4)
        assert (far.front_mm, far.back_mm, far.left_mm) == (0.0, 0.0, 20.0)

    def test_a_planned_thickness_that_is_missed_fails_and_one_that_is_met_passes(self) -> None:
        programs = {"front-pocket": (FLAT, pocket(0.0, 0.0, 5.0, -5.0))}
        at = [
            Station("met", 50.0, 0.0, 15.2, 0.2),
            Station("thick", 80.0, 0.0, 19.5, 0.3),
            Station("thin", 50.0, 1.0, 15.5, 0.3),
            Station("not planned", 80.0, 0.0),
        ]
        report = checked(part(programs, stations=at), programs)
        found = {one.message.split("'")[1]: one for one in said(report, "station")}
        assert {name: one.status for name, one in found.items()} == {
            "met": Status.PASS,
            "thick": Status.FAIL,
            "thin": Status.FAIL,
        }
        assert found["thick"].message == (
            "station 'thick' is left 20.00 mm thick, planned 19.5 mm and no more than 0.3 mm off: too thick by 0.50 mm"
        )
        assert found["thin"].message.endswith("too thin by 0.50 mm")
        assert found["thin"].at_mm == (1.0, 0.0)

    @pytest.mark.parametrize("sizes", [(15.0, None), (None, 0.2), (0.0, 0.2), (15.0, -0.1)])
    def test_half_a_plan_of_a_thickness_is_refused(self, sizes: tuple[float | None, float | None]) -> None:
        with pytest.raises(ValueError, match="station 'here'"):
            Station("here", 50.0, 0.0, *sizes)


class TestHolding:
    def test_tabs_are_counted_and_measured_on_the_thin_side(self) -> None:
        programs = {
            "front-profile": (FLAT, profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0)),
            "back-profile": (FLAT, profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0)),
        }
        report = checked(part(programs), programs)
        first, last = report.held
        assert first.floor_mm == pytest.approx(9.5, abs=1e-3)
        assert len(last.tabs) == len(report.tabs) == 2
        # 14 mm between the centres where the cutter lifts: 8 mm of tab, 20 - 6 - 6 mm thick.
        for tab in last.tabs:
            assert 7.0 <= tab.width_mm <= 8.0
            assert tab.thickness_mm == pytest.approx(8.0, abs=0.01)
        assert {round(tab.at_mm[0]) for tab in last.tabs} == {-20, 20}
        assert "sugar maple" in said(report, "holding")[-1].message
        assert Status.FAIL not in statuses(report, "holding")

    def test_a_part_without_tabs_comes_loose_at_the_line_that_cuts_the_last_wood(self) -> None:
        programs = {
            "front-profile": (FLAT, profile(20.0, 30.0, -10.5)),
            "back-profile": (FLAT, profile(20.0, 30.0, -10.5)),
        }
        report = checked(part(programs), programs)
        (found,) = [one for one in said(report, "holding") if one.status is Status.FAIL]
        assert (found.program, found.line) == ("back-profile", _line(programs["back-profile"][1], "X20.0", last=True))
        assert report.fails

    def test_a_finish_that_cuts_the_tabs_away_is_found_in_the_finish(self) -> None:
        programs = {
            "front-profile": (FLAT, profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0)),
            "back-profile": (FLAT, profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0)),
            "back-finish": (FLAT, profile(18.0, 30.0, -15.0)),
        }
        report = checked(part(programs), programs)
        found, *gone = [one for one in said(report, "holding") if one.status is Status.FAIL]
        text = programs["back-finish"][1]
        # The first long side cuts one tab, the second the other.
        assert (found.program, found.line) == ("back-finish", _line(text, "Y-30.0", last=True))
        # Each of the two tabs is gone that either profile leaves.
        assert len(gone) == 4
        assert all("back-finish of setup 'back' takes it away" in one.message for one in gone)

    def test_a_slug_inside_a_ring_comes_loose_too(self) -> None:
        ring = f"{HEAD}G0 X10 Y0\nG1 Z-10.5\nG2 X10 Y0 I-10 J0\n{TAIL}"
        programs = {
            "front-profile": (FLAT, ring),
            "back-profile": (FLAT, ring.replace("X10", "X-10").replace("I-10", "I10")),
        }
        report = checked(part(programs), programs)
        (found,) = [one for one in said(report, "holding") if one.status is Status.FAIL]
        assert (found.program, found.line) == ("back-profile", 6)

    def test_a_profile_that_does_not_close_is_not_judged(self) -> None:
        text = f"{HEAD}G0 X20 Y-30\nG1 Z-10.5\nY30\nX-20\n{TAIL}"
        programs = {"front-profile": (FLAT, text)}
        assert statuses(checked(part(programs), programs), "holding") == [Status.NOT_DETERMINED]


class TestCrashes:
    def test_a_traverse_through_wood_is_named_with_its_line(self) -> None:
        text = f"{HEAD}G0 X-10 Y0\nG1 Z-3\nX0\nG0 X10\nG0 Z5\n{TAIL}"
        programs = {"front-slot": (FLAT, text)}
        (found,) = said(checked(part(programs), programs), "rapid")
        assert (found.status, found.program, found.line) == (Status.FAIL, "front-slot", 7)
        assert "3.00 mm deep" in found.message

    def test_a_traverse_down_into_wood_is_named(self) -> None:
        programs = {"front-slot": (FLAT, f"{HEAD}G0 X-10 Y0\nG0 Z-2\nG1 X0\n{TAIL}")}
        (found,) = said(checked(part(programs), programs), "rapid")
        assert (found.status, found.line) == (Status.FAIL, 5)

    def test_traverses_where_wood_is_gone_are_none(self) -> None:
        text = (
            f"{HEAD}G0 X-10 Y0\nG1 Z-3\nX10\nG3 X10 Y10 I0 J5\nG0 X10 Y10\nG2 X10 Y0 I0 J-5\nG0 X-10\nZ5\nX0 Y0\n"
            f"Z-2.9\nG1 Z-6\nG0 Z-1\nG0 Z-5.9\nZ-1\nX5\nZ-2\n{TAIL}"
        )
        programs = {"front-slot": (FLAT, text)}
        assert statuses(checked(part(programs), programs), "rapid") == [Status.PASS]

    def test_what_an_earlier_program_of_the_setup_cleared_is_clear(self) -> None:
        again = f"{HEAD}G0 X0 Y0\nG0 Z-5\nG1 X5\n{TAIL}"
        alone = {"front-again": (FLAT, again)}
        assert statuses(checked(part(alone), alone), "rapid") == [Status.FAIL]
        both = {"front-pocket": (FLAT, pocket(0.0, 0.0, 10.0, -5.0)), **alone}
        assert statuses(checked(part(both), both), "rapid") == [Status.PASS]

    def test_plunges_of_a_cutter_that_cannot(self) -> None:
        slot = f"{HEAD}G0 X-10 Y0\nG1 Z-3\nX10\nG0 Z5\n{TAIL}"
        expected = {FLAT: [], "6 slow": [Status.FAIL], "6 unsaid": [Status.NOT_DETERMINED], "5 drill": []}
        for tool, wanted in expected.items():
            programs = {"front-slot": (tool, slot)}
            found = said(checked(part(programs), programs), "plunge")
            assert [one.status for one in found] == wanted
            assert [one.line for one in found] == [5] * len(wanted)

    def test_a_ramp_is_no_plunge(self) -> None:
        programs = {"front-slot": ("6 slow", f"{HEAD}G0 X-10 Y0\nG1 Z0\nX10 Z-3\nX-10\nZ-3\n{TAIL}")}
        assert said(checked(part(programs), programs), "plunge") == []

    def test_cutter_compensation_and_other_offsets_are_left_out_and_told(self) -> None:
        text = f"{HEAD}G0 X-10 Y0\nG1 Z-3\nG41 D1\nX10 Y5\nX12\nG40\n{TAIL}"
        programs = {"front-slot": (FLAT, text)}
        (found,) = said(checked(part(programs), programs), "map")
        assert (found.status, found.line) == (Status.NOT_DETERMINED, 7)
        text = f"{HEAD}G0 X-10 Y0\nG1 Z-3\nX0\nG0 Z5\nG55 G0 X0 Y0\nG1 Z-3\nX5\nG0 Z5\nG54\n{TAIL}"
        programs = {"front-slot": (FLAT, text)}
        assert said(checked(part(programs), programs), "map")[0].line == 8


def _line(text: str, words: str, *, last: bool) -> int:
    lines = [number for number, line in enumerate(text.splitlines(), 1) if line == words]
    return lines[-1] if last else lines[0]


def _area(message: str) -> float:
    return float(message.split(" over ")[1].split(" mm²")[0])


class TestTooMuch:
    def test_a_grid_that_no_memory_would_hold_is_refused_with_what_to_do(self) -> None:
        programs = {"front-slot": (FLAT, f"{HEAD}G0 X-10 Y0\nG1 Z-3\nX10\n{TAIL}")}
        job = part(programs, limits=Limits(grid_mm=0.001))
        with pytest.raises(
            JobFileError, match=r"check\.grid: the maps would have \d+ million cells; take at least 0\.0\d"
        ):
            checked(job, programs)

    def test_a_cutter_of_ten_metres_is_a_slip(self) -> None:
        programs = {"front-slot": (FLAT, f"{HEAD}G0 X-10 Y0\nG1 Z-3\nX10\n{TAIL}")}
        job = part(programs)
        tools = (replace(job.tools[0], diameter_mm=10_000.0), *job.tools[1:])
        with pytest.raises(JobFileError, match=r"tools\[0\]\.diameter: .* is wider than the blank: 10000, and"):
            checked(replace(job, tools=tools), programs)
        wide = replace(job.blank, width_mm=10_000.0, centre_line_mm=5_000.0)
        with pytest.raises(JobFileError, match=r"tools\[0\]\.diameter: 10000 is too wide"):
            checked(replace(job, tools=tools, blank=wide), programs)
