import numpy as np

from flipreg.rewrite.floor.passes import Hole, Pass, find_holes, find_passes, find_pockets
from tests.commands.depths import BY_HELIX, DRILLED, POCKET, RASTER, TABBED
from tests.motions import motions


def _levels(text: str, top_mm: float = 0.0) -> list[list[float]]:
    pockets = find_pockets(find_passes(motions(text), top_mm))
    return [[round(level, 6) for level in pocket.levels_mm] for pocket in pockets]


def _lines(text: str) -> list[tuple[int, int, int]]:
    path = motions(text)
    return [
        (int(path.line[each.first]), int(path.line[each.cut]), int(path.line[each.last]))
        for each in find_passes(path, 0.0)
    ]


def test_passes_over_one_place_are_one_pocket() -> None:
    assert _levels(POCKET) == [[-5, -10, -16]]


def test_a_pass_begins_with_the_way_out_of_the_one_before() -> None:
    assert _lines(BY_HELIX) == [(2, 7, 7), (8, 13, 13), (14, 19, 19)]


def test_a_descent_without_a_lift_begins_a_pass() -> None:
    assert _lines(TABBED) == [(2, 5, 8), (9, 10, 17)]


def test_a_rise_in_between_is_no_pass_but_a_level_of_its_own() -> None:
    passes = find_passes(motions(TABBED), 0.0)
    assert [each.inner_mm for each in passes] == [(), (-4.5,)]


def test_each_line_of_a_raster_is_a_pocket() -> None:
    assert _levels(RASTER) == [[-2.54, -5.08], [-2.54, -5.08]]


def test_pockets_beside_each_other_are_told_apart_in_whatever_order_they_are_run() -> None:
    one, other = "G0 Z5\nG0 X0 Y0\nG1 Z{}\nX9\nY9\nX0\nY0\n", "G0 Z5\nG0 X50 Y0\nG1 Z{}\nX59\nY9\nX50\nY0\n"
    by_level = "".join(part.format(z) for z in (-2, -4) for part in (one, other)) + other.format(-6)
    assert _levels(f"G21 G90 F300\n{by_level}M2\n") == [[-2, -4], [-2, -4, -6]]


def test_a_small_pocket_in_the_floor_of_a_large_one_is_another() -> None:
    text = "G21 G90 F300\nG0 X0 Y0 Z5\nG1 Z-3\nX90\nY90\nX0\nY0\nG0 Z5\n"
    text += "X40 Y40\nG1 Z-6\nX50\nY50\nX40\nY40\nG0 Z5\nM2\n"
    assert _levels(text) == [[-3], [-6]]


def test_what_is_fed_above_the_wood_is_no_pass() -> None:
    text = "G21 G90 F300\nG0 X0 Y0 Z5\nG1 X9 Z2\nX20\nZ-1\nX0\nG0 Z5\nM2\n"
    assert _levels(text) == [[-1]]
    assert _levels(text, top_mm=3.0) == [[2, -1]]


def test_a_plunge_has_the_level_of_its_bottom() -> None:
    text = "G21 G90 F300\nG0 X0 Y0 Z5\nG1 Z-2\nG0 Z1\nG1 Z-4\nG0 Z5\nM2\n"
    assert _levels(text) == [[-2, -4]]


def test_a_surface_has_no_pass() -> None:
    assert _levels("G21 G90 F300\nG0 X0 Y0 Z5\nG1 X5 Z-1\nX9 Z-2\nX12 Z-1\nG0 Z5\nM2\n") == []


def test_the_box_of_a_pass_holds_its_arcs() -> None:
    (each,) = find_passes(motions("G21 G90 F300\nG0 X10 Y5 Z5\nG1 Z-1\nG3 X10 Y5 I-10\nG0 Z5\nM2\n"), 0.0)
    assert isinstance(each, Pass)
    np.testing.assert_allclose(each.box_mm, (-10, -5, 10, 15), atol=1e-9)


def test_holes_have_their_line_and_their_bottom() -> None:
    holes = find_holes(motions(DRILLED))
    assert holes == [Hole(3, -1.5, 81), Hole(4, -1.5, 81), Hole(6, -12, 83), Hole(7, -12, 83), Hole(8, -12, 83)]
    assert find_passes(motions(DRILLED), 0.0) == []


def test_a_program_without_motions_has_no_passes() -> None:
    assert find_passes(motions("G21 G90\nM2\nG1 X1 Y1 Z-1 F300\n"), 0.0) == []
