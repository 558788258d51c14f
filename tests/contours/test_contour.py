import tracemalloc

import numpy as np
import pytest
from numpy.typing import NDArray

from flipreg.contours.contour import comes_back, contour_rows, find_contours
from flipreg.contours.count import ContourCount
from flipreg.contours.unturned import find_unturned
from tests.every import every
from tests.motions import motions

SQUARE = "G0 X0 Y0 Z5\nG1 Z-1 F300\nX9\nY9\nX0\nY0\nG0 Z5\n"


def lines(text: str) -> list[tuple[int, int]]:
    return [(each.first_line, each.last_line) for each in find_contours(motions(f"G21 G90\n{text}"))]


def areas(text: str) -> list[float]:
    return [round(each.area_mm2, 3) for each in find_contours(motions(f"G21 G90\n{text}"))]


def test_a_closed_polygon_is_a_contour_with_its_direction() -> None:
    assert (lines(SQUARE), areas(SQUARE)) == ([(4, 7)], [81])
    assert areas("G0 X0 Y0 Z5\nG1 Z-1 F300\nY9\nX9\nY0\nX0\nG0 Z5\n") == [-81]


def test_a_polygon_at_a_height_that_only_the_probe_knows_is_none() -> None:
    assert areas("G0 X0 Y0 Z5\nG38.2 Z-9 F30\nG1 X9\nY9\nX0\nY0\nG0 Z5\n") == []


def test_a_circle_in_one_arc_is_a_contour() -> None:
    assert areas("G0 X10 Y0 Z5\nG1 Z-1 F300\nG3 X10 Y0 I-10\nG0 Z5\n") == [314.159]


def test_arcs_and_lines_enclose_an_area_together() -> None:
    text = "G0 X0 Y0 Z5\nG1 Z-1 F300\nX10\nG3 Y4 J2\nG1 X0\nG3 Y0 J-2\nG0 Z5\n"
    assert areas(text) == [pytest.approx(40 + 12.566, abs=1e-3)]


def test_lead_in_and_lead_out_are_no_part_of_it() -> None:
    text = "G0 X-5 Y-5 Z5\nG1 Z-1 F300\nX0 Y0\nX9\nY9\nX0\nY0\nX-5 Y5\nG0 Z5\n"
    assert lines(text) == [(5, 8)]


def test_a_helix_is_none_and_the_circle_after_it_is_one() -> None:
    text = "G0 X10 Y0 Z0\nG3 X10 Y0 Z-3 I-10 F300\nG3 X10 Y0 I-10\nG0 Z5\n"
    assert lines(text) == [(4, 4)]


def test_rises_over_tabs_belong_to_the_contour() -> None:
    text = "G0 X0 Y0 Z5\nG1 Z-3 F300\nX4\nZ-1\nX6\nZ-3\nX9\nY9\nX0\nY0\nG0 Z5\n"
    assert lines(text) == [(4, 11)]


def test_contours_with_links_between_them_are_each_one() -> None:
    text = "G0 X0 Y0 Z5\nG1 Z-1 F300\nX4\nY4\nX0\nY0\nX-2 Y-2\nX6\nY6\nX-2\nY-2\nG0 Z5\n"
    assert lines(text) == [(4, 7), (9, 12)]


def test_passes_without_a_lift_are_each_a_contour() -> None:
    lap = "X9\nY9\nX0\nY0\n"
    assert lines(f"G0 X0 Y0 Z5\nG1 Z-1 F300\n{lap}Z-2\n{lap}G0 Z5\n") == [(4, 7), (9, 12)]


@pytest.mark.parametrize(
    "text",
    {
        "open": "G0 X0 Y0 Z5\nG1 Z-1 F300\nX9\nY9\nX0\nG0 Z5\n",
        "there and back": "G0 X0 Y0 Z5\nG1 Z-1 F300\nX9\nY9\nY0\nX0\nG0 Z5\n",
        "closed by a traverse": "G0 X0 Y0 Z5\nG1 Z-1 F300\nX9\nY9\nG0 X0 Y0\nZ5\n",
        "another height": "G0 X0 Y0 Z5\nG1 Z-1 F300\nX9\nY9\nX0 Y0 Z-1.5\nG0 Z5\n",
        "a dip": "G0 X0 Y0 Z5\nG1 Z-1 F300\nX9\nY9\nZ-4\nZ-1\nX0 Y0\nG0 Z5\n",
        "traverses": SQUARE.replace("G1 Z-1 F300", "G0 Z-1"),
        "a surface": "G0 X0 Y0 Z5\nG1 Z-1 F300\nX9 Z-2\nY9 Z-3\nX0 Z-2\nY0 Z-1\nG0 Z5\n",
        "holes": "G0 X0 Y0 Z5\nG81 X1 Y1 Z-1 R1 F100\nX9\nY9\nX1 Y1\nG80\n",
    }.values(),
)
def test_what_does_not_close_at_one_level_is_none(text: str) -> None:
    assert lines(text) == []


def test_a_loop_on_a_way_out_and_back_is_found() -> None:
    """Out to X20, round a square, and back the same way: the whole encloses the square, and the square is one."""
    text = "G0 X0 Y0 Z5\nG1 Z-1 F300\nX20\nX29\nY9\nX20\nY0\nX0\nG0 Z5\n"
    assert lines(text) == [(4, 9)]
    assert areas(text) == [81]


def test_rings_that_begin_in_one_corner_and_laps_without_a_lift_are_each_a_contour() -> None:
    rings = "G0 X0 Y0 Z5\nG1 Z-1 F300\nX4\nY4\nX0\nY0\nX9\nY9\nX0\nY0\nG0 Z5\n"
    assert lines(rings) == [(4, 7), (8, 11)]
    assert areas(rings) == [16, 81]
    assert lines("G0 X0 Y0 Z5\nG1 Z-1 F300\n" + "X9\nY9\nX0 Y0\n" * 3 + "G0 Z5\n") == [(4, 6), (7, 9), (10, 12)]


def test_a_count_holds_little_of_a_program_and_misses_none() -> None:
    laps = 20_000
    path = motions("G21 G90\n" + "G0 X0 Y0 Z5\nG1 Z-1 F300\nX9\nY9\nX0 Y0\nG0 Z5\n" * laps)
    count = ContourCount()
    for start in range(0, len(path), 5000):
        count.add(path.take(slice(start, start + 5000)))
        assert sum(map(len, count._waiting)) < 60_000
    count.finish()
    assert count.turnable.count == laps
    assert str(count.turnable).endswith(f" and {laps - 6} more")


@pytest.mark.parametrize(
    "line", ["G0 Z{z}", "G1 X{x} Z-1"], ids=["traverses that never come as high again", "nothing but cuts"]
)
def test_a_count_holds_little_of_a_program_without_a_place_to_stop(line: str) -> None:
    text = "\n".join(line.format(z=round(100 - at * 1e-3, 3), x=at % 50) for at in range(120_000))
    path = motions(f"G21 G90 F300\nG0 X0 Y0 Z200\n{text}\n")
    count = ContourCount()
    for start in range(0, len(path), 5000):
        count.add(path.take(slice(start, start + 5000)))
        assert sum(map(len, count._waiting)) < 60_000
    count.finish()
    assert count.turnable.count == 0


@pytest.mark.parametrize("size", [1, 3, 7, 1000])
def test_a_count_is_the_same_in_chunks_of_any_size(size: int) -> None:
    path = motions("G21 G90\n" + SQUARE * 9)
    count = ContourCount()
    for start in range(0, len(path), size):
        count.add(path.take(slice(start, start + size)))
    count.finish()
    found = [(each.first_line, each.last_line) for each in find_contours(path)]
    assert (count.turnable.count, count.turnable.lines) == (9, found[:6])


@every("seed", range(40))
def test_the_first_way_back_that_encloses_something_is_taken(seed: int) -> None:
    rng = np.random.default_rng(seed)
    places = rng.integers(0, 3, (40, 2))
    places = places[np.concatenate(([True], (places[1:] != places[:-1]).any(axis=1)))]
    head, *rest = [f"X{x} Y{y}" for x, y in places.tolist()]
    text = "G21 G90\nG0 Z5\n" + f"G0 {head}\nG1 Z-1 F300\n" + "\n".join(rest) + "\nG0 Z5\n"
    found = [(each.first_line - 5, each.last_line - 5) for each in find_contours(motions(text))]
    assert found == slowly(places)


def slowly(places: NDArray[np.int64]) -> list[tuple[int, int]]:
    """Return the first and last motions of the contours of a walk, by looking at every way back from every place."""
    x, y = places.astype(float).T
    area = np.concatenate(([0.0], np.cumsum(x[:-1] * y[1:] - x[1:] * y[:-1]) / 2))
    found, at = [], 0
    while at < len(places):
        back = [
            later
            for later in range(at + 1, len(places))
            if (places[later] == places[at]).all() and abs(area[later] - area[at]) > 0.01
        ]
        if back and not make_up(places, area, at, back[0]):
            found.append((at, back[0] - 1))
            at = back[0]
        else:
            at += 1
    return found


def make_up(places: NDArray[np.int64], area: NDArray[np.float64], first: int, end: int) -> bool:
    """Return whether loops on the way enclose three quarters of what the whole encloses, and are two or more."""
    inside, at = [], first + 1
    while at < end:
        again = [later for later in range(at + 1, end + 1) if (places[later] == places[at]).all()][:1]
        if again and abs(area[again[0]] - area[at]) > 0.01:
            inside.append(area[again[0]] - area[at])
            at = again[0]
        else:
            at += 1
    whole = area[end] - area[first]
    return len(inside) > 1 and abs(whole - sum(inside)) < 0.25 * abs(whole)


def test_rings_of_a_pocket_that_is_left_and_come_back_to_by_its_middle_are_each_a_contour() -> None:
    rings = "X4 Y4\nX-4\nY-4\nX4\nY4\nX7 Y7\nX-7\nY-7\nX7\nY7\n"
    text = f"G0 X0 Y0 Z5\nG1 Z-1 F300\n{rings}X0 Y0\nZ-2\n{rings}X0 Y0\nG0 Z5\n"
    assert lines(text) == [(5, 8), (10, 13), (17, 20), (22, 25)]
    assert areas(text) == [64, 196, 64, 196]


def test_to_and_fro_between_two_points_is_looked_at_in_linear_memory() -> None:
    text = "G21 G90\nG0 X0 Y0 Z5\nG1 Z-1 F300\n" + "X1 Y1\nX2 Y2\n" * 4_000 + "G0 Z5\n"
    path = motions(text)
    tracemalloc.start()
    try:
        assert find_contours(path) == []
        assert tracemalloc.get_traced_memory()[1] < 1000 * len(path)
    finally:
        tracemalloc.stop()


def test_cuts_come_back_where_there_is_a_contour_and_not_on_a_surface_cut_to_and_fro() -> None:
    assert comes_back(motions(SQUARE))
    assert comes_back(motions("G0 X5 Y0 Z5\nG1 Z-1 F300\nG2 I-5\n"))
    rows = "".join(f"G0 X0 Y{y} Z5\nG1 Z-1 F300\nX9 Z-2\nY{y}.5\nX0\n" for y in range(9))
    assert not comes_back(motions(rows))


@every("seed", range(60))
def test_where_cuts_do_not_come_back_no_contour_of_any_kind_is_found(seed: int) -> None:
    rng = np.random.default_rng(seed)
    blocks = ["G0 X0 Y0 Z5"]
    for _ in range(int(rng.integers(4, 14))):
        x, y, z = (int(value) for value in rng.integers(0, 4, 3))
        blocks.append(str(rng.choice([f"G1 X{x} Y{y}", f"G1 Z-{z}", f"G0 Z5\nG0 X{x} Y{y}", f"G1 X{x} Y{y} Z-{z}"])))
    path = motions("G21 G90 F300\n" + "\n".join(blocks) + "\n")
    first, last = contour_rows(path)
    assert comes_back(path) or not (first.size or find_unturned(path, first, last))
