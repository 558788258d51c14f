"""Which programs are asked whether they are in another unit, and in which order."""

from decimal import Decimal

import pytest

from flipreg.findings import Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face_program import face_program
from flipreg.register.check import check
from flipreg.register.placing.other_units import other_units
from flipreg.rs274.read.program import parse

BODY = "G17 G90\nG0 X0 Y0 Z0.5\nG1 Z-0.3 F20\nX8\nY6\nX0\nY0\nG0 Z0.5\nM2\n"


def test_a_unit_that_nobody_wrote_is_doubted_before_one_that_somebody_did() -> None:
    said = face_program(parse("G20 " + BODY, source="front.nc"))
    silent = face_program(parse(BODY, source="back.nc"))
    for front, back in (([said], [silent]), ([silent], [said])):
        first, second = other_units(front, back)
        assert (first.names, first.unit, first.is_written) == (("back.nc",), "inch", False)
        assert (second.names, second.unit, second.is_written) == (("front.nc",), "mm", True)


def test_millimetres_are_no_inches_where_no_machine_for_wood_moves_so_far_up_and_down() -> None:
    body = BODY.replace("Z-0.3", "Z-16").replace("Z0.5", "Z5").replace("X8", "X200")
    front = face_program(parse("G21 " + body, source="front.nc"))
    back = face_program(parse("G20 " + body, source="back.nc"))
    assert [(other.names, other.unit) for other in other_units([front], [back])] == [(("back.nc",), "mm")]


def test_a_face_is_asked_as_a_whole_although_one_of_its_programs_is_small() -> None:
    """In whichever unit a small pocket is read, it is no larger than the other face; the face's profile is."""
    pocket = BODY.replace("X8", "X3").replace("Y6", "Y3")
    profile = BODY.replace("X8", "X160").replace("Y6", "Y100")
    front = [face_program(parse(f"G21 {profile}", source="front.nc"))]
    back = [
        face_program(parse(f"G20 {text}", source=name)) for name, text in (("small.nc", pocket), ("large.nc", profile))
    ]
    first, *_ = other_units(front, back)
    assert (first.names, first.unit, first.is_plain) == (("small.nc", "large.nc"), "mm", False)


@pytest.mark.parametrize("word", ["", "G21"])
def test_a_back_in_inches_is_not_passed_for_its_centre_lines_that_lie_alike_in_any_unit(word: str) -> None:
    """Slots and an edge about program zero: in inches, read as millimetres, they are as symmetric as before."""

    def face(unit: str, factor: float) -> str:
        lines = [f"{unit} G17 G90", f"G0 Z{5 * factor:.4f}", "F500"]
        edge = [(60, 100), (-60, 100), (-60, -100), (60, -100), (60, 100)]
        for way in [[(40, y), (-40, y)] for y in (-70, -40, 0, 40, 70)] + [edge]:
            x, y = way[0]
            lines += [f"G0 X{x * factor:.4f} Y{y * factor:.4f}", f"G1 Z{-8 * factor:.4f}"]
            lines += [f"G1 X{x * factor:.4f} Y{y * factor:.4f}" for x, y in way[1:]] + [f"G0 Z{5 * factor:.4f}"]
        return "\n".join([*lines, "M2", ""])

    front = face_program(parse(face("G21", 1.0), source="front.nc"))
    back = face_program(parse(face(word, 1 / 25.4), source="back.nc"))
    flip = Isometry.mirror_y(datum_mm=(Decimal(0), Decimal(0)))
    report = check([front], [back], flip=flip, tolerance_mm=0.5, thickness_mm=15.0)
    assert report.in_register is False
    assert report.diagnosis is not None
    assert "back.nc are inches" in report.diagnosis
    assert Status.PASS not in {direction.status for direction in report.directions}


def test_of_two_faces_that_are_one_in_either_unit_the_one_that_then_cuts_the_wood_has_the_right_one() -> None:
    """Both are written in inches, and the back says that its numbers are millimetres."""

    def slots(word: str, sign: int) -> str:
        lines = [f"{word} G17 G90 F20", "G0 Z0.2"]
        for x, y, length in ((0.4, 0.3, 5.0), (0.9, 1.4, 7.2), (2.2, 2.9, 4.1), (0.5, 4.1, 6.3)):
            lines += [f"G0 X{sign * x:.4f} Y{y}", "G1 Z-0.2", f"X{sign * (x + length):.4f}", "G0 Z0.2"]
        return "\n".join([*lines, "M2", ""])

    front = face_program(parse(slots("G20", 1), source="front.nc"))
    back = face_program(parse(slots("G21", -1), source="back.nc"))
    flip = Isometry.mirror_x(datum_mm=(Decimal(0), Decimal(0)))
    report = check([front], [back], flip=flip, tolerance_mm=0.3, thickness_mm=9.0)
    assert report.diagnosis is not None
    assert "back.nc are inches" in report.diagnosis
    assert "front.nc" not in report.diagnosis
