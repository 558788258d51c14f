"""`flipreg depth`: levels as asked, XY as it was, nothing deeper than asked; what would be a guess is refused."""

from pathlib import Path

import numpy as np
import pytest

from tests.commands.command import run
from tests.commands.depths import (
    BY_HELIX,
    DRILLED,
    POCKET,
    RASTER,
    TABBED,
    deepened,
    flat_levels,
    lowest,
    points_at,
    refused,
)
from tests.motions import length, motions


def test_a_pocket_measured_with_a_caliper_gets_its_floor() -> None:
    out = deepened(POCKET, "--floor", "-15.62")
    assert flat_levels(out) == [-5, -10, -15.62]
    assert points_at(out, -15.62) == points_at(POCKET, -16)
    assert lowest(out) == -15.62


def test_only_the_floors_word_changes_when_the_passes_stay() -> None:
    out = deepened(POCKET, "--floor", "-15.62").decode().splitlines()
    kept = [line for line in out if line not in POCKET.splitlines()]
    assert kept[-2:] == ["(pass moved: Z-15.62, was Z-16)", "N240 G1 Z-15.62 F600 (floor)"]
    assert len(kept) == 6
    assert [line for line in POCKET.splitlines() if line not in out] == ["N240 G1 Z-16 F600 (floor)"]


def test_measured_and_planned_thickness_say_the_same() -> None:
    assert deepened(POCKET, "--measured", "15.62", "--planned", "16") == deepened(POCKET, "--floor", "-15.62")


def test_a_part_planned_to_stand_proud_stands_proud_by_as_much() -> None:
    """Planned: 20 thick in a pocket 16 deep, 4 proud. Measured 19.5, so 15.5 deep."""
    assert flat_levels(deepened(POCKET, "--measured", "19.5", "--planned", "20"))[-1] == -15.5


def test_the_height_it_stands_proud_can_be_named() -> None:
    assert flat_levels(deepened(POCKET, "--measured", "15.62", "--proud", "0.4"))[-1] == -15.22


def test_a_step_down_over_the_limit_is_split_evenly() -> None:
    out = deepened(POCKET, "--floor", "-15.62", "--step-down", "3")
    assert flat_levels(out) == [-5, -10, -12.81, -15.62]
    assert points_at(out, -12.81) == points_at(POCKET, -16)


def test_no_step_down_exceeds_the_limit_though_levels_are_rounded() -> None:
    levels = flat_levels(deepened(POCKET, "--floor", "-20", "--step-down", "3.33334"))
    assert levels == [-5, -10, -13.33334, -16.66668, -20]


def test_passes_below_the_floor_are_left_out_and_their_comments_kept() -> None:
    out = deepened(POCKET, "--floor", "-7.5")
    assert flat_levels(out) == [-5, -7.5]
    assert b"(LEVEL 2)" in out
    assert b"(pass at Z-10 left out: the floor is above it now)" in out
    assert points_at(out, -7.5) == points_at(POCKET, -16)


def test_a_floor_above_every_pass_leaves_one() -> None:
    assert flat_levels(deepened(POCKET, "--floor", "-4")) == [-4]


def test_repeated_passes_have_no_line_numbers_twice() -> None:
    out = deepened(POCKET, "--floor", "-25").decode()
    numbers = [line.split()[0] for line in out.splitlines() if line.startswith("N")]
    assert len(numbers) == len(set(numbers)) == 33
    assert "\nX50\n" in out


def test_a_pass_that_ends_the_file_without_a_line_end_is_repeated_on_lines_of_its_own() -> None:
    text = "G21 G90\nG0 X0 Y0 Z5\nG1 Z-2 F300\nX9\nG0 Z5\nX0\nG1 Z-4\nX9"
    out = deepened(text, "--floor", "-6")
    assert out.endswith(b"\nX9\n(pass moved: Z-6, was Z-4)\nG0 Z5\nX0\nG1 Z-6\nX9")
    assert flat_levels(out) == [-2, -4, -6]
    assert deepened(text.replace("\n", "\r"), "--floor", "-6") == out.replace(b"\n", b"\r")


def test_the_feed_of_a_repeated_pass_is_the_feed_of_its_source() -> None:
    """The pass takes its feed from the block before it; a copy has to be told."""
    text = "G21 G90\nG0 X0 Y0 Z5\nF500\nG1 Z-2\nX30 F900\nX0\nG0 Z5\nM2\n"
    path = motions(deepened(text, "--floor", "-4", "--step-down", "2"))
    assert path.feed_mm_per_min[path.is_cut].tolist() == [500, 900, 900, 500, 900, 900]
    assert flat_levels(text) == [-2]


def test_helices_keep_their_angle_going_up() -> None:
    out = motions(deepened(BY_HELIX, "--floor", "-8.62"))
    helices = out.is_arc & (out.start[:, 2] != out.end[:, 2])
    assert out.end[helices, 2].tolist() == [-3, -6, -8.62]
    np.testing.assert_allclose(out.start[helices, 2], [0, -3, -5.62], atol=1e-9)
    np.testing.assert_allclose(length(out)[helices], length(motions(BY_HELIX))[[4, 10, 16]], rtol=1e-12)


def test_a_deeper_floor_gets_another_pass_so_that_helices_keep_their_angle() -> None:
    out = motions(deepened(BY_HELIX, "--floor", "-9.5"))
    helices = out.is_arc & (out.start[:, 2] != out.end[:, 2])
    assert out.end[helices, 2].tolist() == [-3, -6, -7.75, -9.5]
    assert (out.start[helices, 2] - out.end[helices, 2]).round(9).tolist() == [3, 3, 3, 3]


def test_a_helix_that_would_have_to_be_steeper_is_refused_with_its_line() -> None:
    err = refused(BY_HELIX, "--floor", "-9.5", "--step-down", "4")
    assert err.startswith("<stdin>:18:1: this ramp drops 3 mm to its level; from Z-6 down to the new one")


def test_a_traverse_into_what_is_not_cut_any_more_is_moved_with_its_pass() -> None:
    """Without the pass at -6 the traverse to -5 would stand in wood."""
    out = motions(deepened(BY_HELIX, "--floor", "-5.5"))
    assert out.end[out.is_cut & (out.end[:, 2] < -3), 2].tolist() == [-5.5, -5.5]
    assert out.end[~out.is_cut, 2].tolist() == [15, 15, 1, 15, 15, -1.5, 15]


def test_a_tab_keeps_its_top() -> None:
    out = deepened(TABBED, "--floor", "-6.4", "--step-down", "4")
    assert flat_levels(out) == [-3, -6.4, -4.5]
    assert points_at(out, -4.5) == points_at(TABBED, -4.5) == [(25, 0)]
    assert lowest(out) == -6.4


def test_a_repeated_pass_above_the_top_of_a_tab_does_not_go_down_to_it() -> None:
    out = deepened(TABBED, "--floor", "-7", "--step-down", "1.5")
    assert flat_levels(out) == [-3, -4.3333, -5.6666, -4.5, -7]
    heights = motions(out).end[:, 2].tolist()
    assert min(heights[: heights.index(-5.6666)]) == -4.3333


def test_a_floor_above_a_tab_is_refused() -> None:
    err = refused(TABBED, "--floor", "-4.2")
    assert err.startswith("<stdin>:10:1: moving the floor from Z-6 to Z-4.2 would cross the level Z-4.5")


def test_lines_of_a_raster_are_moved_together_and_inches_are_never_deeper() -> None:
    out = deepened(RASTER, "--floor", "-5", "--step-down", "0.1in")
    assert [round(z / 25.4, 5) for z in flat_levels(out)] == [-0.1, -0.19685]
    assert lowest(out) >= -5
    assert lowest(out) == pytest.approx(-5, abs=0.0003)


def test_remarks_in_a_program_in_inches_give_heights_as_the_lines_beside_them_do() -> None:
    out = deepened(RASTER, "--floor", "-5", "--step-down", "0.1in").decode()
    assert "(pass moved: Z-0.19685 in, was Z-0.2 in)\n" in out
    assert "Z-.19685 F20\n" in out.replace("-0.", "-.")


def test_messages_about_a_program_in_inches_give_heights_with_their_unit() -> None:
    err = refused(RASTER, "--level", "-2", "--floor", "-4")
    assert "Z-2 mm is no floor of this program; its floors are Z-5.08 mm" in err


def test_a_whole_raster_is_repeated_before_its_floor() -> None:
    path = motions(deepened(RASTER, "--floor", "-0.35in", "--step-down", "0.15in"))
    across = path.is_cut & (path.start[:, 0] != path.end[:, 0])
    found = [(round(y / 25.4, 4), round(z / 25.4, 4)) for _, y, z in path.end[across].tolist()]
    assert found == [(0, -0.1), (0.2, -0.1), (0, -0.225), (0.2, -0.225), (0, -0.35), (0.2, -0.35)]


def test_holes_get_their_new_bottom_and_the_spots_stay() -> None:
    path = motions(deepened(DRILLED, "--level", "-12", "--floor", "-13.5"))
    drilled = path.take(np.flatnonzero(path.cycle == 83))
    assert drilled.end[:, 2].min() == -13.5
    assert drilled.end[drilled.end[:, 2] == -13.5, :2].tolist() == [[0, 0], [20, 0], [40, 5]]
    assert path.end[path.cycle == 81, 2].min() == -1.5


def test_a_helix_that_ends_at_the_floor_and_stays_there_is_told() -> None:
    helix = "G0 X60\nG1 Z0 F300\nG3 X60 Z-12 I-2\nG0 Z15\n"
    _, out, err = run(["depth", "-", "--level", "-12", "--floor", "-11"], DRILLED.replace("M2", f"{helix}M2").encode())
    assert motions(out).end[:, 2].min() == -12
    assert "3 holes with the new bottom\nline 13 goes down to Z-12 too, in no pass and no hole, and stays\n" in err


def test_several_floors_have_to_be_told_apart() -> None:
    err = refused(DRILLED, "--floor", "-13")
    assert err.startswith(
        "<stdin>:6:1: several floors: Z-12 (line 6), Z-1.5 (line 3); say which one is meant with --level"
    )


def test_a_level_that_is_no_floor_is_refused_with_the_floors_there_are() -> None:
    err = refused(POCKET, "--level", "-10", "--floor", "-11")
    assert "Z-10 is no floor of this program; its floors are Z-16 (line 29)" in err


def _carved(*, after: str = "") -> str:
    """Return rows over a round surface, each with a level stretch in its middle."""
    heights = [-1.0, -2.0, -2.6, -3.0, -3.0, -2.6, -2.0, -1.0]
    rows = [f"G0 X0 Y{y}\nG1 Z-1 F300\n" + _row(heights) + "G0 Z5\n" for y in (0, 5)]
    return f"G21 G90 G17 G94\nS9000 M3\nG0 Z5\n{''.join(rows)}{after}M2\n"


def _row(heights: list[float]) -> str:
    rising = [*heights, *(round(height + 0.05, 2) for height in heights)]
    return "".join(f"X{3 * number} Z{height}\n" for number, height in enumerate(rising))


def test_a_carved_surface_has_no_floor_and_what_moves_it_is_told() -> None:
    err = refused(_carved(), "--floor", "-4")
    assert "this program carves a surface, which goes up and down and has no floor to move; flipreg shift" in err
    shifted = run(["shift", "-", "--by", "0,0,-1"], _carved().encode())[1]
    assert lowest(shifted) == lowest(_carved()) - 1


def test_a_pocket_beside_a_carved_surface_has_the_only_floor() -> None:
    pocket = "G0 X60 Y0\nG1 Z-6 F300\nX80\nY20\nX60\nG0 Z5\n"
    out = deepened(_carved(after=pocket), "--floor", "-7")
    assert lowest(out) == -7
    err = refused(_carved(after=pocket), "--level", "-3", "--floor", "-4")
    assert "Z-3 is no floor but a height of a carved surface, which goes up and down; the floors of this pro" in err
    assert "are Z-6 (line" in err


def test_a_change_across_another_floor_is_refused_with_its_line() -> None:
    err = refused(DRILLED, "--level", "-12", "--floor", "-1")
    assert err.startswith("<stdin>:3:1: moving the floor from Z-12 to Z-1 would cross the floor at Z-1.5")


@pytest.mark.parametrize(
    ("text", "options", "start"),
    {
        "increments": (
            "G21 G90\nG0 X0 Y0 Z5\nG91\nG1 Z-7 F300\nX9\nG0 Z7\nM2\n",
            ["--floor", "-1.5"],
            "4:4: a depth in increments (G91) is not moved",
        ),
        "numbers that an axis offset has changed": (
            "G21 G90\nG0 X0 Y0 Z5\nG92 Z6\nG1 Z-1 F300\nX9\nG0 Z6\nM2\n",
            ["--floor", "-1.5"],
            "4:4: a depth in numbers that G92 has changed is not moved\n",
        ),
        "an expression": (
            "G21 G90\n#1=-2\nG0 X0 Y0 Z5\nG1 Z#1 F300\nX9\nG0 Z5\nM2\n",
            ["--floor", "-3", "--step-down", "3"],
            "4:4: a depth that is a parameter or an expression is not moved",
        ),
        "a ramp between tab and floor": (
            TABBED.replace("Z-4.5\nX25\nZ-6 F300", "X16 Z-4.5\nX24\nX25 Z-6 F300"),
            ["--floor", "-6.4"],
            "11:1: a ramp inside the pass would change its angle",
        ),
        "a tool change inside a repeated pass": (
            POCKET.replace("N250 F2400", "N250 F2400 S9000"),
            ["--floor", "-25"],
            "30:12: a pass that has to be repeated holds S9000",
        ),
        "a pass that starts where the one before ends": (
            "G21 G90\nG0 X0 Y0 Z5\nG1 Z-2 F300\nX9\nG1 Z-4\nX0\nG0 Z5\nM2\n",
            ["--floor", "-6"],
            "5:1: this line does not name X",
        ),
        "no level at all": ("G21 G90\nG0 X0 Y0 Z5\nG1 X5 Z-1 F300\nX9 Z0\nM2\n", ["--floor", "-3"], "1:1: nothing is"),
        "above the wood": (POCKET, ["--floor", "0.5"], "29:1: a floor at Z0.5 is not below the surface at Z0"),
        "a hole above its R level": (
            DRILLED.replace("R2 Q4", "R-5 Q4"),
            ["--level", "-12", "--floor", "-4"],
            "6:1: a bottom at Z-4 would not be below the hole's R level Z-5",
        ),
        "no step-down in the program": (
            "G21 G90\nG0 Z5\nX0 Y0\nG1 Z0 F90\nX40 Z-2\nG0 Z5\nX0\nG1 Z-2\nX40\nG0 Z5\nM2\n",
            ["--floor", "-3"],
            "9:1: the program takes no step-down here; say how large one may be with --step-down\n",
        ),
        "a slip of the finger": (
            POCKET,
            ["--floor", "-20", "--step-down", "0.005"],
            "31:1: a step-down of 0.005 mm would make 2000 passes here: is it meant?\n",
        ),
        "a word between passes that are left out": (
            POCKET.replace("N130 G0 Z15", "M8\nN130 G0 Z15"),
            ["--floor", "-4"],
            "16:1: words between passes that are left out; put them inside of a pass, or above the first\n",
        ),
    }.values(),
)
def test_what_would_be_a_guess_is_refused_with_its_line(text: str, options: list[str], start: str) -> None:
    assert refused(text, *options).startswith(f"<stdin>:{start}")


def test_a_file_is_replaced_in_one_step_and_not_touched_by_a_refusal(tmp_path: Path) -> None:
    file = tmp_path / "pocket.nc"
    file.write_text(POCKET)
    assert run(["depth", str(file), "--floor", "1", "-o", str(file)])[0] == 2
    assert file.read_text() == POCKET
    assert run(["depth", str(file), "--floor", "-15.62", "-o", str(file)])[0] == 0
    assert flat_levels(file.read_bytes()) == [-5, -10, -15.62]
    assert list(tmp_path.iterdir()) == [file]


@pytest.mark.parametrize(
    "options",
    [["--measured", "15"], ["--floor", "-3", "--planned", "16"], ["--floor", "-3", "--step-down", "0"], []],
)
def test_arguments_that_do_not_go_together_are_told(options: list[str]) -> None:
    status, out, err = run(["depth", "-", *options], POCKET.encode())
    assert (status, out) == (2, b"")
    assert err


SLOT = """\
G21 G90 G17
G0 Z15
X-11 Y-41
Z2
G1 Z-3 F300
X19 F900
G1 Z-6 F300
X-11 F900
G0 Z15
M2
"""
"""Run to and fro: the second pass starts where the first one ended."""


def test_a_slot_run_to_and_fro_is_led_back_to_its_start_at_the_height_of_the_last_traverse() -> None:
    status, out, err = run(["depth", "-", "--floor", "-8"], SLOT.encode())
    assert status == 0, err
    way = b"G0 Z15\nG0 X19 Y-41\nG1 Z-8 F300\nX-11 F900\n"
    assert out.endswith(b"G1 Z-5.5 F300\nX-11 F900\n(pass moved: Z-8, was Z-6)\n" + way + b"G0 Z15\nM2\n")
    assert "a way was put before 1 pass" in err


def test_a_floor_above_a_pass_of_a_slot_leaves_out_the_way_there_for_the_way_back() -> None:
    status, out, err = run(["depth", "-", "--floor", "-2"], SLOT.encode())
    assert status == 0, err
    assert b"(pass at Z-3 left out: the floor is above it now)\n(pass moved" in out
    assert b"was Z-6)\nG0 Z15\nG0 X19 Y-41\nG1 Z-2 F300\nX-11 F900\n" in out


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("G0 Z15\nX-11 Y-41\nZ2", "G0 X-11 Y-41\nZ2"),
        ("G0 Z15\nX-11 Y-41\nZ2", "G0 Z-1\nX-11 Y-41\nZ2"),
        ("G1 Z-3", "G43 H2\nG1 Z-3"),
        ("Z2\n", "Z2\nG92 X0\n"),
        ("Z2\n", "G53 G0 Z0\nG0 Z2\n"),
    ],
    ids=["no height known", "below the surface", "another length offset", "an axis offset", "a machine position"],
)
def test_no_way_back_is_made_up(old: str, new: str) -> None:
    status, out, err = run(["depth", "-", "--floor", "-8"], SLOT.replace(old, new).encode())
    assert (status, out) == (2, b"")
    assert "does not name X" in err


FED_OUT = """\
G21 G90 G17
G0 Z5
X0 Y0
G1 Z-3 F300
X20 F900
G1 Z5
G0 X20 Y0
G1 Z-6 F300
X0 F900
G0 Z5
M2
"""
"""The way out of a pass is fed, and the next pass names where the tool stands already."""


@pytest.mark.parametrize("height", ["5", "2"])
@pytest.mark.parametrize(("to", "back"), [("20", "0"), ("0", "20")])
def test_a_pass_that_begins_with_a_traverse_without_z_is_led_up_to_its_height(to: str, back: str, height: str) -> None:
    """To where the tool stands, and from there."""
    text = FED_OUT.replace("G1 Z5", f"G1 Z{height}").replace("G0 X20", f"G0 X{to}").replace("X0 F900", f"X{back} F900")
    up = f"X{back} F900\n(pass moved: Z-8, was Z-6)\nG0 Z{height}\nG0 X{to} Y0\nG1 Z-8 F300\nX{back} F900\nG0 Z5\nM2\n"
    assert up.encode() in deepened(text, "--floor", "-8")


@pytest.mark.parametrize("floor", ["-1.8", "-2.5", "-8"])
def test_a_traverse_that_goes_nowhere_does_so_at_any_height(floor: str) -> None:
    """The next pass names the place again where the pass before left the tool, in the wood."""
    text = f"{FED_OUT}".replace("G1 Z5\n", "").replace("G0 X20 Y0\n", "G0 X20 Y0\nZ2\n")
    out = deepened(text, "--floor", floor)
    assert b"G0 X20 Y0\nZ2\nG1 Z" in out


def test_a_traverse_across_from_another_place_is_led_up_out_of_the_wood_first() -> None:
    """All of it is named, so that it would be a slant through the slot where its pass is repeated."""
    text = FED_OUT.replace("G1 Z5\nG0 X20 Y0\n", "G0 X20 Y0 Z-3\nZ2\n")
    moved = b"(pass moved: Z-8, was Z-6)\nG0 Z5\nG0 X20 Y0\nG0 X20 Y0 Z-3\nZ2\nG1 Z-8 F300\n"
    assert moved in deepened(text, "--floor", "-8")
    text = text.replace("G0 Z5\nX0 Y0", "G0 X0 Y0 Z5")
    assert "<stdin>:5:1: this traverse would begin at another place, in the wood" in refused(text, "--floor", "-8")


def test_the_first_traverse_starts_from_a_place_that_nobody_knows_and_then_from_one_in_the_wood() -> None:
    out = deepened("G21 G90\nG0 X4 Y14 Z15\nG0 X-44 Y10\nG1 Z-4 F300\nX-24\n", "--floor", "-5", "--step-down", "4")
    assert out.count(b"G0 X4 Y14 Z15\n") == 2
    assert b"X-24\n(pass moved: Z-5, was Z-4)\nG0 Z15\nG0 X4 Y14 Z15\n" in out


def test_the_way_up_leads_as_high_as_the_program_goes_itself_for_it_came_down_to_its_traverse() -> None:
    text = "G21 G90\nG0 X4 Y14 Z0.5\nG1 Z-4 F300\nX-24\nY50\nX4\nG0 Z30\nM2\n"
    out = deepened(text, "--floor", "-5", "--step-down", "4")
    assert b"(pass moved: Z-5, was Z-4)\nG0 Z30\nG0 X4 Y14 Z0.5\nG1 Z-5 F300\n" in out


@pytest.mark.parametrize(
    ("traverse", "line", "says"),
    [
        ("G55 G0 X4 Y14 Z15", 2, "this pass needs another work offset"),
        ("G43 H2 G0 X4 Y14 Z15", 3, "this line does not name X"),
        ("T2 M6 G0 X4 Y14 Z15", 3, "this line does not name X"),
        ("G91 G0 X4 Y14 Z15", 3, "this pass needs another incremental"),
        ("G0 X4 Y14 Z-1", 2, "this traverse would begin at another place, in the wood"),
    ],
)
def test_no_way_up_is_added_where_its_number_may_mean_another_height(traverse: str, line: int, says: str) -> None:
    err = refused(f"G21 G90\n{traverse}\nG90 G1 Z-4 F300\nX-24\n", "--floor", "-5", "--step-down", "4")
    assert f"<stdin>:{line}:1: {says}" in err


def test_a_pass_that_goes_on_at_the_level_of_the_one_before_is_refused() -> None:
    low = FED_OUT.replace("G1 Z5\nG0 X20", "G1 Z-1\nG0 X0").replace("X0 F900", "X20 F900")
    assert "<stdin>:7:1: this line does not name Z" in refused(low, "--level", "-6", "--floor", "-8")


SECOND_TOOL = """\
G21 G90 G17
T1 M6
M3 S9000
G0 G43 H1 Z15
X0 Y0
G1 Z-2 F300
X30 F900
G0 Z15
M9
M5
G53 G0 Z0
T2 M6
M3 S18000
G54
G0 G43 H2 Z15
M8
X50 Y0
Z2
G1 Z-3 F300
X80 F900
X50
G0 Z15
M30
"""
"""The way to a pass holds the change to its tool."""


def test_a_pass_after_a_tool_change_is_repeated_without_the_change() -> None:
    out = deepened(SECOND_TOOL, "--level", "-3", "--floor", "-5")
    repeated = "(pass repeated: Z-2.5, was Z-3)\nX50 Y0\nZ2\nG1 Z-2.5 F300\nX80 F900\nX50\n"
    moved = "(pass moved: Z-5, was Z-3)\nG0 Z15\nG0 X50 Y0\nZ2\nG1 Z-5 F300\nX80 F900\nX50\nG0 Z15\nM30\n"
    assert out.endswith((f"M8\n{repeated}{moved}").encode())
    # Coolant that is named where the tool is low, or fed, stays a part of the pass.
    for low in (SECOND_TOOL.replace("Z2\n", "Z-1\nM7\n"), SECOND_TOOL.replace("X80 F900", "X80 F900 M7")):
        assert "a pass that has to be repeated holds M" in refused(low, "--level", "-3", "--floor", "-5")


def test_path_control_on_the_way_to_a_pass_that_is_left_out_stays() -> None:
    passes = "G0 Z5\nG61\nX9\nG1 Z-2\nX30\nG0 Z5\nX9\nG1 Z-4\nX30\nG0 Z5\nM2\n"
    text = f"G21 G90\nG0 X0 Y0 Z5\nG1 Z-1 F300\nX4\n{passes}"
    out = deepened(text, "--level", "-4", "--floor", "-1.8")
    assert b"G61\nX9\n(pass at Z-2 left out: the floor is above it now)\n" in out
    within = text.replace("G1 Z-2\n", "G1 Z-2 G61\n")
    assert "a pass that has to be dropped holds G61" in refused(within, "--level", "-4", "--floor", "-1.8")


def test_a_pass_after_a_tool_change_is_left_out_without_the_change() -> None:
    passes = "G1 Z-3 F300\nX80 F900\nX50\nG0 Z15\nX50 Y0\nG1 Z-4\nX80 F900\nX50\n"
    text = SECOND_TOOL.replace("G1 Z-3 F300\nX80 F900\nX50\n", passes).replace("Z-2", "Z-.5")
    out = deepened(text, "--level", "-4", "--floor", "-1")
    left_out = b"(pass at Z-3 left out: the floor is above it now)\n(pass moved: Z-1, was Z-4)\n"
    assert out.endswith(b"M8\nX50 Y0\n" + left_out + b"X50 Y0\nG1 Z-1\nX80 F900\nX50\nG0 Z15\nM30\n")


TABS = """\
G21 G90 G17
G0 Z10
X0 Y0
G1 Z-2.5 F300
X40 F900
Y30
X0
Y0
G0 Z10
X0 Y0
G1 Z-5 F300
X40 F900
Y10
G0 Z-3
G1 Y15
Z-5
Y30
X0
Y0
G0 Z10
M2
"""


def test_a_tab_crossed_by_a_traverse_straight_up_is_a_part_of_its_pass() -> None:
    status, out, err = run(["depth", "-", "--floor", "-8"], TABS.encode())
    assert status == 0, err
    assert "levels now Z-2.5, Z-4.3333, Z-6.1666, Z-8" in err
    assert out.count(b"G0 Z-3\nG1 Y15\n") == 3


def test_above_the_top_of_such_a_tab_the_traverse_stays_at_the_level() -> None:
    status, out, err = run(["depth", "-", "--floor", "-5.5", "--step-down", "1"], TABS.replace("Z-2.5", "Z-1").encode())
    assert status == 0, err
    assert b"Y10\nG0 Z-1.9\nG1 Y15\nZ-1.9\n" in out
    assert b"Y10\nG0 Z-3\nG1 Y15\nZ-5.5\n" in out


def test_a_traverse_into_the_wood_after_a_tab_is_refused_with_its_line() -> None:
    err = refused(TABS.replace("Y15\nZ-5", "Y15\nG0 Z-4.9\nG1 Z-5"), "--floor", "-8")
    message = "this traverse goes down to Z-4.3333, below the level above, which is Z-2.5 now"
    assert err.startswith(f"<stdin>:16:1: {message}\n")


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize(
    ("text", "line", "letter"),
    [
        ("G1 Z-2 F1200\n", 1, "X"),
        ("G21 G90\nG0 Z25\nG1 Z-2 F1200\nG0 Z5\nM2\n", 3, "X"),
        ("G21 G90\nG0 Z5\nX4\nG1 Z-2 F300\nX9\nG0 Z5\nM2\n", 4, "Y"),
        ("G21 G90\nG0 Z5\nG1 Z-2 F300\nY9\nG0 Z5\nM2\n", 3, "X"),
        ("G21 G90\nG1 X3 F300\nZ-2\nX9\nY3\nX3\nM2\n", 2, "Y"),
        ("G21 G90\nG0 Z5\nX3\nG81 Z-2 R1 F90\nM2\n", 4, "Y"),
    ],
)
def test_a_cut_that_nobody_knows_the_place_of_is_refused(text: str, line: int, letter: str) -> None:
    status, out, err = run(["depth", "-", "--level", "-2", "--floor", "-3"], text.encode())
    assert (status, out) == (2, b"")
    assert f":{line}:1: {letter} is not known where this line cuts; name X and Y in a line before it\n" in err


def test_the_way_to_the_first_cut_may_be_fed_from_anywhere() -> None:
    text = "G21 G90\nG1 X3 Y0 Z5 F900\nZ-2 F300\nX9\nG0 Z5\nM2\n"
    status, out, err = run(["depth", "-", "--floor", "-1.5"], text.encode())
    assert status == 0, err
    assert b"\nG1 X3 Y0 Z5 F900\nZ-1.5 F300\nX9\n" in out


@pytest.mark.parametrize("home", ["G91 G28 Z-1", "G91 G28 Z1", "G91\nG0 Z7", "G91\nG43 Z1\nG0 Z7"])
@pytest.mark.parametrize("floor", ["-3", "-1"])
def test_a_step_up_from_the_level_of_a_moved_pass_is_refused(home: str, floor: str) -> None:
    text = f"G21 G90\nG0 X0 Y0 Z5\nG1 Z-2 F300\nX9\n{home}\nG90\nG0 X3\nM2\n"
    status, out, err = run(["depth", "-", "--floor", floor, "--step-down", "5"], text.encode())
    assert (status, out) == (2, b"")
    line = 5 + home.count("\n")
    what = f"this line moves Z in increments (G91) from the level of the pass before it, which is Z{floor} now"
    assert f":{line}:1: {what}" in err


def test_a_step_of_nothing_on_the_way_home_is_no_step() -> None:
    text = "G21 G90\nG0 X0 Y0 Z5\nG1 Z-2 F300\nX9\nG91 G28 Z0\nG90\nG0 X3\nM2\n"
    status, out, err = run(["depth", "-", "--floor", "-3", "--step-down", "5"], text.encode())
    assert status == 0, err
    assert b"G1 Z-3 F300\nX9\nG91 G28 Z0\n" in out


def test_a_floor_that_is_there_already_is_cut_as_the_program_cuts_it() -> None:
    """The second slot begins where the first one ended, and bites a millimetre there and six elsewhere."""
    text = "G21 G90\nG0 X13 Y58\nZ2\nX41 Y59\nG1 Z-5 F300\nG1 X31 Y59\nZ-6\nX11 Y59\nG0 Z5\nM2\n"
    status, out, err = run(["depth", "-", "--level", "-6", "--floor", "-6"], text.encode())
    assert (status, out) == (0, text.encode())
    assert "nothing to change" in err
