"""A job or two programs in inches are told in inches by every command, whatever there is to say about them."""

import ast
import re
from decimal import Decimal
from pathlib import Path

import pytest

import flipreg
from flipreg.align.marks import marking_sheet
from flipreg.drawing.bench import bench_pages
from flipreg.drawing.paper import Paper
from flipreg.drawing.picture import check_pages
from flipreg.drawing.tiles import tile_pages
from flipreg.drawing.two_faces import two_faces_page
from flipreg.geometry.isometry import Isometry
from flipreg.job.file.read import read_job
from flipreg.job_check.check import check_job
from flipreg.program.face_program import face_program
from flipreg.register.check import check
from flipreg.rs274.read.program import ProgramFile
from tests.commands.command import checked_once, run
from tests.drawing.bench_job import sheet_of
from tests.source import nodes_of

_HEAD = "G20 G17 G90 G94\nT1 M6\nS16000 M3\nG0 Z0.5\n"
_TAIL = "G0 X0 Y0\nM30\n"
_RING = [(-1.5, 0.5), (1.5, 0.5), (1.5, 5.5), (0.5, 5.5), (0.5, 4.5), (-1.5, 4.5)]
_HOLES = [(-1.0, 1.0), (1.0, 1.2), (-0.8, 3.9)]

TWO_FACES = ["--axis", "y", "--at", "0", "--tolerance", "0.005in", "--tool", "0.25in", "--thickness", "0.75in"]
OTHER_AXIS = ["--axis", "x", "--at", "3in", "--tolerance", "0.005in"]


def _program(*, sign: float = 1.0, dx: float = 0.0, hole: float = 0.0, deep: float = 0.4) -> str:
    """Return an outline with a step and three holes, in inches; `hole` moves one of them."""
    ring = [(sign * x + dx, y) for x, y in _RING]
    lines = [f"G0 X{ring[-1][0]:.4f} Y{ring[-1][1]:.4f}\nG1 Z-{deep} F30\n"]
    lines += [f"G1 X{x:.4f} Y{y:.4f} F60\n" for x, y in ring]
    lines.append("G0 Z0.5\n")
    for number, (x, y) in enumerate(_HOLES):
        lines.append(f"G0 X{sign * x + dx + (hole if number == 0 else 0.0):.4f} Y{y:.4f}\nG1 Z-{deep} F20\nG0 Z0.5\n")
    return _HEAD + "".join(lines) + _TAIL


BACKS = {
    "right": _program(sign=-1.0),
    "shifted": _program(sign=-1.0, dx=0.0625),
    "a hole off": _program(sign=-1.0, hole=0.1),
    "not mirrored": _program(),
    "a web left": _program(sign=-1.0, deep=0.2),
}

JOB = """
name = "lid"
units = "inch"
tolerance = 0.005

[blank]
length = 8
width = 6
thickness = 0.75
edge = "left"
centre_line = 3
species = "white ash"
grain = "flat-sawn"

[machine]
rapid = 200
acceleration = 10
travel = { x = [0, 12], y = [0, 6], z = [-2, 0] }

[check]
least_web = 0.2
grid = 0.06
over_zero_at = 0.75

[budget]
lines = { rectangular = 0.01 }
jog = { rectangular = 0.002 }

[[budget.features]]
name = "step"
at = [0.5, 4.5]

[[marks]]
name = "A"
face = "both"
along = 1

[[marks]]
name = "far"
face = "both"
along = 7

[[stations]]
name = "middle"
along = 4
thickness = { planned = 0.5, tolerance = 0.02 }

[[tools]]
name = "quarter"
shape = "flat"
diameter = 0.25
number = 1
flute_length = 0.3

[[setups]]
name = "front"
up = "front"
mark = "A"
zero = [0, 0]
z_zero = "top"
machine_zero = [4, 1, -1]
clamps = [{ name = "stop", x = [-0.3, 0.3], y = [4.3, 4.8], top = 0.3 }]
programs = [{ file = "front.nc", through = true, profile = true, tool = "quarter" }]

[[setups]]
name = "back"
up = "back"
flip = "y"
mark = "A"
zero = [0, 0]
z_zero = "top"
machine_zero = [4, 1, -1]
programs = [{ file = "back.nc", through = true, profile = true, tool = "quarter" }]
"""


def _write(folder: Path, back: str) -> Path:
    (folder / "front.nc").write_text(_program())
    (folder / "back.nc").write_text(BACKS[back])
    (folder / "job.toml").write_text(JOB)
    return folder / "job.toml"


def _assert_inches(said: str) -> None:
    assert [line for line in said.splitlines() if re.search(r"\bmm[²³]?\b|\bcm[²³]?\b|millimet", line)] == []
    assert re.search(r"\bin\b|\binch", said)


@pytest.mark.parametrize(
    ("back", "options"), [*((name, TWO_FACES) for name in BACKS), ("right", OTHER_AXIS)]
)
def test_two_programs_in_inches_are_checked_in_inches(tmp_path: Path, back: str, options: list[str]) -> None:
    _write(tmp_path, back)
    _, out, err = run(["check", str(tmp_path / "front.nc"), str(tmp_path / "back.nc"), *options])
    _assert_inches(out.decode() + err)


def test_units_say_what_two_programs_are_told_in(tmp_path: Path) -> None:
    _write(tmp_path, "shifted")
    told = ["check", str(tmp_path / "front.nc"), str(tmp_path / "back.nc"), *TWO_FACES]
    inch, metric = (" ".join(run([*told, "--units", unit])[1].decode().split()) for unit in ("inch", "mm"))
    assert "up to 0.0625 in apart (allowed 0.005 in)" in inch
    assert "up to 1.588 mm apart (allowed 0.127 mm)" in metric
    assert not re.search(r"[0-9] in\b(?! the)", metric)


def test_where_one_program_is_in_inches_two_faces_are_told_in_millimetres(tmp_path: Path) -> None:
    _write(tmp_path, "right")
    (tmp_path / "back.nc").write_text("G21 G90 G17\nG0 X0 Y0 Z5\nG1 Z-2 F300\nG0 Z5\nM2\n")
    out = run(["check", str(tmp_path / "front.nc"), str(tmp_path / "back.nc"), *TWO_FACES])[1].decode()
    assert "Front cuts   X -38.10 to 38.10 " in out
    assert not re.search(r"[0-9] in\b(?! the)", out)


def test_the_numbers_for_a_script_stay_millimetres(tmp_path: Path) -> None:
    _write(tmp_path, "shifted")
    faces = [[face_program(ProgramFile(tmp_path / name, name))] for name in ("front.nc", "back.nc")]
    report = check(*faces, tolerance_mm=0.127, flip=Isometry.mirror_x(datum_mm=(Decimal(0), Decimal(0))))
    assert report.register.worst_mm == pytest.approx(0.0625 * 25.4, abs=1e-6)
    (mistake,) = report.mistakes
    assert mistake.reason.startswith("the back sits 0.062 in to the left along X")


@pytest.mark.parametrize("back", ["right", "a web left"])
def test_a_job_in_inches_is_told_in_inches_by_every_command(tmp_path: Path, back: str) -> None:
    job = str(_write(tmp_path, back))
    commands = [
        ["check", job],
        ["check", job, "--full"],
        ["touch", job, "--setup", "back", "A=0.01,0", "far=-0.02,6.1"],
        ["budget", job],
        ["marks", job],
        *(["bounds", str(tmp_path / name), "--job", job] for name in ("front.nc", "back.nc")),
    ]
    with checked_once():
        for command in commands:
            status, out, err = run(command)
            assert status in (0, 1), err
            _assert_inches(out.decode() + err)


def test_drawings_and_remedies_of_a_job_in_inches_are_in_inches(tmp_path: Path) -> None:
    job = read_job(_write(tmp_path, "shifted"))
    faces = [[face_program(ProgramFile(tmp_path / name, name))] for name in ("front.nc", "back.nc")]
    report = check(*faces, tolerance_mm=0.127, flip=Isometry.mirror_x(datum_mm=(Decimal(0), Decimal(0))))
    checked = check_job(job)
    # The jog is told to what inches are read to, and not to a hundredth of a millimetre.
    assert "set zero = [-0.0625, 0]" in str(checked.diagnosis)
    pages = [
        *bench_pages(*sheet_of(tmp_path, checked), Paper.LETTER, templates=True),
        *check_pages(job, checked),
        *tile_pages(marking_sheet(job)),
        two_faces_page(faces[0], faces[1], report),
    ]
    for page in pages:
        words = "\n".join(label.text for label in page.labels)
        assert [line for line in words.splitlines() if re.search(r"\bmm\b|\bcm", line)] == []


_TELL = ("align", "drafting", "drawing", "job_check", "program", "register", "report", "stock")
"""Rooms whose sentences about lengths are told in the unit of what they are about."""


def test_no_sentence_about_a_length_has_a_unit_of_its_own() -> None:
    package = Path(flipreg.__file__).parent
    found = [
        f"{file.relative_to(package)}:{node.lineno}"
        for room in _TELL
        for file in sorted((package / room).rglob("*.py"))
        for node in nodes_of(file.read_text(encoding="utf-8"))
        if isinstance(node, ast.JoinedStr) and not _is_of_millimetres(file)
        for value, after in zip(node.values, node.values[1:], strict=False)
        if isinstance(value, ast.FormattedValue)
        and isinstance(after, ast.Constant)
        and re.match(r"\W{0,3}(mm|cm)\b", str(after.value))
    ]
    assert found == []


def _is_of_millimetres(file: Path) -> bool:
    """Return whether a sentence of a module is only for jobs in millimetres: those refused for cuts in inches."""
    return file.parts[-2:] == ("job_check", "check.py")
