"""Faults planted where lines are added, programs joined and taken apart: each has to be stopped by the proof."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

import pytest

import flipreg
from flipreg.errors import ProofError
from flipreg.produce.home import home
from flipreg.produce.join import join
from flipreg.produce.split import split_tools
from flipreg.rewrite.shop.home import HomeSurvey, survey_home, with_lines_added
from flipreg.rewrite.shop.join import Joined, joined_chunks
from flipreg.rewrite.shop.split import ToolProgram, tool_programs
from flipreg.rewrite.shop.standing_alone import Survey
from flipreg.rs274.interpret.whole import Whole
from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.program import Readable
from tests.commands.test_home import AWAY, FLIPPED
from tests.commands.test_join import FINISH, ROUGH
from tests.commands.test_split import TWO

HOME = {
    "no way over zero": ("G0 X0 Y0", "G0 X0 Y1"),
    "too low": ("G0 Z10", "G0 Z9"),
    "a cut": ("G0 X0 Y0", "G1 X0 Y0 F9"),
    "a cut without a feed": ("G90 G0 Z10", "G90 G1 Z10"),
    "a line's word changed": ("X20", "X21"),
    "a line lost": ("Z2\r\n", "\r\n"),
    "a comment changed": ("(cut)", "(cat)"),
    "a motion code that leaks": ("G0 X0 Y0", "G0 X0 Y0 G91"),
    "more than a traverse": ("G0 X0 Y0", "G0 X0 Y0 M3"),
    "nothing legal": ("G0 X0 Y0", "G0 X0 Y0 Y"),
}


@pytest.mark.parametrize("name", HOME)
@pytest.mark.parametrize("occurrence", ["first", "last"])
def test_a_fault_in_what_home_adds_is_stopped(name: str, occurrence: str, monkeypatch: pytest.MonkeyPatch) -> None:
    old, new = (text.encode() for text in HOME[name])
    planted = []

    def forged(program: Readable, survey: HomeSurvey, safe: Decimal) -> Iterator[tuple[Blocks, bytes, list[int]]]:
        for blocks, text, added in with_lines_added(program, survey, safe):
            at = text.find(old) if occurrence == "first" else text.rfind(old)
            planted.append(at >= 0)
            yield blocks, text[:at] + new + text[at + len(old) :], added

    monkeypatch.setattr("flipreg.produce.home.with_lines_added", forged)
    with pytest.raises(ProofError, match="nothing was written"):
        home(flipreg.parse(AWAY), safe_z_mm=Decimal(10))
    assert planted == [True]


ZEROED = {
    "not over zero": ("X0 Y0", "X0 Y1"),
    "where it was": ("X0 Y0", "X50 Y0"),
    "a cut": ("X0 Y0", "G1 X0 Y0"),
    "a word more": ("X0 Y0", "X0 Y0 M8"),
    "a word less": ("X0 Y0", "X0"),
    "a height": ("X0 Y0", "X0 Y0 Z2"),
    "skipped": ("X0 Y0", "/X0 Y0"),
    "no number": ("X0 Y0", "X[1-1] Y0"),
    "another line": ("X30", "X0"),
}


@pytest.mark.parametrize("name", ZEROED)
def test_a_fault_in_a_line_that_leads_over_zero_is_stopped(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    old, new = (text.encode() for text in ZEROED[name])

    def forged(program: Readable, survey: HomeSurvey, safe: Decimal) -> Iterator[tuple[Blocks, bytes, list[int]]]:
        for blocks, text, added in with_lines_added(program, survey, safe):
            assert old in text
            yield blocks, text.replace(old, new, 1), added

    monkeypatch.setattr("flipreg.produce.home.with_lines_added", forged)
    with pytest.raises(ProofError, match="nothing was written"):
        home(flipreg.parse(FLIPPED), safe_z_mm=Decimal(15))


@pytest.mark.parametrize(
    "text",
    {
        "low": FLIPPED.replace("Z15", "Z9"),
        "low on the way on": FLIPPED.replace("X40 Y20", "Z2\nX40 Y20"),
        "an axis that the way on leaves out": FLIPPED.replace("X40 Y20", "Y20"),
        "a cut there": FLIPPED.replace("X40 Y20", "G1 Z-1 F9\nG0 Z15\nX40 Y20"),
        "a stop there": FLIPPED.replace("X40 Y20", "M0\nX40 Y20"),
        "a dwell there": FLIPPED.replace("X40 Y20", "G4 P1\nX40 Y20"),
        "another tool there": FLIPPED.replace("X40 Y20", "T2 M6\nX40 Y20"),
        "another length there": FLIPPED.replace("X40 Y20", "G43 H2\nX40 Y20"),
        "the next cut": FLIPPED.replace("X50 Y0\nX40 Y20", "X40 Y20"),
        "another zero there": FLIPPED.replace("X40 Y20", "G55\nX40 Y20"),
        "a step on": FLIPPED.replace("X40 Y20", "G91 X-10 Y20\nG90"),
        "a step at the end": FLIPPED.replace("X50. Y0", "G91 X20 Y-20\nG90"),
    }.values(),
)
def test_a_place_on_which_something_depends_is_stopped(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def forged(program: Readable, safe: Decimal) -> HomeSurvey:
        survey = survey_home(flipreg.parse(FLIPPED), safe)
        there = next(line for line, words in enumerate(text.splitlines(), 1) if "X50" in words or "X40" in words)
        last = len(text.splitlines()) - 1
        return replace(
            survey, stops=(replace(survey.stops[0], line=there), replace(survey.stops[1], line=last))
        )

    monkeypatch.setattr("flipreg.produce.home.survey_home", forged)
    with pytest.raises(ProofError, match="nothing was written"):
        home(flipreg.parse(text), safe_z_mm=Decimal(15))


@pytest.mark.parametrize("claim", [[], [0, 1], [3, 4], [3, 4, 10, 11, 12]])
def test_a_false_claim_of_added_lines_is_stopped(claim: list[int], monkeypatch: pytest.MonkeyPatch) -> None:
    def forged(program: Readable, survey: HomeSurvey, safe: Decimal) -> Iterator[tuple[Blocks, bytes, list[int]]]:
        for blocks, text, added in with_lines_added(program, survey, safe):
            assert added == [3, 4, 10, 11]
            yield blocks, text, claim

    monkeypatch.setattr("flipreg.produce.home.with_lines_added", forged)
    with pytest.raises(ProofError, match="nothing was written"):
        home(flipreg.parse(AWAY), safe_z_mm=Decimal(10))


JOIN = {
    "the tool not raised": ("G21 G90 G0 Z15\n", "G21 G90\n"),
    "the tool raised too little": ("G0 Z15\nN100", "G0 Z14\nN100"),
    "a way up that goes across": ("G0 Z15\nN100", "G0 Z15 X99\nN100"),
    "a way up that cuts": ("G90 G0 Z15\nN100", "G90 G1 Z15\nN100"),
    "the plane of the program before": ("G17 G21 G90", "G18 G21 G90"),
    "the distance mode of the program before": ("G21 G90 G94", "G21 G91 G94"),
    "another zero": ("G54", "G55"),
    "an end in between": ("M5\nM9", "M2\nM9"),
    "a word that is not told": ("M5\nM9", "M5 T9\nM9"),
    "a feed changed": ("F900", "F901"),
    "a word lost": ("S12000 ", ""),
    "a comment lost": ("; finish", ""),
    "a comment changed": ("(end of roughing)", "(end)"),
    "a motion lost": ("N80 G91 G1 X5 F900", "N80"),
    "a motion added": ("G0 X5 Y5\n", "G0 X5 Y5\nX6\n"),
    "another depth": ("Z-3", "Z-3.01"),
    "two ends": ("M9\nM5\nM2", "M9\nM2\nM5\nM2"),
}


@pytest.mark.parametrize("name", JOIN)
def test_a_fault_in_a_joined_program_is_stopped(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    old, new = (text.encode() for text in JOIN[name])
    planted = []

    def forged(programs: Sequence[Readable], surveys: Sequence[Survey], safe: Decimal) -> Iterator[Joined]:
        for joined in joined_chunks(programs, surveys, safe):
            planted.append(old in joined.text)
            yield replace(joined, text=joined.text.replace(old, new, 1))

    monkeypatch.setattr("flipreg.produce.join.joined_chunks", forged)
    with pytest.raises(ProofError, match="nothing was written"):
        join([flipreg.parse(ROUGH, source="rough.nc"), flipreg.parse(FINISH, source="finish.nc")])
    assert any(planted)


ORDERS: dict[str, Callable[[list[Joined]], list[Joined]]] = {
    "a program lost": lambda parts: parts[:1],
    "more lines claimed to be added": lambda parts: [parts[0], replace(parts[1], added=(*parts[1].added, 5, 6, 7))],
    "fewer lines claimed to be added": lambda parts: [parts[0], replace(parts[1], added=())],
}


@pytest.mark.parametrize("name", ORDERS)
def test_a_false_claim_about_joined_programs_is_stopped(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def forged(programs: Sequence[Readable], surveys: Sequence[Survey], safe: Decimal) -> list[Joined]:
        return ORDERS[name]([part for part in joined_chunks(programs, surveys, safe) if part.text])

    monkeypatch.setattr("flipreg.produce.join.joined_chunks", forged)
    with pytest.raises(ProofError, match="nothing was written"):
        join([flipreg.parse(ROUGH, source="rough.nc"), flipreg.parse(FINISH, source="finish.nc")])


SPLIT = {
    "a feed that was in force lost": ("F600\nS18000\n", "S18000\n"),
    "a speed that was in force lost": ("S18000\n(drill)", "(drill)"),
    "the tool somewhere else": ("G0 X50 Y0", "G0 X51 Y0"),
    "the tool at another height": ("Y0\nG0 Z4", "Y0\nG0 Z3"),
    "another zero": ("G40 G55", "G40 G54"),
    "a tool change lost": ("T3\nM6", "T3\n"),
    "another tool": ("T3\nM6", "T4\nM6"),
    "a hole lost": ("X20\nG80", "G80"),
    "a hole deeper": ("Z-9", "Z-10"),
    "a comment lost": ("(drill)", ""),
    "a coolant that was on lost, and a word with it": ("M8\nM3", "S5\nM3"),
    "an end that is not high": ("G21 G90 G0 Z15\nM5", "G21 G90 G0 Z5\nM5"),
    "a cut before its start": ("G0 X50 Y0", "G1 X50 Y0"),
}


@pytest.mark.parametrize("name", SPLIT)
def test_a_fault_in_a_part_is_stopped(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    old, new = (text.encode() for text in SPLIT[name])
    planted = []

    def forged(whole: Whole, safe: Decimal) -> list[ToolProgram]:
        sections = tool_programs(whole, safe)
        planted.append(any(old in section.text for section in sections))
        return [replace(section, text=section.text.replace(old, new, 1)) for section in sections]

    monkeypatch.setattr("flipreg.produce.split.tool_programs", forged)
    with pytest.raises(ProofError, match="nothing was written"):
        split_tools(flipreg.parse(TWO))
    assert planted == [True]


@pytest.mark.parametrize("forge", [lambda parts: parts[:1], lambda parts: parts[1:], lambda parts: parts[::-1]])
def test_parts_that_are_not_all_of_the_program_are_stopped(
    forge: Callable[[list[ToolProgram]], list[ToolProgram]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("flipreg.produce.split.tool_programs", lambda whole, safe: forge(tool_programs(whole, safe)))
    with pytest.raises(ProofError, match="nothing was written"):
        split_tools(flipreg.parse(TWO))


LENGTH = """\
G21 G90 G17 G94
G54
G43 H1
T1 M6
S9000 M3
G0 Z20
G0 X10 Y10
G1 Z-2 F300
G1 X30 F900
G0 Z20
T2 M6
S12000 M3
X40 Y40
Z2
G1 Z-3 F300
G1 X60
G0 Z20
M5
M30
"""


def test_an_added_way_at_a_height_without_the_length_of_the_tool_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    planted = []

    def forged(whole: Whole, safe: Decimal) -> list[ToolProgram]:
        first, second = tool_programs(whole, safe)
        # The tip is as far above Z20 as the tool is long, and below it where it has gone down without that length.
        text = second.text.replace(b"G98 G43 H1", b"G98 G49").replace(b"G0 X30 Y10\n", b"G0 X30 Y10\nG43 H1\nG0 Z20\n")
        way = text.splitlines().index(b"G0 X30 Y10")
        planted.append(way + 1 in second.added or way in second.added)
        added = (*second.added, way + 1, way + 2)
        return [first, replace(second, text=text, added=added, begun=second.begun + 2)]

    monkeypatch.setattr("flipreg.produce.split.tool_programs", forged)
    with pytest.raises(ProofError, match="numbers that mean another one where this tool cuts"):
        split_tools(flipreg.parse(LENGTH))
    assert planted == [True]


def test_a_part_that_crosses_before_it_rises_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    def forged(whole: Whole, safe: Decimal) -> list[ToolProgram]:
        first, second = tool_programs(whole, safe)
        # The source's own line goes there as well, but from its height, and the part begins at one that nobody knows.
        old = b"G0 Z20\nG0 X30 Y10\nS12000 M3\nG0 X40 Y40\n"
        rise = second.text[: second.text.index(old)].count(b"\n")
        assert {rise, rise + 1} <= set(second.added)
        text = second.text.replace(old, b"S12000 M3\nG0 X40 Y40\nG0 Z20\n")
        added = (*(line for line in second.added if line < rise), rise + 2)
        return [first, replace(second, text=text, added=added, begun=rise + 3)]

    monkeypatch.setattr("flipreg.produce.split.tool_programs", forged)
    with pytest.raises(ProofError, match="would move before it is where the program is"):
        split_tools(flipreg.parse(LENGTH.replace("X40 Y40", "G0 X40 Y40")))
