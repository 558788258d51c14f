"""What the shop edits add at the machine: no move of ours may plunge, whatever the tool's length and the offsets."""

from pathlib import Path

import pytest

from tests.commands.command import run

HEAD = "G21 G90 G17\nG53 G0 Z0\nT1 M6\nG54\nS9000 M3\n"
"""The usual head of a post: up by the machine, then the tool, then the zero."""
POST = f"{HEAD}G0 X5 Y5\nG43 Z15 H1\nG1 Z-1 F300\nX20\nG0 Z5\nG49\nM5\nM30\n"
CHANGER = (
    "G21 G90 G17\nG28 G91 Z0\nG90\nT1 M6\nS9000 M3\nG0 X5 Y5\nG43 Z15 H1\nG1 Z-1 F300\nX20\nG0 Z15\nM5\nG28 G91 Z0\n"
    "G90\nT2 M6\nM3\nG0 X9 Y9\nG43 Z15 H2\nG1 Z-2\nG0 Z15\nM5\nM30\n"
)


def home(text: str, *options: str) -> tuple[int, list[str], str]:
    status, out, err = run(["home", "-", "--safe-z", "10", *options], text.encode())
    return status, out.decode().split("comes first)\n")[-1].splitlines(), err


def joined(folder: Path, *texts: str) -> tuple[int, list[str], str]:
    names = []
    for number, text in enumerate(texts):
        (folder / f"{number}.nc").write_text(text)
        names.append(str(folder / f"{number}.nc"))
    status, out, err = run(["join", *names])
    return status, out.decode().split("comes first)\n")[-1].splitlines(), err


def parts(folder: Path, text: str) -> tuple[int, list[list[str]], str]:
    (folder / "a.nc").write_text(text)
    status, _, err = run(["split", str(folder / "a.nc"), "--into", str(folder / "parts")])
    files = sorted((folder / "parts").iterdir()) if status == 0 else []
    return status, [file.read_text().split("comes first)\n")[-1].splitlines() for file in files], err


class TestHome:
    def test_the_start_goes_after_tool_and_zero_and_the_programs_own_rise_counts(self) -> None:
        status, lines, _ = home(POST)
        assert status == 0
        assert lines[:7] == [*HEAD.splitlines(), "G0 X0 Y0", "G0 X5 Y5"]

    def test_the_way_up_at_the_end_stands_before_the_length_offset_is_cancelled(self) -> None:
        _, lines, _ = home(POST)
        assert lines[-6:] == ["G0 Z5", "G0 Z10", "G0 X0 Y0", "G49", "M5", "M30"]

    @pytest.mark.parametrize("park", ["G53 G0 Z0", "G28 G91 Z0", "G91 G28 Z0", "G30 G91 Z0"])
    def test_nothing_is_added_after_a_park_and_the_report_says_so(self, park: str) -> None:
        status, lines, err = home(POST.replace("G49\n", f"G49\n{park}\n"))
        assert status == 0
        assert lines[-4:] == ["G49", park, "M5", "M30"]
        assert "it ends at the machine's park position, where nothing was added" in err

    def test_at_a_height_of_the_machine_it_crosses_and_never_comes_down(self) -> None:
        _, lines, _ = home(POST.replace("G49\n", "G49\nG53 G0 Z0\nX50\n"))
        assert lines[-5:] == ["G53 G0 Z0", "X50", "G0 X0 Y0", "M5", "M30"]
        assert not any("Z10" in line for line in lines)

    def test_a_length_offset_that_is_set_only_after_the_first_motion_across_is_refused(self) -> None:
        status, _, err = home(POST.replace("G53 G0 Z0\n", ""))
        assert status == 2
        assert err.startswith("<stdin>:6:1: the tool, its length or an offset is set here, after the first motion")

    def test_a_height_below_the_safe_one_that_comes_with_the_length_offset_is_refused(self) -> None:
        status, _, err = home("G21 G90\nT1 M6\nG0 G43 Z5 H1\nX5 Y5\nG1 Z-1 F300\nG0 Z5\nM30\n")
        assert status == 2
        assert err.startswith("<stdin>:4:1: the tool is at Z5 mm where it crosses first")

    def test_a_way_up_after_another_length_offset_than_it_cut_with_is_refused(self) -> None:
        status, _, err = home(POST.replace("G49\n", "G49\nG0 Z7\n"))
        assert status == 2
        assert err.startswith("<stdin>:12:1: the tool or its length offset changes between the last cut and")

    @pytest.mark.parametrize("off", ["", "G40\n"])
    def test_compensation_that_is_on_in_the_last_motion_is_refused(self, off: str) -> None:
        text = f"G21 G90\nG0 X5 Y5 Z20\nG1 Z-1 F300\nG41 D1 X9\nX20\nG0 Z20\n{off}M30\n"
        status, _, err = home(text)
        assert status == 2
        assert err.startswith("<stdin>:6:1: cutter compensation is on in the last motion")

    def test_compensation_that_ended_with_a_motion_away_is_fine(self) -> None:
        text = "G21 G90\nG0 X5 Y5 Z20\nG1 Z-1 F300\nG41 D1 X9\nX20\nG0 Z20\nG40 X30\nM30\n"
        status, lines, _ = home(text)
        assert (status, lines[-3:]) == (0, ["G40 X30", "G0 X0 Y0", "M30"])

    def test_a_probe_leaves_no_height_to_cross_at(self) -> None:
        status, _, err = home("G21 G90\nG0 X5 Y5 Z20\nG38.2 Z-1 F300\nM30\n")
        assert status == 2
        assert err.startswith("<stdin>:3:1: how high the tool stands after this motion is not in the program")

    @pytest.mark.parametrize(
        ("text", "said"),
        [
            ("G21 G90\nG0 X5 Y5\nG1 X20 F300\nM2\n", "3:1: this program names no height (Z)"),
            ("X1 M30\n", "1:1: X1, but no motion is in force here"),
            ("G21 G90\nG0 X1\nM30\n", "2:1: this program names no height (Z)"),
            ("G21 G90\nG0 Z5\nG1 Z-1 F9\nM30\n", "1:1: nothing moves along X or Y"),
        ],
    )
    def test_what_is_missing_is_said_in_words_of_the_shop(self, text: str, said: str) -> None:
        for options in ([], ["--check"]):
            status, _, err = home(text, *options)
            assert status == 2
            assert err.startswith(f"<stdin>:{said}")
            assert "Infinity" not in err

    def test_a_check_calls_a_park_an_end(self) -> None:
        status, out, _ = home(POST.replace("G0 X5", "G0 X0 Y0\nX5").replace("G49\n", "G49\nG53 G0 Z0\n"), "--check")
        assert (status, out) == (0, ["<stdin>: starts and ends over program zero at the safe height"])


class TestJoin:
    def test_the_way_up_stands_before_the_length_offset_is_cancelled(self, tmp_path: Path) -> None:
        status, lines, _ = joined(tmp_path, POST, POST)
        assert status == 0
        at = lines.index("(joined: 1.nc follows)")
        assert lines[at - 5 : at] == ["G0 Z5", "G21 G90 G0 Z15", "G49", "M5", ""]

    @pytest.mark.parametrize("text", [POST, POST.replace("G53 G0 Z0", "G28 G91 Z0\nG90"), CHANGER.split("M5\n")[0]])
    def test_a_program_joins_with_itself_and_its_head_stays_whole(self, text: str, tmp_path: Path) -> None:
        status, lines, _ = joined(tmp_path, text, text)
        assert status == 0
        own = [line for line in text.splitlines() if line != "M30"]
        second = lines[lines.index("(joined: 1.nc follows)") :]
        assert [line for line in second if line in own][-len(own) :] == own

    def test_after_a_park_of_the_first_nothing_is_raised(self, tmp_path: Path) -> None:
        _, lines, _ = joined(tmp_path, POST.replace("G49\n", "G49\nG53 G0 Z0\n"), POST)
        assert "G21 G90 G0 Z15" not in lines

    def test_the_tool_rises_by_the_machine_between_programs_only_where_one_of_them_does(self, tmp_path: Path) -> None:
        probing = "G21 G90\nT1 M6\nG0 X5 Y5 Z15\nG38.2 Z-1 F300\nM30\n"
        status, lines, _ = joined(tmp_path, probing, POST)
        assert (status, lines[lines.index("(joined: 1.nc follows)") + 1]) == (0, "G90 G53 G0 Z0")
        status, _, err = joined(tmp_path, probing, probing)
        assert status == 2
        assert "0.nc:4:1: how high the tool stands after this motion is not in the program" in err

    def test_overrides_that_the_first_switched_off_are_on_again(self, tmp_path: Path) -> None:
        _, lines, _ = joined(tmp_path, POST.replace("G49\n", "G49\nM49\n"), POST)
        assert "G17 G21 G90 G94 G40 G80 G54 G98 M48" in lines

    def test_path_control_that_would_leak_is_refused_and_said_again_it_is_fine(self, tmp_path: Path) -> None:
        status, _, err = joined(tmp_path, POST.replace("G54\n", "G54\nG64\n"), POST)
        assert status == 2
        assert "1.nc:6:1: " in err
        assert "sets path control (G61, G64), and this motion comes before this program says its own" in err
        both = POST.replace("G54\n", "G54\nG64\n")
        assert joined(tmp_path, both, both)[0] == 0

    def test_a_length_offset_that_would_leak_is_refused(self, tmp_path: Path) -> None:
        on, plain = POST.replace("G49\n", ""), POST.replace(" H1", "").replace("G43 ", "").replace("G49\n", "")
        status, _, err = joined(tmp_path, on, plain)
        assert status == 2
        assert "1.nc:7:1: " in err
        assert "leaves a tool length offset in force (G43)" in err
        assert joined(tmp_path, on, on)[0] == 0

    @pytest.mark.parametrize("line", ["G92 X0", "G10 L2 P1 X3"])
    def test_a_zero_that_the_first_moves_is_refused(self, line: str, tmp_path: Path) -> None:
        status, _, err = joined(tmp_path, POST.replace("G49\n", f"G49\n{line}\n"), POST)
        assert status == 2
        assert "0.nc:12:1: " in err

    def test_programs_without_a_height_are_told_so(self, tmp_path: Path) -> None:
        flat = "G21 G90\nG0 X1\nG1 X5 F90\nM2\n"
        status, _, err = joined(tmp_path, flat, flat)
        assert status == 2
        assert "no program names a height (Z)" in err


class TestSplit:
    def test_each_part_gets_the_whole_head_of_its_tool(self, tmp_path: Path) -> None:
        status, (one, two), _ = parts(tmp_path, CHANGER)
        assert status == 0
        assert one == [*CHANGER.splitlines()[:13], "M30"]
        assert two[:3] == ["G21 G90 G17", "G28 G91 Z0", "G90"]
        # All of it is in part two, with the way to where the tool stood after the change.
        own = ["T2 M6", "G0 X20 Y5", "M3", "G0 X9 Y9", "G43 Z15 H2", "G1 Z-2", "G0 Z15", "M5", "M30"]
        assert two[two.index("T2 M6") :] == own

    def test_a_rise_by_the_machine_that_the_head_does_not_do_is_done_before_the_change(self, tmp_path: Path) -> None:
        text = CHANGER.replace("G28 G91 Z0\n", "", 1)
        _, (_, two), _ = parts(tmp_path, text)
        assert two[two.index("T2 M6") - 2 : two.index("T2 M6") + 2] == ["G91 G28 Z0", "G90", "T2 M6", "G0 X20 Y5"]

    def test_mist_and_flood_path_control_overrides_and_length_offset_are_carried(self, tmp_path: Path) -> None:
        text = CHANGER.replace("G1 Z-1 F300", "M7\nM8\nG61\nM49\nG1 Z-1 F300")
        status, (one, two), _ = parts(tmp_path, text)
        assert status == 0
        assert one[-2:] == ["M9", "M30"]
        assert "G17 G21 G90 G94 G40 G54 G98 G61 G43 H1 M49" in two
        change = two.index("T2 M6")
        assert two[change + 1 : change + 4] == ["G0 X20 Y5", "M7", "M8"]

    @pytest.mark.parametrize(("said", "on"), [("M7", ["M7"]), ("M8", ["M8"]), ("M7\nM9\nM8", ["M8"]), ("M8\nM9", [])])
    def test_each_coolant_is_carried_as_itself(self, said: str, on: list[str], tmp_path: Path) -> None:
        _, (_, two), _ = parts(tmp_path, CHANGER.replace("G1 Z-1 F300", f"{said}\nG1 Z-1 F300"))
        assert [line for line in two if line in ("M7", "M8", "M9")] == on

    def test_a_height_by_numbers_before_the_next_tools_length_offset_is_refused(self, tmp_path: Path) -> None:
        status, _, err = parts(tmp_path, CHANGER.replace("G28 G91 Z0\nG90\nT2", "T2"))
        assert status == 2
        assert "a.nc:15:1: an offset is set after the tool is changed at a height by numbers" in err

    def test_after_another_work_offset_a_height_that_nobody_knows_is_refused(self, tmp_path: Path) -> None:
        status, _, err = parts(tmp_path, CHANGER.replace("G28 G91 Z0\nG90\nT2", "G55\nT2"))
        assert status == 2
        assert "how high the tool stands is not known at this tool change" in err

    def test_a_tool_that_is_selected_long_before_its_change_is_named_in_its_part(self, tmp_path: Path) -> None:
        text = CHANGER.replace("S9000", "T2\nS9000").replace("T2 M6", "M6")
        status, (_, two), _ = parts(tmp_path, text)
        assert status == 0
        assert two.index("T2") < two.index("M6")
