"""`flipreg depth` above a pass: it is left out with the way up from it, as a person would leave it out."""

import pytest

from tests.commands.depths import deepened, refused

START = "G21 G90 G17\nG0 Z15\nX0 Y0\n"
FIRST = "G0 X20 Y30\nZ1\nG1 Z-2.5 F200\nX70 F900\n"
FLOOR = "Z1\nG1 Z-5 F200\nX70 F900\nG0 Z15\nM30\n"
LEFT_OUT = "(pass at Z-2.5 left out: the floor is above it now)\n(pass moved: Z-2, was Z-5)\n"
MOVED = "Z1\nG1 Z-2 F200\nX70 F900\nG0 Z15\nM30\n"


@pytest.mark.parametrize("before", ["", "G0 Z5\n"], ids=["at the height of the start", "lower"])
@pytest.mark.parametrize(
    "way",
    ["G0 Z5\nG0 X20 Y30\n", "G1 Z5\nG0 X20 Y30\n", "G0 X20 Y30 Z5\n", "G0 Z5\nX200\nG0 X20 Y30\n", "G0 Z25\nX20 Y30\n"],
    ids=["rise and way", "fed rise", "slanting", "a way round", "higher"],
)
def test_the_way_up_from_a_pass_that_is_left_out_is_left_out_with_it(before: str, way: str) -> None:
    out = deepened(f"{START}{before}{FIRST}{way}{FLOOR}", "--level", "-5", "--floor", "-2")
    assert out.decode().endswith(f"{START}{before}G0 X20 Y30\n{LEFT_OUT}{MOVED}")


def test_several_passes_are_left_out_with_the_ways_up_from_them() -> None:
    second = "G0 Z5\nG0 X20 Y30\nZ1\nG1 Z-4 F200\nX70 F900\n"
    out = deepened(f"{START}{FIRST}{second}G0 Z6\nG0 X20 Y30\n{FLOOR}", "--floor", "-2").decode()
    comments = LEFT_OUT.replace("(pass moved", "(pass at Z-4 left out: the floor is above it now)\n(pass moved")
    assert out.endswith(f"{START}G0 X20 Y30\n{comments}{MOVED}")


def test_a_pass_that_ends_where_it_starts_is_left_out_with_its_rise_before_a_tool_change() -> None:
    text = f"{START}{FIRST}X20\nG0 Z5\nT2 M6\nG0 X20 Y30\n{FLOOR.replace('G0 Z15', 'X20')}"
    out = deepened(text, "--level", "-5", "--floor", "-2").decode()
    left_out = LEFT_OUT.replace("(pass moved", "T2 M6\n(pass moved")
    assert f"{START}G0 X20 Y30\n{left_out}G0 X20 Y30\nZ1\nG1 Z-2 F200\n" in out


def test_a_pass_that_is_repeated_after_one_left_out_is_led_back_between() -> None:
    out = deepened(f"{START}{FIRST}G0 Z5\nG0 X20 Y30\n{FLOOR}", "--floor", "-2", "--step-down", "1").decode()
    once = "(pass repeated: Z-1, was Z-5)\nZ1\nG1 Z-1 F200\nX70 F900\n"
    assert f"G0 X20 Y30\n{LEFT_OUT.partition('(pass moved')[0]}{once}" in out
    assert out.endswith(f"(pass moved: Z-2, was Z-5)\nG0 Z5\nG0 X20 Y30\nG0 {MOVED}")


@pytest.mark.parametrize(
    ("way", "floor"),
    [
        ("T2 M6\nG0 X20 Y30\n", FLOOR),
        ("G0 X200 Y30\nZ1\nG1 Z-1 F200\nX270 F900\nG0 Z15\nG0 X20 Y30\n", FLOOR),
        ("G0 X70 Y40\nX70 Y30\n", FLOOR.replace("X70", "X20")),
    ],
    ids=["a tool change", "another pocket", "no way back"],
)
def test_a_rise_that_stays_and_would_come_down_elsewhere_is_refused_with_what_helps(way: str, floor: str) -> None:
    text = f"{START}{FIRST}G0 Z5\n{way}{floor}"
    err = refused(text, "--level", "-5", "--floor", "-2")
    says = "8:1: the pass that this line led up from is left out, and from Z15, where the tool stands now, it"
    assert f"{says} would come down to Z5 at another place; let it go up to Z15" in err
    assert b"(pass moved: Z-2" in deepened(text.replace("G0 Z5", "G0 Z15"), "--level", "-5", "--floor", "-2")


def test_a_way_that_would_lead_down_after_a_pass_left_out_is_refused_with_what_helps() -> None:
    text = f"{START}{FIRST}G1 Z5\nG0 X70 Y40\nX70 Y30\n{FLOOR.replace('X70', 'X20')}"
    err = refused(text, "--floor", "-2")
    says = "9:1: from Z15, where the tool stands before this line now, the way to it at Z5 would lead down at another"
    assert f"{says} place; let the program cross to it at Z15" in err
    assert b"(pass moved: Z-2" in deepened(text.replace("G1 Z5", "G1 Z15"), "--floor", "-2")


def test_a_way_that_would_begin_at_a_height_nobody_knows_is_refused() -> None:
    first = "T1 M6\nG54\nG43 H1\nG0 Z25\nX48 Y-52\nZ2\nG1 Z-4 F200\nX78\nX48\nG0 Z25\nG91 G28 Z0\nG90\n"
    second = "T3 M6\nG54\nG43 H3\nG0 Z25\nX28 Y-27\nG1 Z-2 F600\nX58\nG1 Z-4 F300\nX28\nG0 Z25\nM30\n"
    err = refused(f"G21 G90\n{first}{second}", "--level", "-4", "--floor", "-1.8", "--step-down", "1")
    assert "21:1: from a height that nobody knows, where the tool stands before this line now" in err
    assert "ask for a floor that leaves no pass out before it" in err
