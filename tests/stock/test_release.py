"""Pieces of wood that come loose, whatever the job file says of the programs that cut them."""

from dataclasses import replace

import pytest

from flipreg.findings import Status
from flipreg.job.clamp import Clamp
from flipreg.job.limits import Limits
from flipreg.job_check.report import JobReport
from tests.stock.wood_jobs import (
    HEAD,
    TAIL,
    checked,
    fails,
    joined,
    part,
    permitting,
    pocket,
    profile,
    said,
    slot,
    statuses,
)

FLAT = "6 flat"
COARSE = Limits(grid_mm=0.5)
TABBED = profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0)
OUTLINE = {"front-profile": (FLAT, TABBED), "back-profile": (FLAT, TABBED)}


def _ring(radius_mm: float, floor_mm: float, *, x_mm: float = 0.0, y_mm: float = 0.0) -> str:
    x = x_mm + radius_mm
    return f"{HEAD}G0 X{x} Y{y_mm}\nG1 Z{floor_mm} F300\nF900\nG2 X{x} Y{y_mm} I{-radius_mm} J0\n{TAIL}"


def _looked_at(programs: dict[str, tuple[str, str]], **permitted: object) -> JobReport:
    return checked(permitting(part(programs, limits=COARSE), **permitted), programs)  # type: ignore[arg-type]


def _loose(report: JobReport) -> list[tuple[str | None, int | None]]:
    return [(one.program, one.line) for one in fails(report, "holding") if "comes loose" in one.message]


class TestNobodySaidSo:
    def test_a_slug_that_a_ring_frees_inside_the_part(self) -> None:
        programs = {**OUTLINE, "front-window": (FLAT, _ring(12.0, -20.5))}
        report = _looked_at(programs)
        assert _loose(report) == [("front-window", 7)]
        (found,) = [one for one in fails(report, "holding") if "comes loose" in one.message]
        assert found.at_mm == pytest.approx((0.0, 0.0), abs=0.3)
        # A disc with a radius of 9 mm.
        assert abs(float(found.message.split("piece of ")[1].split(" mm²")[0]) - 254.0) < 12.0

    def test_a_slot_that_halves_the_part_frees_the_half_without_a_tab(self) -> None:
        one_side = profile(20.0, 30.0, -10.5).replace(
            "Y30.0\nX-20.0\n", "Y8\nZ-6\nY22\nZ-10.5\nY30.0\nX-20.0\n", 1
        )
        programs = {
            "front-profile": (FLAT, one_side),
            "back-profile": (FLAT, one_side.replace("X20.0", "X_").replace("X-20.0", "X20.0").replace("X_", "X-20.0")),
            "back-slot": (FLAT, slot([(-25.0, 0.0), (25.0, 0.0)], -20.5)),
        }
        ((program, line),) = _loose(_looked_at(programs))
        assert (program, line) == ("back-slot", 7)

    def test_wood_that_is_trimmed_off_the_blank(self) -> None:
        programs = {**OUTLINE, "back-trim": (FLAT, slot([(-40.0, 42.0), (40.0, 42.0)], -20.5))}
        ((program, _),) = _loose(_looked_at(programs))
        assert program == "back-trim"

    def test_a_part_whose_flags_were_forgotten(self) -> None:
        outline = profile(20.0, 30.0, -10.5)
        report = _looked_at({"front-edge": (FLAT, outline), "back-edge": (FLAT, outline)})
        assert [program for program, _ in _loose(report)] == ["back-edge"]
        assert report.fails

    def test_a_part_cut_off_by_one_straight_kerf(self) -> None:
        report = _looked_at({"front-cut": (FLAT, slot([(-40.0, 10.0), (40.0, 10.0)], -20.5))})
        assert _loose(report) == [("front-cut", 7)]
        # The shorter end is the one that lets go.
        assert fails(report, "holding")[0].at_mm == pytest.approx((0.0, 31.5), abs=0.5)

    def test_a_ledge_parted_in_height_without_a_hole_to_be_seen(self) -> None:
        # A step of the front 11 mm deep all round, and an undercut from the back 11 mm deep beside it: walls of no
        # height join the middle to the rest.
        programs = {"front-ring": (FLAT, _ring(16.0, -11.0)), "back-middle": (FLAT, pocket(0.0, 0.0, 18.0, -11.0))}
        assert [program for program, _ in _loose(_looked_at(programs))] == ["back-middle"]

    def test_a_slug_inside_another_comes_free_first(self) -> None:
        rings = {"front-inner": (FLAT, _ring(8.0, -20.5)), "front-outer": (FLAT, _ring(16.0, -20.5))}
        report = _looked_at(rings)
        assert _loose(report) == [("front-inner", 7), ("front-outer", 7)]

    def test_the_thread_of_wood_that_the_last_motion_leaves_is_not_called_loose(self) -> None:
        arc = f"{HEAD}G0 X12 Y0\nG1 Z-20.5 F300\nF900\nG2 X8.485 Y8.485 I-12 J0\n{TAIL}"
        assert _loose(_looked_at({"front-arc": (FLAT, arc)})) == []


class TestWhatIsHeld:
    def test_is_what_the_clamps_stand_on(self) -> None:
        programs = {"front-cut": (FLAT, slot([(-40.0, 10.0), (40.0, 10.0)], -20.5))}
        job = part(programs, limits=COARSE)
        far = Clamp("far", (-5.0, 5.0), (40.0, 60.0), 15.0)
        (setup,) = job.setups
        report = checked(replace(job, setups=(replace(setup, clamps=(far,)),)), programs)
        (found,) = fails(report, "holding")
        assert found.at_mm == pytest.approx((0.0, -21.5), abs=0.5)
        assert "held is what the clamps stand on" in found.message
        near = Clamp("near", (-5.0, 5.0), (-60.0, -40.0), 15.0)
        both = checked(replace(job, setups=(replace(setup, clamps=(far, near)),)), programs)
        assert _loose(both) == []


class TestMayFall:
    def test_a_slug_that_may_fall_passes_and_is_listed(self) -> None:
        programs = {**OUTLINE, "front-window": (FLAT, _ring(12.0, -20.5))}
        report = _looked_at(programs, may_fall={"front-window": [(1.0, 1.0)]})
        assert not report.fails
        (found,) = [one for one in said(report, "holding") if "may_fall" in one.message]
        assert found.status is Status.PASS

    def test_another_piece_may_not_fall_for_it(self) -> None:
        programs = {**OUTLINE, "front-window": (FLAT, _ring(12.0, -20.5))}
        report = _looked_at(programs, may_fall={"front-window": [(40.0, 40.0)]})
        assert _loose(report) == [("front-window", 7)]
        assert Status.WARN in statuses(report, "holding")

    def test_what_falls_leaves_no_hole_that_nobody_wanted(self) -> None:
        programs = {**OUTLINE, "front-window": (FLAT, _ring(12.0, -20.5))}
        report = _looked_at(programs, may_fall={"front-window": [(1.0, 1.0)]})
        assert statuses(report, "breakthrough") == [Status.PASS]


class TestRapidsAtTheBegin:
    def test_a_first_traverse_that_ends_in_wood_is_named(self) -> None:
        text = "G21 G90 G17 G94 T1 M6 S9000 M3 F900\nG0 X0 Y0 Z-4\nG1 X10\nG0 Z5\nG0 X0 Y0\nM30\n"
        (found,) = fails(_looked_at({"front-slot": (FLAT, text)}), "rapid")
        assert (found.program, found.line) == ("front-slot", 2)

    def test_several_contours_in_one_program_come_loose_at_their_own_lines(self) -> None:
        programs = {"front-rings": (FLAT, joined(_ring(8.0, -20.5, x_mm=-15.0), _ring(8.0, -20.5, x_mm=15.0)))}
        lines = [line for _, line in _loose(_looked_at(programs))]
        assert lines == [7, 12]
