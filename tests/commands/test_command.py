"""The command line from outside: pipes, files and exit status, as the design's outside contract says."""

import json
import os
import subprocess
import sys
from decimal import Decimal
from pathlib import Path as File

import pytest

import flipreg
from tests.commands.command import run
from tests.commands.programs import PLANE
from tests.motions import motions, sampled

TEXT = PLANE["arcs by centre"].encode()
ROOT = File(__file__).parents[2]


def shell(arguments: list[str], stdin: bytes) -> "subprocess.CompletedProcess[bytes]":
    """Run a real process."""
    return subprocess.run(
        [sys.executable, "-m", "flipreg", *arguments],
        input=stdin,
        capture_output=True,
        cwd=ROOT,
        timeout=60,
        check=False,
    )


def body(text: bytes) -> bytes:
    """Return what follows the header comment."""
    return text[text.index(b"G21") :]


def test_a_flip_goes_from_standard_input_to_standard_output() -> None:
    status, out, _ = run(["flip", "-", "--axis", "y", "--at", "12.7"], TEXT)
    assert status == 0
    program = flipreg.parse(TEXT, source="<stdin>")
    by_library = flipreg.flip(program, axis=flipreg.FlipAxis.Y, datum_mm=(Decimal("25.4"), Decimal(0)))
    assert body(by_library.text) == body(out)


def test_standard_output_carries_the_program_and_nothing_else() -> None:
    _, out, _ = run(["flip", "-", "--axis", "y", "--at", "0"], TEXT)
    assert len(motions(out)) == len(motions(TEXT))
    assert out.endswith(b"M2\n")


@pytest.mark.parametrize(
    ("axis", "place", "datum_mm"),
    [
        ("y", ["--at", "12.7"], ("25.4", "0")),
        ("y", ["--at", "0.5in"], ("25.4", "0")),
        ("y", ["--at", "12.7mm"], ("25.4", "0")),
        ("x", ["--at", "12.7"], ("0", "25.4")),
        ("y", ["--datum", "101.6,-3"], ("101.6", "-3")),
        ("x", ["--datum", "101.6,-3"], ("101.6", "-3")),
        ("y", ["--datum", "4in,-3mm"], ("101.6", "-3")),
        ("y", ["--at=-12.7"], ("-25.4", "0")),
    ],
)
def test_the_flip_axis_is_where_the_options_put_it(axis: str, place: list[str], datum_mm: tuple[str, str]) -> None:
    status, out, _ = run(["flip", "-", "--axis", axis, *place], TEXT)
    assert status == 0
    x_mm, y_mm = map(float, datum_mm)
    expected = sampled(motions(TEXT))
    if axis == "y":
        expected[..., 0] = x_mm - expected[..., 0]
        expected[..., 1] -= y_mm
    else:
        expected[..., 0] -= x_mm
        expected[..., 1] = y_mm - expected[..., 1]
    actual = sampled(motions(out))
    assert actual[1:].ravel().tolist() == pytest.approx(expected[1:].ravel().tolist(), abs=1e-9)


@pytest.mark.parametrize(
    ("options", "end"),
    [
        (["--by", "1,2"], (13, 9, 0)),
        (["--by", "1,2,-0.5"], (13, 9, -0.5)),
        (["--by", "0.5in,0"], (24.7, 7, 0)),
        (["--turn", "90"], (-7, 12, 0)),
        (["--turn", "90", "--about", "12,7"], (12, 7, 0)),
        (["--turn", "180", "--about", "12,0", "--by", "1,0"], (13, -7, 0)),
        (["--by=-1,-2"], (11, 5, 0)),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_a_shift_turns_first_about_the_point_and_then_moves(options: list[str], end: tuple[float, ...]) -> None:
    # The source ends at (12, 7, 0).
    status, out, _ = run(["shift", "-", *options], TEXT)
    assert status == 0
    assert motions(out).end[-1].tolist() == pytest.approx(end, abs=1e-9)


def test_an_output_file_is_written_and_standard_output_stays_empty(tmp_path: File) -> None:
    file, out_file = tmp_path / "front.ngc", tmp_path / "back.ngc"
    file.write_bytes(TEXT)
    status, out, _ = run(["flip", str(file), "--axis", "y", "--at", "0", "-o", str(out_file)])
    assert (status, out) == (0, b"")
    assert len(motions(out_file.read_bytes())) == len(motions(TEXT))
    assert b"front.ngc" in out_file.read_bytes()
    assert sorted([file, out_file]) == sorted(tmp_path.iterdir())


def test_an_existing_output_file_is_replaced(tmp_path: File) -> None:
    file, out_file = tmp_path / "front.ngc", tmp_path / "back.ngc"
    file.write_bytes(TEXT)
    out_file.write_bytes(b"old " * 10_000)
    assert run(["flip", str(file), "--axis", "y", "--at", "0", "-o", str(out_file)])[0] == 0
    assert b"old" not in out_file.read_bytes()
    assert sorted([file, out_file]) == sorted(tmp_path.iterdir())


def test_a_program_can_be_flipped_in_place(tmp_path: File) -> None:
    file = tmp_path / "front.ngc"
    file.write_bytes(TEXT)
    assert run(["flip", str(file), "--axis", "y", "--at", "0", "-o", str(file)])[0] == 0
    assert motions(file.read_bytes()).end[-1].tolist() == pytest.approx([-12, 7, 0])


@pytest.mark.parametrize("place", ["missing/back.ngc", "."])
def test_an_output_place_that_cannot_be_written_is_status_2_and_one_message(place: str, tmp_path: File) -> None:
    status, out, err = run(["flip", "-", "--axis", "y", "--at", "0", "-o", str(tmp_path / place)], TEXT)
    assert (status, out) == (2, b"")
    assert err.strip()
    assert "Traceback" not in err
    assert not list(tmp_path.iterdir())


def test_bounds_reports_extents_and_motion_as_json() -> None:
    status, out, _ = run(["bounds", "-", "--json"], TEXT)
    assert status == 0
    report = json.loads(out)
    assert isinstance(report, dict)
    numbers = numbers_of(report)
    # The names of the keys are the command's own; the extents of the arcs are not.
    path = motions(TEXT)
    points = sampled(path, steps=720)[path.is_cut]
    for extreme in (points[..., 0].min(), points[..., 0].max(), points[..., 1].min(), points[..., 1].max()):
        assert any(abs(number - extreme) < 1e-3 for number in numbers), extreme


def numbers_of(value: object) -> list[float]:
    if isinstance(value, dict):
        return [number for item in value.values() for number in numbers_of(item)]
    if isinstance(value, list):
        return [number for item in value for number in numbers_of(item)]
    return [float(value)] if isinstance(value, int | float) and not isinstance(value, bool) else []


def test_bounds_talks_to_people_without_json() -> None:
    status, out, err = run(["bounds", "-"], TEXT)
    assert status == 0
    assert b"12" in out + err.encode()


def test_two_flips_in_a_real_pipe_give_the_motions_back() -> None:
    back = shell(["flip", "-", "--axis", "y", "--at", "50"], TEXT)
    assert (back.returncode, back.stdout[:1]) == (0, b"(")
    front = shell(["flip", "-", "--axis", "y", "--at", "50"], back.stdout)
    assert front.returncode == 0
    assert sampled(motions(front.stdout))[1:].ravel().tolist() == pytest.approx(
        sampled(motions(TEXT))[1:].ravel().tolist(), abs=1e-9
    )


def test_a_real_process_ends_with_status_2_on_bad_input_and_prints_no_traceback() -> None:
    done = shell(["flip", "-", "--axis", "y", "--at", "0"], b"G21\nG2 X1\nM2\n")
    assert (done.returncode, done.stdout) == (2, b"")
    assert done.stderr.startswith(b"<stdin>:2:")
    assert b"Traceback" not in done.stderr


def test_bytes_that_are_not_utf_8_survive_a_real_pipe() -> None:
    done = shell(["flip", "-", "--axis", "y", "--at", "0"], b"(R\xfcckseite)\r\n" + TEXT)
    assert done.returncode == 0
    assert b"(R\xfcckseite)\r\n" in done.stdout


def test_a_reader_that_goes_away_early_causes_no_traceback() -> None:
    text = TEXT.replace(b"M2", b"G1 X1 Y1\nX2 Y2\n" * 20_000 + b"M2")
    with subprocess.Popen(
        [sys.executable, "-m", "flipreg", "flip", "-", "--axis", "y", "--at", "0"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=ROOT,
    ) as process:
        assert process.stdin
        assert process.stdout
        assert process.stderr
        process.stdin.write(text)
        process.stdin.close()
        assert process.stdout.read(1) == b"("
        process.stdout.close()
        talk = process.stderr.read()
        process.wait(timeout=60)
    assert b"Traceback" not in talk
    assert b"BrokenPipe" not in talk


def test_the_module_can_be_asked_for_help() -> None:
    done = shell(["flip", "--help"], b"")
    assert done.returncode == 0
    assert b"--axis" in done.stdout
    assert b"Traceback" not in done.stderr


def test_a_file_name_that_is_not_utf_8_can_be_read(tmp_path: File) -> None:
    file = File(os.fsdecode(os.fsencode(tmp_path) + b"/r\xfcck.ngc"))
    file.write_bytes(TEXT)
    status, out, _ = run(["flip", str(file), "--axis", "y", "--at", "0"])
    assert status == 0
    assert len(motions(out)) == len(motions(TEXT))
