"""Progress: told between pieces and programs, shown on a terminal only, and gone before anything else is said."""

import io
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from flipreg.cli import parser as cli
from flipreg.cli.program_file import open_program
from flipreg.cli.progress_bar import progress_bar
from flipreg.job.file.read import read_job
from flipreg.job_check.check import check_job
from tests.drawing.board_job import write_board

Told = list[tuple[str, int, int]]


class Terminal(io.StringIO):
    """Standard error that is a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a bar be drawn at once, whenever a step tells something: as without an alarm, after a second."""
    monkeypatch.setattr("flipreg.cli.progress_bar._DELAY_S", 0.0)
    monkeypatch.setattr("flipreg.cli.progress_bar._Alarm.set", lambda _: None)


@pytest.fixture
def small_pieces(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let programs be read in smaller pieces, so that a long one is soon written and read."""
    monkeypatch.setattr("flipreg.rs274.read.lines.CHUNK_BYTES", 16_384)
    monkeypatch.setattr("flipreg.rs274.read.program.CHUNK_BYTES", 16_384)


def long_program(path: Path, motions: int = 2_000) -> Path:
    """Write a program of several small pieces, in rows of short lines as a finishing pass has them."""
    lines = "".join(f"G1 X{number // 300}.125 Y{number % 300}.25\n" for number in range(motions))
    path.write_text(f"G21 G90\nG0 X0 Y0 Z5\nG1 Z-1 F600\n{lines}G0 Z5\nM2\n")
    return path


@pytest.mark.usefixtures("small_pieces")
def test_a_file_tells_how_much_of_it_has_been_read_each_time_it_is_read(tmp_path: Path) -> None:
    told: Told = []
    path = long_program(tmp_path / "front.nc")
    program = open_program(str(path), io.BytesIO(), progress=lambda *step: told.append(step))
    size = path.stat().st_size
    for _ in range(2):
        told.clear()
        assert path.read_bytes() == b"".join(program.pieces())
        assert {("reading front.nc", size)} == {(what, of) for what, _, of in told}
        assert len(told) > 1
        done = [step[1] for step in told]
        assert sorted(set(done)) == done
        assert size == done[-1]


def test_the_check_of_a_job_tells_the_comparison_and_each_program(tmp_path: Path) -> None:
    told: Told = []
    write_board(tmp_path)
    check_job(read_job(str(tmp_path / "job.toml")), progress=lambda *step: told.append(step))
    assert told == [
        ("comparing", 0, 0),
        ("running front.nc", 0, 4),
        ("running holes.nc", 1, 4),
        ("running back.nc", 2, 4),
        ("running holes-back.nc", 3, 4),
    ]


def test_without_a_terminal_nothing_is_told_and_streams_are_left_alone() -> None:
    out, err = io.BytesIO(), io.StringIO()
    with progress_bar(out, err) as (progress, same_out, same_err):
        assert progress is None
        assert (same_out is out, same_err is err) == (True, True)


@pytest.mark.usefixtures("slow")
def test_a_bar_shows_what_goes_on_and_how_far_it_is() -> None:
    err = Terminal()
    with progress_bar(io.BytesIO(), err) as (progress, _, _):
        assert progress is not None
        progress("reading front.nc", 30, 120)
        progress("running back.nc", 3, 4)
        shown = err.getvalue()
    assert shown.lstrip("\r").startswith("reading front.nc  25 %")
    assert "running back.nc  75 %" in shown
    assert _screen(err) == ""


@pytest.mark.usefixtures("slow")
@pytest.mark.parametrize("which", ["stdout", "stderr"])
def test_the_bar_is_gone_before_anything_is_written_and_does_not_come_back(which: str) -> None:
    err = Terminal()
    with progress_bar(io.BytesIO(), err) as (progress, out, talk):
        assert progress is not None
        progress("reading front.nc", 30, 120)
        assert "25 %" in _screen(err)
        if which == "stdout":
            out.writelines([b"G21\n"])
            assert _screen(err) == ""
        else:
            talk.write("front.nc: written\n")
            assert _screen(err) == "front.nc: written"
        before = err.getvalue()
        progress("reading front.nc", 60, 120)
        assert before == err.getvalue()


@pytest.mark.parametrize("has_alarm", [True, False])
def test_nothing_is_shown_within_the_first_second(monkeypatch: pytest.MonkeyPatch, *, has_alarm: bool) -> None:
    if not has_alarm:
        monkeypatch.setattr("flipreg.cli.progress_bar._Alarm.set", lambda _: None)
    err = Terminal()
    with progress_bar(io.BytesIO(), err) as (progress, _, _):
        assert progress is not None
        for done in range(100):
            progress("reading front.nc", done, 100)
    assert err.getvalue() == ""


@pytest.mark.skipif(not hasattr(signal, "setitimer"), reason="no alarm")
def test_a_step_that_tells_nothing_for_long_is_shown_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("flipreg.cli.progress_bar._DELAY_S", 0.01)
    before = signal.getsignal(signal.SIGALRM)
    err = Terminal()
    with progress_bar(io.BytesIO(), err) as (progress, _, _):
        assert progress is not None
        progress("comparing", 0, 0)
        signal.pause()
        assert _screen(err) == "comparing 00:00"
    assert _screen(err) == ""
    assert signal.getsignal(signal.SIGALRM) is before
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)


@pytest.mark.usefixtures("slow", "small_pieces")
@pytest.mark.parametrize(
    "command",
    [
        ["flip", "--axis", "y", "--at", "0", "-o", "made.nc", "PROGRAM"],
        ["shift", "--turn", "3", "-o", "made.nc", "PROGRAM"],
        ["bounds", "PROGRAM"],
        ["home", "--safe-z", "5", "-o", "made.nc", "PROGRAM"],
        ["depth", "--floor", "-2", "-o", "made.nc", "PROGRAM"],
        ["check", "PROGRAM", "PROGRAM", "--tolerance", "0.1"],
    ],
    ids=lambda command: command[0],
)
def test_commands_show_how_much_of_a_long_program_is_read(
    command: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    path = long_program(tmp_path / "front.nc")
    quiet, terminal = io.StringIO(), Terminal()
    arguments = [str(path) if word == "PROGRAM" else word for word in command]
    plain, watched = io.BytesIO(), io.BytesIO()
    status = cli.main(arguments, io.BytesIO(), plain, quiet)
    assert "%" not in quiet.getvalue()
    assert status == cli.main(arguments, io.BytesIO(), watched, terminal)
    assert plain.getvalue() == watched.getvalue()
    assert "reading front.nc" in terminal.getvalue()
    assert quiet.getvalue() == _screen(terminal) + ("\n" if quiet.getvalue() else "")


@pytest.mark.usefixtures("slow", "small_pieces")
def test_an_error_is_alone_on_the_screen(tmp_path: Path) -> None:
    path = long_program(tmp_path / "front.nc")
    path.write_text(path.read_text().replace("M2\n", "G1 X1 Q?\nM2\n"))
    terminal = Terminal()
    assert cli.main(["bounds", str(path)], io.BytesIO(), io.BytesIO(), terminal) == 2
    assert "%" in terminal.getvalue()
    assert _screen(terminal).startswith(f"{path}:")


def test_a_short_command_does_not_import_the_bar_even_on_a_terminal(tmp_path: Path) -> None:
    path = tmp_path / "front.nc"
    path.write_text("G21 G90\nG1 X5 F100\nM2\n")
    script = (
        "import sys, io\n"
        "from flipreg.cli import progress_bar\n"
        "from flipreg.cli.parser import main\n"
        "progress_bar._DELAY_S = 3600.0\n"
        "class Terminal(io.StringIO):\n"
        "    def isatty(self): return True\n"
        f"main(['bounds', {str(path)!r}], sys.stdin.buffer, sys.stdout.buffer, Terminal())\n"
        "sys.exit('tqdm' in sys.modules)\n"
    )
    assert subprocess.run([sys.executable, "-c", script], capture_output=True, check=False).returncode == 0


def _screen(terminal: Terminal) -> str:
    """Return what stands on a terminal: each line as the last carriage returns left it."""
    lines = []
    for line in terminal.getvalue().split("\n"):
        cells: list[str] = []
        for part in line.split("\r"):
            cells[: len(part)] = part
        lines.append("".join(cells).rstrip())
    return "\n".join(lines).rstrip("\n")
