"""Wood Handbook, FPL-GTR-190 and FPL-GTR-282, chapters 4 and 13; each test says how its number was come by."""

import pytest

from flipreg.align.wood import (
    ALONG_THE_GRAIN_PER_POINT,
    MOVEMENT,
    Provenance,
    equilibrium_moisture_percent,
    movement_of,
)
from flipreg.errors import UsageError

# Total shrinkage, radial and tangential, in percent, Table 4-3: read, sugar maple as quoted by others.
SHRINKAGE = {
    "sugar maple": (4.8, 9.9),
    "black walnut": (5.5, 7.8),
    "black cherry": (3.7, 7.1),
    "white ash": (4.9, 7.8),
    "yellow birch": (7.3, 9.5),
    "american beech": (5.5, 11.9),
    "american basswood": (6.6, 9.3),
    "red alder": (4.4, 7.3),
    "american sycamore": (5.0, 8.4),
    "sweetgum": (5.3, 10.2),
    "butternut": (3.4, 6.4),
    "white fir": (3.3, 7.0),
    "yellow-poplar": (4.6, 8.2),
}

# Table 4-2, degrees Fahrenheit, relative humidity, moisture content: as quoted by two others.
TABLE_4_2 = [
    *((70, humidity, moisture) for humidity, moisture in (
        (5, 1.3), (20, 4.5), (30, 6.2), (40, 7.7), (50, 9.2), (60, 11.0), (65, 12.0), (70, 13.1), (75, 14.4),
        (80, 16.0), (85, 17.9), (90, 20.5), (95, 23.9),
    )),
    (30, 30, 6.3), (30, 75, 14.9), (30, 95, 24.3),
    (50, 50, 9.5), (80, 65, 11.7),
    (100, 50, 8.7), (100, 80, 15.1), (100, 90, 19.5),
    (140, 50, 7.7), (180, 65, 8.6),
]  # fmt: skip


def test_a_board_of_white_fir_grows_as_in_the_worked_example() -> None:
    # Chapter 13 after equation 13-2: the end width, 233.7 mm, was read; the start of the example is quoted.
    fir = movement_of("white fir")
    grown = 232.0 * fir.tangential_per_point * (11.0 - 8.0)
    assert pytest.approx(grown, abs=1e-9) == 1.7052
    assert pytest.approx(232.0 + grown, abs=0.05) == 233.7


def test_a_wide_board_of_sugar_maple_grows_by_two_and_a_half_millimetres() -> None:
    # Worked out from the coefficient that was read.
    maple = movement_of("Hard maple")
    assert pytest.approx(350.0 * maple.tangential_per_point * (10.0 - 8.0), abs=5e-4) == 2.471


@pytest.mark.parametrize(
    ("species", "radial", "tangential"),
    [
        ("sugar maple", 0.00165, 0.00353),
        ("black walnut", 0.00190, 0.00274),
        ("black cherry", 0.00126, 0.00248),
        ("white oak", 0.00180, 0.00365),
        ("american beech", 0.00190, 0.00431),
    ],
)
def test_coefficients_are_those_of_the_table(species: str, radial: float, tangential: float) -> None:
    # Table 13-5, read.
    row = MOVEMENT[species]
    assert (radial, tangential) == (row.radial_per_point, row.tangential_per_point)
    assert row.provenance is Provenance.READ


def test_rows_that_were_not_read_say_so() -> None:
    doubtful = {name for name, row in MOVEMENT.items() if row.provenance is not Provenance.READ}
    assert doubtful == {
        "white fir", "true hickory", "eastern white pine", "sitka spruce", "yellow-poplar", "mahogany", "teak",
    }  # fmt: skip


@pytest.mark.parametrize("species", SHRINKAGE)
def test_coefficients_follow_from_the_shrinkage_of_the_other_table(species: str) -> None:
    # Setting 10 % into equation 13-3, whose form is from memory: C = S / (3000 - 20 S). Mahogany, teak and the
    # groups of oaks are known not to follow it and are left out.
    row = MOVEMENT[species]
    for shrinkage, coefficient in zip(
        SHRINKAGE[species], (row.radial_per_point, row.tangential_per_point), strict=True
    ):
        assert shrinkage / (3000 - 20 * shrinkage) == pytest.approx(coefficient, abs=1.05e-5)


def test_an_unknown_wood_is_refused_with_those_that_are_known() -> None:
    with pytest.raises(UsageError, match=r"no movement coefficients for 'balsa'; there are some for .*teak"):
        movement_of("balsa")


def test_wood_moves_a_hundred_times_less_along_the_grain_than_beech_does_across() -> None:
    # Chapter 4, 0.1 to 0.2 % in all from green to ovendry: from memory.
    assert 0.1 / 100 <= 30 * ALONG_THE_GRAIN_PER_POINT <= 0.2 / 100




@pytest.mark.parametrize(("fahrenheit", "humidity", "moisture"), TABLE_4_2)
def test_moisture_in_still_air_is_that_of_the_table(fahrenheit: float, humidity: float, moisture: float) -> None:
    celsius = (fahrenheit - 32) / 1.8
    assert moisture == pytest.approx(equilibrium_moisture_percent(celsius, float(humidity)), abs=0.07)


@pytest.mark.parametrize(
    ("humidity", "moisture"),
    [(30, 6.188), (40, 7.722), (45, 8.485), (50, 9.271), (55, 10.101), (60, 11.000), (65, 11.996), (80, 16.037)],
)
def test_moisture_at_twenty_degrees_is_what_the_equation_gives(humidity: float, moisture: float) -> None:
    # Worked out from the equation; constants as quoted by others. Fahrenheit's constants would give 9.459 at 50 %.
    assert moisture == pytest.approx(equilibrium_moisture_percent(20.0, float(humidity)), abs=6e-4)
