"""`flipreg split`: one program for each tool, each doing what it does in the whole."""

from pathlib import Path

import numpy as np
import pytest

from tests.commands.command import run
from tests.motions import motions

TWO = """\
%
(TWO TOOLS)
G21 G90 G17 G94
G55
(rough)
T1 M6
S18000 M3
M8
G0 Z15
X0 Y0
G1 Z-2 F600
X50
G0 Z4
M5
(drill)
T3
M6 (5 mm)
M3
G0 X10 Y5
G98 G81 Z-9 R2 F200
X20
G80
G0 Z15
X0 Y0
M9
M5
M30
%
"""


def split_into(folder: Path, text: str) -> list[Path]:
    folder.mkdir(exist_ok=True)
    source = folder / "job.nc"
    source.write_text(text)
    status, out, err = run(["split", str(source), "--into", str(folder / "parts")])
    assert (status, out) == (0, b"")
    files = sorted((folder / "parts").iterdir())
    assert err.count("written") == len(files)
    return files


def test_each_tool_does_what_it_did(tmp_path: Path) -> None:
    files = split_into(tmp_path, TWO)
    assert [file.name for file in files] == ["job-1-T1.nc", "job-2-T3.nc"]
    whole = motions(TWO)
    rough, drill = (motions(file.read_bytes()) for file in files)
    mine = whole.take(whole.tool == 1)
    assert rough.end[:-1].tolist()[1:] == mine.end.tolist()[1:]
    assert rough.end[-1].tolist() == [50, 0, 15]
    theirs = whole.take(whole.tool == 3)
    own = drill.take(slice(len(drill) - len(theirs), len(drill)))
    for name in ("start", "end"):
        assert getattr(own, name).tolist() == getattr(theirs, name).tolist()
    for name in ("kind", "tool", "cycle", "work_offset", "spindle_rpm"):
        assert getattr(own, name).tolist() == getattr(theirs, name).tolist()
    np.testing.assert_array_equal(own.feed_mm_per_min, theirs.feed_mm_per_min)


def test_a_part_is_told_what_the_parts_before_it_left_behind(tmp_path: Path) -> None:
    lines = split_into(tmp_path, TWO)[1].read_text().splitlines()[4:]
    assert lines[:16] == [
        "(TWO TOOLS)",
        "G21 G90 G17 G94",
        "G55",
        "G17 G21 G90 G94 G40 G55 G98",
        "F600",
        "S18000",
        "(drill)",
        "T3",
        "M6 (5 mm)",
        "G0 Z15",
        "G0 X50 Y0",
        "G0 Z4",
        "M8",
        "M3",
        "G0 X10 Y5",
        "G98 G81 Z-9 R2 F200",
    ]


def test_a_part_ends_high_with_spindle_and_coolant_off(tmp_path: Path) -> None:
    lines = split_into(tmp_path, TWO)[0].read_text().splitlines()
    assert lines[-6:] == ["G0 Z4", "G21 G90 G0 Z15", "M5", "M9", "M30", "%"]


def test_a_tool_that_comes_back_has_a_part_for_each_time(tmp_path: Path) -> None:
    back = TWO.replace("M9\nM5\nM30", "T1 M6\nM3\nG0 X7\nG1 Z-1 F100\nG0 Z15\nM9\nM5\nM30")
    assert [file.name for file in split_into(tmp_path, back)] == ["job-1-T1.nc", "job-2-T3.nc", "job-3-T1.nc"]


def test_the_part_of_one_tool_goes_through_a_pipe() -> None:
    status, out, err = run(["split", "-", "--tool", "3"], TWO.encode())
    assert (status, err.split(";")[0]) == (0, "standard output: written")
    assert set(motions(out).tool.tolist()) == {3}
    assert run(["split", "-", "--tool", "2"], TWO.encode())[:2] == (2, b"")


def test_join_takes_apart_what_it_joins(tmp_path: Path) -> None:
    source = tmp_path / "job.nc"
    source.write_text(TWO)
    assert run(["join", "--split-tools", str(source), "-o", str(tmp_path / "parts")])[0] == 0
    assert sorted(file.name for file in (tmp_path / "parts").iterdir()) == ["job-1-T1.nc", "job-2-T3.nc"]
    assert run(["join", "--split-tools", str(source)])[:2] == (2, b"")


@pytest.mark.parametrize(
    ("text", "start"),
    {
        "no tool": (TWO.replace("T1 M6", "").replace("M6 (5 mm)", ""), "1:1: no tool is changed"),
        "a feed before the first tool": (TWO.replace("(rough)", "G1 Z5 F9"), "5:1: a feed before the first"),
        "the spindle left running": (
            TWO.replace("M5\n(drill)", "(drill)").replace("M3\nG0 X10", "G0 X10"),
            "16:1: the spindle is left running through this tool change",
        ),
        "a motion code carried over": (
            TWO.replace("G0 X10 Y5", "X10 Y5").replace("G0 Z4", "G1 Z15"),
            "19:1: this tool's first motion carries on",
        ),
        "a motion beside the tool change": (TWO.replace("M6 (5 mm)", "M6 G0 X9"), "17:1: this line changes the tool"),
        "a tool length set only after the change": (
            TWO.replace("M3\nG0 X10", "M3\nG43 H3\nG0 X10"),
            "19:1: an offset is set after the tool is changed at a height by numbers",
        ),
        "an axis offset that may be the machine's, reset only after the change": (
            TWO.replace("M3\nG0 X10", "M3\nG92.2\nG0 X10"),
            "19:1: an offset is reset after the tool is changed at a height by numbers, so that nobody knows how high",
        ),
        "a zero that is moved": (TWO.replace("G55", "G55 G10 L2 P1 X0"), "4:1: G10 moves a zero"),
        "a height in another work offset": (
            TWO.replace("M5\n(drill)", "M5\nG56\n(drill)").replace("G98 G81 Z-9 R2 F200", "G1 X2"),
            "18:1: how high the tool stands is not known at this tool change",
        ),
        "a parameter": (TWO.replace("G55", "#1=2"), "4:1: a parameter is set"),
        "compensation": (
            TWO.replace("X50\n", "G41 D1 X50\n").replace("G98 G81 Z-9 R2 F200", "G1 Z-9 F200"),
            "13:1: cutter compensation is on in the last motion",
        ),
        "a change to nothing named": (TWO.replace("T1 M6", "M6"), "6:1: a tool change without a T word"),
    }.values(),
)
def test_what_would_be_a_guess_is_refused_with_its_line(text: str, start: str, tmp_path: Path) -> None:
    source = tmp_path / "job.nc"
    source.write_text(text)
    status, out, err = run(["split", str(source), "--into", str(tmp_path / "parts")])
    assert (status, out) == (2, b"")
    assert err.startswith(f"{source}:{start}")
    assert not (tmp_path / "parts").exists()


@pytest.mark.parametrize("head", ["G53 G0 Z0", "G91 G28 Z0\nG90", "G91 G30 Z0\nG90"])
def test_a_part_comes_down_from_the_head_s_height_of_the_machine_to_the_safe_height(head: str, tmp_path: Path) -> None:
    """Tools are changed at a height by numbers later; nothing lower than that is on the way of the second part."""
    text = TWO.replace("(rough)\n", f"{head}\n").replace("G0 X10 Y5", "G0 Z9\nX10 Y5")
    text = text.replace("X50\nG0 Z4", "X50\nG0 Z15")
    files = split_into(tmp_path, text)
    lines = files[1].read_text().splitlines()
    assert lines[lines.index("M6 (5 mm)") + 1 :][:2] == ["G0 Z15", "G0 X50 Y0"]


def test_a_part_goes_from_the_head_s_reference_position_to_the_one_where_its_tool_is_changed(tmp_path: Path) -> None:
    text = TWO.replace("(rough)\n", "G91 G30 Z0\nG90\n").replace("M5\n(drill)", "M5\nG91 G28 Z0\nG90\n(drill)")
    files = split_into(tmp_path, text)
    lines = files[1].read_text().splitlines()
    assert lines[lines.index("T3") - 3 :][:2] == ["G91 G28 Z0", "G90"]


def test_an_axis_offset_that_is_reset_at_the_start_may_be_reset_again(tmp_path: Path) -> None:
    text = TWO.replace("G55", "G55 G92.1").replace("M3\nG0 X10", "M3\nG92.2\nG0 X10")
    assert len(split_into(tmp_path, text)) == 2


@pytest.mark.parametrize("before", ["G0 Z1", "S9000 M3\nG0 Z1", "M8\nM9", "G0 X3 Y4\nS900"])
def test_what_comes_before_the_first_tool_change_is_the_first_part_s_own(before: str, tmp_path: Path) -> None:
    text = TWO.replace("(rough)", before)
    plain, files = split_into(tmp_path / "plain", TWO), split_into(tmp_path / "moved", text)
    first, second = (file.read_text() for file in files)
    assert before + "\nT1 M6" in first
    assert second.partition("first)\n")[2] == plain[1].read_text().partition("first)\n")[2].replace("(rough)\n", "")
