"""Programs in the wrong order, as the wood shows it."""

import pytest

from flipreg.findings import Finding, Status
from tests.stock.wood_jobs import HEAD, TAIL, checked, part, pocket, profile, said

FLAT = "6 flat"


def order(programs: dict[str, tuple[str, str]]) -> list[Finding]:
    """Return the findings on the order of programs."""
    return said(checked(part(programs), programs), "order")


def levels(half_mm: float, *floors_mm: float) -> str:
    """Return a pocket in levels."""
    text = HEAD
    for floor_mm in floors_mm:
        text += pocket(0.0, 0.0, half_mm, floor_mm).removeprefix(HEAD).removesuffix(TAIL) + "G0 Z5\n"
    return text + TAIL


class TestFinishBeforeRough:
    def test_a_finish_that_runs_before_its_rough_is_told_with_its_bite(self) -> None:
        programs = {
            "front-finish": (FLAT, pocket(0.0, 0.0, 10.0, -9.0)),
            "front-rough": (FLAT, levels(9.5, -3.0, -6.0, -8.5)),
        }
        (found,) = order(programs)
        assert (found.status, found.program, found.line) == (Status.FAIL, "front-finish", 5)
        assert "bites up to 9.0 mm" in found.message
        assert "front-rough comes later, 100 %" in found.message

    @pytest.mark.parametrize("extra", [(), ("front-spring",)])
    def test_rough_then_finish_then_a_spring_pass_is_right(self, extra: tuple[str, ...]) -> None:
        programs = {
            "front-rough": (FLAT, levels(9.5, -3.0, -6.0, -8.5)),
            "front-finish": (FLAT, pocket(0.0, 0.0, 10.0, -9.0)),
            **{name: (FLAT, pocket(0.0, 0.0, 10.0, -9.0)) for name in extra},
        }
        assert order(programs) == []

    def test_a_program_that_takes_nothing_is_to_be_looked_at(self) -> None:
        programs = {
            "front-rough": (FLAT, levels(10.0, -3.0, -6.0, -8.5)),
            "front-again": (FLAT, pocket(0.0, 0.0, 9.5, -7.5)),
        }
        (found,) = order(programs)
        assert (found.status, found.program, found.line) == (Status.WARN, "front-again", 5)

    def test_facing_over_a_deep_pocket_that_was_cut_in_levels_is_right(self) -> None:
        programs = {
            "front-pocket": (FLAT, levels(10.0, -2.0, -4.0, -6.0, -8.0, -10.0)),
            "front-face": (FLAT, pocket(0.0, 0.0, 11.0, -0.5)),
        }
        assert order(programs) == []

    def test_a_program_of_the_other_face_is_no_rough(self) -> None:
        programs = {
            "front-finish": (FLAT, pocket(0.0, 0.0, 10.0, -9.0)),
            "back-rough": (FLAT, levels(9.5, -3.0, -6.0, -8.5)),
        }
        assert order(programs) == []


class TestProfileBeforeInnerWork:
    PROFILE = profile(20.0, 30.0, -20.5, tab_mm=8.0, top_mm=-14.0)

    def test_a_pocket_in_a_piece_that_hangs_in_tabs_is_told(self) -> None:
        programs = {
            "front-profile": (FLAT, self.PROFILE),
            "front-pocket": (FLAT, pocket(0.0, 0.0, 8.0, -5.0)),
        }
        (found,) = order(programs)
        assert (found.status, found.program, found.line) == (Status.FAIL, "front-pocket", 5)
        assert "cuts up to 5.0 mm deep in a piece that front-profile has cut round before" in found.message

    def test_a_later_setup_may_have_no_other_way(self) -> None:
        programs = {
            "front-profile": (FLAT, self.PROFILE),
            "back-pocket": (FLAT, pocket(0.0, 0.0, 8.0, -5.0)),
        }
        (found,) = order(programs)
        assert found.status is Status.WARN

    def test_the_inner_work_first_and_the_profiles_last_pass_is_right(self) -> None:
        programs = {
            "front-pocket": (FLAT, pocket(0.0, 0.0, 8.0, -5.0)),
            "front-profile": (FLAT, self.PROFILE),
            "front-profile-again": (FLAT, self.PROFILE),
        }
        assert order(programs) == []

    def test_a_profile_that_leaves_a_floor_all_round_is_right(self) -> None:
        programs = {
            "front-profile": (FLAT, profile(20.0, 30.0, -10.5, tab_mm=8.0, top_mm=-6.0)),
            "front-pocket": (FLAT, pocket(0.0, 0.0, 8.0, -5.0)),
            "back-pocket": (FLAT, pocket(0.0, 10.0, 5.0, -5.0)),
            "back-profile": (FLAT, profile(20.0, 30.0, -10.5, tab_mm=8.0, top_mm=-6.0)),
        }
        assert order(programs) == []

    def test_work_in_the_blank_beside_the_piece_is_right(self) -> None:
        programs = {
            "front-profile": (FLAT, self.PROFILE),
            "front-beside": (FLAT, f"{HEAD}G0 X-15 Y44\nG1 Z-5 F300\nX15 F900\n{TAIL}"),
        }
        assert order(programs) == []
