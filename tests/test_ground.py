"""The ground that cuts leave: how deep was cut at each place, as far as the cutter's middle tells."""

import numpy as np
import pytest

from flipreg.ground import Ground, sample
from flipreg.path import Path
from tests.motions import motions

HEAD = "G21 G90 G17\nG0 X0 Y0 Z5\n"


def ground(text: str, *, top_mm: float = 0.0) -> Ground:
    path = motions(HEAD + text)
    made, samples = Ground(path, top_mm), sample(path)
    made.cut(samples.points_mm[path.is_cut[samples.row]])
    return made


def heights(text: str, *points: tuple[float, float], top_mm: float = 0.0) -> list[float]:
    found: list[float] = ground(text, top_mm=top_mm).heights(np.array(points)).tolist()
    return found


def test_a_line_is_cut_along_its_length_and_nowhere_else() -> None:
    text = "G1 Z-2 F90\nX40 Y30\nG0 Z5\nM2\n"
    assert heights(text, (0, 0), (20, 15), (39.9, 29.925), (40, 30)) == [-2, -2, -2, -2]
    assert heights(text, (20, 16.5), (21.5, 15), (-3, 0), (41, 31), (500, 500)) == [0, 0, 0, 0, 0]


def test_an_arc_is_cut_along_its_sweep() -> None:
    text = "G1 Z-2 F90\nG3 X20 Y0 I10 J0\nG0 Z5\nM2\n"
    assert heights(text, (10, -10), (2.929, -7.071), (10, 10), (10, 0)) == [-2, -2, 0, 0]


def test_a_ramp_is_as_deep_as_it_goes_at_each_place() -> None:
    found = heights("G1 Z0 F90\nX40 Z-4\nG0 Z5\nM2\n", (0, 0), (10, 0), (20, 0), (40, 0))
    assert found == pytest.approx([0, -1, -2, -4], abs=0.06)


def test_the_deepest_cut_counts_whatever_comes_later() -> None:
    assert heights("G1 Z-4 F90\nX10\nZ-1\nX0\nG0 Z5\nM2\n", (5, 0)) == [-4]


def test_a_place_half_a_cell_beside_a_cut_is_cut_and_one_further_off_is_not() -> None:
    assert heights("G1 Z-4 F90\nX10\nG0 Z5\nM2\n", (5, 0.2), (5, -0.2), (5, 0.8), (5, -0.8)) == [-4, -4, 0, 0]


def test_what_nobody_has_cut_is_as_high_as_the_surface() -> None:
    assert heights("G1 Z-4 F90\nX10\nG0 Z5\nM2\n", (5, 5), top_mm=12.5) == [12.5]


def test_traverses_are_sampled_and_a_way_from_nowhere_is_not() -> None:
    path = motions("G21 G90\nG0 X3 Z5\nY4\nX8\nM2\n")
    samples = sample(path)
    # X and Z are known first, Y in the second motion: only the third one goes from a place to a place.
    assert set(samples.row.tolist()) == {2}
    assert samples.points_mm[0].tolist() == [3, 4, 5]
    assert samples.points_mm[-1].tolist() == [8, 4, 5]


def test_samples_hold_each_start_and_end_and_no_gap_wider_than_a_cell() -> None:
    path = motions(HEAD + "G1 Z-4 F90\nX10.07\nG3 X10.07 Y0 I-3 J0 Z-6\nG1 X-1 Y3\nG0 Z5\nM2\n")
    samples = sample(path)
    for row in range(1, len(path)):
        points = samples.points_mm[samples.between(row, row + 1)]
        assert points[0].tolist() == pytest.approx(path.start[row].tolist())
        assert points[-1].tolist() == path.end[row].tolist()
        assert np.hypot(*np.diff(points[:, :2], axis=0).T).max() <= 0.25 + 1e-9


def test_a_program_that_goes_nowhere_has_ground_too() -> None:
    assert Ground(Path.empty(), 0.0).heights(np.array([[1.0, 2.0]])).tolist() == [0.0]
    assert len(sample(Path.empty()).row) == 0


def test_a_large_program_has_larger_cells_and_not_more_memory() -> None:
    text = "G1 Z-4 F90\nX3000 Y3000\nG0 Z5\nM2\n"
    assert heights(text, (1500, 1500), (1500, 1506)) == [-4, 0]
