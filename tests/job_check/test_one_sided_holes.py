"""Holes of which one face bores its half, and the other face does not."""

import pytest

from flipreg.findings import Status
from tests.stock.wood_jobs import HEAD, TAIL, checked, part, profile, said

FLAT, DRILL = "6 flat", "5 drill"
CORNERS = ((-12.0, -20.0), (12.0, -20.0), (-12.0, 20.0), (12.0, 20.0))


def drilled(points: tuple[tuple[float, float], ...], depth_mm: float) -> str:
    holes = "".join(f"G0 X{x} Y{y}\nG1 Z-{depth_mm} F300\nG0 Z5\n" for x, y in points)
    return f"{HEAD}{holes}{TAIL}"


def found(front: int, back: int, *, front_mm: float = 10.5, back_mm: float = 10.5) -> list[tuple[str, str | None]]:
    """Return what is said of so many of four holes from each face, in 20 mm of wood, and the program it is about."""
    around = profile(20.0, 30.0, -10.5, tab_mm=8.0, top_mm=-7.0)
    programs = {
        "front-holes": (DRILL, drilled(CORNERS[:front], front_mm)),
        "front-profile": (FLAT, around),
        "back-holes": (DRILL, drilled(tuple((-x, y) for x, y in CORNERS[:back]), back_mm)),
        "back-profile": (FLAT, around),
    }
    told = said(checked(part(programs), programs, compares=True), "holes")
    assert {one.status for one in told} <= {Status.WARN}
    assert all(one.at_mm == pytest.approx(CORNERS[3]) and one.section == "straight" for one in told)
    return [(one.message, one.program) for one in told]


@pytest.mark.parametrize(("front", "back", "face"), [(4, 3, "front"), (3, 4, "back")])
def test_one_of_four_equal_holes_that_is_bored_from_one_face_only_is_to_be_looked_at(
    front: int, back: int, face: str
) -> None:
    ((says, program),) = found(front, back)
    assert f"a hole is bored from the {face} only, 10.50 mm deep, at X 12.00 Y 20.00" in says
    assert "3 like it go through from both faces: is the other half missing?" in says
    assert program == f"{face}-holes"


def test_holes_that_need_no_other_half_are_not_told() -> None:
    assert found(4, 4) == []
    # The front goes through by itself, and the back only spots three of the holes.
    assert found(4, 3, front_mm=21.0, back_mm=10.5) == []
    # One pair goes through: what the hole beside it is meant to do nobody knows.
    assert found(2, 1) == []
