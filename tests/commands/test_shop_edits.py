"""What all shop edits promise: a pipe at both ends, nothing unproved, every comment, and the same verbs in Python."""

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

import flipreg
from flipreg.errors import ProofError
from tests.commands.command import run
from tests.commands.test_hand import DATUMS, both_faces

SLOTS = """\
%
(TWO TOOLS)
G21 G90 G17 ; millimetres
T1 M6 (6 mm)
S18000 M3
G0 Z15
X0 Y0
G1 Z-2 F600 (a loop)
X50 (along)
Y20
X0
Y0
G0 Z15
M5
T3 M6 (5 mm)
S12000 M3
G0 X9 Y9
Z5
G1 Z-4 F300 (a slot)
X30
G0 Z15
M5
M30 (end)
%
"""
ONE_TOOL = SLOTS.replace("T3 M6 (5 mm)\n", "(next)\n")
ZERO = (Decimal(0), Decimal(0))

Make = Callable[[flipreg.Program, flipreg.Program], flipreg.Produced]

EDITS: dict[str, tuple[str, list[str], Make, str]] = {
    "depth": (
        SLOTS,
        ["depth", "-", "--level", "-4", "--floor", "-4.5", "--step-down", "5"],
        lambda program, _: flipreg.depth(
            program, floor_mm=Decimal("-4.5"), level_mm=Decimal(-4), step_down_mm=Decimal(5)
        ),
        "flipreg.produce.depth.prove_floor",
    ),
    "cutting direction": (
        SLOTS,
        ["flip", "-", "--axis", "y", "--at", "0", "--keep-climb"],
        lambda program, _: flipreg.flip_keeping_climb(program, axis=flipreg.FlipAxis.Y, datum_mm=ZERO),
        "flipreg.produce.climb.ProvingTurned",
    ),
    "join, the pipe first": (
        ONE_TOOL,
        ["join", "-", "FILE"],
        lambda program, file: flipreg.join([program, file]),
        "flipreg.produce.join.ProvingJoined",
    ),
    "join, the pipe last": (
        ONE_TOOL,
        ["join", "FILE", "-"],
        lambda program, file: flipreg.join([file, program]),
        "flipreg.produce.join.ProvingJoined",
    ),
    "split": (
        SLOTS,
        ["split", "-", "--tool", "3"],
        lambda program, _: flipreg.split_tools(program)[1].produced,
        "flipreg.produce.split.compare_part",
    ),
    "return to zero": (
        SLOTS,
        ["home", "-", "--safe-z", "20"],
        lambda program, _: flipreg.home(program, safe_z_mm=Decimal(20)),
        "flipreg.produce.home.ProvingHome",
    ),
}


@pytest.fixture
def file(tmp_path: Path) -> Path:
    made = tmp_path / "other.nc"
    made.write_text(ONE_TOOL)
    return made


def arguments(name: str, file: Path) -> list[str]:
    return [str(file) if argument == "FILE" else argument for argument in EDITS[name][1]]


@pytest.mark.parametrize("name", EDITS)
def test_it_reads_standard_input_and_writes_standard_output_as_the_library_does(name: str, file: Path) -> None:
    text, _, make, _ = EDITS[name]
    status, out, err = run(arguments(name, file), text.encode())
    assert (status, err.split(";")[0]) == (0, "standard output: written")
    program, other = flipreg.Program(text.encode(), "<stdin>"), flipreg.Program(file.read_bytes(), str(file))
    assert out == make(program, other).text
    assert out != text.encode()


@pytest.mark.parametrize("name", EDITS)
def test_no_comment_is_lost(name: str, file: Path) -> None:
    out = run(arguments(name, file), EDITS[name][0].encode())[1].decode()
    comments = ["(TWO TOOLS)", "; millimetres", "(a slot)"]
    if name != "split":
        comments += ["(6 mm)", "(a loop)", "(along)", "(end)"]
    for comment in comments:
        assert out.count(comment) == (2 if "join" in name else 1), comment


@pytest.mark.parametrize("name", EDITS)
def test_nothing_is_written_that_the_proof_does_not_pass(
    name: str, file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise ProofError("the fault that was planted")

    text, _, _, proof = EDITS[name]
    monkeypatch.setattr(proof, fails)
    target = tmp_path / "out.nc"
    for more in ([], ["-o", str(target)]):
        said = run([*arguments(name, file), *more], text.encode())
        assert said == (2, b"", "the fault that was planted; nothing was written\n")
    assert not target.exists()


@pytest.mark.parametrize("name", EDITS)
def test_a_file_that_is_not_there_is_told_in_one_line(name: str, tmp_path: Path) -> None:
    missing = str(tmp_path / "none.nc")
    given = [missing if argument in ("-", "FILE") else argument for argument in EDITS[name][1]]
    assert run(given) == (2, b"", f"{missing}: cannot be read: no such file or directory\n")


@pytest.mark.parametrize("name", EDITS)
def test_a_program_that_calls_subprograms_is_refused_at_the_call(name: str, file: Path) -> None:
    text = "G21 G90\nT3 M6\nG0 X0 Y0 Z5\nM98 P7\nM30\nO7\nG1 Z-4 F300\nX9\nY9\nX0\nY0\nG0 Z5\nM99\n"
    status, out, err = run(arguments(name, file), text.encode())
    assert (status, out) == (2, b"")
    message = "a subprogram, and this command takes programs without; write its blocks in place of its call"
    assert f"<stdin>:4:1: {message}\n  M98 P7\n  ^^^\n" in err


def test_both_hands_take_one_program_from_a_pipe(tmp_path: Path) -> None:
    _, back, options = both_faces(tmp_path, "y")
    options[3] = "-"
    into = tmp_path / "left"
    status, _, err = run(["hand", *options, "--across", "x=31.5", "--into", str(into)], back.read_bytes())
    assert (status, err.count("written")) == (0, 2)
    assert sorted(path.name for path in into.iterdir()) == ["front.nc", "stdin.nc"]


@pytest.mark.parametrize("keep", [[], ["--keep-climb"]])
def test_both_hands_are_the_same_in_python(keep: list[str], tmp_path: Path) -> None:
    front, back, options = both_faces(tmp_path, "y")
    into = tmp_path / "left"
    assert run(["hand", *options, *keep, "--across", "x=31.5", "--into", str(into)])[0] == 0
    job = flipreg.FlippedJob(
        (flipreg.read(front),), (flipreg.read(back),), flipreg.FlipAxis.Y, DATUMS["y"], tools_mm=(6.0, 6.0)
    )
    direction = flipreg.MillingDirection.KEPT if keep else flipreg.MillingDirection.MIRRORED
    hand = flipreg.other_hand(job, flipreg.Across("x", Decimal("31.5")), tolerance_mm=0.05, direction=direction)
    assert hand.report.in_register
    assert [hand.front[0].text, hand.back[0].text] == [(into / name).read_bytes() for name in ("front.nc", "back.nc")]


def test_an_output_over_a_program_that_is_joined_is_refused(file: Path) -> None:
    status, out, err = run(["join", str(file), "-", "-o", str(file)], ONE_TOOL.encode())
    assert (status, out, file.read_text()) == (2, b"", ONE_TOOL)
    assert err == f"{file} is one of the programs to join; name another file with -o\n"


def test_parts_are_written_all_or_none(tmp_path: Path) -> None:
    source, parts = tmp_path / "job.nc", tmp_path / "parts"
    source.write_text(SLOTS)
    (parts / "job-2-T3.nc").mkdir(parents=True)
    (parts / "job-1-T1.nc").write_text("old")
    status, out, err = run(["split", str(source), "--into", str(parts)])
    assert (status, out) == (2, b"")
    assert err == f"{parts / 'job-2-T3.nc'}: cannot be written: it is a directory\n"
    assert (parts / "job-1-T1.nc").read_text() == "old"
    assert len(list(parts.iterdir())) == 2


@pytest.mark.parametrize(("into", "says"), [("front.nc", "it is a file, not a folder"), ("no/left", "cannot be made")])
def test_a_folder_that_cannot_be_one_is_told_in_one_line(into: str, says: str, tmp_path: Path) -> None:
    _, _, options = both_faces(tmp_path, "y")
    status, _, err = run(["hand", *options, "--across", "x=31.5", "--into", str(tmp_path / into)])
    assert (status, err.count("\n")) == (2, 1)
    assert says in err
