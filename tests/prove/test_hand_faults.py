"""Faults planted in the mirrored programs of the other hand: the check has to find each, and nothing is written."""

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

import flipreg
from flipreg.produce.isometries import FlipAxis
from flipreg.produce.produced import Produced
from flipreg.program.face import FaceProgram
from flipreg.register.report import Report
from flipreg.rs274.read.program import Readable
from tests.commands.command import run
from tests.commands.test_hand import FRONT, both_faces

Point = tuple[Decimal, Decimal]
Mirror = Callable[[Readable, FlipAxis, Point], Produced]


def left_as_it_was(program: Readable, _: FlipAxis, __: Point) -> Produced:
    return flipreg.shift(program, by_mm=(Decimal(0), Decimal(0), Decimal(0)))


def about_another_line(program: Readable, axis: FlipAxis, datum_mm: Point) -> Produced:
    return flipreg.flip(program, axis=axis, datum_mm=(datum_mm[0] + Decimal("0.2"), datum_mm[1]))


def about_the_other_axis(program: Readable, axis: FlipAxis, datum_mm: Point) -> Produced:
    other = FlipAxis.X if axis is FlipAxis.Y else FlipAxis.Y
    return flipreg.flip(program, axis=other, datum_mm=datum_mm)


FAULTS: dict[str, Mirror] = {
    "left as it was": left_as_it_was,
    "mirrored about another line": about_another_line,
    "mirrored the other way": about_the_other_axis,
}


def plant(monkeypatch: pytest.MonkeyPatch, face: str, fault: Mirror) -> list[str]:
    """Let the mirrored program of one face be wrong; return whose were made wrong."""
    planted: list[str] = []

    def flip(program: Readable, *, axis: FlipAxis, datum_mm: Point) -> Produced:
        if not program.source.endswith(f"{face}.nc"):
            return flipreg.flip(program, axis=axis, datum_mm=datum_mm)
        planted.append(face)
        return fault(program, axis, datum_mm)

    monkeypatch.setattr("flipreg.produce.hand.flip", flip)
    return planted


@pytest.mark.parametrize("face", ["front", "back"])
@pytest.mark.parametrize("name", FAULTS)
def test_one_wrong_face_is_found_and_nothing_is_written(
    name: str, face: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, _, options = both_faces(tmp_path, "y")
    planted = plant(monkeypatch, face, FAULTS[name])
    into = tmp_path / "left"
    status, out, err = run(["hand", *options, "--across", "x=31.5", "--into", str(into)])
    assert planted == [face]
    assert (status, into.exists()) == (1, False)
    assert not out.startswith(b"IN REGISTER")
    assert err == "the mirrored programs are not shown to be in register; nothing was written\n"


def test_without_a_fault_the_same_job_is_in_register(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _, _, options = both_faces(tmp_path, "y")
    assert plant(monkeypatch, "neither", left_as_it_was) == []
    status, out, _ = run(["hand", *options, "--across", "x=31.5", "--into", str(tmp_path / "left")])
    assert (status, out.startswith(b"IN REGISTER")) == (0, True)


@pytest.mark.parametrize(("tolerance", "status"), [("0.21", 0), ("0.19", 1)])
def test_the_tolerance_is_what_the_mirrored_faces_are_held_to(tolerance: str, status: int, tmp_path: Path) -> None:
    """The back lies 0.2 mm off, which the mirror keeps."""
    _, back, options = both_faces(tmp_path, "y")
    back.write_bytes(flipreg.shift(flipreg.read(back), by_mm=(Decimal(0), Decimal("0.2"), Decimal(0))).text)
    options[options.index("--tolerance") + 1] = tolerance
    assert run(["hand", *options, "--across", "x=31.5", "--into", str(tmp_path / "left")])[0] == status


def test_what_is_checked_is_what_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not the sources, and not the programs before the header is put in."""
    from flipreg.register.check import check

    seen: list[list[float]] = []

    def watch(front: list[FaceProgram], back: list[FaceProgram], **given: object) -> Report:
        seen.extend(face.path.end[-1].tolist() for face in (*front, *back))
        return check(front, back, **given)  # type: ignore[arg-type]

    monkeypatch.setattr("flipreg.produce.hand.check", watch)
    _, _, options = both_faces(tmp_path, "y")
    into = tmp_path / "left"
    assert run(["hand", *options, "--across", "x=31.5", "--into", str(into)])[0] == 0
    written = [flipreg.interpret(flipreg.read(into / name)) for name in ("front.nc", "back.nc")]
    assert seen == [path.end[-1].tolist() for path in written]
    assert seen[0] != flipreg.interpret(flipreg.parse(FRONT)).end[-1].tolist()
