"""What real jobs show and what must not be made of it: patterns that repeat, letters, pockets, unknown tools."""

from decimal import Decimal

import numpy as np
import pytest

from flipreg.findings import Finding, Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from flipreg.register.check import check
from flipreg.register.report import Report
from tests.register.boards import board, drilled, lattice, lettered, panel, profiled, ringed
from tests.register.shapes import (
    PADDLE,
    PADDLE_HOLES,
    PAGE,
    STILL,
    TRAY,
    TRAY_HOLES,
    Mill,
    offset_ring,
    paddle,
    ring,
    rounded,
    shift,
    tray,
)

HALF_TURN = Isometry.rotation(180.0)


def open_or(report: Report, status: Status) -> list[Finding]:
    return [finding for finding in report.findings if finding.check == "flip" and finding.status is status]


def test_a_board_of_many_pads_is_in_register_where_it_was_told_though_three_holes_meet_elsewhere() -> None:
    report = check(board(), board(PAGE, back=True), flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is True
    assert report.vote is not None
    assert report.vote.coincide >= 44
    assert report.vote.by_chance < 5.0


@pytest.mark.parametrize("told", [True, False])
def test_a_board_of_many_pads_shifted_by_three_pitches_is_never_passed(told: bool) -> None:  # noqa: FBT001 - a parameter of the test
    wrong = PAGE @ shift("7.62", "0")
    report = check(board(), board(wrong, back=True), flip=PAGE if told else None, axis="y", tolerance_mm=0.1)
    if told:
        assert report.in_register is False
        assert report.register.dx_mm == pytest.approx(7.62, abs=0.01)
    else:
        assert report.flip.choice.datum_mm == pytest.approx((197.38, 0.0), abs=0.01)


def test_a_pair_that_was_never_mirrored_is_given_no_flip_with_a_turn() -> None:
    holes = np.random.default_rng(4).uniform(10.0, 190.0, (14, 2))
    report = check([drilled(holes)], [drilled(holes, STILL, name="back.nc")], tolerance_mm=0.1)
    assert report.in_register is False
    assert report.flip.choice.axis == "none"
    assert report.register.rotation_deg == 0.0
    told = check([drilled(holes)], [drilled(holes, STILL, name="back.nc")], flip=PAGE, tolerance_mm=0.1)
    assert told.in_register is False
    assert told.diagnosis is not None
    assert "not mirrored" in told.diagnosis
    assert "turned" not in told.diagnosis


def test_faces_that_share_nothing_are_given_no_flip() -> None:
    ours, theirs = (np.random.default_rng(seed).uniform(10.0, 190.0, (40, 2)) for seed in (8, 9))
    report = check([drilled(ours)], [drilled(theirs, name="back.nc")], tolerance_mm=0.1)
    assert (report.in_register, report.flip.choice.axis) == (None, None)


def test_one_hole_more_the_other_way_round_disproves_nothing() -> None:
    # Fifteen holes agree as they were told. After half a turn the fourteen of them that are symmetric would, and two
    # pairs of holes of which each face has one.
    points = lattice(4, 4, 40.0, 20.0, 20.0)
    right, middle = points[1:], np.array([80.0, 80.0])
    own = np.array([[160.0, 23.0], [7.0, 91.0]])
    front = np.concatenate([right, own])
    back = np.concatenate([right, 2 * middle - own])
    report = check([drilled(front)], [drilled(back, PAGE, name="back.nc")], flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is not False


def test_pockets_of_one_size_are_no_outline_where_the_profiles_disagree() -> None:
    pocket, away = rounded(50, 30, 6, 40, 30), (18.0, 11.0)
    front = [Mill().contour(pocket, (4.0,)).program("pocket.nc", 6.0), profiled(PADDLE, 6.0)]
    back = [
        Mill().contour(PAGE.apply(pocket), (4.0,)).program("pocket.nc", 6.0),
        profiled(PADDLE + away, 6.0, PAGE),
    ]
    assert check(front, back, flip=PAGE, tolerance_mm=0.1).in_register is not True
    assert check(front, back, axis="y", tolerance_mm=0.1).flip.choice.datum_mm != pytest.approx((205.0, 0.0), abs=0.5)


def test_a_bored_recess_near_a_plunge_of_an_untold_tool_is_not_taken_for_the_same_hole() -> None:
    row, dowel = lattice(12, 1, 32.0), np.array([[100.0, 60.0]])
    front, back = Mill(), Mill()
    for points, depth in ((row, 10.0), (dowel, 6.0)):
        for x, y in points.tolist():
            front.drill(x, y, depth)
    front.contour(offset_ring(TRAY, 3.0), (16.3,))
    for x, y in PAGE.apply(row).tolist():
        back.drill(x, y, 10.0)
    x, y = PAGE.apply(dowel + 0.9)[0].tolist()
    back.bore(x, y, 14.5, 13.0)
    report = check([front.program("front.nc", None)], [back.program("back.nc", None)], flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is not False
    assert report.register.holes == len(row)


def test_letters_engraved_on_both_faces_are_no_holes() -> None:
    holes = np.array(PADDLE_HOLES[:3])
    words = np.array([[30.0, 30.0], [42.0, 30.0], [54.0, 30.0], [66.0, 30.0], [90.0, 55.0]])
    front = [drilled(holes), lettered(words)]
    # Read from the back, the same word stands at another place.
    back = [drilled(holes, PAGE, name="back.nc"), lettered(words + np.array([-150.0, 25.0]))]
    told = check(front, back, flip=PAGE, tolerance_mm=0.1, thickness_mm=20.0)
    assert told.in_register is True
    found = check(front, back, tolerance_mm=0.1, thickness_mm=20.0)
    assert found.flip.choice.datum_mm in (None, (205.0, 0.0))
    assert found.in_register is not False


def test_a_uniform_gap_of_unknown_tools_shows_the_place_and_no_size() -> None:
    front = [profiled(PADDLE, None, radius=4.0)]
    report = check(front, [profiled(PADDLE, None, PAGE, radius=3.0)], flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is None
    assert any("tool diameter" in finding.message for finding in report.findings)


@pytest.mark.parametrize(("columns", "rows", "gone"), [(6, 1, 1), (7, 5, 2)])
def test_of_equal_placements_none_is_found_and_the_pitch_is_named(columns: int, rows: int, gone: int) -> None:
    front = panel(columns, rows, 32.0)
    back = [drilled(lattice(columns - gone, rows, 32.0, 20.0, 30.0), PAGE, name="back.nc")]
    report = check(front, back, axis="y", tolerance_mm=0.1)
    assert report.in_register is None
    assert report.flip.choice.datum_mm is None
    assert not report.flip.is_found
    assert len(report.flip.alternatives) >= gone + 1
    assert report.vote is not None
    assert report.vote.pitch_mm == pytest.approx((32.0, 0.0))
    (several,) = open_or(report, Status.NOT_DETERMINED)[1:]
    assert several.message.startswith(f"{gone + 1} placements of the back fit about as well")
    # What is told comes first, and what fits as well is named.
    told = check(front, back, flip=PAGE, tolerance_mm=0.1)
    assert told.in_register is True
    assert len(open_or(told, Status.WARN)) == 1


def test_one_program_of_three_with_another_zero_is_named() -> None:
    dowels = np.array([[15.0, 50.0], [100.0, 88.0], [160.0, 12.0]])
    front = [*paddle(), drilled(dowels, name="dowels.nc")]
    back = [*paddle(PAGE), drilled(dowels, PAGE @ shift("32", "0"), name="dowels-back.nc")]
    report = check(front, back, flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is False
    assert report.diagnosis is not None
    assert "another zero" in report.diagnosis


@pytest.mark.parametrize("off", [("2", "0"), ("0", "2")])
def test_a_profile_off_where_shallow_pads_agree_as_told_is_not_mended_by_a_shift_of_all(off: tuple[str, str]) -> None:
    random = np.random.default_rng(3)
    pads, sizes = random.uniform((30.0, 30.0), (260.0, 160.0), (12, 2)), random.uniform(2.0, 6.0, 12).tolist()

    def face(move: Isometry, profile: Isometry) -> list[FaceProgram]:
        return [ringed(pads, sizes, move), profiled(TRAY, 6.0, profile)]

    report = check(face(STILL, STILL), face(PAGE, PAGE @ shift(*off)), flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is False
    assert [mistake.code for mistake in report.mistakes] == ["two zeros"]


def test_slots_alone_decide() -> None:
    places = ((20.0, 30.0, 18.0), (75.0, 22.0, 25.0), (140.0, 60.0, 14.0), (90.0, 90.0, 31.0), (30.0, 110.0, 22.0))
    faces = []
    for move in (STILL, PAGE, PAGE @ shift("0.4", "0")):
        mill = Mill()
        for x, y, long in places:
            way = move.apply(ring((x, y), (x + long, y + 7)))
            mill.lines(np.column_stack([way, np.full(2, -9.0)]))
        faces.append([mill.program()])
    assert check(faces[0], faces[1], flip=PAGE, tolerance_mm=0.1).in_register is True
    assert check(faces[0], faces[1], tolerance_mm=0.1).flip.choice.datum_mm == pytest.approx((205.0, 0.0))
    off = check(faces[0], faces[2], flip=PAGE, tolerance_mm=0.1)
    assert off.in_register is False
    assert off.register.dx_mm == pytest.approx(0.4, abs=1e-3)


def test_a_round_rim_shows_the_place_but_no_turn() -> None:
    circle = np.column_stack([np.cos(np.arange(0, 6.28, 0.02)), np.sin(np.arange(0, 6.28, 0.02))]) * 60.0 + (80.0, 90.0)
    notch = Mill().lines(np.array([[30.0, 90.0, -3.0], [36.0, 101.0, -3.0]])).program("notch.nc")
    flip = Isometry.mirror_x(datum_mm=(Decimal(160), Decimal(0)))
    front = [profiled(circle, 6.0), notch]
    report = check(front, [profiled(circle, 6.0, flip)], flip=flip, tolerance_mm=0.1)
    assert report.in_register is None
    by_name = {direction.name: direction for direction in report.directions}
    assert by_name["across"].status is Status.PASS
    assert by_name["along"].status is Status.PASS
    assert by_name["turn"].status is Status.NOT_DETERMINED
    assert by_name["turn"].settle is not None
    # Where nothing but circles about one point is cut, and what leads into them, a turn changes nothing.
    led = Mill().contour(flip.apply(offset_ring(circle, 3.0)), (5.0, 11.0), lead=8.0).program("back.nc", 6.0)
    assert check(front[:1], [led], flip=flip, tolerance_mm=0.1).in_register is True


def test_the_part_is_displaced_by_more_than_what_is_shared() -> None:
    # Four holes in the middle agree to 0.08 mm but show a turn, which moves the far end by 0.6 mm.
    holes = np.array([[90.0, 40.0], [110.0, 40.0], [110.0, 60.0], [90.0, 60.0]])
    turn = Isometry.translation(Decimal(100), Decimal(50)) @ Isometry.rotation(0.3) @ shift("-100", "-50")
    long = Mill().lines(np.array([[0.0, 50.0, -3.0], [200.0, 45.0, -3.0]])).program("long.nc")
    report = check([drilled(holes), long], [drilled(holes, PAGE @ turn, name="back.nc")], flip=PAGE, tolerance_mm=0.1)
    assert report.register.worst_mm is not None
    assert report.register.worst_mm < 0.1
    assert report.register.landing is not None
    assert report.register.landing.part_mm == pytest.approx(np.radians(0.3) * 100.0, rel=0.02)
    assert report.in_register is False


def test_the_part_is_as_large_as_either_face_cuts_it() -> None:
    # The front drills four holes in the middle; the back, turned by 0.2 degrees about them, cuts the part out as well.
    holes = np.array([[130.0, 80.0], [170.0, 80.0], [170.0, 120.0], [130.0, 120.0]])
    turn = Isometry.translation(Decimal(150), Decimal(100)) @ Isometry.rotation(0.2) @ shift("-150", "-100")
    back = [drilled(holes, PAGE @ turn, name="back.nc"), profiled(TRAY, 6.0, PAGE @ turn)]
    report = check([drilled(holes)], back, flip=PAGE, tolerance_mm=0.3)
    assert report.register.landing is not None
    assert report.register.landing.part_mm == pytest.approx(np.radians(0.2) * np.hypot(150.0, 100.0), rel=0.01)
    assert report.in_register is False


@pytest.mark.parametrize("holes", [(), TRAY_HOLES])
def test_a_profile_whose_sides_agree_is_out_of_register_where_its_turn_moves_a_corner_too_far(
    holes: tuple[tuple[float, float], ...],
) -> None:
    # Each side lies within half a millimetre of its like, for what slides along itself does not show between outlines.
    flip = Isometry.mirror_x(datum_mm=(Decimal(300), Decimal(0)))
    turn = Isometry.rotation(-0.1)
    report = check(tray(holes=holes), tray(flip @ turn, holes=holes), flip=flip, tolerance_mm=0.55)
    assert report.register.landing is not None
    assert report.register.landing.part_mm == pytest.approx(np.radians(0.1) * np.hypot(300.0, 200.0), abs=0.01)
    assert report.in_register is False


@pytest.mark.parametrize("axis", ["x", "y"])
def test_across_is_the_way_over_the_flip_line(axis: str) -> None:
    flip = (Isometry.mirror_x if axis == "y" else Isometry.mirror_y)(datum_mm=(Decimal(205), Decimal(40)))
    report = check(paddle(), paddle(flip @ shift("0.4", "0")), flip=flip, tolerance_mm=0.1)
    by_name = {direction.name: direction for direction in report.directions}
    assert by_name["across" if axis == "y" else "along"].off == pytest.approx(0.4, abs=0.005)
    assert by_name["along" if axis == "y" else "across"].off == pytest.approx(0.0, abs=0.005)


def test_recesses_over_one_another_pass_no_direction_where_the_holes_agree_elsewhere() -> None:
    holes, recess = np.array(PADDLE_HOLES[:3]), (rounded(24, 18, 4, 60, 30), rounded(31, 20, 5, 110, 60))
    front, back = Mill(), Mill()
    for ring_mm in recess:
        front.contour(ring_mm, (3.0,))
        back.contour(PAGE.apply(ring_mm), (3.0,))
    report = check(
        [drilled(holes), front.program("front.nc")],
        [drilled(holes, PAGE @ shift("10", "0"), name="back-holes.nc"), back.program("back.nc")],
        flip=PAGE,
        tolerance_mm=0.1,
        thickness_mm=20.0,
    )
    assert report.in_register is not True
    assert Status.PASS not in {direction.status for direction in report.directions}


def test_recesses_of_both_faces_are_no_holes_where_both_cut_the_edge() -> None:
    places = ring((60, 50), (140, 130), (210, 60), (250, 150), (90, 160))

    def face(moved: Isometry, away: tuple[float, float]) -> list[FaceProgram]:
        mill = Mill().contour(moved.apply(offset_ring(TRAY, 3.0)))
        for x, y in moved.apply(places + np.array(away)):
            mill.bore(x, y, 5.0, depth=3.5)
        return [mill.program("face.nc", 6.0)]

    back = face(PAGE, (11.0, 8.0))
    found = check(face(STILL, (0.0, 0.0)), back, tolerance_mm=0.1)
    # The rectangle lies four ways, and the recesses say nothing about which.
    assert (found.in_register, found.flip.is_found) == (None, False)
    assert check(face(STILL, (0.0, 0.0)), back, flip=PAGE, tolerance_mm=0.1).in_register is True
