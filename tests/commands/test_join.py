"""`flipreg join`: the programs one after the other, each as it is by itself; refused where they don't agree."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

import flipreg
from flipreg.rs274.read.program import Program
from tests.commands.command import run
from tests.motions import motions

ROUGH = """\
%
O1
(ROUGH)
N10 G21 G90 G17
N20 T1 M6
N30 S18000 M3
N40 G0 Z15
N50 X0 Y0
N60 G1 Z-2 F600
N70 G18 G2 X20 I10
N80 G91 G1 X5 F900
N90 G90 G0 Z3
N100 M8
N110 M30 (end of roughing)
%
"""
FINISH = """\
; finish
G21
T1 M6
S12000 M3
G0 X5 Y5
Z2
G1 Z-3 F300
G2 X15 I5
G0 Z15
M9
M5
M2
"""
HOLES = "G21 G90\nT1\nM6\nM3 S9000\nG0 X1 Y1 Z9\nG99 G81 X2 Y2 Z-4 R2 F150\nX9\nG80\nM30\n"


def joined(folder: Path, *texts: str, options: tuple[str, ...] = ()) -> bytes:
    names = written(folder, *texts)
    status, out, err = run(["join", *names, *options])
    assert (status, err.split(";")[0]) == (0, "standard output: written")
    return out


def written(folder: Path, *texts: str) -> list[str]:
    names = []
    for number, text in enumerate(texts):
        file = folder / f"part{number}.nc"
        file.write_text(text)
        names.append(str(file))
    return names


def test_each_program_does_what_it_does_by_itself(tmp_path: Path) -> None:
    path = motions(joined(tmp_path, ROUGH, FINISH, HOLES))
    alone = [motions(text) for text in (ROUGH, FINISH, HOLES)]
    kept = np.ones(len(path), np.bool_)
    # Up from where the first one ends; the second ends high.
    kept[len(alone[0])] = False
    whole = path.take(kept)
    assert len(whole) == sum(map(len, alone))
    at = 0
    for part in alone:
        mine = whole.take(slice(at, at + len(part)))
        at += len(part)
        known = ~np.isnan(part.end)
        assert (mine.end[known] == part.end[known]).all()
        for name in ("kind", "normal", "tool", "cycle", "work_offset", "sweep_deg", "spindle_rpm"):
            assert getattr(mine, name).tolist() == getattr(part, name).tolist()
        np.testing.assert_array_equal(part.feed_mm_per_min, mine.feed_mm_per_min)


def test_the_tool_is_raised_between_programs_and_the_modes_are_named(tmp_path: Path) -> None:
    text = joined(tmp_path, ROUGH, FINISH).decode()
    lines = text.splitlines()
    # The way up stands where the numbers still mean the height that was cut at.
    assert lines[lines.index("N90 G90 G0 Z3") + 1] == "G21 G90 G0 Z15"
    seam = text.split("end of roughing)\n")[1].splitlines()[:5]
    assert seam == [
        "(joined: part1.nc follows)",
        "M5",
        "M9",
        "G17 G21 G90 G94 G40 G80 G54 G98",
        "; finish",
    ]


def test_there_is_one_end_and_all_comments(tmp_path: Path) -> None:
    text = joined(tmp_path, ROUGH, FINISH, HOLES).decode()
    assert (text.count("M30"), text.count("M2\n"), text.count("%"), text.count("O1\n")) == (1, 0, 2, 1)
    assert text.endswith("G80\nM30\n%\n")
    for comment in ("(ROUGH)", "(end of roughing)", "; finish"):
        assert comment in text


def test_a_program_without_an_end_after_others_gets_one(tmp_path: Path) -> None:
    assert joined(tmp_path, FINISH, HOLES.replace("M30\n", "")).endswith(b"G80\nM30\n")


def test_the_height_between_programs_can_be_named(tmp_path: Path) -> None:
    assert b"G21 G90 G0 Z40" in joined(tmp_path, ROUGH, FINISH, options=("--safe-z", "40"))


def test_order_matters_and_framing_is_the_first_ones(tmp_path: Path) -> None:
    text = joined(tmp_path, FINISH, ROUGH)
    assert text.count(b"%") == 0
    assert text.endswith(b"M30 (end of roughing)\n")


def test_one_of_the_programs_may_come_from_a_pipe(tmp_path: Path) -> None:
    (name,) = written(tmp_path, ROUGH)
    status, out, _ = run(["join", name, "-"], FINISH.encode())
    assert status == 0
    assert b"(joined: <stdin> follows)" in out
    assert run(["join", "-", "-"], FINISH.encode())[0] == 2


@pytest.mark.parametrize(
    ("first", "second", "said"),
    {
        "another unit": (ROUGH, FINISH.replace("G21", "G20"), "part1.nc:5:1: another unit than where"),
        "no unit": (ROUGH, FINISH.replace("G21\n", ""), "part1.nc:4:1: the program does not say G20 or G21"),
        "another tool": (ROUGH, FINISH.replace("T1", "T2"), "part1.nc:5:1: another tool than where"),
        "no tool": (ROUGH, FINISH.replace("T1 M6\n", ""), "part1.nc:4:1: another tool than where"),
        "a second tool": (ROUGH.replace("N90", "T4 M6\nN90"), FINISH, "part0.nc:13:1: another tool than where"),
        "another zero": (ROUGH, FINISH.replace("G21", "G21 G55"), "part1.nc:5:1: another work offset than where"),
        "no feed of its own": (ROUGH, FINISH.replace(" F300", ""), "part1.nc:7:1: a cut without a feed"),
        "no speed of its own": (ROUGH, FINISH.replace("S12000 ", ""), "part1.nc:4:1: the spindle starts without"),
        "an increment first": (
            ROUGH,
            FINISH.replace("G21", "G21 G91").replace("G2 X15 I5", "X15"),
            "part1.nc:5:1: the program starts from a position that it does not name",
        ),
        "an axis offset": (
            ROUGH.replace("N100", "G92 X0\nN100"),
            FINISH,
            "part0.nc:13:1: G92 gives program zero another",
        ),
        "a zero that is set": (
            ROUGH.replace("N100", "G10 L2 P2 X1\nN100"),
            FINISH,
            "part0.nc:13:1: G10 moves a zero, which the next program would see",
        ),
        "a parameter": (ROUGH.replace("N100", "#1=5\nN100"), FINISH, "part0.nc:13:1: a parameter is set"),
        "compensation on": (
            ROUGH.replace("N80 ", "N80 G17 G41 D1 "),
            FINISH,
            "part0.nc:12:1: cutter compensation is on at the end",
        ),
        "text after the end": (ROUGH + "G0 X5\n", FINISH, "part0.nc:16:1: text after the closing %"),
        "a line that may be skipped": (ROUGH.replace("N90", "/N90"), FINISH, "part0.nc:12:1: a line that may be"),
    }.values(),
)
def test_programs_that_do_not_agree_are_refused_with_the_line(
    first: str, second: str, said: str, tmp_path: Path
) -> None:
    status, out, err = run(["join", *written(tmp_path, first, second)])
    assert (status, out) == (2, b"")
    assert said in err


def test_words_after_the_end_would_be_run_and_are_refused(tmp_path: Path) -> None:
    status, _, err = run(["join", *written(tmp_path, FINISH + "G0 X9\n", HOLES)])
    assert status == 2
    assert "part0.nc:13:1: words after the end of this program would be run" in err


def test_long_programs_are_joined_chunk_by_chunk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("flipreg.rs274.read.lines.CHUNK_BYTES", 4096)
    middle = "".join(f"X{index % 90} Y{index % 70} (some text to fill chunks)\n" for index in range(1_000))
    long = FINISH.replace("G2 X15 I5\n", middle)
    out = joined(tmp_path, long, long)
    assert out.count(b"(some text") == 2_000
    assert len(motions(out)) == 2 * len(motions(long))


PLAIN = "G21 G90\nG0 X0 Y0 Z5\nG1 Z-1 F300\nX9\nG0 Z5\nM2\n"


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("", "\x1a"),
        ("", "\x00\x00\n"),
        ("", "\n\x1a\r\n"),
        ("%\n", "%\n\x1a"),
        ("%\n", ""),
        ("", "%\n"),
        ("%\n%\n", "%\n%\n"),
        ("%\n", "%\n\n%\n%"),
    ],
)
def test_a_program_joins_with_itself_however_its_file_is_framed(before: str, after: str, tmp_path: Path) -> None:
    text = before + PLAIN + after
    status, out, err = run(["join", *written(tmp_path, text, text)])
    assert status == 0, err
    body = out.decode().partition("comes first)\n")[2]
    first, second = body.split("G17 G21 G90 G94 G40 G80 G54 G98\n")
    assert first.startswith(PLAIN.replace("M2\n", "\n"))
    assert not {"%", "\x1a", "\x00"} & set(first)
    assert second.startswith(PLAIN)
    assert out.startswith(b"%") == body.rstrip("\r\n\x00\x1a").endswith("%") == before.startswith("%")
    assert motions(out).end[-4:].tolist() == motions(PLAIN).end.tolist()


def test_a_program_that_does_not_end_in_its_text_gets_its_end_before_the_bytes_that_end_its_file(
    tmp_path: Path,
) -> None:
    text = PLAIN.replace("M2\n", "\x1a")
    status, out, err = run(["join", *written(tmp_path, text, text)])
    assert (status, out.endswith(b"G0 Z5\n\nM30\n")) == (0, True), err


def test_the_note_says_how_the_tool_comes_up_after_each_program(tmp_path: Path) -> None:
    low, high = PLAIN.replace("G0 Z5\nM2", "G0 Z3\nM2"), PLAIN
    machine = PLAIN.replace("M2", "G53 G0 Z0\nM2")
    lost = PLAIN.replace("M2", "G38.2 Z1\nM2")
    for programs, notes in (
        ((low, low), ["raised to Z5 between programs"]),
        ((high, low), ["not raised between programs: the tool is at Z5 or higher"]),
        ((machine, low), ["not raised between programs: the tool is at a height of the machine"]),
        ((lost, machine), ["raised by the machine (G53) between programs"]),
        (
            (low, high, low, low),
            ["raised to Z5 after programs 1, 3", "not raised after program 2: the tool is at Z5 or higher"],
        ),
    ):
        status, _, err = run(["join", *written(tmp_path, *programs)])
        assert (status, err.splitlines()[1:]) == (0, notes)


class InPieces(Program):
    """A program that comes in as many pieces as its text has parts between bars."""

    def pieces(self) -> Iterator[bytes]:
        yield from self.text.split(b"|")


def joined_in_pieces(*texts: str) -> str:
    programs = [InPieces(text.encode(), f"part{number}.nc") for number, text in enumerate(texts)]
    return flipreg.join(programs).text.decode().partition("comes first)")[2].lstrip("\r\n")


@pytest.fixture
def small_chunks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Read each piece that holds a line end as a chunk of its own."""
    monkeypatch.setattr("flipreg.rs274.read.lines.CHUNK_BYTES", 1)


@pytest.mark.usefixtures("small_chunks")
def test_percent_lines_are_known_from_each_other_wherever_a_program_is_cut_into_pieces() -> None:
    plain = joined_in_pieces(f"%\n{PLAIN}%\n", f"%\n{PLAIN}%\n")
    assert plain.count("%") == 1
    for framed in (f"%\n|{PLAIN}%\n", f"%\n{PLAIN}|%\n", f"|%\n{PLAIN}|%\n|\n", f"%\n{PLAIN}%\n|\n|"):
        text = joined_in_pieces(framed, framed)
        assert [line for line in text.splitlines() if line] == [line for line in plain.splitlines() if line]


@pytest.mark.usefixtures("small_chunks")
@pytest.mark.parametrize("cut", ["{0}G0 Z3\nM2\n", "{0}|G0 Z3\nM2\n", "{0}G0 Z3|\nM2\n", "{0}|G0 Z3|", "{0}G0 Z3"])
def test_the_way_up_stands_after_the_last_motion_wherever_a_program_is_cut_into_pieces(cut: str) -> None:
    text = cut.format(PLAIN.replace("G0 Z5\nM2\n", ""))
    lines = joined_in_pieces(text, text).splitlines()
    at = lines.index("G0 Z3")
    assert lines[at + 1] == "G21 G90 G0 Z5"
    assert lines.index("(joined: part1.nc follows)") in (at + 2, at + 3)


def test_a_program_of_one_line_is_raised_after_it() -> None:
    assert joined_in_pieces("G21 G90 G0 X0 Y0 Z3\nM2\n", PLAIN).startswith("G21 G90 G0 X0 Y0 Z3\nG21 G90 G0 Z5\n")


def test_the_way_up_and_the_lines_between_are_in_the_unit_and_with_the_line_ends_of_the_first_program() -> None:
    inch = "G20 G90\nG0 X0 Y0 Z1\nG1 Z-.1 F9\nG0 Z.5\nM2\n".replace("\n", "\r\n")
    text = joined_in_pieces(inch, inch)
    assert "G0 Z.5\r\nG20 G90 G0 Z1\r\n" in text
    assert "\r\nM5\r\nG17 G20 G90 G94 G40 G80 G54 G98\r\n" in text
    assert text.count("\n") == text.count("\r\n")


@pytest.mark.parametrize(("ends", "closing"), [((True, False, True), "M2"), ((True, True, False), "M30")])
def test_the_joined_program_ends_as_the_last_one_does(ends: tuple[bool, ...], closing: str) -> None:
    texts = [PLAIN if end else PLAIN.replace("M2\n", "") for end in ends]
    assert joined_in_pieces(*texts).split()[-1] == closing
