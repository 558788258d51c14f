"""What callers may pass to the public functions, and what they are told otherwise."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from math import inf, nan
from typing import Any

import numpy as np
import pytest

import flipreg
from tests.every import every

PROGRAM = flipreg.parse("G21 G90 G0 X0.1 Y2 Z5\nG1 X2.5 F600\n", source="small.nc")
FACE = flipreg.face_program(PROGRAM)
JOB = flipreg.read_job("samples/bracket/job.toml")

WRONG_KINDS: Mapping[str, Callable[[Any], object]] = {
    "program": lambda wrong: flipreg.flip(wrong, axis=flipreg.FlipAxis.Y, datum_mm=(Decimal(0), Decimal(0))),
    "axis": lambda wrong: flipreg.flip(PROGRAM, axis=wrong, datum_mm=(Decimal(0), Decimal(0))),
    "datum_mm": lambda wrong: flipreg.flip(PROGRAM, axis=flipreg.FlipAxis.Y, datum_mm=wrong),
    "datum_mm[1]": lambda wrong: flipreg.flip(PROGRAM, axis=flipreg.FlipAxis.Y, datum_mm=(Decimal(0), wrong)),
    "by_mm[2]": lambda wrong: flipreg.shift(PROGRAM, by_mm=(Decimal(0), Decimal(0), wrong)),
    "turn_deg": lambda wrong: flipreg.shift(PROGRAM, turn_deg=wrong),
    "spell_cycles": lambda wrong: flipreg.shift(PROGRAM, spell_cycles=wrong),
    "floor_mm": lambda wrong: flipreg.depth(PROGRAM, floor_mm=wrong),
    "safe_z_mm": lambda wrong: flipreg.home(PROGRAM, safe_z_mm=wrong),
    "programs": lambda wrong: flipreg.join(wrong),
    "programs[1]": lambda wrong: flipreg.join([PROGRAM, wrong]),
    "front[0]": lambda wrong: flipreg.check([wrong], [FACE], tolerance_mm=0.1),
    "back": lambda wrong: flipreg.check([FACE], wrong, tolerance_mm=0.1),
    "tolerance_mm": lambda wrong: flipreg.check([FACE], [FACE], tolerance_mm=wrong),
    "job": lambda wrong: flipreg.check_job(wrong),
    "setup": lambda wrong: flipreg.planned_marks(JOB, wrong),
    "path": lambda wrong: flipreg.read_job(wrong),
    "text": lambda wrong: flipreg.parse(wrong),
    "thickness_mm": lambda wrong: flipreg.MeasuredPart("heel", "front", wrong),
    "touched_mm": lambda wrong: flipreg.fit_touches({}, wrong, tolerance_mm=0.1, reference="A", cut_mm=[]),
    "length_mm": lambda wrong: flipreg.Blank(wrong, 100.0, 18.0, flipreg.Edge.LEFT, 50.0),
    "edge": lambda wrong: flipreg.Blank(400.0, 100.0, 18.0, wrong, 50.0),
    "front": lambda wrong: flipreg.FlippedJob(wrong, (), flipreg.FlipAxis.X, (Decimal(0), Decimal(0))),
}


@every("wrong", [None, nan, -inf, object(), {1, 2}.pop, np.float64(nan), Decimal("NaN")])
@every("argument", WRONG_KINDS)
def test_what_no_argument_can_be_is_refused_with_its_name_and_what_is_expected(argument: str, wrong: object) -> None:
    with pytest.raises(flipreg.UsageError) as caught:
        WRONG_KINDS[argument](wrong)
    assert f": {argument}: expected " in str(caught.value)
    assert ", got " in str(caught.value)


@every("argument", ["datum_mm[1]", "by_mm[2]", "turn_deg", "floor_mm", "tolerance_mm", "length_mm"])
@every("wrong", ["25", True, b"25", 1 + 2j])
def test_texts_and_truths_are_no_numbers(argument: str, wrong: object) -> None:
    with pytest.raises(flipreg.UsageError, match=": expected a finite number, got "):
        WRONG_KINDS[argument](wrong)


def test_the_name_of_a_file_is_no_program() -> None:
    words = r"^flip: program: expected a program, as flipreg\.read\(path\) .* gives it, got 'front\.nc'$"
    with pytest.raises(flipreg.UsageError, match=words):
        WRONG_KINDS["program"]("front.nc")
    with pytest.raises(flipreg.UsageError, match=r"^join: programs: expected a list, each a program, .* got 'a\.nc'$"):
        WRONG_KINDS["programs"]("a.nc")


def test_a_program_is_no_face_and_a_face_no_list_of_them() -> None:
    with pytest.raises(flipreg.UsageError, match=r"front\[0\]: expected a FaceProgram, as flipreg\.face_program"):
        WRONG_KINDS["front[0]"](PROGRAM)
    with pytest.raises(flipreg.UsageError, match="back: expected a list, each a FaceProgram"):
        WRONG_KINDS["back"](FACE)


@pytest.mark.parametrize("datum", [(25, 0), [25, 0], (25.0, 0.0), (np.float64(25), np.int64(0)), np.array([25.0, 0.0])])
def test_numbers_of_any_kind_are_the_same_numbers(datum: Any) -> None:  # noqa: ANN401 - of any kind
    exact = flipreg.flip(PROGRAM, axis=flipreg.FlipAxis.Y, datum_mm=(Decimal(25), Decimal(0)))
    assert flipreg.flip(PROGRAM, axis=flipreg.FlipAxis.Y, datum_mm=datum).text.splitlines()[3:] == [
        line.replace(b"25.0", b"25") for line in exact.text.splitlines()[3:]
    ]


def test_a_float_is_the_number_that_python_shows_for_it() -> None:
    exact = flipreg.flip(PROGRAM, axis=flipreg.FlipAxis.Y, datum_mm=(Decimal("0.3"), Decimal(0)))
    made: Any = (0.3, 0)
    assert flipreg.flip(PROGRAM, axis=flipreg.FlipAxis.Y, datum_mm=made) == exact


def test_a_member_of_an_enumeration_may_be_given_by_its_value_and_the_other_way_round() -> None:
    word: Any = "y"
    by_value = flipreg.flip(PROGRAM, axis=word, datum_mm=(Decimal(0), Decimal(0)))
    assert by_value == flipreg.flip(PROGRAM, axis=flipreg.FlipAxis.Y, datum_mm=(Decimal(0), Decimal(0)))
    front, back = (
        flipreg.face_program(flipreg.read(f"samples/tray/{face}-holes.nc")) for face in ("front", "back")
    )
    member: Any = flipreg.FlipAxis.Y
    by_member = flipreg.check([front], [back], axis=member, tolerance_mm=0.1)
    assert flipreg.to_json(by_member) == flipreg.to_json(flipreg.check([front], [back], axis="y", tolerance_mm=0.1))
    wrong: Any = "z"
    with pytest.raises(flipreg.UsageError, match="axis: expected 'x' or 'y', got 'z'"):
        flipreg.check([front], [back], axis=wrong, tolerance_mm=0.1)


def test_values_of_a_job_are_held_to_their_types_and_named() -> None:
    wrong: Any = "3"
    with pytest.raises(flipreg.UsageError, match=r"^Tool 'mill': diameter_mm: expected a finite number, got '3'$"):
        flipreg.Tool("mill", flipreg.ToolShape.FLAT, wrong)
    shape: Any = "flat"
    whole: Any = 3
    assert flipreg.Tool("mill", shape, whole) == flipreg.Tool("mill", flipreg.ToolShape.FLAT, 3.0)


def test_a_forgotten_argument_is_told_as_python_does() -> None:
    call: Any = flipreg.flip
    with pytest.raises(TypeError, match="missing a required argument: 'axis'"):
        call(PROGRAM)
