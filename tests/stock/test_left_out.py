"""What the maps say where motions are left out of them."""

from dataclasses import replace

from flipreg.findings import Status
from flipreg.report.job import job_text
from tests.stock.wood_jobs import HEAD, TAIL, checked, part, pocket, profile, said, statuses

FLAT = "6 flat"
OFFSET = "G0 Z5\nG55 G0 X0 Y0\nG1 Z-15\nX5\nG0 Z5\nG54\n"


def _compensated(text: str) -> str:
    return text.replace("F300\nF900\n", "F300\nF900\nG41 D1\n").replace(TAIL, f"G40\n{TAIL}")


class TestNothingPassesWithoutWhatIsLeftOut:
    def test_a_profile_under_compensation_leaves_neither_a_pass_nor_a_skin(self) -> None:
        text = profile(20.0, 30.0, -10.5)
        programs = {
            "front-profile": (FLAT, _compensated(text)),
            "back-profile": (FLAT, text),
        }
        report = checked(part(programs), programs)
        codes = ("holding", "skin", "breakthrough", "rapid", "step")
        found = [one for code in codes for one in said(report, code)]
        assert {one.status for one in found} == {Status.NOT_DETERMINED}
        assert {"left out" in one.message for one in said(report, "holding")} == {True}

    def test_a_job_whose_cuts_are_not_all_known_is_no_pass(self) -> None:
        text = profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0)
        both = {f"{face}-profile": (FLAT, text) for face in ("front", "back")}
        whole = checked(part(both), both, compares=True)
        assert (whole.in_register, whole.wood_is_known, whole.passes) == (True, True, True)
        groove = f"{HEAD}G1 X-2 Y0\nG41 D1\nG1 Z-1\nX2\nG40\nG0 Z5\n{TAIL}"
        more = {**both, "front-groove": (FLAT, groove)}
        report = checked(part(more), more, compares=True)
        assert (report.in_register, report.wood_is_known, report.passes) == (True, False, False)
        assert "THE WOOD WAS NOT JUDGED" in job_text(report)

    def test_what_fails_fails_with_more_cuts_too(self) -> None:
        profiles = {f"{face}-profile": (FLAT, profile(20.0, 30.0, -10.5)) for face in ("front", "back")}
        programs = {
            "front-pocket": (FLAT, pocket(0.0, 0.0, 8.0, -11.0).replace(TAIL, OFFSET + TAIL)),
            "back-pocket": (FLAT, pocket(0.0, 0.0, 8.0, -11.0)),
            **profiles,
        }
        report = checked(part(programs), programs)
        assert statuses(report, "breakthrough") == [Status.FAIL]
        assert Status.FAIL in statuses(report, "holding")

    def test_a_traverse_where_a_cut_was_left_out_is_no_fail(self) -> None:
        cut = f"{HEAD}G1 X-10 Y0\nG41 D1\nG1 Z-3\nX10\nG40\nG0 Z5\nX0 Y0\nG0 Z-2\nG0 Z5\n{TAIL}"
        programs = {"front-slot": (FLAT, cut)}
        assert statuses(checked(part(programs), programs), "rapid") == [Status.NOT_DETERMINED]

    def test_going_home_at_the_end_casts_doubt_on_traverses_only(self) -> None:
        text = profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0)
        programs = {
            "front-profile": (FLAT, text.replace("M30", "G28\nM30")),
            "back-profile": (FLAT, text),
        }
        report = checked(part(programs), programs)
        assert statuses(report, "rapid") == [Status.NOT_DETERMINED]
        for code in ("holding", "skin", "breakthrough", "step"):
            assert set(statuses(report, code)) == {Status.PASS}

    def test_ways_to_machine_positions_at_tool_changes_are_told_once_a_program_and_in_short(self) -> None:
        text = profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0)
        change = "G0 Z15\nM5\nG53 G0 Z0\nT{0} M6\nS9000 M3\nG0 X0 Y0\nG43 H{0} Z15\nG1 Z-2 F300\nG0 Z15\n"
        twice = change.format(3) + change.format(4)
        programs = {"front-profile": (FLAT, text.replace("M30", twice + "M30")), "back-profile": (FLAT, text)}
        job = part(programs)
        flat = next(tool for tool in job.tools if tool.name == FLAT)
        names = {1: FLAT, 3: "tool 3", 4: "tool 4"}
        tools = tuple(replace(flat, name=name, number=number) for number, name in names.items())
        report = checked(replace(job, tools=tools), programs)
        (left_out,) = said(report, "map")
        assert "traverses from or to a point that the program does not say" in left_out.message
        words = " ".join(job_text(report).split())
        assert "rapid, map (" in words
        assert "would need a run in the air" in words
        assert "left out" not in words
