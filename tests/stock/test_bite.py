"""How deep cutters bite, and what they should not do in wood, on cuts that can be reckoned by hand."""

from dataclasses import replace
from math import cos, pi, radians, sin, tan

import pytest

from flipreg.findings import Finding, Status
from flipreg.job.job import Job
from flipreg.job.tool import Tool
from flipreg.job_check.report import JobReport
from flipreg.stock.cutting.bite import Bitten
from tests.stock.wood_jobs import HEAD, TAIL, checked, part, pocket, said


def bites(*texts: tuple[str, str]) -> list[Bitten]:
    """Return what front programs, each a tool and a text, take in turn."""
    return list(report_of(*texts).bitten)


def report_of(*texts: tuple[str, str], tools: dict[str, dict[str, object]] | None = None) -> JobReport:
    """Return the report of a job of front programs, its tools changed as said."""
    programs = {f"front-{place}": one for place, one in enumerate(texts)}
    job: Job = part(programs)
    changed = tuple(replace(tool, **(tools or {}).get(tool.name, {})) for tool in job.tools)  # type: ignore[arg-type]
    return checked(replace(job, tools=changed), programs)


def slot(*depths_mm: float, x_mm: float = 0.0, length_mm: float = 30.0) -> str:
    """Return a slot along Y in levels, there and back, without a lift between them."""
    text, y = f"{HEAD}G0 X{x_mm} Y0\n", 0.0
    for depth_mm in depths_mm:
        y = length_mm - y
        text += f"G1 Z{-depth_mm} F300\nY{y} F900\n"
    return text + TAIL


class TestDepth:
    @pytest.mark.parametrize(
        ("depths_mm", "bite_mm", "line"),
        [((2.0, 4.0, 6.0), 2.0, 5), ((2.0, 9.0, 10.0), 7.0, 7), ((12.0,), 12.0, 5), ((1.0, 2.0, 6.5), 4.5, 9)],
    )
    def test_a_slot_in_levels_bites_as_deep_as_its_highest_step(
        self, depths_mm: tuple[float, ...], bite_mm: float, line: int
    ) -> None:
        (one,) = bites(("6 flat", slot(*depths_mm)))
        assert one.bite is not None
        assert one.bite.depth_mm == pytest.approx(bite_mm, abs=0.01)
        assert one.bite.line in (line, line + 1)
        volume = (6.0 * 30.0 + pi * 9.0) * max(depths_mm)
        assert one.taken_mm3 == pytest.approx(volume, rel=0.1)

    def test_each_of_many_pockets_is_cut_from_its_own_top(self) -> None:
        levels = [-2.0, -4.0, -6.0, -8.0]
        text = HEAD + "".join(
            f"G0 X{x} Y{y}\nG1 Z{z} F300\nX{x + 3} F900\nG0 Z5\n"
            for x in (-30, -15, 0, 15)
            for y in range(-40, 40, 10)
            for z in levels
        )
        (one,) = bites(("6 flat", text + TAIL))
        assert one.bite is not None
        assert one.bite.depth_mm == pytest.approx(2.0, abs=0.01)

    def test_the_one_hole_of_many_that_is_not_pecked_is_seen(self) -> None:
        drilled = [f"X{x} Y{y} " for x in range(-24, 25, 8) for y in range(-40, 45, 8)]
        text = "".join(f"G98 G83 {at}Z-12 R2 Q3 F200\n" for at in drilled)
        text += "G98 G81 X20 Y4 Z-12 R2\n"
        (one,) = bites(("5 drill", f"{HEAD}{text}G80\n{TAIL}"))
        assert one.bite is not None
        assert one.bite.depth_mm == pytest.approx(12.0, abs=0.3)

    def test_a_helix_bites_its_pitch(self) -> None:
        turns = "".join(f"G3 X6 Y0 I-6 Z{-0.8 * turn:g}\n" for turn in range(1, 13))
        (one,) = bites(("6 flat", f"{HEAD}G0 X6 Y0\nG1 Z0 F300\n{turns}G3 X6 Y0 I-6\n{TAIL}"))
        assert one.bite is not None
        assert one.bite.depth_mm == pytest.approx(0.8, abs=0.1)

    def test_wood_that_the_other_face_has_taken_is_not_bitten(self) -> None:
        programs = {
            "front-pocket": ("6 flat", pocket(0.0, 0.0, 8.0, -12.0)),
            "back-through": ("6 flat", f"{HEAD}G0 X0 Y0\nG1 Z-20 F300\n{TAIL}"),
        }
        of_back = checked(part(programs), programs).bitten[-1]
        assert of_back.bite is not None
        assert of_back.bite.depth_mm == pytest.approx(8.0, abs=0.01)

    def test_what_is_cut_again_bites_nothing(self) -> None:
        first, second = bites(("6 flat", slot(3.0)), ("6 flat", slot(3.0)))
        assert first.bite is not None
        assert second.bite is None
        assert second.taken_mm3 == pytest.approx(0.0, abs=0.01)


class TestFluteLength:
    @pytest.mark.parametrize(("flutes_mm", "fails"), [(12.0, True), (12.6, False)])
    def test_a_bite_deeper_than_the_flutes_fails(self, flutes_mm: float, fails: bool) -> None:  # noqa: FBT001 - a case
        report = report_of(("6 flat", slot(12.5)), tools={"6 flat": {"flute_length_mm": flutes_mm}})
        found = [one for one in said(report, "bite") if one.status is Status.FAIL]
        assert bool(found) is fails
        if fails:
            assert found[0].line in (5, 6)
            assert "12.50 mm" in found[0].message
            assert "section" not in found[0].message

    def test_levels_within_the_flutes_pass_though_the_slot_is_deeper(self) -> None:
        report = report_of(("6 flat", slot(4.0, 8.0, 12.5)), tools={"6 flat": {"flute_length_mm": 5.0}})
        assert not [one for one in said(report, "bite") if one.status is Status.FAIL]


def plunges(text: str, tool: str = "6 slow", **changes: object) -> list[Finding]:
    """Return the findings on plunges of one program."""
    return said(report_of((tool, f"{HEAD}{text}{TAIL}"), tools={tool: changes}), "plunge")


class TestPlunge:
    @pytest.mark.parametrize("slant_deg", [2.0, 20.0, 60.0])
    def test_a_feed_down_that_is_not_quite_straight_is_a_plunge_all_the_same(self, slant_deg: float) -> None:
        aside = 6.0 * tan(radians(slant_deg))
        (found,) = plunges(f"G0 X0 Y0\nG1 X{aside:.4f} Z-6 F300\nX20 F900\n")
        assert (found.status, found.line) == (Status.FAIL, 5)

    def test_a_narrow_helix_is_a_plunge_however_gentle(self) -> None:
        turns = "".join(f"G3 X0.1 Y0 I-0.1 Z{-0.05 * turn:g}\n" for turn in range(1, 41))
        (found,) = plunges(f"G0 X0.1 Y0\nG1 Z0 F300\n{turns}G1 X20\n")
        assert found.status is Status.FAIL

    @pytest.mark.parametrize("pitch_mm", [0.02, 0.15, 0.5])
    def test_the_pitch_of_a_narrow_helix_hides_nothing(self, pitch_mm: float) -> None:
        turns = "".join(f"G3 X0.1 Y0 I-0.1 Z{-pitch_mm * turn:.3f}\n" for turn in range(1, round(4.0 / pitch_mm) + 1))
        found = plunges(f"G0 X0.1 Y0\nG1 Z0 F300\n{turns}G1 X20\n")
        assert [one.status for one in found] == [Status.FAIL]

    def test_a_steep_ramp_in_small_pieces_is_a_plunge(self) -> None:
        ramp = "".join(f"X{0.1 * step:.1f} Z{-0.1 * step:.1f}\n" for step in range(1, 61))
        (found,) = plunges(f"G0 X0 Y0\nG1 Z0 F300\n{ramp}X20\n")
        assert found.status is Status.FAIL

    def test_a_finishing_pass_downhill_takes_off_a_layer_and_is_no_plunge(self) -> None:
        down = "".join(f"X{0.5 * step} Z{-0.3 * step - 0.6:.1f}\n" for step in range(21))
        rough = down.replace(down, "".join(f"X{0.5 * step} Z{-0.3 * step:.1f}\n" for step in range(21)))
        texts = [f"{HEAD}G0 X0 Y0\nG1 Z0 F300\n{each}{TAIL}" for each in (rough, down)]
        report = report_of(("6 flat", texts[0]), ("6 slow", texts[1].replace("G1 Z0", "G1 X-6 Z0")))
        assert said(report, "plunge") == []

    def test_a_wide_helix_and_a_long_ramp_are_no_plunges(self) -> None:
        turns = "".join(f"G3 X2 Y0 I-2 Z{-0.5 * turn:g}\n" for turn in range(1, 11))
        assert plunges(f"G0 X2 Y0\nG1 Z0 F300\n{turns}G1 X20\n") == []
        ramp = 20.0 * cos(radians(10.0)), -20.0 * sin(radians(10.0))
        assert plunges(f"G0 X0 Y0\nG1 Z0 F300\nX{ramp[0]:.3f} Z{ramp[1]:.3f}\nX0\n") == []

    @pytest.mark.parametrize(("ramp_deg", "count"), [(8.0, 1), (12.0, 0)])
    def test_the_tools_own_ramp_angle_counts(self, ramp_deg: float, count: int) -> None:
        ramp = 20.0 * cos(radians(10.0)), -20.0 * sin(radians(10.0))
        text = f"G0 X0 Y0\nG1 Z0 F300\nX{ramp[0]:.3f} Z{ramp[1]:.3f}\nX0\n"
        assert len(plunges(text, ramp_deg=ramp_deg)) == count

    def test_a_descent_in_a_slot_that_was_cut_before_is_none(self) -> None:
        text = f"{HEAD}G0 X0 Y30\nG1 Z-6 F300\nY0\n{TAIL}"
        assert said(report_of(("6 flat", slot(6.0)), ("6 slow", text)), "plunge") == []


class TestDrill:
    def test_a_drill_that_is_fed_sideways_in_wood_fails(self) -> None:
        text = f"{HEAD}G0 X0 Y0\nG1 Z-3 F300\nX8\n{TAIL}"
        (found,) = said(report_of(("5 drill", text)), "drill")
        assert (found.status, found.line) == (Status.FAIL, 6)

    def test_a_drill_that_goes_down_at_a_slant_fails(self) -> None:
        (found,) = said(report_of(("5 drill", f"{HEAD}G0 X0 Y0 Z1\nG1 X1 Z-6 F300\n{TAIL}")), "drill")
        assert (found.status, found.line) == (Status.FAIL, 5)

    def test_a_drill_that_is_fed_from_hole_to_hole_above_the_wood_is_right(self) -> None:
        text = f"{HEAD}G1 Z-3 F300\nZ1\nX8\nZ-3\nZ1\n{TAIL}"
        assert said(report_of(("5 drill", text)), "drill") == []


def test_a_tool_knows_what_it_can() -> None:
    with pytest.raises(ValueError, match="ramp"):
        Tool("6", part({}).tools[0].shape, 6.0, plunge=True, ramp_deg=5.0)
