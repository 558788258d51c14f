"""Programs that change tools: every stretch cuts with its own."""

from collections.abc import Mapping
from dataclasses import replace

import pytest

from flipreg import ProgramError, RefusedError, check, face_program, parse
from flipreg.findings import Status
from flipreg.job.job import Job
from flipreg.job.limits import Limits
from flipreg.job.problem import JobFileError
from flipreg.job.tool import Tool, ToolShape
from tests.stock.wood_jobs import HEAD, TAIL, TOOLS, checked, part, profile, said

WIDE = Tool("24 flat", ToolShape.FLAT, 24.0, plunge=True)

SLOT_AND_SINK = f"""{HEAD}G0 X-20 Y-30
G1 Z-6 F300
Y-10 F900
G0 Z5
T3 M6
S9000 M3
G0 X10 Y10
G1 Z-12 F300
X14 F900
{TAIL}"""
"""A slot of the first tool, and a recess of the second, whose rim reaches 24 / 2 mm round its way."""

FROM_BEHIND = f"{HEAD}G0 X-22 Y10\nG1 Z-7 F300\nX-22.5 F900\n{TAIL}"
"""A recess at X 22 of the front, beside the way of the front's wide tool."""


def job(programs: Mapping[str, tuple[str, str]], tools: Mapping[int, str], *, plain: str | None = None) -> Job:
    """Return a job whose front programs have their tools by T number."""
    made = part(programs, limits=Limits(least_web_mm=2.0))
    front = made.setups[0]
    mapped = tuple(replace(one, tool=plain, tools=tools) for one in front.programs)
    return replace(made, tools=(*TOOLS, WIDE), setups=(replace(front, programs=mapped), *made.setups[1:]))


BOTH = {"front-sink": ("6 flat", SLOT_AND_SINK), "back-hole": ("6 flat", FROM_BEHIND)}


def test_the_web_beside_the_way_of_the_second_tool_is_seen() -> None:
    report = checked(job(BOTH, {1: "6 flat", 3: "24 flat"}), BOTH)
    (web,) = said(report, "web")
    assert (web.status, "thinnest web is 1.00 mm" in web.message) == (Status.FAIL, True)
    narrow = checked(job(BOTH, {1: "6 flat", 3: "6 flat"}), BOTH)
    (web,) = said(narrow, "web")
    assert "thinnest web is 8.00 mm" in web.message


def test_contours_of_the_second_tool_are_compared_with_those_of_the_other_face() -> None:
    ring = profile(12.0, 12.0, -10.5).removeprefix(HEAD).removesuffix(TAIL)
    frame = profile(24.0, 26.0, -10.5).removeprefix(HEAD).removesuffix(TAIL)
    changing = f"{HEAD}{frame}G0 Z5\nT3 M6\nS9000 M3\n{ring}{TAIL}"
    programs = {"front-rings": ("6 flat", changing), "back-rings": ("6 flat", f"{HEAD}{frame}G0 Z5\n{ring}{TAIL}")}
    report = checked(job(programs, {1: "6 flat", 3: "6 flat"}), programs, compares=True)
    assert "2 outlines" in said(report, "register")[0].message


def test_numbers_of_the_tools_themselves_do_as_well() -> None:
    made = job(BOTH, {})
    numbered = tuple(
        replace(tool, number={"6 flat": 1, "24 flat": 3}.get(tool.name)) for tool in made.tools
    )
    (web,) = said(checked(replace(made, tools=numbered), BOTH), "web")
    assert "thinnest web is 1.00 mm" in web.message


def test_a_t_number_that_nothing_stands_for_is_an_error_at_its_line() -> None:
    with pytest.raises(ProgramError, match=r"front-sink:8:1: .*T3.*\$\.setups\[0\]\.programs\[0\] tools"):
        checked(job(BOTH, {1: "6 flat"}), BOTH)
    with pytest.raises(ProgramError, match=r"front-sink:8:1: .*T3"):
        checked(job(BOTH, {1: "6 flat"}, plain="6 flat"), BOTH)


def test_one_t_number_is_the_plain_tool() -> None:
    programs = {"front-slot": ("6 flat", SLOT_AND_SINK.replace("T3 M6\n", ""))}
    assert checked(part(programs), programs).faces[0].programs[0].tool_diameter_mm == 6.0


def test_a_program_without_t_words_needs_a_plain_tool() -> None:
    programs = {"front-slot": ("6 flat", SLOT_AND_SINK.replace("T3 M6\n", "").replace("T1 M6", ""))}
    assert checked(part(programs), programs).faces[0].programs[0].tool_diameter_mm == 6.0
    with pytest.raises(JobFileError, match=r"\$\.setups\[0\]\.programs\[0\]: .* no T word"):
        checked(job(programs, {1: "6 flat"}), programs)


def test_a_plain_tool_with_another_ones_number_is_an_error() -> None:
    programs = {"front-slot": ("6 flat", SLOT_AND_SINK.replace("T3 M6\n", ""))}
    made = part(programs)
    tools = tuple(replace(tool, number=1) if tool.name == "6 ball" else tool for tool in made.tools)
    # Also where something moves before the tool is in the spindle.
    late = {"front-slot": ("6 flat", "G21 G90 G0 Z5\n" + programs["front-slot"][1])}
    for each in (programs, late):
        with pytest.raises(JobFileError, match=r"programs\[0\]\.tool: .*T1, the number of '6 ball', and this '6 flat'"):
            checked(replace(made, tools=tools), each)


def test_one_tool_that_is_selected_and_never_changed_to_is_put_in_by_hand() -> None:
    programs = {"front-slot": ("6 flat", SLOT_AND_SINK.replace("T3 M6\n", "").replace("T1 M6", "T1"))}
    assert checked(job(programs, {1: "24 flat"}), programs).faces[0].programs[0].tool_diameter_mm == 24.0


def test_several_tools_that_are_selected_and_never_changed_to_are_refused() -> None:
    programs = {"front-slot": ("6 flat", SLOT_AND_SINK.replace("M6", ""))}
    with pytest.raises(RefusedError, match=r"front-slot:8:1: T3 is selected and no M6"):
        checked(job(programs, {1: "6 flat", 3: "24 flat"}), programs)


def test_cuts_before_the_first_change_are_made_with_the_plain_tool_or_refused() -> None:
    programs = {"front-slot": ("6 flat", SLOT_AND_SINK.replace("T1 M6", "").replace("G0 X10 Y10", "G0 X10 Y10\nT5 M6"))}
    tools = {3: "24 flat", 5: "6 ball"}
    report = checked(job(programs, tools, plain="6 flat"), programs)
    assert [run.diameter_mm for run in report.faces[0].programs[0].tool_runs()] == [6.0, 24.0, 6.0]
    with pytest.raises(RefusedError, match="front-slot:5:1: a feed while no tool is known"):
        checked(job(programs, tools), programs)


def test_traverses_with_an_empty_spindle_are_looked_at_with_the_widest_tool() -> None:
    text = SLOT_AND_SINK.replace(TAIL, f"G0 Z5\nT0 M6\n{TAIL}")
    programs = {"front-slot": ("6 flat", text)}
    report = checked(job(programs, {1: "6 flat", 3: "24 flat"}), programs)
    assert [run.diameter_mm for run in report.faces[0].programs[0].tool_runs()] == [6.0, 24.0]


OUTLINE = """G21 G90 G17 G94 T1 M6 S9000 M3 F900
G0 X0 Y0 Z5
G1 Z-1
X{2}4
Y5
G0 Z5
T{0} M6 S9000 M3
G0 X-{1} Y-{1}
G1 Z-3
X{1}
Y{1}
X{2}5 Y33
X-{1} Y{1}
Y-{1}
G0 Z5
M2
"""


def test_two_faces_are_compared_with_the_tool_of_each_stretch() -> None:
    # One edge, 60 mm wide: along it goes the centre of a 6 mm tool on the front, of a 10 mm tool on the back.
    front = face_program(parse(OUTLINE.format(1, 33, ""), source="front.nc"), tools_mm={1: 6.0})
    text = OUTLINE.format(3, 35, "-").replace("Y33", "Y35")
    back = face_program(parse(text, source="back.nc"), tools_mm={1: 6.0, 3: 10.0})
    assert check([front], [back], tolerance_mm=0.1).in_register
    wrong = face_program(parse(text, source="back.nc"), tools_mm={1: 10.0, 3: 6.0})
    assert not check([front], [wrong], tolerance_mm=0.1).in_register


def test_one_diameter_for_a_program_that_changes_tools_is_an_error() -> None:
    with pytest.raises(ProgramError, match=r"back.nc:1:17: nothing says what tool T1 is; .*T1=D"):
        face_program(parse(OUTLINE.format(3, 35, "-"), source="back.nc"), tool_diameter_mm=6.0)


@pytest.mark.parametrize(
    ("comments", "says"),
    [
        ("(6 mm flat)\n{0}", None),
        ("(tool: 1/4 in end mill)\n{0}", "1/4 in"),
        ("{0} (12 MM)", "12 MM"),
        ("(D=12)\n{0}", "D=12"),
        ("{0}\n(DIA 8 flat)", "DIA 8"),
        ("{0} ; 6MM FLAT", None),
        ("(6 mm flat, 22 mm flutes, cuts 10 mm deep)\n{0}", None),
        ("(blank 20 mm, zero on top)\n{0}", None),
        ("(T3 D=30)\n(T1 D=6)\n{0}", None),
        ("(T1 D=5)\n\n\n{0}", "D=5"),
        ("{0}\n(feed 900 mm/min, 3 mm deep)", None),
    ],
)
def test_a_comment_that_names_another_size_is_to_be_looked_at(comments: str, says: str | None) -> None:
    text = comments.format("T1 M6") + f"\n{HEAD.replace('T1 M6 ', '')}G0 X-20 Y-30\nG1 Z-3 F300\nY-10 F900\n{TAIL}"
    programs = {"front-slot": ("6 flat", text)}
    found = said(checked(part(programs), programs), "tool")
    assert [one.status for one in found] == ([] if says is None else [Status.WARN])
    assert says is None or says in found[0].message


def test_a_tool_that_is_selected_and_never_gets_into_the_spindle_is_told() -> None:
    programs = {"front-slot": ("6 flat", SLOT_AND_SINK.replace("T3 M6", "T3"))}
    (found,) = said(checked(part(programs), programs), "tool")
    assert (found.status, found.line) == (Status.WARN, 8)
