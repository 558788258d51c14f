"""The shop edits read programs as flip and check do: strictly where asked, with codes that were named as passive."""

from pathlib import Path

import pytest

from tests.commands.command import run

HEAD = "G21 G90 G17 G94 G40\n{0}G53 G0 Z0\nT1 M6\nG54\nS9000 M3\nG43 H1\nG0 Z15\n"
CUT = "G0 X0 Y0\nG1 Z-2 F300\nX9\nY9\nX0\nY0\nG0 Z15\nM5\n"
ONE = HEAD + CUT + "{0}G53 G0 Z0\nM30\n"
TWO = HEAD + CUT + "{0}G53 G0 Z0\nT2 M6\nM3\nG43 H2\nG0 Z15\n" + CUT + "M30\n"

EDITS = {
    "home": (ONE, ["home", "a.nc", "--safe-z", "10"]),
    "join": (ONE, ["join", "a.nc", "b.nc"]),
    "split": (TWO, ["split", "a.nc", "--tool", "1"]),
    "split-second": (TWO, ["split", "a.nc", "--tool", "2"]),
    "depth": (ONE, ["depth", "a.nc", "--floor", "-1.5"]),
    "keep-climb": (ONE, ["flip", "a.nc", "--axis", "y", "--at", "0", "--keep-climb"]),
    "hand": (
        ONE,
        [
            *("hand", "--front", "a.nc", "--back", "b.nc", "--axis", "y", "--at", "4.5"),
            *("--across", "x=5", "--tolerance", "1", "--into", "into"),
        ],
    ),
}


def edited(name: str, between: str, folder: Path, monkeypatch: pytest.MonkeyPatch, *options: str) -> tuple[str, str]:
    """Run an edit in a folder on a program with lines put in; return what was written and what was said."""
    text, command = EDITS[name]
    monkeypatch.chdir(folder)
    for file in ("a.nc", "b.nc"):
        Path(file).write_text(text.format(between))
    status, out, err = run([*command, *options])
    assert status == 0, err
    into = sorted(Path("into").glob("*")) if Path("into").is_dir() else []
    return "".join(file.read_text() for file in into) if into else out.decode(), err


@pytest.mark.parametrize("name", EDITS)
def test_a_program_without_habits_is_written_strictly_as_it_is_otherwise(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    usual, strict = (edited(name, "", tmp_path, monkeypatch, *options)[0] for options in ((), ("--strict",)))
    assert usual
    assert strict == usual


@pytest.mark.parametrize("name", EDITS)
def test_a_code_that_is_named_as_passive_is_kept_and_told(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out, err = edited(name, "M25\n", tmp_path, monkeypatch, "--passive", "M25")
    assert "M25\n" in out or name == "split-second"
    assert "a code that was named as one that moves nothing: kept, does nothing" in err or name == "split-second"


@pytest.mark.parametrize("name", EDITS)
@pytest.mark.parametrize(
    ("between", "options", "said"),
    [
        ("M25\n", (), "a.nc:2:1: M25 is not a code of RS-274/NGC"),
        ("M25\n", ("--strict", "--passive", "M25"), "a.nc:2:1: a code that was named as one that moves nothing"),
        ("G64 P0.01\n", ("--strict",), "a.nc:2:5: P, Q, L, R, I, J or K beside G61, G61.1 or G64"),
        ("", ("--passive", "G1"), "G1 is a code of RS-274/NGC and cannot be passive"),
    ],
)
def test_what_is_not_read_is_refused_with_its_line(
    name: str, between: str, options: tuple[str, ...], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(AssertionError) as caught:
        edited(name, between, tmp_path, monkeypatch, *options)
    assert said in str(caught.value)


def test_the_habits_of_each_program_are_told_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _, err = edited("join", "G64 P0.01\n", tmp_path, monkeypatch)
    told = [line for line in err.splitlines() if "beside G61" in line]
    assert [line.split(":")[0] for line in told] == ["a.nc", "b.nc"]
    monkeypatch.chdir(tmp_path)
    Path("b.nc").write_text(Path("a.nc").read_text())
    assert run(["join", "a.nc", "a.nc"])[2].count("beside G61") == 1
