"""Walls: wood that stands narrow between two cuts."""

from dataclasses import replace
from math import cos, radians, sin

import pytest

from flipreg.findings import Finding, Status
from flipreg.job.limits import Limits
from tests.stock.wood_jobs import HEAD, TAIL, checked, part, profile, said

FLAT = "6 flat"


def slots(apart_mm: float, floor_mm: float, length_mm: float = 20.0, turned_deg: float = 0.0) -> str:
    """Return two slots beside each other, whose middle lines lie so far apart."""
    x, y = cos(radians(turned_deg)), sin(radians(turned_deg))
    text = HEAD
    for beside in (0.0, apart_mm):
        at_x, at_y = -beside * y, beside * x
        text += f"G0 X{at_x:.4f} Y{at_y:.4f}\nG1 Z{floor_mm} F300\n"
        text += f"G1 X{at_x + length_mm * x:.4f} Y{at_y + length_mm * y:.4f} F900\nG0 Z5\n"
    return text + TAIL


def on_a_grid(step_mm: float, text: str, *, least_web_mm: float | None = None, inch: bool = False) -> list[Finding]:
    programs = {"front-slots": (FLAT, text)}
    job = replace(part(programs, limits=Limits(least_web_mm=least_web_mm, grid_mm=step_mm)), inch=inch)
    return said(checked(job, programs), "wall")


def walls(text: str, *, least_web_mm: float | None = None) -> list[str]:
    programs = {"front-slots": (FLAT, text)}
    report = checked(part(programs, limits=Limits(least_web_mm=least_web_mm, grid_mm=0.1)), programs)
    found = said(report, "wall")
    assert {one.status for one in found} <= {Status.FAIL}
    return [one.message for one in found]


@pytest.mark.parametrize("turned_deg", [0.0, 37.0, 90.0])
def test_a_wall_between_two_slots_fails_where_it_is_narrower_than_any_that_stays(turned_deg: float) -> None:
    (says,) = walls(slots(6.3, -7.0, turned_deg=turned_deg))
    assert "a wall narrower than 0.5 mm stands between cuts, 7.0 mm high" in says
    assert walls(slots(7.0, -7.0, turned_deg=turned_deg)) == []


def test_a_wall_between_a_groove_and_the_kerf_fails() -> None:
    # The part's edge is at X 17; a groove of 6 mm ends 0.3 mm before it.
    groove = f"{HEAD}G0 X13.7 Y-10\nG1 Z-6 F300\nG1 Y10 F900\nG0 Z5\n{TAIL}"
    around = profile(20.0, 30.0, -10.5, tab_mm=8.0, top_mm=-7.0)
    programs = {"front-groove": (FLAT, groove), "front-profile": (FLAT, around), "back-profile": (FLAT, around)}
    (found,) = said(checked(part(programs, limits=Limits(grid_mm=0.1)), programs), "wall")
    assert found.status is Status.FAIL
    assert found.at_mm is not None
    assert abs(found.at_mm[0] - 16.85) < 0.2
    assert abs(found.at_mm[1]) < 8.0


@pytest.mark.parametrize(("floor_mm", "length_mm"), [(-1.5, 20.0), (-7.0, 0.5)])
def test_low_ridges_and_short_tips_are_no_walls(floor_mm: float, length_mm: float) -> None:
    assert walls(slots(6.3, floor_mm, length_mm)) == []


def test_a_job_that_says_less_for_its_web_permits_narrower_walls() -> None:
    assert walls(slots(6.3, -7.0), least_web_mm=0.2) == []
    assert len(walls(slots(6.3, -7.0), least_web_mm=3.0)) == 1


@pytest.mark.parametrize(
    ("step_mm", "least_web_mm", "inch", "narrow", "settle"),
    [
        (0.5, None, False, "0.5 mm", "grid = 0.25 in [check]"),
        (0.25, 0.3, False, "0.3 mm", "grid = 0.15 in [check]"),
        (0.5, None, True, "0.01969 in", "grid = 0.0098 in [check]"),
    ],
)
def test_walls_that_a_grid_cannot_show_are_not_determined_and_the_grid_that_would_is_named(
    step_mm: float, least_web_mm: float | None, inch: bool, narrow: str, settle: str,  # noqa: FBT001
) -> None:  # fmt: skip
    (found,) = on_a_grid(step_mm, slots(6.3, -7.0), least_web_mm=least_web_mm, inch=inch)
    assert (found.status, found.settle) == (Status.NOT_DETERMINED, settle)
    assert f"walls narrower than {narrow} cannot be seen on a grid of" in found.message
    unit_mm = 25.4 if inch else 1.0
    named_mm = float(settle.split()[2]) * unit_mm
    assert all(one.settle is None for one in on_a_grid(named_mm, slots(6.3, -7.0), least_web_mm=least_web_mm))


def test_nothing_is_asked_of_the_grid_where_no_cut_is_as_deep_as_walls_are_high() -> None:
    assert on_a_grid(0.5, slots(6.3, -1.9)) == []
