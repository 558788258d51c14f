"""What posts of the trade write every day is joined, taken apart and brought home, and not refused."""

from pathlib import Path

import pytest

from tests.commands.command import run

HEAD = "G21 G90\nT1 M6\nS900 M3\n"
FIRST = HEAD + "G43 H1\nG0 Z15\nX1 Y1\nG1 Z-1 F100\nG0 Z15\nM5\n"
LAST = "X5 Y5\nG1 Z-1 F100\nG0 Z15\nM30\n"


def part_of(folder: Path, text: str, *options: str, tool: int = 2) -> list[str]:
    source = folder / "job.nc"
    source.write_text(text)
    status, out, err = run(["split", str(source), "--tool", str(tool), *options])
    assert status == 0, err
    return [line for line in out.decode().splitlines() if not line.startswith("(")]


def refused(folder: Path, text: str) -> str:
    source = folder / "job.nc"
    source.write_text(text)
    status, out, err = run(["split", str(source), "--into", str(folder / "parts")])
    assert (status, out) == (2, b"")
    return err


def home(text: str, *options: str, safe: str = "10") -> tuple[int, list[str], str]:
    status, out, err = run(["home", "-", "--safe-z", safe, *options], text.encode())
    return status, [line for line in out.decode().splitlines() if not line.startswith("(")], err


def test_a_part_that_rises_and_names_x_and_y_itself_gets_no_motion(tmp_path: Path) -> None:
    text = FIRST + "T2 M6\nG43 H2\nM3\nG0 Z15\n" + LAST
    added = part_of(tmp_path, text)
    assert added == [
        *("G21 G90", "G17 G21 G90 G94 G40 G54 G98 G43 H1", "F100", "S900"),
        *("T2 M6", "G43 H2", "M3", "G0 Z15", *LAST.splitlines()),
    ]


def test_a_part_that_comes_down_before_it_names_x_and_y_is_refused(tmp_path: Path) -> None:
    err = refused(tmp_path, FIRST + "T2 M6\nG43 H2\nM3\nG0 Z15\nZ2\n" + LAST)
    assert "job.nc:11:1: an offset is set after the tool is changed at a height by numbers" in err


def test_a_part_that_would_rise_less_than_the_safe_height_is_refused(tmp_path: Path) -> None:
    err = refused(tmp_path, FIRST + "T2 M6\nG43 H2\nM3\nG0 Z14\n" + LAST)
    assert "job.nc:11:1: an offset is set after the tool is changed at a height by numbers" in err


def test_a_rise_by_the_machine_in_a_part_s_head_names_its_motion_code(tmp_path: Path) -> None:
    lines = part_of(tmp_path, FIRST + "G53 G0 Z0\nT2 M6\nG54\nS900 M3\nG43 Z15 H2\n" + LAST)
    assert lines[4:9] == ["G53 G0 Z0", "T2 M6", "G0 X1 Y1", "G54", "S900 M3"]


def test_a_code_that_a_cut_of_the_tool_before_left_behind_is_refused(tmp_path: Path) -> None:
    err = refused(tmp_path, HEAD + "G0 Z15\nX1 Y1\nG1 Z-1 F100\nZ15\nT2 M6\nM3\nX5 Y5\nM30\n")
    assert "job.nc:10:1: this tool's first motion carries on with the motion code" in err


def test_a_work_offset_that_is_in_force_may_be_named_again(tmp_path: Path) -> None:
    lines = part_of(tmp_path, HEAD + "G0 Z15\nX1 Y1\nG1 Z-1 F100\nG0 Z15\nM5\nT2 M6\nG54\nM3\nG0 " + LAST)
    assert lines[4:8] == ["T2 M6", "G0 Z15", "G0 X1 Y1", "G54"]
    other = HEAD + "G0 Z15\nX1 Y1\nG1 Z-1 F100\nG0 Z15\nM5\nT2 M6\nG55\nM3\nG0 " + LAST
    assert "job.nc:10:1: an offset is set after the tool" in refused(tmp_path, other)


@pytest.mark.parametrize(
    ("said", "head"),
    [("G92.1", ["G92.1"]), ("G92.2", ["G92.2"]), ("G92.1\nG92.3", ["G92.1", "G92.3"]), ("G92.2\nG92.1", ["G92.1"])],
)
def test_an_axis_offset_that_was_reset_is_reset_in_each_part(said: str, head: list[str], tmp_path: Path) -> None:
    lines = part_of(tmp_path, FIRST + f"{said}\nG53 G0 Z0\nT2 M6\nM3\nG43 Z15 H2\n" + LAST)
    assert lines[2 : 2 + len(head)] == head


def test_a_part_without_a_unit_is_given_none(tmp_path: Path) -> None:
    text = (FIRST + "T2 M6\nM3\nG0 " + LAST).replace("G21 ", "").replace("G43 H1\n", "")
    assert not any("G21" in line for line in part_of(tmp_path, text))
    # The first tool ends below the safe height.
    low = text.replace("G0 Z15\nM5", "G0 Z5\nM5")
    assert part_of(tmp_path, low, tool=1)[-4:] == ["G0 Z5", "G90 G0 Z15", "M5", "M30"]
    inches = part_of(tmp_path, low, "--units", "inch", "--safe-z", "508", tool=1)
    assert inches[-4:] == ["G0 Z5", "G90 G0 Z20", "M5", "M30"]


def test_a_part_after_a_probe_and_after_g40_without_a_motion_is_what_it_was(tmp_path: Path) -> None:
    end = "G53 G0 Z0\nT2 M6\nM3\nG43 Z15 H2\n" + LAST
    assert "G0 X1 Y1" in part_of(tmp_path, HEAD + "G43 H1\nG0 Z15\nX1 Y1\nG38.2 Z-1 F100\nG0 Z15\nM5\n" + end)
    beside = HEAD + "G43 H1\nG0 Z15\nX1 Y1\nG41 D1 X9\nG1 Z-1 F100\nX20\nG0 Z15\nG40\nM5\n" + end
    # Where a tool stands after G40 without a motion is not known; this part rises and names X and Y itself.
    assert part_of(tmp_path, beside)[4:7] == ["G53 G0 Z0", "T2 M6", "M3"]
    down = beside.replace("G43 Z15 H2", "G43 Z2 H2")
    assert "job.nc:14:1: where the tool stands in X or Y is not known at this tool change" in refused(tmp_path, down)


JOINED = {
    "an axis offset reset in the head": "G21 G90\nG92.1\nT1 M6\nS900 M3\nG0 Z15\nX1 Y1\nG1 Z-1 F100\nG0 Z15\nM30\n",
    "a probe": HEAD + "G0 Z10\nX-49 Y34\nG38.2 Z-4 F100\nG0 Z10\nM30\n",
    "compensation without a motion out": (
        HEAD + "G43 H1\nG0 Z15\nX1 Y1\nG41 D1 X9\nG1 Z-1 F100\nX20\nG0 Z15\nG40\nG0 Z15\nG53 G0 Z0\nM30\n"
    ),
    "inches": "G20 G90\nG53 G0 Z0\nT3 M6\nS900 M3\nM8\nG0 X1 Y2\nG43 Z1 H3\nG1 Z-.1 F20\nG0 Z1\nM2\n",
}


@pytest.mark.parametrize("name", JOINED)
def test_a_program_is_joined_with_itself(name: str, tmp_path: Path) -> None:
    file = tmp_path / "a.nc"
    file.write_text(JOINED[name])
    status, out, err = run(["join", str(file), str(file)])
    assert status == 0, err
    own = JOINED[name].splitlines()[:-1]
    lines = [line for line in out.decode().splitlines() if line and not line.startswith("(made")]
    assert [line for line in lines if line in own].count(own[-1]) >= 2


def test_a_percent_line_without_a_line_end_is_taken_off_whole(tmp_path: Path) -> None:
    first, second = tmp_path / "a.nc", tmp_path / "b.nc"
    first.write_text("%\n" + JOINED["a probe"] + "%")
    second.write_text(JOINED["a probe"])
    status, out, err = run(["join", str(first), str(second)])
    assert status == 0, err
    assert out.count(b"%") == 2


def test_an_end_without_a_line_end_leaves_its_line(tmp_path: Path) -> None:
    file = tmp_path / "a.nc"
    file.write_text(JOINED["a probe"].rstrip("\n"))
    status, _, err = run(["join", str(file), str(file)])
    assert status == 0, err


def test_programs_without_a_unit_are_joined_only_if_it_is_said(tmp_path: Path) -> None:
    file = tmp_path / "a.nc"
    file.write_text(JOINED["a probe"].replace("G21 ", ""))
    status, _, err = run(["join", str(file), str(file)])
    assert status == 2
    assert "a.nc:4:1: the program does not say G20 or G21, so its unit is not known to agree" in err
    status, out, err = run(["join", str(file), str(file), "--units", "inch"])
    assert status == 0, err
    assert b"\nG17 G20 G90" in out
    metric = tmp_path / "b.nc"
    metric.write_text(JOINED["a probe"])
    assert run(["join", str(file), str(metric), "--units", "mm"])[0] == 0
    status, _, err = run(["join", str(file), str(metric), "--units", "inch"])
    assert status == 2
    assert "b.nc:4:1: another unit than where" in err


def test_a_traverse_by_the_machine_belongs_to_no_work_offset() -> None:
    text = "G21 G90\nG53 G0 Z0\nT1 M6\nG55\nG43 H1\nS900 M3\nG0 X5 Y5\nZ15\nG1 Z-1 F100\nG0 Z15\nM30\n"
    status, lines, err = home(text)
    assert status == 0, err
    assert lines[6:8] == ["G0 X0 Y0", "G0 X5 Y5"]
    assert lines[-2:] == ["G0 X0 Y0", "M30"]


def test_a_zero_that_is_said_with_the_first_motion_across_is_named() -> None:
    status, _, err = home("G21 G90\nG53 G0 Z0\nT1 M6\nG43 H1\nG55 G0 X5 Y5\nZ15\nG1 Z-1 F100\nG0 Z15\nM30\n")
    assert status == 2
    assert err.startswith("<stdin>:5:1: the work offset is set here, so that no way over its zero can come before")


def test_a_safe_height_has_the_unit_that_is_said_for_the_program() -> None:
    text = "G90\nG0 Z1\nX5 Y5\nG1 Z-1 F100\nG0 Z.5\nM30\n"
    status, lines, err = home(text, "--units", "inch", safe="25.4")
    assert status == 0, err
    assert lines == ["G90", "G0 Z1", "G0 X0 Y0", *text.splitlines()[2:5], "G0 Z1", "G0 X0 Y0", "M30"]
    assert home(text)[2].startswith("<stdin>:3:1: the program moves before it says G20 or G21")


def test_without_a_unit_the_end_is_not_raised_by_a_number() -> None:
    text = "G90\nG53 G0 Z0\nG0 X5 Y5\nZ1\nG1 Z-1 F100\nG0 Z1\nM30\n"
    assert home(text)[2].startswith("<stdin>:6:1: the program does not say G20 or G21, so a safe height has no unit")
    status, lines, err = home(text, "--units", "mm")
    assert status == 0, err
    assert lines[-4:] == ["G0 Z1", "G0 Z10", "G0 X0 Y0", "M30"]


TO_CHANGER = "G53 G0 Z0\nM5\nT2 M6\nS900 M3\n"


def test_the_length_of_the_tool_before_is_not_carried_into_a_part_that_says_its_own(tmp_path: Path) -> None:
    bare = FIRST.replace("G43 H1", "G43")
    for own in ("G43 H2", "G43", "G49"):
        lines = part_of(tmp_path, bare + TO_CHANGER + f"G0 X7 Y7\n{own}\nG0 Z15\n" + LAST)
        assert lines[1:4] == ["G17 G21 G90 G94 G40 G54 G98", "F100", "S900"]
        assert own in lines[4:]


def test_a_height_that_depends_on_the_length_of_the_tool_before_is_refused(tmp_path: Path) -> None:
    bare = FIRST.replace("G43 H1", "G43")
    for height in ("G0 Z15", "G0 Z15\nG43 H2", "G81 X1 Y1 R1 Z-1\nG0\nG43 H2"):
        err = refused(tmp_path, bare + TO_CHANGER + f"{height}\n" + LAST)
        assert "job.nc:14:1: this height hangs on the length of the tool before: line 4 has G43 without H" in err


def test_a_part_goes_on_with_all_words_of_path_control(tmp_path: Path) -> None:
    path = FIRST.replace("X1 Y1\n", "X1 Y1\nG64 P.02 Q0.1 R3 L2\n")
    assert "G64 P.02 Q0.1 R3 L2" in part_of(tmp_path, path + TO_CHANGER + "G43 Z15 H2\n" + LAST)[1]
    arc = FIRST.replace("G1 Z-1 F100\n", "G1 Z-1 F100\nG64 P.02 G2 X3 Y1 I1\n")
    assert part_of(tmp_path, arc + TO_CHANGER + "G43 Z15 H2\n" + LAST)[1].endswith(" G64 P.02 G43 H1")


def test_words_of_path_control_in_another_unit_are_refused(tmp_path: Path) -> None:
    inch = FIRST.replace("X1 Y1\n", "X1 Y1\nG64 P.02\nG20\n") + "F9\n"
    err = refused(tmp_path, inch + TO_CHANGER + "G43 Z1 H2\nG0 " + LAST)
    assert "job.nc:7:1: path control has words in another unit" in err


def test_a_part_after_a_hole_that_ends_the_radius_of_compensation_is_written(tmp_path: Path) -> None:
    holes = FIRST.replace("X1 Y1\n", "X1 Y1\nG41 D1 G1 X5 F100\nX9\nG40\nG81 X3 Y3 R1 Z-1\nG80\n")
    assert "G0 X3 Y3" in part_of(tmp_path, holes.replace("G80\nG1", "G80\nG0") + TO_CHANGER + "G43 Z15 H2\n" + LAST)


ASIDE = "G41 D1 G1 X5 F100\nX9\nG0 Z12\nG40\nG0 Z13\n"
"""The tool stays a radius beside its numbers: no motion names X and Y after G40."""


def test_a_way_up_from_a_radius_beside_the_numbers_is_refused_in_plain_words(tmp_path: Path) -> None:
    aside = FIRST.replace("G1 Z-1 F100\nG0 Z15\n", ASIDE)
    said = "no motion names X and Y after cutter compensation was ended (G40)"
    assert f"job.nc:11:1: {said}" in refused(tmp_path, aside + "T2 M6\nM3\nG0 Z15\n" + LAST)
    for program in ("one.nc", "other.nc"):
        (tmp_path / program).write_text(aside + "G0 Z14\n")
    status, out, err = run(["join", str(tmp_path / "one.nc"), str(tmp_path / "other.nc")])
    assert (status, out) == (2, b"")
    assert f"one.nc:13:1: {said}" in err
    status, _, err = home(aside, safe="14")
    assert (status, err.split(";")[0].split("(")[0]) == (2, "<stdin>:11:1: " + said.split("(")[0])
    # High enough it needs no way up, and the way across names both.
    assert home(aside, safe="13")[1][-3:] == ["G0 Z13", "G0 X0 Y0", "M5"]


LENGTH_COMES_DOWN = "G21 G90\nG53 G0 Z0\nT1 M6\nS900 M3\nG43 Z5 H1\nX4 Y2\nG1 Z-1 F100\nG0 Z5\nM2\n"


def test_the_way_over_zero_stands_before_the_line_that_comes_down_with_the_length() -> None:
    status, lines, _ = home(LENGTH_COMES_DOWN, safe="30")
    assert status == 0
    assert lines[3:7] == ["S900 M3", "G0 X0 Y0", "G43 Z5 H1", "X4 Y2"]


def test_the_way_over_zero_stands_before_the_line_that_comes_down_from_a_safe_number() -> None:
    text = LENGTH_COMES_DOWN.replace("G43 Z5 H1\n", "G43 Z30 H1\nZ5\n")
    assert home(text, safe="30")[1][4:7] == ["G43 Z30 H1", "G0 X0 Y0", "Z5"]
    # A height in other numbers is none in these.
    other = text.replace("Z5\n", "G43 H2 Z5\n", 1)
    assert home(other, safe="30")[1][3:6] == ["S900 M3", "G0 X0 Y0", "G43 Z30 H1"]


@pytest.mark.parametrize(
    "text",
    [
        LENGTH_COMES_DOWN.replace("G53 G0 Z0", "G0"),
        LENGTH_COMES_DOWN.replace("G43 Z5 H1", "G43 Z5 H1 G55"),
        LENGTH_COMES_DOWN.replace("G43 Z5 H1", "G43 Z5 H1\nG92.1"),
    ],
)
def test_a_first_motion_across_below_the_safe_height_is_refused_where_nothing_above_is_known(text: str) -> None:
    status, _, err = home(text, safe="30")
    assert status == 2
    assert "where it crosses first" in err


def test_a_program_s_header_says_at_what_height_it_starts_and_ends() -> None:
    parked = LENGTH_COMES_DOWN.replace("Z5\nM2", "Z5\nG53 G0 Z0\nM2")
    for text, said in (
        (LENGTH_COMES_DOWN, "starts over program zero at a height of the machine, ends over it at Z30 or higher"),
        (parked, "starts over program zero at a height of the machine"),
        (HEAD + "G0 Z5\n" + LAST, "starts and ends over program zero at Z30 or higher"),
    ):
        out = run(["home", "-", "--safe-z", "30"], text.encode())[1].decode()
        assert out.split("\n")[0] == f"(made by flipreg from <stdin>: {said})"


def test_a_part_that_begins_in_increments_is_told_so_after_its_way(tmp_path: Path) -> None:
    lines = part_of(tmp_path, FIRST + "G91\nT2 M6\nM3\nG0 X3\nG90\n" + LAST)
    assert lines[4:10] == ["T2 M6", "G0 Z15", "G0 X1 Y1", "G91", "M3", "G0 X3"]


@pytest.mark.parametrize(("end", "code"), [("M2", "M2"), ("M30", "M30"), ("", "M30")])
def test_a_part_ends_as_the_program_does_or_with_an_end_and_rewind(end: str, code: str, tmp_path: Path) -> None:
    text = FIRST + "G53 G0 Z0\nT2 M6\nM3\nG43 Z15 H2\n" + LAST.replace("M30\n", f"{end}\n" if end else "")
    assert part_of(tmp_path, text, tool=1)[-1] == code
