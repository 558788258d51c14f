"""Tabs: what holds a piece, measured on the thin side, and what is left of those that the programs leave."""

from dataclasses import replace
from math import cos, pi, radians, sin

import pytest

from flipreg.findings import Status
from flipreg.job.limits import Limits
from flipreg.job_check.report import JobReport
from tests.stock.wood_jobs import HEAD, TAIL, checked, fails, joined, part, permitting, profile, said, slot

FLAT = "6 flat"


def _looked_at(
    programs: dict[str, tuple[str, str]], *, limits: Limits | None = None, grid_mm: float = 0.5
) -> JobReport:
    job = part(programs, limits=replace(limits or Limits(), grid_mm=grid_mm))
    return checked(permitting(job, through=[name for name in programs if "window" in name]), programs)


def _both(text: str, **back: str) -> dict[str, tuple[str, str]]:
    return {"front-profile": (FLAT, text), "back-profile": (FLAT, back.get("back", text))}


class TestKerfsOfTwoWidths:
    def test_thin_tabs_are_not_taken_for_the_ledge_that_the_wider_kerf_leaves(self) -> None:
        # Both lift to 9.9 mm: 0.2 mm of wood. The wider cutter leaves a ledge of 9.5 mm beside the narrower one's kerf.
        wide = profile(20.0, 30.0, -10.5, tab_mm=18.0, top_mm=-9.9)
        narrow = profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-9.9)
        report = _looked_at({"front-profile": ("10 flat", wide), "back-profile": (FLAT, narrow)})
        assert [round(tab.thickness_mm, 2) for _, tab in report.tabs] == [0.2, 0.2]
        assert sum(tab.section_mm2 for _, tab in report.tabs) == pytest.approx(2 * 8.0 * 0.2, abs=0.2)
        assert fails(report, "holding")

    def test_nor_for_that_of_an_allowance_on_one_face(self) -> None:
        front = profile(20.5, 30.5, -10.5, tab_mm=14.0, top_mm=-9.9)
        back = profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-9.9)
        report = _looked_at(_both(front, back=back), grid_mm=0.25)
        assert [round(tab.thickness_mm, 2) for _, tab in report.tabs] == [0.2, 0.2]


class TestWindows:
    def test_tabs_of_a_window_hold_its_slug_and_not_the_part(self) -> None:
        window = profile(8.0, 12.0, -10.5, tab_mm=9.0, top_mm=-6.0)
        outline = profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0)
        programs = {
            "front-profile": (FLAT, joined(window, outline)),
            "back-profile": (FLAT, joined(window, outline)),
        }
        report = _looked_at(programs)
        slug, ring = sorted(
            (one for one in report.held if one.setup == "back"), key=lambda one: one.area_mm2
        )
        assert ring.section_mm2 == pytest.approx(2 * 8.0 * 8.0, rel=0.03)
        assert slug.section_mm2 == pytest.approx(2 * 3.0 * 8.0, rel=0.08)
        assert len(report.tabs) == 4


class TestWhatIsLeftOfThem:
    def test_a_tab_that_the_other_face_cuts_through_is_named_with_the_program(self) -> None:
        front = profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0)
        # The back's pass goes through on the side where it has no tab.
        back = front.replace("Y7.0\nZ-6.0\nY-7.0\nZ-10.5\n", "").replace("X-20.0\n", "X-20.0\nZ-14.5\n")
        report = _looked_at(_both(front, back=back))
        gone = [one for one in fails(report, "holding") if "no wood is left of the tab" in one.message]
        assert [one.program for one in gone] == ["front-profile"]
        assert "back-profile of setup 'back' takes it away" in gone[0].message

    def test_a_tab_that_was_gone_before_a_program_without_a_flag_is_lifted_over_it(self) -> None:
        back = profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0)
        front = back.replace("Y7.0\nZ-6.0\nY-7.0\nZ-10.5\n", "").replace("X-20.0\n", "X-20.0\nZ-14.5\n")
        gone = [
            one
            for one in fails(_looked_at({"front-profile": (FLAT, front), "back-way": (FLAT, back)}), "holding")
            if "no wood is left of the tab" in one.message
        ]
        assert [one.program for one in gone] == ["back-way"]
        assert "front-profile of setup 'front' takes it away" in gone[0].message

    def test_tabs_on_one_face_only_are_told(self) -> None:
        programs = _both(
            profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0), back=profile(20.0, 30.0, -10.5)
        )
        found = [one for one in said(_looked_at(programs), "holding") if one.status is Status.WARN]
        assert len(found) == 1
        assert "the front's programs leave tabs that the back's do not" in found[0].message

    @pytest.mark.parametrize(
        ("tab_mm", "top_mm", "enough"), [(14.0, -9.9, False), (6.4, -6.0, False), (14.0, -9.0, True)]
    )
    def test_threads_and_films_fail(self, tab_mm: float, top_mm: float, enough: bool) -> None:  # noqa: FBT001
        report = _looked_at(_both(profile(20.0, 30.0, -10.5, tab_mm=tab_mm, top_mm=top_mm)), grid_mm=0.1)
        assert (fails(report, "holding") == []) is enough

    def test_the_job_says_how_small_a_tab_may_be(self) -> None:
        programs = _both(profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-9.0))
        asked = Limits(least_tab_mm=(3.0, 5.0))
        (found,) = fails(_looked_at(programs, limits=asked), "holding")
        assert "least_tab is 5 mm wide and 3 mm thick" in found.message


class TestFigures:
    @pytest.mark.parametrize("grid_mm", [0.25, 0.5])
    def test_the_width_is_right_to_tenths_on_any_grid(self, grid_mm: float) -> None:
        report = _looked_at(_both(profile(20.0, 30.0, -10.5, tab_mm=13.44, top_mm=-6.0)), grid_mm=grid_mm)
        assert report.tabs
        for _, tab in report.tabs:
            assert 7.2 <= tab.width_mm <= 7.44

    def test_a_tab_of_faces_that_do_not_lie_over_each_other_is_one(self) -> None:
        front = profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0)
        back = front.replace("X20.0", "X20.6").replace("X-20.0", "X-19.4")
        assert len(_looked_at(_both(front, back=back)).tabs) == 2


class TestWaysThatAreNoTabs:
    def test_a_traverse_at_45_degrees_between_two_contours(self) -> None:
        # Two rings that pass each other at 45 degrees, 28 mm from the end of one to the begin of the other.
        def ring(x: float, y: float) -> str:
            return f"G0 X{x} Y{y}\nG1 Z-20.5 F300\nF900\nG2 X{x} Y{y} I-6 J6\nG0 Z5\n"

        programs = {"front-profile": (FLAT, f"{HEAD}{ring(-4.0, -20.0)}{ring(15.8, -0.2)}{TAIL}")}
        report = _looked_at(programs)
        (left,) = report.left
        width = 2.0 * pi * 6.0 * 2.0**0.5 * 6.0
        assert float(left.kerf.sum()) * left.grid.cell_mm2 == pytest.approx(2.0 * width, rel=0.05)

    def test_a_hole_on_the_way_between_two_contours_is_seen(self) -> None:
        def ring(x: float, y: float) -> str:
            return f"G0 X{x} Y{y}\nG1 Z-20.5 F300\nF900\nG2 X{x} Y{y} I-6 J6\nG0 Z5\n"

        hole = f"{HEAD}G0 X5.9 Y-10.1\nG1 Z-20.5 F300\n{TAIL}"
        programs = {
            "front-profile": (FLAT, f"{HEAD}{ring(-4.0, -20.0)}{ring(15.8, -0.2)}{TAIL}"),
            "front-hole": (FLAT, hole),
        }
        (found,) = said(_looked_at(programs), "breakthrough")
        assert (found.status, found.program) == (Status.WARN, "front-hole")

    def test_a_contour_in_two_passes_has_each_tab_once(self) -> None:
        first = profile(20.0, 30.0, -5.0)
        second = profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0)
        report = _looked_at(_both(joined(first, second)))
        assert len(report.tabs) == 2
        assert not fails(report, "holding")

    def test_a_ring_that_begins_and_ends_at_its_tab_has_that_tab(self) -> None:
        x, y = 20.0 * cos(radians(18.0)), 20.0 * sin(radians(18.0))
        text = f"{HEAD}G0 X{x:.4f} Y{y:.4f}\nG1 Z-20.5 F300\nF900\nG3 X{x:.4f} Y{-y:.4f} I{-x:.4f} J{-y:.4f}\n{TAIL}"
        report = _looked_at({"front-profile": (FLAT, text)})
        assert [(round(tab.at_mm[0]), round(tab.thickness_mm)) for _, tab in report.tabs] == [(19, 20)]


def _ring_of_four(radius_mm: float, *, by_traverse: bool) -> str:
    """Return a round contour with four tabs of 14 mm in its bends, which the cutter passes by feed or in the air."""
    at = [
        (radius_mm * cos(radians(degrees)), radius_mm * sin(radians(degrees)))
        for side in range(4)
        for degrees in (90.0 * side + 20.0, 90.0 * side + 70.0)
    ]
    arcs = [f"G3 X{x:.4f} Y{y:.4f} R{radius_mm}\n" for x, y in [*at[1:], at[0]]]
    text = f"{HEAD}G0 X{at[0][0]:.4f} Y{at[0][1]:.4f}\nG1 Z-10.5 F300\nF900\n"
    for cut, over, (x, y) in zip(arcs[::2], arcs[1::2], [*at[2::2], at[0]], strict=True):
        text += cut
        if by_traverse:
            text += f"G0 Z5\nG0 X{x:.4f} Y{y:.4f}\nG1 Z-10.5\n"
        else:
            text += f"G1 Z-6\n{over}G1 Z-10.5\n"
    return text + TAIL


class TestTabsInBends:
    @pytest.mark.parametrize("by_traverse", [False, True], ids=["by feed", "in the air"])
    def test_those_of_a_program_that_cut_an_opening_before_are_all_found(self, by_traverse: bool) -> None:  # noqa: FBT001
        ring = _ring_of_four(20.0, by_traverse=by_traverse)
        opening = slot([(-3.0, -3.0), (-9.0, -3.0)], -10.5)
        report = _looked_at(_both(joined(opening, ring)))
        found = sorted((round(tab.at_mm[0] / 19.5, 1), round(tab.at_mm[1] / 19.5, 1)) for _, tab in report.tabs)
        assert found == [(-1.0, 0.0), (0.0, -1.0), (0.0, 1.0), (1.0, 0.0)]
        assert not [one for one in said(report, "holding") if one.status is not Status.PASS]
