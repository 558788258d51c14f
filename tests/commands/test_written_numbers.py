"""How the numbers of a produced program are written: exact, no longer than needed, and only where they must change."""

import re
from decimal import Decimal

import numpy as np
import pytest

import flipreg
from tests.motions import INCH, motions

ZERO = (Decimal(0), Decimal(0))


def flipped_at(text: str, at_mm: str) -> str:
    """Return the text flipped about the line x = at_mm."""
    program = flipreg.parse(text, source="front.ngc")
    datum_mm = (2 * Decimal(at_mm), Decimal(0))
    return flipreg.flip(program, axis=flipreg.FlipAxis.Y, datum_mm=datum_mm).text.decode("latin-1")


def turned(text: str, turn_deg: float, by_mm: tuple[str, str, str] = ("0", "0", "0")) -> str:
    """Return the text turned about zero."""
    dx_mm, dy_mm, dz_mm = map(Decimal, by_mm)
    produced = flipreg.shift(
        flipreg.parse(text, source="front.ngc"), by_mm=(dx_mm, dy_mm, dz_mm), turn_deg=turn_deg, about_mm=ZERO
    )
    return produced.text.decode("latin-1")


def words(text: str) -> list[tuple[str, str]]:
    """Return letter and spelling of every word outside comments."""
    code = re.sub(r"\([^()\n]*(\([^()\n]*\))*[^()\n]*\)|;[^\n]*", "", text)
    return [(letter.upper(), number) for letter, number in re.findall(r"([A-Za-z])\s*([-+]?[0-9.]+)", code)]


def values(text: str, letter: str) -> list[str]:
    return [number for found, number in words(text) if found == letter]


@pytest.mark.parametrize(
    ("at_mm", "before", "after"),
    [
        ("12.7", "0.1", "25.3"),  # 2 * 12.7 - 0.1 is 25.299999999999997 in doubles
        ("0", "0.1", "-0.1"),
        ("0", "-0.30", "0.30"),
        ("0.05", "0.3", "-0.2"),
        ("50", "10.250", "89.750"),
        ("150", "299.999", "0.001"),
        ("12.75", "0.1", "25.4"),
        ("12.7", "1.000", "24.400"),
        ("0", "123456.789", "-123456.789"),
        ("0.0005", "0.001", "0.000"),
    ],
)
def test_a_mirror_of_a_decimal_is_the_decimal_a_person_would_write(at_mm: str, before: str, after: str) -> None:
    text = f"G21 G90 F100\nG0 X{before} Y7 Z1\nM2\n"
    assert values(flipped_at(text, at_mm), "X") == [after]


def test_a_mirror_in_inches_is_exact_too() -> None:
    assert values(flipped_at("G20 G90 F10\nG0 X.1 Y7 Z1\nM2\n", "12.7"), "X") == ["0.9"]


def test_more_decimals_are_written_only_where_the_result_needs_them() -> None:
    text = "G21 G90 F100\nG0 X1 Y7 Z1\nG1 X2.5\nX3.00\nM2\n"
    found = values(flipped_at(text, "12.725"), "X")
    assert [Decimal("24.45"), Decimal("22.95"), Decimal("22.45")] == [Decimal(number) for number in found]
    assert found[2] == "22.45"


def test_a_shift_of_a_decimal_is_exact() -> None:
    text = turned("G21 G90 F100\nG0 X0.1 Y-0.30 Z1\nM2\n", 0.0, ("0.2", "0.1", "-1.5"))
    assert [values(text, letter) for letter in "XYZ"] == [["0.3"], ["-0.20"], ["-0.5"]]


def test_a_quarter_turn_of_decimals_is_exact() -> None:
    text = turned("G21 G90 F100\nG0 X0.1 Y-0.30 Z1\nM2\n", 90.0)
    assert [Decimal("0.30")] == [Decimal(number) for number in values(text, "X")]
    assert [Decimal("0.1")] == [Decimal(number) for number in values(text, "Y")]


ZEROS = (
    "G21 G90 G17 F100\nG0 X0 Y0 Z0\nG1 X0.000 Y5\nX10 Y0\nG2 X20 Y0 I5 J0\nG3 X10 Y0 I-5. J0.0\nG91 X0 Y1 I0 J.5\nM2\n"
)


@pytest.mark.parametrize("turn_deg", [90.0, 180.0, 270.0, -90.0, 30.0, 45.0, 359.9999])
def test_no_zero_of_a_turn_has_a_sign(turn_deg: float) -> None:
    assert [number for _, number in words(turned(ZEROS, turn_deg)) if re.fullmatch(r"-0*\.?0*", number)] == []


@pytest.mark.parametrize("at_mm", ["0", "5", "10"])
def test_no_zero_of_a_flip_has_a_sign(at_mm: str) -> None:
    assert [number for _, number in words(flipped_at(ZEROS, at_mm)) if re.fullmatch(r"-0*\.?0*", number)] == []
    assert values(flipped_at("G21 G90 F100\nG0 X-0 Y1 Z1\nM2\n", "0"), "X") == ["0"]


def test_turned_words_have_at_least_four_decimals_in_millimetres() -> None:
    text = turned("G21 G90 G17 F100\nG0 X10 Y3 Z1\nG1 X7.1 Y2\nG2 X17.1 Y2 I5\nM2\n", 30.0)
    for letter in "XYIJ":
        found = values(text, letter)
        assert found
        assert min(len(number.partition(".")[2]) for number in found) >= 4
    assert values(text, "Z") == ["1"]


def test_turned_words_have_at_least_five_decimals_in_inches() -> None:
    text = turned("G20 G90 G17 F10\nG0 X10 Y3 Z1\nG1 X7.1 Y2\nG2 X17.1 Y2 I5\nM2\n", 30.0)
    for letter in "XYIJ":
        found = values(text, letter)
        assert found
        assert min(len(number.partition(".")[2]) for number in found) >= 5


def test_a_turned_word_is_rounded_to_the_nearest() -> None:
    # cos 30 = 0.866025403784..., sin 30 = 0.5: (10, 3) turns to (7.160254..., 7.598076...).
    text = turned("G21 G90 F100\nG0 X10 Y3 Z1\nM2\n", 30.0)
    (x,), (y,) = values(text, "X"), values(text, "Y")
    assert abs(Decimal(x) - Decimal("7.16025403784439")) <= Decimal("0.00005")
    assert abs(Decimal(y) - Decimal("7.59807621135332")) <= Decimal("0.00005")


BODY = (
    "N10 g21G90 g17 (metric,\tX1 Y1)\n"
    "/n20 G0 y 2.50 Z+5. ; X9 stays\n"
    "\n"
    "   G1  z-1  F0300 S 1000 M03\n"
    "Y+003.0\n"
    "(MSG, turn X10 over)\n"
    "G4P.5\n"
    "G91 y-.5 z-0\n"
    "m2\n"
)


def test_a_block_without_a_mirrored_word_keeps_every_byte() -> None:
    assert flipped_at(BODY, "25.4").endswith(BODY)


def test_only_the_words_that_must_change_do() -> None:
    front = (
        "N10 G21 g90 G17 F100 T1 M6\n"
        "g0  X 1.50y-2.0\tZ+5. (Keep X1 Me)\n"
        "/ N5 G01 x2 Z-1. F0300;X5\n"
        "g2 X4 I1 j0. (g2)\n"
        "G03x2.00I-1. Y-2.0\n"
        "g41 g1 x-7.25 Y0 D1\n"
        "X-10.0\n"
        "G40 G91 X.5 y+.5\n"
        "M30\n"
    )
    back = (
        "N10 G21 g90 G17 F100 T1 M6\n"
        "g0  X -1.50y-2.0\tZ+5. (Keep X1 Me)\n"
        "/ N5 G01 x-2 Z-1. F0300;X5\n"
        "g3 X-4 I-1 j0. (g2)\n"
        "G02x-2.00I1. Y-2.0\n"
        "g42 g1 x7.25 Y0 D1\n"
        "X10.0\n"
        "G40 G91 X-.5 y+.5\n"
        "M30\n"
    )
    # Where the spelling of a number is free (a trailing point, a leading zero) only its value is fixed.
    produced = flipped_at(front, "0")
    body = "".join(produced.splitlines(keepends=True)[-len(back.splitlines()) :])
    free = re.compile(r"(?<=[XxIi])( ?-?)0?(\d*)\.?(?=[^\d.])|(?<=[Xx])( ?-?)0?(\.\d)")
    assert free.sub(r"\1\2\3\4", back) == free.sub(r"\1\2\3\4", body)


def test_a_shift_by_nothing_changes_no_byte() -> None:
    assert turned(BODY.replace("\n", "\nG0 X1 Y1 Z1\n", 1), 0.0).endswith(BODY.partition("\n")[2])


def test_a_shift_along_z_leaves_x_y_and_the_arcs_alone() -> None:
    text = "G21 G90 G17 F100\nG0 X1.50 Y+2 Z5.0\nG2 x+4.50 I1.500 z-1 (z5)\nG1 X9\nM2\n"
    assert turned(text, 0.0, ("0", "0", "-0.25")).endswith(
        "G21 G90 G17 F100\nG0 X1.50 Y+2 Z4.75\nG2 x+4.50 I1.500 z-1.25 (z5)\nG1 X9\nM2\n"
    )


def test_a_missing_word_of_a_turned_pair_is_added() -> None:
    text = turned("G21 G90 F100\nG0 X0 Y0 Z1\nG1 X10\nY10\nM2\n", 30.0)
    for letter in "XY":
        assert len(values(text, letter)) == 3


def radius_difference(text: str, per_unit_mm: float = 1.0) -> float:
    """Return the largest difference of an arc's start and end radius, in the program's unit."""
    path = motions(text)
    arcs = path.take(path.is_arc)
    spokes = [np.hypot(*(point - arcs.centre)[:, :2].T) for point in (arcs.start, arcs.end)]
    return float(np.abs(spokes[0] - spokes[1]).max() / per_unit_mm)


RING = [(0.3 * index, 3.0 + 0.37 * index) for index in range(1, 60)]


@pytest.mark.parametrize("turn_deg", [1.0, 17.0, 30.0, 61.803])
@pytest.mark.parametrize(("units", "limit", "unit_mm"), [("G21", 0.002, 1.0), ("G20", 0.0002, INCH)])
def test_arcs_stay_within_the_standards_tolerance_after_rounding(
    turn_deg: float, units: str, limit: float, unit_mm: float
) -> None:
    # NISTIR 6556 section 3.5.3. Three-quarter arcs of many sizes: exact in the source.
    blocks = "".join(f"G0 X{x:.3f} Y{r:.3f}\nG2 X{x - r:.3f} Y0 J{-r:.3f}\n" for x, r in RING)
    text = turned(f"{units} G90 G17 F100\nG0 X0 Y0 Z0\n{blocks}M2\n", turn_deg)
    assert radius_difference(text, unit_mm) <= limit


def test_the_radius_word_is_left_alone_by_flips_and_turns() -> None:
    text = "G21 G90 G17 F100\nG0 X0 Y0 Z0\nG2 X10 Y15 R+20.00\nG3 X0 Y0 R-20\nM2\n"
    assert values(flipped_at(text, "7"), "R") == ["+20.00", "-20"]
    assert values(turned(text, 30.0), "R") == ["+20.00", "-20"]


def test_a_near_half_circle_in_radius_format_is_turned_or_refused_never_bent() -> None:
    # Section 3.5.3.1: rounding a chord near the diameter throws the centre about: by 0.1 mm for 0.001 mm here.
    text = "G21 G90 G17 F100\nG0 X0 Y0 Z0\nG3 X20 Y0 R10\nG1 X30\nM2\n"
    # 0.005 mm is our bound: more than any rounding of written words, far less than a thrown centre.
    for turn_deg in (1.0, 17.0, 30.0, 61.803):
        result = turned_or_refused(text, turn_deg)
        if isinstance(result, flipreg.RefusedError):
            assert result.location.line == 3
            continue
        after = motions(result)
        turn = np.exp(1j * np.radians(turn_deg))
        (row,) = np.flatnonzero(after.is_arc)
        assert abs(10 * turn - complex(*after.centre[row, :2])) <= 0.005


def turned_or_refused(text: str, turn_deg: float) -> str | flipreg.RefusedError:
    try:
        return turned(text, turn_deg)
    except flipreg.RefusedError as refusal:
        return refusal
