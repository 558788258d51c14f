"""Places where no wood is left, of which only kerfs round a piece and what the job permits are meant."""

from dataclasses import replace

import pytest

from flipreg.findings import Status
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
COARSE = Limits(grid_mm=1.0)
TABBED = profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0)
OUTLINE = {"front-profile": (FLAT, TABBED), "back-profile": (FLAT, TABBED)}


def _looked_at(
    programs: dict[str, tuple[str, str]],
    *,
    through: tuple[str, ...] = (),
    measured_mm: float | None = None,
    compares: bool = False,
) -> JobReport:
    job = permitting(part(programs, limits=COARSE), through=through)
    measured = replace(job, blank=replace(job.blank, measured_thickness_mm=measured_mm))
    return checked(measured, programs, compares=compares)


def _hole(x_mm: float, y_mm: float, floor_mm: float) -> str:
    return f"{HEAD}G0 X{x_mm} Y{y_mm}\nG1 Z{floor_mm} F300\n{TAIL}"


class TestHolesThatNobodyDeclared:
    def test_a_pocket_deeper_than_the_blank(self) -> None:
        programs = {**OUTLINE, "front-pocket": (FLAT, pocket(0.0, 5.0, 6.0, -20.5))}
        (found,) = fails(_looked_at(programs), "breakthrough")
        assert "gets a hole" in found.message
        assert found.program == "front-pocket"

    def test_a_pocket_deeper_than_the_blank_as_measured(self) -> None:
        programs = {**OUTLINE, "front-pocket": (FLAT, pocket(0.0, 5.0, 6.0, -19.5))}
        assert fails(_looked_at(programs), "breakthrough") == []
        assert fails(_looked_at(programs, measured_mm=19.0), "breakthrough")

    def test_a_drill_that_goes_through(self) -> None:
        programs = {**OUTLINE, "front-drill": ("5 drill", _hole(0.0, 5.0, -22.0))}
        (found,) = fails(_looked_at(programs), "breakthrough")
        assert found.program == "front-drill"

    def test_pockets_that_meet_around_a_hole_drilled_from_both_faces(self) -> None:
        programs = {
            **OUTLINE,
            "front-pocket": (FLAT, pocket(0.0, 5.0, 8.0, -12.0)),
            "back-pocket": (FLAT, pocket(0.0, 5.0, 8.0, -9.0)),
            "front-drill": ("5 drill", _hole(0.0, 5.0, -14.0)),
            "back-drill": ("5 drill", _hole(0.0, 5.0, -14.0)),
        }
        (found,) = fails(_looked_at(programs), "breakthrough")
        assert "gets a hole" in found.message

    def test_pockets_in_the_programs_of_the_profile(self) -> None:
        programs = {
            "front-profile": (FLAT, joined(pocket(0.0, 5.0, 6.0, -12.0), TABBED)),
            "back-profile": (FLAT, joined(pocket(0.0, 5.0, 6.0, -9.0), TABBED)),
        }
        (found,) = fails(_looked_at(programs), "breakthrough")
        assert found.at_mm == pytest.approx((0.0, 5.0), abs=9.5)
        report = _looked_at({name: (tool, text.replace("Z-12.0", "Z-8.0")) for name, (tool, text) in programs.items()})
        assert fails(report, "breakthrough") == fails(report, "skin") == []

    def test_vees_that_meet_by_a_hair(self) -> None:
        groove = f"{HEAD}G0 X0 Y-10\nG1 Z{{z}} F300\nY10\n{TAIL}"
        programs = {
            **OUTLINE,
            "front-vee": ("90 vee", groove.format(z=-10.05)),
            "back-vee": ("90 vee", groove.format(z=-10.03)),
        }
        report = _looked_at(programs)
        assert Status.PASS not in statuses(report, "breakthrough")
        assert report.fails
        assert "web is 0.00 mm" in fails(report, "web")[0].message

    def test_a_slot_through_the_part_that_its_tabs_hold_is_not_meant(self) -> None:
        cut = f"{HEAD}G0 X25 Y0\nG1 Z-20.5 F300\nX-25\n{TAIL}"
        four = profile(20.0, 30.0, -10.5).replace("Y30.0\n", "Y-20\nZ-6\nY-6\nZ-10.5\nY6\nZ-6\nY20\nZ-10.5\nY30.0\n", 1)
        programs = {"front-profile": (FLAT, four), "back-profile": (FLAT, TABBED), "front-slot": (FLAT, cut)}
        (found,) = fails(_looked_at(programs), "breakthrough")
        assert "part a piece from the rest" in found.message


class TestKerfsThatGoRoundNeitherSide:
    across = slot([(60.0, 0.0), (8.0, 0.0), (-8.0, 0.0), (-60.0, 0.0)], -20.5).replace(
        "X-8.0", "Z-16\nX-8.0 Z-16\nZ-20.5"
    )

    def _report(self, pocket_mm: float, *, through: tuple[str, ...] = ()) -> JobReport:
        programs = {
            "front-pocket": (FLAT, pocket(0.0, -15.0, 6.0, -pocket_mm)),
            "front-profile": (FLAT, self.across),
        }
        return _looked_at(programs, through=through)

    def test_a_hole_on_either_side_is_not_taken_for_one_in_the_waste(self) -> None:
        (found,) = said(self._report(20.5), "breakthrough")
        assert (found.status, "goes all round neither side" in found.message) == (Status.NOT_DETERMINED, True)
        (found,) = said(self._report(20.5, through=("front-pocket",)), "breakthrough")
        assert found.status is Status.PASS

    def test_the_web_on_either_side_is_told(self) -> None:
        assert any("thinnest web is 2.50 mm" in found.message for found in said(self._report(17.5), "web"))


class TestWhatIsMeant:
    def test_what_the_job_permits_is_listed(self) -> None:
        programs = {**OUTLINE, "front-drill": ("5 drill", _hole(0.0, 5.0, -22.0))}
        report = _looked_at(programs, through=("front-drill",))
        (found,) = said(report, "breakthrough")
        assert (found.status, "front-drill" in found.message) == (Status.PASS, True)

    def test_a_hole_that_is_permitted_permits_no_other(self) -> None:
        programs = {
            **OUTLINE,
            "front-drill": ("5 drill", _hole(0.0, 5.0, -22.0)),
            "front-pocket": (FLAT, pocket(0.0, -14.0, 3.0, -20.5)),
        }
        (found,) = fails(_looked_at(programs, through=("front-drill",)), "breakthrough")
        assert found.program == "front-pocket"

    def test_a_counterbored_hole(self) -> None:
        programs = {
            **OUTLINE,
            "front-drill": ("5 drill", _hole(0.0, 5.0, -15.0)),
            "back-counterbore": (FLAT, pocket(0.0, 5.0, 3.0, -8.0)),
        }
        report = _looked_at(programs, through=("front-drill",))
        assert fails(report, "breakthrough") == fails(report, "web") == []

    def test_a_hole_in_the_waste_is_told_and_fails_nothing(self) -> None:
        programs = {**OUTLINE, "front-pin": ("5 drill", _hole(0.0, 44.0, -22.0))}
        assert statuses(_looked_at(programs), "breakthrough") == [Status.WARN]


class TestWebs:
    @pytest.mark.parametrize("least_mm", [None, 2.0])
    def test_a_web_of_three_tenths_beside_the_profile(self, least_mm: float | None) -> None:
        # The walls of the pockets are 2 mm from the kerf's.
        programs = {
            **OUTLINE,
            "front-pocket": (FLAT, pocket(10.0, 0.0, 2.0, -10.0)),
            "back-pocket": (FLAT, pocket(-10.0, 0.0, 2.0, -9.7)),
        }
        job = part(programs, limits=Limits(grid_mm=0.5, least_web_mm=least_mm))
        (found,) = fails(checked(job, programs), "web")
        assert "web is 0.30 mm" in found.message

    def test_a_pocket_that_leaves_a_film_over_the_other_face(self) -> None:
        programs = {**OUTLINE, "front-pocket": (FLAT, pocket(0.0, 5.0, 6.0, -19.8))}
        (found,) = fails(_looked_at(programs), "web")
        assert "web is 0.20 mm" in found.message

    def test_webs_are_told_without_least_web(self) -> None:
        programs = {**OUTLINE, "front-pocket": (FLAT, pocket(0.0, 5.0, 6.0, -15.0))}
        (found,) = said(_looked_at(programs), "web")
        assert (found.status, "web is 5.00 mm" in found.message) == (Status.NOT_DETERMINED, True)
        # Nothing passes for a strip that no cell shows.
        assert found.message.endswith("within 2.00 mm of the kerf and of openings nothing can be told")

    def test_an_edge_that_runs_out_is_not_called_thick_enough(self) -> None:
        ball = "".join(f"G0 X{x} Y-20\nG1 Z{-6.0 - 1.5 * (x - 13.0):.2f}\nY20\nG0 Z5\n" for x in (13, 14, 15, 16, 17))
        mirrored = ball
        for x in (13, 14, 15, 16, 17):
            mirrored = mirrored.replace(f"X{x} ", f"X-{x} ")
        programs = {
            **OUTLINE,
            "front-round": ("6 ball", f"{HEAD}{ball}{TAIL}"),
            "back-round": ("6 ball", f"{HEAD}{mirrored}{TAIL}"),
        }
        job = part(programs, limits=Limits(grid_mm=0.5, least_web_mm=4.0))
        found = [one for one in said(checked(job, programs), "web") if one.status is Status.NOT_DETERMINED]
        assert ["runs out" in one.message for one in found] == [True]


class TestSkins:
    def test_the_shallower_of_two_contours_of_one_program_leaves_a_skin(self) -> None:
        ring = f"{HEAD}G0 X8 Y0\nG1 Z-9.75 F300\nF900\nG2 X8 Y0 I-8 J0\n{TAIL}"
        programs = {
            "front-profile": (FLAT, joined(ring, TABBED)),
            "back-profile": (FLAT, joined(ring.replace("X8", "X-8").replace("I-8", "I8"), TABBED)),
        }
        (found,) = fails(_looked_at(programs), "skin")
        assert "skin of up to 0.50 mm" in found.message

    def test_a_pockets_floor_is_no_skin(self) -> None:
        programs = {
            "front-profile": (FLAT, joined(pocket(0.0, 0.0, 6.0, -8.0), TABBED)),
            "back-profile": (FLAT, TABBED),
        }
        report = _looked_at(programs)
        assert statuses(report, "skin") == [Status.PASS]
        assert len(report.tabs) == 2

    def test_a_groove_round_something_is_no_skin(self) -> None:
        ring = f"{HEAD}G0 X10 Y0\nG1 Z-3 F300\nF900\nG2 X10 Y0 I-10 J0\n{TAIL}"
        programs = {"front-profile": (FLAT, joined(ring, TABBED)), "back-profile": (FLAT, TABBED)}
        assert statuses(_looked_at(programs), "skin") == [Status.PASS]


class TestSeams:
    def test_a_clearing_cut_in_the_waste_is_not_the_seam(self) -> None:
        programs = {**OUTLINE, "front-clearing": (FLAT, pocket(0.0, 42.0, 1.0, -18.0))}
        (seam,) = _looked_at(programs, compares=True).seams
        assert seam.overlap_mm == pytest.approx(1.0)
