"""Labels of G92 compared: the number that the point gets moves like every other number."""

import re
from decimal import Decimal

import pytest

from flipreg.errors import ProofError
from flipreg.geometry.isometry import Isometry
from flipreg.prove import Expected
from flipreg.prove.axis_offsets import compare_axis_offsets
from tests.prove.reads import read

ASIDE = Expected(Isometry.translation(Decimal(10), Decimal(20), Decimal(30)))
TOLERANCE_MM = 0.001


def compared(source: str, output: str, expected: Expected = ASIDE) -> float:
    return compare_axis_offsets(read(source), expected, read(output), TOLERANCE_MM)


HEAD = "G21 G90\nG0 X1 Y2 Z3\n"


@pytest.mark.parametrize(
    ("source", "output"),
    [
        ("G92 X5\n", "G92 X15\n"),
        ("G92 X5 Y6 Z7\n", "G92 X15 Y26 Z37\n"),
        ("G92 Z0\nX1\n", "G92 Z30\nX9\n"),
        ("X1\n", "X2\n"),
        ("G4 P1\n", "G4 P1\n"),
    ],
)
def test_an_axis_offset_that_is_moved_is_right(source: str, output: str) -> None:
    # The axes that G92 does not name keep their numbers, which are moved by the motion before.
    assert compared(HEAD + source, "G21 G90\nG0 X11 Y22 Z33\n" + output) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(("axis", "right"), [("X", 15), ("Y", 26), ("Z", 37)])
def test_each_axis_of_an_axis_offset_is_held_to_the_tolerance(axis: str, right: float) -> None:
    there = "G21 G90\nG0 X11 Y22 Z33\n"
    words = {"X": 15.0, "Y": 26.0, "Z": 37.0}
    source = HEAD + "G92 X5 Y6 Z7\n"

    def with_offset(value: float) -> str:
        return there + "G92 " + " ".join(f"{name}{(words | {axis: value})[name]:.4f}" for name in words) + "\n"

    assert compared(source, with_offset(right + 0.0009)) == pytest.approx(0.0009, abs=1e-9)
    for off in (0.0011, -0.0011):
        message = (
            "front.ngc:3: the axis offset of G92 would be 0.001100 mm off in the output, allowed is 0.001 mm; "
            "nothing was written"
        )
        with pytest.raises(ProofError, match=f"^{re.escape(message)}$"):
            compared(source, with_offset(right + off))


def test_an_axis_offset_that_is_not_there_is_stopped() -> None:
    with pytest.raises(ProofError, match=r"^front\.ngc:3: the axis offset of G92 would be nan mm off"):
        compared(HEAD + "G92 X5\n", "G21 G90\nG0 X11 Y22 Z33\n\n")


def test_every_axis_offset_is_compared_and_the_largest_deviation_told() -> None:
    there = "G21 G90\nG0 X11 Y22 Z33\n"
    source = HEAD + "G92 X5\nX6\nG92 X7\n"
    assert compared(source, there + "G92 X15.0008\nX16\nG92 X17.0003\n") == pytest.approx(0.0008, abs=1e-9)
    assert compared(source, there + "G92 X15.0003\nX16\nG92 X17.0008\n") == pytest.approx(0.0008, abs=1e-9)
    with pytest.raises(ProofError, match=r"^front\.ngc:5: "):
        compared(source, there + "G92 X15\nX16\nG92 X17.5\n")
    with pytest.raises(ProofError, match=r"^front\.ngc:3: "):
        compared(source, there + "G92 X15.5\nX16\nG92 X17\n")


def test_machine_data_before_an_axis_offset_do_not_hide_it() -> None:
    there = "G21 G90\nG0 X11 Y22 Z33\n"
    with pytest.raises(ProofError, match=r"^front\.ngc:4: "):
        compared(HEAD + "G53 G0 Z0\nG92 X5\n", there + "G53 G0 Z0\nG92 X5\n")


def test_an_axis_offset_is_moved_by_the_isometry_of_its_own_zero() -> None:
    expected = Expected(Isometry(), {2: Isometry.translation(Decimal(10), Decimal(0))})
    source = "G21 G90 G55\nG0 X1 Y2 Z3\nG92 X5\n"
    assert compared(source, "G21 G90 G55\nG0 X11 Y2 Z3\nG92 X15\n", expected) == pytest.approx(0.0, abs=1e-12)
    with pytest.raises(ProofError, match=r"^front\.ngc:3: "):
        compared(source, source, expected)


def test_an_axis_that_nobody_knows_has_no_axis_offset_to_compare() -> None:
    assert compared("G21 G90\nG0 X1\nG92 X5\n", "G21 G90\nG0 X11\nG92 X15\n") == pytest.approx(0.0, abs=1e-12)
    with pytest.raises(ProofError, match=r"^front\.ngc:3: "):
        compared("G21 G90\nG0 X1\nG92 X5\n", "G21 G90\nG0 X11\nG92 X16\n")
