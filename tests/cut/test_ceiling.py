import numpy as np

from flipreg.cut.ceiling import Ceiling


def test_no_cell_of_a_run_lies_above_what_is_told_and_some_runs_are_told_less_than_the_highest_of_all() -> None:
    rng = np.random.default_rng(3)
    for shape in ((1, 1), (7, 30), (33, 16), (40, 41)):
        heights = rng.uniform(-9.0, 0.0, shape).astype(np.float32)
        heights[: shape[0] // 2] -= 9.0
        for is_along_x in (True, False):
            lines = heights if is_along_x else heights.T
            row, first = (rng.integers(0, size, 60) for size in lines.shape)
            length = np.minimum(rng.integers(1, 20, 60), lines.shape[1] - first)
            told = Ceiling(heights).over(row, first, int(length.max()), is_along_x=is_along_x)
            runs = [lines[r, f : f + n].max() for r, f, n in zip(row, first, length, strict=True)]
            assert bool((told >= runs).all())
            assert shape[0] < 33 or bool((told < heights.max()).any())
