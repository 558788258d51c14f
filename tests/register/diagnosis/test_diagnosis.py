"""Each usual mistake is planted and named; where several would explain it, all are."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from flipreg.findings import Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from flipreg.register.check import check
from flipreg.register.report import Report
from tests.register.boards import drilled, profiled
from tests.register.shapes import PADDLE_HOLES, PAGE, STILL, Mill, offset_ring, paddle, ring, scaled, shift, tray

TOLERANCE = 0.1


def checked(back: list[FaceProgram], front: list[FaceProgram] | None = None) -> Report:
    return check(paddle() if front is None else front, back, flip=PAGE, tolerance_mm=TOLERANCE)


def page(x: int, y: int) -> Isometry:
    return Isometry.mirror_x(datum_mm=(Decimal(x), Decimal(y)))


MISTAKES: dict[str, tuple[list[FaceProgram], tuple[str, ...]]] = {
    "a shift": (paddle(PAGE @ shift("0.4", "-0.3")), ("0.40 mm to the right along X", "0.30 mm down", "X 204.6 Y 0.3")),
    "a turn": (paddle(PAGE @ Isometry.rotation(0.4)), ("turned 0.400° counter-clockwise",)),
    "not mirrored": (paddle(STILL), ("not mirrored", "X 0 Y 0")),
    "not mirrored, turned": (paddle(Isometry.rotation(180.0)), ("not mirrored", "after half a turn")),
    "other axis": (
        paddle(Isometry.mirror_y(datum_mm=(Decimal(0), Decimal(112)))),
        ("other axis", "turned by 180°", "flipped about X", "X 0 Y 112"),
    ),
    "a quarter turn": (paddle(Isometry.rotation(90.0) @ PAGE), ("turned by a quarter turn",)),
    "flip line off by half the blank": (paddle(page(0, 0)), ("flip line is wrong by 102.5 mm in X", "half the blank")),
    "wrong end": (paddle(page(205, 120)), ("wrong end", "X 205 Y 120")),
    "inches as millimetres": (
        [scaled(program, 1 / 25.4) for program in paddle(PAGE)],
        ("inches but are read as millimetres", "G20"),
    ),
    "millimetres as inches": (
        [replace(scaled(program, 25.4), inch=True) for program in paddle(PAGE)],
        ("millimetres but are read as inches",),
    ),
    "tool radius left out": (paddle(PAGE, path_radius=0.0), ("3.00 mm inside", "tool radius had been left out")),
    "wrong side of the line": (paddle(PAGE, path_radius=-3.0), ("6.00 mm inside", "tool diameter")),
    "diameter for radius": (
        paddle(PAGE, path_radius=6.0),
        ("3.00 mm outside", "diameter had been taken for the radius"),
    ),
    "path of another tool": (
        paddle(PAGE, tool=4.0, path_radius=3.0),
        ("1.00 mm outside", "made for the front's tool"),
    ),
    "one hole": (
        paddle(PAGE, holes=[*PADDLE_HOLES[:2], (70.0, 81.0), PADDLE_HOLES[3]]),
        ("one hole is off by up to 1.00 mm", "X 70 Y 80"),
    ),
    "holes with another zero": (
        paddle(PAGE, holes=[(x + 15.0, y) for x, y in PADDLE_HOLES]),
        ("4 holes of the back", "same pattern", "X +15.00"),
    ),
}


@pytest.mark.parametrize("name", MISTAKES)
def test_a_planted_mistake_is_named(name: str) -> None:
    back, words = MISTAKES[name]
    report = checked(back)
    assert report.in_register is False
    assert report.diagnosis is not None
    assert [word for word in words if word not in report.diagnosis] == []
    assert len(report.mistakes) == 1


@pytest.mark.parametrize(
    "name", ["inches as millimetres", "not mirrored", "other axis", "tool radius left out", "wrong end"]
)
def test_a_planted_mistake_is_named_without_holes(name: str) -> None:
    back, words = MISTAKES[name]
    report = checked(back[:1], paddle(holes=()))
    assert report.in_register is False
    assert report.diagnosis is not None
    assert [word for word in words if word not in report.diagnosis] == []


@pytest.mark.parametrize("told", [True, False])
def test_a_quarter_turn_is_named_though_some_of_it_fits_another_way_round(told: bool) -> None:  # noqa: FBT001 - a parameter of the test
    points = np.random.default_rng(5).uniform(10.0, 190.0, (24, 2))
    # After a quarter turn eight of them lie on eight others, and so they would if the back were flipped about X = 0.
    points[8:16] = np.column_stack([points[:8, 1], 205.0 - points[:8, 0]])
    turned = Isometry.rotation(90.0) @ PAGE
    report = check([drilled(points)], [drilled(points, turned)], flip=page(0, 0) if told else None, tolerance_mm=0.1)
    assert report.in_register is False
    assert report.flip.choice.datum_mm is None or told
    assert [mistake.code for mistake in report.mistakes] == ["quarter turn"]


def test_in_register_there_is_no_diagnosis() -> None:
    report = checked(paddle(PAGE))
    assert report.in_register is True
    assert report.diagnosis is None


def test_a_symmetric_part_leaves_several_mistakes() -> None:
    report = check(tray(), tray(), flip=page(0, 0), tolerance_mm=TOLERANCE)
    assert report.in_register is False
    assert report.diagnosis is not None
    assert "Several mistakes would explain it" in report.diagnosis
    for words in ("flip line is wrong by 150 mm", "other axis", "not mirrored"):
        assert words in report.diagnosis


@pytest.mark.parametrize("turn", [0.0, 0.3])
def test_the_correction_that_is_named_corrects(turn: float) -> None:
    wrong = PAGE @ shift("0.7", "-1.2") @ Isometry.rotation(turn)
    report = checked(paddle(wrong))
    assert report.diagnosis is not None
    words = report.diagnosis.replace("°", " ").split()
    x, y = (Decimal(words[words.index(axis, words.index("shift")) + 1].rstrip(".,;")) for axis in ("X", "Y"))
    by = Isometry.rotation(float(words[words.index("by") + 1])) if turn else STILL
    assert checked(paddle(Isometry.translation(x, y) @ by @ wrong)).in_register is True


def test_the_datum_that_is_named_corrects() -> None:
    back = paddle(PAGE @ shift("0.4", "-0.3"))
    assert check(paddle(), back, flip=page(205, 0) @ STILL, tolerance_mm=TOLERANCE).in_register is False
    named = Isometry.mirror_x(datum_mm=(Decimal("204.6"), Decimal("0.3")))
    assert check(paddle(), back, flip=named, tolerance_mm=0.01).in_register is True


def test_a_way_round_in_which_a_staggered_pattern_leaves_holes_over_is_not_named() -> None:
    columns, rows = np.meshgrid(np.arange(6), np.arange(8))
    holes = np.column_stack([columns.ravel() * 20.0, rows.ravel() * 24.0 + columns.ravel() % 2 * 12.0])
    report = checked([drilled(holes)], [drilled(holes)])
    assert [mistake.code for mistake in report.mistakes] == ["not mirrored", "not mirrored"]


def test_no_way_round_is_named_that_brings_the_holes_home_and_leaves_the_profile_apart() -> None:
    side = ring((0.0, 0.0), (400.0, 0.0), (400.0, 130.0), (360.0, 160.0), (20.0, 160.0), (0.0, 140.0))
    holes = np.array([(80.0 + 32.0 * column, y) for column in range(8) for y in (37.0, 123.0)])
    back = [drilled(holes, PAGE @ shift("0", "1")), profiled(side, 8.0, PAGE)]
    report = checked(back, [drilled(holes), profiled(side, 6.0)])
    assert report.in_register is False
    assert [mistake.code for mistake in report.mistakes if any(way.changes for way in mistake.ways)] == []


def test_a_zero_that_lays_the_holes_and_leaves_the_profiles_apart_is_not_named() -> None:
    """The back's profile is of about the front's size and no other; where the holes agree it lies 25 mm away."""
    holes = ((80.0, 30.0), (130.0, 30.0), (95.0, 60.0), (115.0, 60.0), (70.0, 75.0), (140.0, 75.0))

    def face(drilled_at: Isometry, sawn_at: Isometry, top: float) -> list[FaceProgram]:
        edge = ring((0, 0), (205, 0), (205, 90), (205 - top, 110), (top, 110), (0, 90))
        mill = Mill().contour(sawn_at.apply(offset_ring(edge, 3.0)))
        for x, y in drilled_at.apply(np.array(holes)):
            mill.drill(x, y)
        return [mill.program(tool=6.0)]

    report = checked(face(shift("25", "0") @ PAGE, PAGE, 65.0), front=face(STILL, STILL, 55.0))
    assert report.verdict is Status.FAIL
    assert report.mistakes == ()


def test_a_nest_of_like_pieces_that_is_turned_is_turned_back_and_not_moved_by_a_pitch() -> None:
    angle = np.linspace(0.0, 2.0 * np.pi, 120, endpoint=False)
    piece = 54.0 + 42.0 * np.column_stack([np.cos(angle), np.sin(angle)])

    def nest(move: Isometry = STILL) -> FaceProgram:
        mill = Mill()
        for x in (-4, -3, -2):
            for y in range(3):
                mill.contour(move.apply(piece + 108.0 * np.array([x, y])), (10.0,))
        return mill.program("nest.nc", 6.0)

    flip = page(200, 70)
    report = check([nest()], [nest(Isometry.rotation(2.0) @ flip)], flip=flip, tolerance_mm=0.2)
    assert report.in_register is False
    assert "turn the back program by -2° about its zero (flipreg shift --turn -2)" in (report.diagnosis or "")
