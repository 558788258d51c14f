"""What of the wood is blank and what are pieces, where a profile runs to the blank's edge or is lifted out of it."""

from math import cos, pi, radians, sin

import pytest

from flipreg.findings import Status
from tests.stock.wood_jobs import HEAD, TAIL, checked, part, profile, said, statuses

FLAT = "6 flat"


def _both(text: str) -> dict[str, tuple[str, str]]:
    return {"front-profile": (FLAT, text), "back-profile": (FLAT, text)}


class TestAtTheEdgeOfTheBlank:
    def test_a_piece_cut_free_by_kerfs_that_run_off_both_ends_comes_loose(self) -> None:
        programs = _both(profile(20.0, 53.0, -10.5))
        report = checked(part(programs), programs)
        found = [one for one in said(report, "holding") if one.status is Status.FAIL]
        # The first long kerf frees a strip; the second parts the rest in two, of which the other strip has more border.
        lines = [n for n, text in enumerate(programs["back-profile"][1].splitlines(), 1) if text in {"Y53.0", "Y-53.0"}]
        assert [(one.program, one.line) for one in found] == [("back-profile", line) for line in lines]
        assert ["700 mm²" in found[0].message, "34 cm²" in found[1].message] == [True, True]

    def test_tabs_hold_a_piece_that_reaches_both_ends(self) -> None:
        programs = _both(profile(20.0, 53.0, -10.5, tab_mm=14.0, top_mm=-6.0))
        report = checked(part(programs), programs)
        assert Status.FAIL not in statuses(report, "holding")
        assert [len(one.tabs) for one in report.held[-2:]] == [1, 1]
        assert len(report.tabs) == 2

    def test_where_no_blank_is_left_outside_the_profile_nobody_can_tell_what_holds(self) -> None:
        programs = _both(profile(28.0, 48.0, -10.5))
        report = checked(part(programs), programs)
        (found,) = [one for one in said(report, "holding") if one.status is not Status.PASS]
        assert found.status is Status.NOT_DETERMINED
        assert "nothing of the blank is left outside" in found.message


class TestLiftedOverTheTop:
    @pytest.mark.parametrize("top_mm", [0.0, 2.0])
    def test_tabs_as_thick_as_the_blank_are_tabs(self, top_mm: float) -> None:
        programs = _both(profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=top_mm))
        report = checked(part(programs), programs)
        assert len(report.held[-1].tabs) == 2
        for tab in report.held[-1].tabs:
            assert 7.0 <= tab.width_mm <= 8.0
            assert tab.thickness_mm == pytest.approx(20.0, abs=0.01)
        assert set(statuses(report, "holding")) == {Status.PASS}
        assert statuses(report, "skin") == [Status.PASS]

    def test_a_tab_lifted_from_one_face_only_is_half_as_thick(self) -> None:
        programs = {
            "front-profile": (FLAT, profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=3.0)),
            "back-profile": (FLAT, profile(20.0, 30.0, -10.5)),
        }
        report = checked(part(programs), programs)
        assert [round(tab.thickness_mm, 2) for tab in report.held[-1].tabs] == [9.5, 9.5]
        # The round ends of the front's cuts, across the kerf, are no step of the edge.
        assert statuses(report, "step") == [Status.PASS]

    def test_a_way_from_one_part_to_another_is_no_lift(self) -> None:
        # Two rings whose ways start 40 mm from each other, cut by one program: two slugs, and no bridge between them.
        ring = "G0 X12 Y{y}\nG1 Z-20.5\nG2 X12 Y{y} I-12 J0\nG0 Z5\n"
        programs = {"front-profile": (FLAT, f"{HEAD}{ring.format(y=20)}{ring.format(y=-20)}{TAIL}")}
        report = checked(part(programs), programs)
        assert sorted(round(one.at_mm[1]) for one in report.held) == [-20, 20]
        (section,) = report.left
        # Twice the ring from 9 to 15 mm, to within the cells along its rims.
        assert pytest.approx(2.0 * pi * (15.0**2 - 9.0**2), abs=10.0) == section.kerf.sum() * section.grid.cell_mm2

    def test_a_way_across_the_part_to_its_hole_is_no_lift(self) -> None:
        ring = "G0 X{r} Y0\nG1 Z-10.5\nG2 X{r} Y0 I-{r} J0\nG0 Z5\n"
        text = f"{HEAD}{ring.format(r=20)}{ring.format(r=12)}{TAIL}"
        programs = _both(text)
        report = checked(part(programs), programs)
        # One ring and its slug, each in one piece, both about the middle.
        assert {(0, 0)} == {(round(one.at_mm[0]), round(one.at_mm[1])) for one in report.held}
        assert statuses(report, "step") == [Status.PASS]

    def test_a_tab_on_an_arc_may_be_lifted_by_a_traverse(self) -> None:
        lift = "G0 Z3\nG0 X{x} Y-{y}\nG1 Z-10.5\n"
        # A way round a radius of 20, clockwise from X 20, lifted over the 40 degrees about its lowest point.
        x, y = 20.0 * sin(radians(20.0)), 20.0 * cos(radians(20.0))
        text = (
            f"{HEAD}G0 X20 Y0\nG1 Z-10.5\nG2 X{x:.4f} Y{-y:.4f} I-20 J0\n{lift.format(x=f'-{x:.4f}', y=f'{y:.4f}')}"
            f"G2 X20 Y0 I{x:.4f} J{y:.4f}\n{TAIL}"
        )
        report = checked(part(_both(text)), _both(text))
        (tab,) = report.held[-1].tabs
        assert tab.at_mm == pytest.approx((0.0, -y), abs=0.5)
        assert tab.thickness_mm == pytest.approx(20.0, abs=0.01)
