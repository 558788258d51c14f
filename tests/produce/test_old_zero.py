"""A flip about a datum away from zero says where the program stands at its start and its end, and what mends it."""

from decimal import Decimal

import pytest

from flipreg.produce.home import home
from flipreg.produce.isometries import FlipAxis
from flipreg.produce.produce import flip
from flipreg.rs274.read.program import parse

BOTH = "G21 G90 G17\nG0 Z20\nX0 Y0\nX5 Y5\nG1 Z-1 F300\nX10\nG0 Z20\nX0 Y0\nM2\n"


def notes(text: str, datum: tuple[int, int]) -> list[str]:
    made = flip(parse(text), axis=FlipAxis.Y, datum_mm=(Decimal(datum[0]), Decimal(datum[1])))
    return [note for note in made.notes if "front's zero" in note]


def test_a_program_that_starts_and_ends_over_the_fronts_zero_is_told_to_go_home() -> None:
    assert notes(BOTH, (240, 30)) == [
        "it starts and ends where the front's zero was, at X240 Y-30, and not over its own zero; "
        "flipreg home makes it do so"
    ]


def test_only_what_it_does_is_said() -> None:
    assert notes(BOTH.replace("G0 Z20\nX0 Y0\nM2", "G0 Z20\nM2"), (240, 0))[0].startswith("it starts where")
    assert notes(BOTH.replace("Z20\nX0 Y0\nX5", "Z20\nX5"), (240, 0))[0].startswith("it ends where")


@pytest.mark.parametrize(("text", "datum"), [(BOTH, (0, 0)), (BOTH.replace("X0 Y0", "X1 Y1"), (240, 0))])
def test_nothing_is_said_where_zero_stays_or_the_program_stands_elsewhere(text: str, datum: tuple[int, int]) -> None:
    assert notes(text, datum) == []


def test_home_then_starts_and_ends_over_the_new_zero() -> None:
    flipped = flip(parse(BOTH), axis=FlipAxis.Y, datum_mm=(Decimal(240), Decimal(30)))
    lines = home(parse(flipped.text), safe_z_mm=Decimal(20)).text.decode().splitlines()
    moves = [line for line in lines if "X" in line and not line.startswith("(")]
    assert "X0 Y0" in moves[0]
    assert "X0 Y0" in moves[-1]
