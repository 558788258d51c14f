"""A job drafted from programs: what they show is there, what they don't is a guess that says so."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest

import flipreg
from flipreg.drafting.draft import draft
from flipreg.errors import UsageError
from flipreg.job.blank import BlankFace
from flipreg.job.job import Job
from flipreg.job.limits import Limits
from flipreg.job.setup import ZZero
from flipreg.job.tool import ToolShape
from tests.drafting.parts import BACK, FRONT, Map, drawn, face, flipped_end_over_end, flipped_like_a_page

SIZES = ("blank", "length"), ("blank", "width"), ("blank", "thickness")


@cache
def drafted(front: str = FRONT, back: str | None = BACK, **more: object) -> Job:
    backs = [] if back is None else [face(back, "back.nc")]
    return draft([face(front)], backs, name="plate", **more)  # type: ignore[arg-type]


def said(job: Job) -> dict[tuple[str | int, ...], str]:
    return {guess.path: guess.says for guess in job.guesses}


def test_tools_are_those_of_the_t_words_with_what_their_comments_say() -> None:
    job = drafted()
    assert [(tool.number, tool.shape, tool.diameter_mm) for tool in job.tools] == [
        (1, ToolShape.FLAT, 6.0),
        (2, ToolShape.DRILL, 5.0),
    ]
    says = said(job)["tools", 0, "diameter"]
    quoted = 'a comment says "6 MM FLAT END MILL" (front.nc line 2)'
    assert says == f"{quoted}; measure the cutter"
    assert said(job)["tools", 0, "shape"] == f"{quoted}; flat, ball, bull, vee or drill"


def test_a_tool_that_no_comment_describes_is_a_guess_and_a_drill_if_it_only_drills() -> None:
    bare = {"mill": "T1 M6", "drill": "T2 M6"}
    job = drafted(drawn(**bare), drawn(flipped_like_a_page, **bare))  # type: ignore[arg-type]
    assert [(tool.name, tool.shape) for tool in job.tools] == [("T1", ToolShape.FLAT), ("T2", ToolShape.DRILL)]
    for index in range(2):
        assert said(job)["tools", index, "diameter"].startswith("no comment says it")
        assert ("tools", index, "shape") in said(job)


def test_one_number_that_is_two_cutters_becomes_two_tools() -> None:
    job = drafted(FRONT, drawn(flipped_like_a_page, mill="T1 M6 (8 MM BALL)"))
    assert [(tool.name, tool.number) for tool in job.tools] == [("6 flat", 1), ("5 drill", 2), ("8 ball", None)]
    assert job.setups[1].programs[0].tools == {1: "8 ball"}


def test_the_back_is_turned_over_as_both_faces_show() -> None:
    page = drafted()
    assert (page.setups[1].flip_axis, page.setups[1].quarter_turns, page.setups[1].zero_mm) == ("y", 0, (0.0, 0.0))
    ended = drafted(FRONT, drawn(flipped_end_over_end))
    assert ended.setups[1].flip_axis == "x"
    assert "worked out" in said(ended)["setups", 1, "flip"]
    assert [(mark.name, mark.faces) for mark in ended.marks] == [
        ("A", (BlankFace.FRONT,)),
        ("B", (BlankFace.BACK,)),
    ]


def as_drawn(x: float, y: float) -> tuple[float, float]:
    return x, y


def with_length_along_x(place: Map) -> Map:
    """Return a map that lays the part a quarter turn further on the table."""

    def turned(x: float, y: float) -> tuple[float, float]:
        there_x, there_y = place(x, y)
        return -there_y, there_x

    return turned


@pytest.mark.parametrize("lay", [lambda place: place, with_length_along_x], ids=["along Y", "along X"])
@pytest.mark.parametrize("turn_over", [flipped_like_a_page, flipped_end_over_end])
def test_the_job_lays_both_faces_on_one_part(lay: Callable[[Map], Map], turn_over: Map) -> None:
    front, other = face(drawn(lay(as_drawn))), face(drawn(lay(turn_over)), "back.nc")
    job = replace(draft([front], [other], name="plate"), limits=Limits(grid_mm=2.0))
    assert job.blank.length_mm > job.blank.width_mm
    report = flipreg.check_job(job, read=lambda one: front if one.file == "front.nc" else other)
    assert report.in_register is True
    assert not report.fails
    assert report.worst is not None
    assert report.worst.report.register.worst_mm == pytest.approx(0.0, abs=1e-3)


def test_the_blank_holds_all_cuts_and_the_zeros() -> None:
    job = drafted()
    low_x, high_x = job.blank.x_range_mm
    low_y = -job.origin_along_mm
    assert low_x <= -56.0
    assert high_x >= 56.0
    assert low_y <= -16.0
    assert low_y + job.blank.length_mm >= 136.0
    assert job.blank.thickness_mm == 20.0
    assert set(SIZES) <= set(said(job))


def test_a_blank_that_was_said_is_no_guess() -> None:
    job = drafted(blank_mm=(200.0, 150.0, 19.5))
    blank = job.blank
    assert (blank.length_mm, blank.width_mm, blank.thickness_mm) == (200.0, 150.0, 19.5)
    assert not set(SIZES) & set(said(job))


def test_a_zero_at_a_corner_of_the_cuts_is_a_corner_of_the_blank() -> None:
    front = drawn(lambda x, y: (x + 60.0, y + 20.0))
    job = drafted(front, drawn(lambda x, y: (60.0 - x, y + 20.0)))
    assert job.marks[0].along_mm == 0.0
    assert job.marks[0].across_mm == job.blank.x_range_mm[0]


def test_a_zero_at_a_corner_of_the_part_makes_the_blank_no_wider() -> None:
    # The cutter runs 6 mm outside of the part, so that the corner lies within the cuts, 92 mm wide.
    job = drafted(drawn(lambda x, y: (x + 40.0, y)), drawn(lambda x, y: (40.0 - x, y)))
    assert job.blank.width_mm <= 120.0
    assert job.marks[0].across_mm == pytest.approx(-40.0, abs=5.0)


def test_a_zero_far_off_the_part_is_jogged_to() -> None:
    job = drafted(drawn(lambda x, y: (x + 900.0, y)), None)
    mark, setup = job.marks[0], job.setups[0]
    assert abs(mark.across_mm) < 1.0
    assert setup.zero_mm[0] == pytest.approx(-900.0, abs=20.0)
    assert ("setups", 0, "zero") in said(job)


def test_z_zero_is_on_the_spoilboard_where_the_cuts_are_above_it() -> None:
    job = drafted(drawn(lift=20.0), drawn(flipped_like_a_page, lift=20.0))
    assert {setup.z_zero for setup in job.setups} == {ZZero.SPOILBOARD}
    assert 20.0 <= job.blank.thickness_mm <= 25.0


def test_a_contour_round_the_part_is_guessed_to_be_its_profile() -> None:
    job = drafted()
    assert [program.profile for setup in job.setups for program in setup.programs] == [True, True]
    assert ("setups", 0, "programs", 0) in said(job)
    shallow = "G21 G90 T1 M6\nS9000 M3\nG0 X0 Y10 Z5\nG1 Z-1 F300\nX20\nY40\nX0\nY10\nG0 Z5\nM30\n"
    job = draft([face(FRONT), face(shallow, "border.nc")], [face(BACK, "back.nc")], name="plate")
    assert [program.profile for program in job.setups[0].programs] == [True, False]


def test_a_pocket_that_is_cleared_is_no_profile() -> None:
    ring = "G0 X-{0} Y-{0}\nG1 Z-12 F300\nX{0}\nY{0}\nX-{0}\nY-{0}\nG0 Z5\n"
    rings = "".join(map(ring.format, (10, 20, 30, 40)))
    job = drafted(f"G21 G90 T1 M6\nS9000 M3\nG0 Z5\n{rings}M30\n", None)
    assert [program.profile for program in job.setups[0].programs] == [False]
    assert job.blank.thickness_mm > 12.0


def test_a_hollow_that_is_deeper_than_the_contour_round_it_leaves_it_the_profile() -> None:
    ring = "G0 X-{0} Y{1}\nG1 Z-15 F300\nX{0}\nY{2}\nX-{0}\nY{1}\nG0 Z5\n"
    hollow = "".join(ring.format(half, 60 - half, 60 + half) for half in range(3, 34, 3))
    contour = FRONT.replace("S12000 M3\n", f"S12000 M3\nG0 Z5\n{hollow}")
    job = drafted(contour)
    assert [program.profile for setup in job.setups for program in setup.programs] == [True, True]


def test_a_mark_on_a_blank_of_known_size_is_where_a_tape_can_be_read() -> None:
    job = drafted(blank_mm=(201.3, 150.0, 19.5))
    along = job.marks[0].along_mm
    assert along is not None
    assert along * 2 == round(along * 2)


def test_a_job_is_in_inches_if_all_programs_are() -> None:
    inch = {"unit": "G20", "mill": "T1 M6 (1/4 IN FLAT)", "drill": "T2 M6 (3/16 IN DRILL)"}
    job = drafted(drawn(**inch), drawn(flipped_like_a_page, **inch))  # type: ignore[arg-type]
    assert job.inch
    assert job.tolerance_mm == pytest.approx(0.127)
    assert [tool.name for tool in job.tools] == ["1/4 flat", "3/16 drill"]
    assert ("units",) not in said(job)


def test_programs_of_two_units_make_a_job_in_millimetres_that_says_so() -> None:
    job = drafted(FRONT, drawn(flipped_like_a_page, unit="G20"))
    assert not job.inch
    assert said(job)[("units",)].startswith("1 of 2 programs is in inches")
    assert job.setups[1].flip_axis == "y"


def test_one_face_alone_makes_a_job_of_one_setup_that_asks_for_the_other() -> None:
    job = drafted(back=None)
    assert [setup.name for setup in job.setups] == ["front"]
    assert "no program of the other face" in said(job)["setups", 0, "up"]


def test_faces_that_share_nothing_are_turned_like_a_page_by_guess() -> None:
    pocket = "G21 G90 T1 M6\nS9000 M3\nG0 X0 Y10 Z5\nG1 Z-1 F300\nX20\nY40\nX0\nY10\nG0 Z5\nM30\n"
    job = drafted(FRONT, pocket)
    assert job.setups[1].flip_axis == "y"
    assert said(job)["setups", 1, "flip"].startswith("nothing that both faces cut shows it")


@pytest.mark.parametrize("which", ["front", "back"])
def test_a_face_that_cuts_nothing_is_refused_with_its_programs(which: str) -> None:
    nothing = "G21 G90\nG0 X0 Y0 Z5\nM30\n"
    texts = {"front": FRONT, "back": BACK, which: nothing}
    with pytest.raises(UsageError, match=rf"the {which} cuts nothing at a known place \({which}\.nc\)"):
        drafted(texts["front"], texts["back"])


def test_cuts_that_do_not_fit_on_the_blank_are_refused_in_the_jobs_unit() -> None:
    with pytest.raises(UsageError, match=r"92 mm in X and 132 mm in Y, .* a blank of 100 mm × 50 mm"):
        drafted(blank_mm=(100.0, 50.0, 20.0))


def test_a_program_that_is_named_twice_is_refused() -> None:
    with pytest.raises(UsageError, match=r"front\.nc is named twice for the front"):
        draft([face(FRONT), face(FRONT)], [face(BACK, "back.nc")], name="plate")


def test_every_guess_is_about_a_value_that_the_file_has(tmp_path: object) -> None:
    text = flipreg.draft_text(drafted(), folder="")
    assert text.count("# check: ") == len(drafted().guesses)


def test_a_tool_that_only_traverses_is_one_of_the_jobs_tools() -> None:
    job = drafted(FRONT.replace("M5\n", "T7 M6 (8 MM BALL)\nG0 Z5.\nX1.\nM5\n"))
    assert [(tool.number, tool.diameter_mm) for tool in job.tools][-1] == (7, 8.0)


@pytest.mark.parametrize(
    ("comment", "diameter_mm"),
    [("1/8 drill", 3.175), ("3/16 upcut flat", 4.7625), ("pass 1/2", 6.0), ("1/4 shank ball", 6.0), ("1/3 bit", 6.0)],
)
def test_a_part_of_an_inch_before_the_name_of_a_cutter_needs_no_unit(comment: str, diameter_mm: float) -> None:
    text = f"G21 G90\nT1 M6 ({comment})\nS9000 M3\nG0 Z9\nX5 Y5\nG1 Z-2 F90\nX9\nG0 Z9\nM2\n"
    (tool,) = drafted(text, None).tools
    assert tool.diameter_mm == diameter_mm
