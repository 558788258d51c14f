import numpy as np
import pytest

from flipreg.align.line import fit_line

PEARSON = np.array(
    [
        (0, 5.9),
        (0.9, 5.4),
        (1.8, 4.4),
        (2.6, 4.6),
        (3.3, 3.5),
        (4.4, 3.7),
        (5.2, 2.8),
        (6.1, 2.8),
        (6.5, 2.4),
        (7.4, 1.5),
    ]
)


def test_the_line_of_closest_fit_is_pearsons() -> None:
    # K. Pearson, Philosophical Magazine 2, 1901: data from memory, the line worked out twice. By the distances along
    # y alone the slope would be -0.53957727.
    line = fit_line(PEARSON)
    (x, y), (dx, dy) = line.centroid_mm, line.direction
    assert pytest.approx((x, y)) == (3.82, 3.70)
    assert pytest.approx(dy / dx, abs=5e-9) == -0.54556120
    assert pytest.approx(y - x * dy / dx, abs=5e-9) == 5.78404377
    assert pytest.approx(line.rms_mm, abs=5e-9) == 0.24871123


def test_a_line_along_y_is_fitted_as_well_as_one_along_x() -> None:
    upright, lying = fit_line(PEARSON[:, ::-1]), fit_line(PEARSON)
    assert lying.rms_mm == pytest.approx(upright.rms_mm)
    assert lying.direction == pytest.approx(upright.direction[::-1])


@pytest.mark.parametrize("points", [np.zeros((1, 2)), np.zeros((3, 2)), np.full((2, 2), np.nan), np.zeros((3, 3))])
def test_what_makes_no_line_is_refused(points: np.ndarray) -> None:
    with pytest.raises(ValueError, match="a line needs"):
        fit_line(points)
