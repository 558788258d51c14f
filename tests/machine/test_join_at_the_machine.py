"""`join` and `split` on machines with tools of any length: no seam plunges, and no state crosses it or is lost."""

import pytest

from tests.machine.judge_join import judge_join, judge_split
from tests.machine.shops import places
from tests.machine.verbs import Ran, ran

CUT = "G0 X5 Y5\nG43 Z15 H1\nG1 Z-1 F300\nX20\nG0 Z5\n"
POST = f"G21 G90 G17 G94\nT1 M6\nG54\nS12000 M3\n{CUT}"
HEADS = {
    "the tool only": "T1 M6\n",
    "machine zero": "G53 G0 Z0\nT1 M6\nG54\n",
    "reference point": "G28 G91 Z0\nG90\nT1 M6\nG54\n",
}
ENDS = {
    "the length offset goes": "G49\nM5\nM30\n",
    "the spindle only": "M5\nM30\n",
    "machine zero": "G53 G0 Z0\nM5\nM30\n",
    "reference point": "M5\nG91 G28 Z0\nG90\nM30\n",
    "machine zero, and the length offset goes": "M5\nG49 G53 G0 Z0\nM30\n",
}
LEAKS = {
    "override switches": "M49",
    "path control": "G61",
    "an exact stop": "G61.1",
    "an axis offset": "G92 X3",
    "an axis offset of the height": "G92 Z7",
    "coolant": "M7",
    "compensation": "G41 D1 G1 X40 Y40",
    "inverse time": "G93",
}

NOT_TAKEN_OFF = {"path control", "an exact stop", "an axis offset", "an axis offset of the height", "compensation"}
"""What nothing in the joined program takes off: refused."""


def joined(*sources: str) -> Ran:
    return ran(["join", *"ab"[: len(sources)]], **dict(zip("ab", sources, strict=True)))


@pytest.mark.parametrize("end", ENDS.values(), ids=list(ENDS))
@pytest.mark.parametrize("head", HEADS.values(), ids=list(HEADS))
def test_the_tool_rises_between_programs_and_a_program_joins_with_itself(head: str, end: str) -> None:
    source = f"G21 G90 G17 G94\n{head}S12000 M3\n{CUT}{end}"
    found = joined(source, source)
    assert found.status == 0, found.said
    assert judge_join([source, source], found.out["-"], places()) == []


def test_the_tool_rises_between_programs_before_the_length_offset_goes() -> None:
    first, second = f"{POST}G49\nM5\nM30\n", f"{POST.replace('X20', 'X40')}M5\nM30\n"
    found = joined(first, second)
    assert found.status == 0, found.said
    assert judge_join([first, second], found.out["-"], places()) == []


@pytest.mark.parametrize("leak", LEAKS)
def test_nothing_that_the_first_program_leaves_on_is_on_in_the_second(leak: str) -> None:
    first, second = f"{POST}{LEAKS[leak]}\nG0 Z15\nM5\nM30\n", f"{POST}M5\nM30\n"
    found = joined(first, second)
    assert found.status == (2 if leak in NOT_TAKEN_OFF else 0), found.said
    if not found.status:
        assert judge_join([first, second], found.out["-"], places()) == []


HEAD = "G21 G90 G17\n"
FIRST = "T1 M6\nS9000 M3\nG0 Z15\nX0 Y0\nG1 Z-2 F600\nX50\nG0 Z15\n"
SECOND = "T2 M6\nS9000 M3\nG0 Z15\nX9 Y9\nG1 Z-5\nG0 Z15\nM5\nM30\n"


def split(source: str) -> Ran:
    return ran(["split", "a", "--into", "into"], a=source)


@pytest.mark.parametrize(
    "words", ["M7", "M7\nM8", "M8\nM7", "M49", "G61", "G61.1", "G49", "G55", "G93", "M7\nM49\nG61", "G92 X1 Y2", "G99"]
)
def test_a_part_has_every_state_that_its_tool_had(words: str) -> None:
    # Under inverse time each feed has an F of its own.
    first = FIRST.replace("G1 Z-2", f"{words}\nG0 Z15\nG1 Z-2").replace("X50", "X50 F600")
    source = HEAD + first + "M5\n" + SECOND.replace("G1 Z-5", "G1 Z-5 F600")
    found = split(source)
    assert found.status == (2 if words in ("G92 X1 Y2", "G93") else 0), found.said
    if not found.status:
        assert judge_split(source, list(found.out.values()), places()) == []


@pytest.mark.parametrize("up", ["G28 G91 Z0\nG90\n", "G53 G0 Z0\n", "G91 G28 Z0\nG90\n"])
def test_a_program_for_a_tool_changer_is_taken_apart_with_the_whole_head_of_each_tool(up: str) -> None:
    def tool(number: int) -> str:
        return f"{up}T{number} M6\nG54\nS9000 M3\nM8\nG43 H{number}\nG0 Z15\nX5 Y5\nG1 Z-2 F600\nX50\nG0 Z15\nM9\nM5\n"

    source = f"G21 G90 G17 G40\n{tool(1)}{tool(2)}{tool(5)}{up}M30\n"
    found = split(source)
    assert found.status == 0, found.said
    assert judge_split(source, list(found.out.values()), places()) == []


def test_a_part_after_another_work_offset_starts_at_no_height_that_nobody_knows() -> None:
    source = HEAD + FIRST + "M5\nG55\n" + SECOND.replace("G0 Z15\nX9", "G0 X9", 1)
    found = split(source)
    assert (found.status, found.out) == (2, {"-": ""})
    assert "how high the tool stands is not known at this tool change" in found.said
