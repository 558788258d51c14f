"""The text report: the verdict first, what to do, the numbers; never a word that a cut is safe."""

from decimal import Decimal

import pytest

from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from flipreg.register.check import check
from flipreg.register.report import Report
from flipreg.report.text import to_text
from tests.register.shapes import PAGE, STILL, Mill, paddle, ring, shift, tray

NAMES = ("pass", "off", "wrong hand", "symmetric", "nothing", "bare")


@pytest.fixture(scope="module")
def reports() -> dict[str, Report]:
    corner = Isometry.mirror_x(datum_mm=(Decimal(0), Decimal(0)))
    engraving = [Mill().drill(10, 10).program("a-rather-long-name-of-a-program-that-engraves-a-rosette.nc")]
    return {
        "pass": check(paddle(), paddle(PAGE), tolerance_mm=0.1, thickness_mm=19.0),
        "off": check(paddle(), paddle(PAGE @ shift("0.4", "-0.3")), flip=PAGE, tolerance_mm=0.1),
        "wrong hand": check(paddle(), paddle(STILL), flip=PAGE, tolerance_mm=0.1),
        "symmetric": check(tray(), tray(), flip=corner, tolerance_mm=0.1),
        "nothing": check(paddle(), engraving, tolerance_mm=0.1),
        "bare": check(paddle(tool=None), paddle(PAGE, tool=None), flip=PAGE, tolerance_mm=0.1),
    }


@pytest.mark.parametrize(
    ("name", "start"),
    [
        ("pass", "IN REGISTER: "),
        ("off", "NOT IN REGISTER: the faces are up to 0.500 mm apart (allowed 0.1 mm)."),
        ("wrong hand", "NOT IN REGISTER: "),
        ("nothing", "NOT DETERMINED: "),
    ],
)
def test_the_verdict_comes_first(name: str, start: str, reports: dict[str, Report]) -> None:
    assert to_text(reports[name]).startswith(start)


@pytest.mark.parametrize("name", NAMES)
def test_it_fits_a_terminal_and_ends_above_the_work(name: str, reports: dict[str, Report]) -> None:
    text = to_text(reports[name])
    assert max(map(len, text.splitlines())) <= 80
    assert " ".join(text.splitlines()[-2:]).endswith("try both programs above the work first.")
    assert text.endswith("\n")


@pytest.mark.parametrize("name", NAMES)
def test_it_never_says_that_anything_is_safe(name: str, reports: dict[str, Report]) -> None:
    words = to_text(reports[name]).lower()
    assert [word for word in ("safe", "danger-free", "no risk") if word in words] == []


def test_what_to_do_stands_below_the_verdict(reports: dict[str, Report]) -> None:
    lines = to_text(reports["off"]).splitlines()
    assert lines[2].startswith("What to do   The back sits 0.40 mm to the right along X")


def test_a_found_flip_says_that_it_has_to_be_set(reports: dict[str, Report]) -> None:
    text = to_text(reports["pass"])
    assert "It holds only with the flip and the datum below." in " ".join(text.split())
    assert "Back's zero  X 205 Y 0 in the front's numbers" in text


def test_not_determined_says_that_it_is_no_pass(reports: dict[str, Report]) -> None:
    assert "That is not a pass." in " ".join(to_text(reports["nothing"]).split())


def test_numbers_are_shown_with_their_place(reports: dict[str, Report]) -> None:
    text = to_text(reports["off"])
    assert "X +0.400  Y -0.300 mm  turned +0.0000°" in text
    assert "profile.nc line" in " ".join(text.split())


def test_alternatives_of_a_symmetric_part_are_listed() -> None:
    text = to_text(check(tray(), tray(), tolerance_mm=0.1))
    assert text.count("  may be ") == 4


def test_what_speaks_against_all_three_directions_is_told_once() -> None:
    outline = ring((-100, -60), (100, -60), (100, 60), (-100, 60))

    def face(move: Isometry) -> list[FaceProgram]:
        mill = Mill().contour(move.apply(outline), (12.0,))
        for x, y in move.apply(ring((-80, -40), (70, -30), (10, 45), (33, -11))).tolist():
            mill.drill(x, y, 12.0)
        return [mill.program()]

    zero = (Decimal(0), Decimal(0))
    page, end_over_end = Isometry.mirror_x(datum_mm=zero), Isometry.mirror_y(datum_mm=zero)
    report = check(face(STILL), face(page), flip=end_over_end, tolerance_mm=0.1, thickness_mm=20.0)
    said = " ".join(to_text(report).split())
    assert said.count("more coincides when the back is taken as flipped about Y") == 1
    assert said.count("not determined; see the finding 'flip'") == 3
    assert "or also" not in said
    assert "turn the back program by 180° about its zero (flipreg shift --turn 180)." in said


def test_where_most_coincides_is_said_if_that_is_not_where_it_was_told(reports: dict[str, Report]) -> None:
    text = " ".join(to_text(reports["wrong hand"]).split())
    assert " features if the back is taken as not mirrored; chance would give " in text
    assert "taken as" not in to_text(reports["off"])
