import numpy as np
import pytest

from flipreg.cut.tool import Cutter

RADII = np.array([0.0, 0.2, 0.5, 1.0, 2.0, 2.9, 3.0])


def test_a_flat_cutter_is_level_up_to_its_radius_and_then_ends() -> None:
    assert Cutter.flat(6.0).profile(np.array([0.0, 3.0, 3.001])).tolist() == [0.0, 0.0, np.inf]


def test_a_ball_is_a_sphere() -> None:
    heights = Cutter.ball(6.0).profile(RADII)
    np.testing.assert_allclose(RADII**2 + (heights - 3.0) ** 2, 9.0, atol=1e-12)
    assert (heights <= 3.0).all()


def test_a_bull_nose_is_flat_and_then_a_quarter_round() -> None:
    profile = Cutter.bull(6.0, 1.0).profile(np.array([2.0, 2.6, 3.0]))
    np.testing.assert_allclose(profile, [0.0, 1.0 - 0.8, 1.0], atol=1e-12)


def test_a_vee_rises_by_its_half_angle_from_its_tip() -> None:
    # 90 degrees: as far up as out. 60 degrees: the square root of 3.
    np.testing.assert_allclose(Cutter.vee(10.0, 90.0, tip_width_mm=1.0).profile(np.array([0.5, 2.5])), [0.0, 2.0])
    np.testing.assert_allclose(Cutter.vee(10.0, 60.0).profile(np.array([1.0])), [3.0**0.5])


def test_a_drill_of_118_degrees_is_as_high_as_the_handbooks_say() -> None:
    # Point length 0.3004 D; common practice, no source.
    assert Cutter.drill(10.0, 118.0).height_mm == pytest.approx(3.004, abs=5e-4)


def test_a_drill_of_180_degrees_is_flat() -> None:
    assert Cutter.drill(8.0, 180.0) == Cutter.flat(8.0)


@pytest.mark.parametrize(
    "cutter",
    [Cutter.flat(6.0), Cutter.ball(6.0), Cutter.bull(6.0, 1.0), Cutter.vee(6.0, 60.0), Cutter.drill(6.0, 118.0)],
)
def test_growing_shifts_the_profile_outwards(cutter: Cutter) -> None:
    grown = cutter.grown(0.4)
    np.testing.assert_allclose(grown.profile(RADII + 0.4), cutter.profile(RADII), atol=1e-12)
    assert grown.profile(np.array([0.3])).tolist() == [0.0]


@pytest.mark.parametrize(
    ("numbers", "says"),
    [
        ((0.0, 0.0, 0.0, 0.0), "a radius over 0 mm"),
        ((3.0, 2.0, 0.0, 0.0), "tip and corner reach 2.0 mm, the radius is 3.0 mm"),
        ((3.0, 2.0, 2.0, 0.0), "tip and corner reach 4.0 mm, the radius is 3.0 mm"),
        ((3.0, 1.0, 2.0, 1.0), "a cone or a round corner, not both"),
        ((float("nan"), 0.0, 0.0, 0.0), "a radius over 0 mm"),
        ((3.0, -1.0, 4.0, 0.0), "no negative size"),
    ],
)
def test_numbers_that_describe_no_cutter_are_refused(numbers: tuple[float, float, float, float], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        Cutter(*numbers)


@pytest.mark.parametrize("angle_deg", [0.0, 180.0, -10.0, float("nan")])
def test_a_cone_needs_an_angle(angle_deg: float) -> None:
    with pytest.raises(ValueError, match="angle"):
        Cutter.vee(6.0, angle_deg)
