"""Reading job files: what they become, and every kind of mistake with its key path and line."""

from collections.abc import Callable
from pathlib import Path

import pytest

from flipreg.job.blank import BlankFace, Edge, Grain
from flipreg.job.file.read import parse_job, read_job
from flipreg.job.job import Job
from flipreg.job.mark import Square
from flipreg.job.problem import JobFileError
from flipreg.job.setup import Section, ZZero
from flipreg.job.tool import ToolShape
from tests.every import every

BOWL = Path(__file__).parents[3] / "samples/bowl/job.toml"
GOOD = """
name = "Größe 3 µ"
units = "mm"
tolerance = 0.2

[blank]
length = 400
width = 100.5
thickness = 30
measured_thickness = 29.8
edge = "right"
centre_line = 50
species = "sugar maple"
grain = "quarter-sawn"

[[marks]]
name = "A"
face = "both"
along = 50

[[marks]]
name = "bend line"
face = "front"
along = 250
across = -2.5

[[marks]]
name = "carried"
face = "back"
carried = { from = "bend line", square = "bent" }

[[tools]]
name = "6 mm Fräser"
shape = "flat"
diameter = 6

[[tools]]
name = "bull"
shape = "bull"
diameter = 8
corner_radius = 1.5

[[tools]]
name = "vee"
shape = "vee"
diameter = 12
angle = 90

[[tools]]
name = "drill"
shape = "drill"
diameter = 5
point_angle = 118

[[setups]]
name = "front"
up = "front"
mark = "A"
zero = [1, 2.5]
z_zero = "top"
programs = [{ file = "front face.nc", tool = "6 mm Fräser" }]

[[setups]]
name = "tilted back"
up = "back"
flip = "x"
tilt = { angle = -12.5, hinge = "bend line", section = "far" }
quarter_turns = 3
mark = "carried"
zero = [-3, 4]
z_zero = "spoilboard"
programs = [{ file = "ü/back.nc", tool = "bull" }, { file = "ü/holes.nc", tool = "drill" }]
"""

Problems = Callable[[str, str], list[str]]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "ü").mkdir()
    for name in ("front face.nc", "ü/back.nc", "ü/holes.nc"):
        (tmp_path / name).write_text("G21\n")
    return tmp_path


@pytest.fixture
def problems(folder: Path) -> Problems:
    """Return what is said when one part of the good file is replaced."""

    def find(old: str, new: str) -> list[str]:
        assert GOOD.count(old) == 1, old
        text = GOOD.replace(old, new)
        with pytest.raises(JobFileError) as caught:
            parse_job(text.encode(), source="job.toml", folder=str(folder))
        return str(caught.value).splitlines()

    return find


def line_of(text: str, part: str) -> int:
    return text[: text.index(part)].count("\n") + 1


class TestGoodFile:
    def test_it_becomes_values_in_millimetres(self, folder: Path) -> None:
        path = folder / "Auftrag ß.toml"
        path.write_text(GOOD, encoding="utf-8")
        job = read_job(path)
        assert (job.name, job.tolerance_mm, job.inch) == ("Größe 3 µ", 0.2, False)
        blank = job.blank
        assert (blank.length_mm, blank.width_mm, blank.thickness_mm) == (400.0, 100.5, 30.0)
        assert (blank.actual_thickness_mm, blank.edge, blank.grain) == (29.8, Edge.RIGHT, Grain.QUARTER)
        assert blank.x_range_mm == (-50.5, 50.0)
        assert [blank.from_edge_mm(x) for x in (0.0, 50.0)] == [50.0, 0.0]
        assert job.marks[0].faces == (BlankFace.FRONT, BlankFace.BACK)
        assert (job.mark("bend line").along_mm, job.mark("bend line").across_mm) == (250.0, -2.5)
        carried = job.mark("carried").carried
        assert carried is not None
        assert (carried.from_mark, carried.square) == ("bend line", Square.BENT)
        assert [tool.shape for tool in job.tools] == [
            ToolShape.FLAT,
            ToolShape.BULL,
            ToolShape.VEE,
            ToolShape.DRILL,
        ]
        assert (job.tool("bull").corner_radius_mm, job.tool("vee").angle_deg, job.tool("drill").angle_deg) == (
            1.5,
            90.0,
            118.0,
        )

    def test_setups_keep_their_order_and_their_words(self, folder: Path) -> None:
        job = parse_job(GOOD.encode(), source="job.toml", folder=str(folder))
        front, back = job.setups
        assert (front.up, front.flip_axis, front.quarter_turns, front.tilt) == (BlankFace.FRONT, None, 0, None)
        assert (front.zero_mm, front.z_zero) == ((1.0, 2.5), ZZero.TOP)
        assert (back.up, back.flip_axis, back.quarter_turns) == (BlankFace.BACK, "x", 3)
        assert (back.zero_mm, back.z_zero) == ((-3.0, 4.0), ZZero.SPOILBOARD)
        assert back.tilt is not None
        assert (back.tilt.hinge, back.tilt.angle_deg, back.tilt.section) == ("bend line", -12.5, Section.FAR)

    def test_paths_are_relative_to_the_job_file(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        (folder / "job.toml").write_text(GOOD, encoding="utf-8")
        monkeypatch.chdir(folder.parent)
        job = read_job(f"{folder.name}/job.toml")
        assert [part.file for part in job.setups[1].programs] == [
            f"{folder.name}/ü/back.nc",
            f"{folder.name}/ü/holes.nc",
        ]

    def test_inches_become_millimetres_and_angles_stay(self, folder: Path) -> None:
        text = GOOD.replace('units = "mm"', 'units = "inch"').replace("length = 400", "length = 300")
        job = parse_job(text.encode(), source="job.toml", folder=str(folder))
        assert job.inch
        assert job.tolerance_mm == pytest.approx(5.08)
        assert job.blank.length_mm == pytest.approx(7620.0)
        assert job.blank.measured_thickness_mm == pytest.approx(756.92)
        assert job.setups[0].zero_mm == pytest.approx((25.4, 63.5))
        assert job.tools[1].corner_radius_mm == pytest.approx(38.1)
        assert job.mark("bend line").across_mm == pytest.approx(-63.5)
        assert (job.tools[2].angle_deg, job.setups[1].tilt and job.setups[1].tilt.angle_deg) == (90.0, -12.5)

    def test_a_byte_order_mark_and_windows_line_ends_do_no_harm(self, folder: Path) -> None:
        text = b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode()
        assert parse_job(text, source="job.toml", folder=str(folder)).name == "Größe 3 µ"


class TestUnreadable:
    def test_a_file_that_is_not_there(self, tmp_path: Path) -> None:
        with pytest.raises(JobFileError, match=r"job\.toml: cannot be read: no such file"):
            read_job(tmp_path / "job.toml")

    def test_text_that_is_not_toml(self) -> None:
        with pytest.raises(JobFileError, match=r"job\.toml:2:9: this is not TOML: "):
            parse_job(b"name = 1\nunits = \n", source="job.toml", folder="")

    def test_bytes_that_are_not_text(self) -> None:
        with pytest.raises(JobFileError, match=r"job\.toml:2:9: a job file is UTF-8 text"):
            parse_job(b"a = 1\nname = '\xff'\n", source="job.toml", folder="")

    def test_an_empty_file_is_told_every_key_it_needs(self) -> None:
        with pytest.raises(JobFileError) as caught:
            parse_job(b"", source="job.toml", folder="")
        assert {problem.path for problem in caught.value.problems} == {
            (key,) for key in ("name", "units", "tolerance", "blank", "marks", "tools", "setups")
        }


ONE_MISTAKE = [
    ("tolerance = 0.2", "tolerance = 0", "$.tolerance", "more than 0.0, got 0"),
    ("tolerance = 0.2", "tolerance = -0.1", "$.tolerance", "more than 0.0, got -0.1"),
    ("tolerance = 0.2", "tolerance = nan", "$.tolerance", "a finite number"),
    ("tolerance = 0.2", 'tolerance = "0.2"', "$.tolerance", "such as \"3/8in\", got '0.2'"),
    ("tolerance = 0.2", "tolerance = true", "$.tolerance", "a number, got true"),
    ("tolerance = 0.2", "tolerances = 0.2", "$.tolerances", "did you mean tolerance?"),
    ('units = "mm"', 'units = "cm"', "$.units", "'mm' or 'inch', got 'cm'"),
    ("\nthickness = 30", "\nthickness = 0", "$.blank.thickness", "more than 0.0"),
    ("\nthickness = 30", "\nthickness = 1.2", "$.blank.measured_thickness", "cannot be one blank"),
    ("centre_line = 50", "centre_line = 200", "$.blank.centre_line", "off the blank"),
    ("along = 250", "along = 1250", "$.marks[1].along", "off the blank: 1250"),
    ("along = 250", "along = -1", "$.marks[1].along", "0.0 or more"),
    ("across = -2.5", "across = -51", "$.marks[1].across", "off the blank"),
    ('name = "bend line"', 'name = "A"', "$.marks[1].name", "taken by $.marks[0]"),
    ('name = "bend line"', 'name = "two\\nlines"', "$.marks[1].name", "a name on one line"),
    ('name = "bend line"', 'name = " "', "$.marks[1].name", "blanks at its ends, got ' '"),
    ('face = "both"\nalong = 50', 'face = "back"\nalong = 50', "$.marks[0]", "is on the front"),
    ('face = "both"\nalong = 50', 'face = "both"\nalong = 260', "$.marks[0].along", "is on a bent section"),
    ('face = "both"\nalong = 50', 'face = "both"', "$.marks[0]", "needs along"),
    ('face = "back"\ncarried', 'face = "front"\ncarried', "$.marks[2].face", "is not on"),
    ('face = "back"\ncarried', 'along = 3\nface = "back"\ncarried', "$.marks[2].along", "from one only"),
    ('from = "bend line"', 'from = "A"', "$.marks[2].carried.from", "is the hinge of no setup"),
    ("corner_radius = 1.5", "corner_radius = 4.5", "$.tools[1].corner_radius", "at most half the diameter"),
    ("corner_radius = 1.5", "", "$.tools[1]", "needs corner_radius"),
    ("angle = 90", "", "$.tools[2]", "needs angle"),
    ("point_angle = 118", "angle = 118", "$.tools[3].angle", "belongs to shape 'vee'"),
    ("diameter = 12", "diameter = 120", "$.tools[2].diameter", "wider than the blank"),
    ('up = "front"', 'up = "front"\nflip = "y"', "$.setups[0].flip", "not turned over"),
    ('flip = "x"\n', "", "$.setups[1]", "needs flip"),
    ('name = "tilted back"', 'name = "front"', "$.setups[1].name", "taken by $.setups[0]"),
    ('mark = "A"', 'mark = "carried"', "$.setups[0].mark", "is on the back only, and the front is up"),
    ('mark = "A"', 'mark = "a"', "$.setups[0].mark", "there is no mark 'a'"),
    ("zero = [1, 2.5]", "zero = [1]", "$.setups[0].zero", "at least 2, got 1"),
    ("zero = [1, 2.5]", "", "$.setups[0].zero", "missing: the jog"),
    ('hinge = "bend line", ', "", "$.setups[1].tilt.hinge", "missing: the mark whose line is the hinge"),
    ("angle = -12.5", "angle = 0", "$.setups[1].tilt.angle", "none"),
    ("angle = -12.5", "angle = 90", "$.setups[1].tilt.angle", "less than 90"),
    ("quarter_turns = 3", "quarter_turns = 4", "$.setups[1].quarter_turns", "3 or less"),
    ("quarter_turns = 3", "quarter_turns = 1.5", "$.setups[1].quarter_turns", "a whole number"),
    ('file = "ü/back.nc"', 'file = "back.nc"', "$.setups[1].programs[0].file", "no file 'back.nc'"),
    ('file = "ü/back.nc"', 'file = "ü"', "$.setups[1].programs[0].file", "no file 'ü'"),
    ('file = "ü/back.nc"', 'file = "ü/holes.nc"', "$.setups[1].programs[1].file", "runs twice"),
    ('tool = "bull"', 'tool = "bul"', "$.setups[1].programs[0].tool", "did you mean 'bull'?"),
]


@every("old, new, path, says", ONE_MISTAKE)
def test_one_mistake_is_told_with_its_key_path(problems: Problems, old: str, new: str, path: str, says: str) -> None:
    told = [line for line in problems(old, new) if f" {path}: " in line and says in line]
    assert len(told) == 1
    # The line of the file is that of the key, or of the table that lacks it.
    assert told[0].startswith("job.toml:")


TWO_FOLLOW = {
    "tolerances = 0.2",  # the misspelled key, and the one that is missing
    'name = "A"',  # the name that is taken, and those who ask for the one that is gone
    'name = " "',
    'name = "two\\nlines"',
    'face = "back"\nalong = 50',  # the origin, and the setup that starts from it with the front up
    'face = "front"\ncarried',
    'from = "A"',  # no hinge, and on a face of its own
}


@every(
    "old, new",
    # Without its hinge, the mark that is carried from it has lost its bend as well.
    [(old, new) for old, new, _, _ in ONE_MISTAKE if new not in TWO_FOLLOW and not old.startswith("hinge")],
)
def test_one_mistake_makes_no_further_complaints(problems: Problems, old: str, new: str) -> None:
    assert len(problems(old, new)) == 1


def test_the_line_is_that_of_the_key(problems: Problems) -> None:
    (told,) = problems('tool = "bull"', 'tool = "saw"')
    assert told.startswith(f"job.toml:{line_of(GOOD, 'ü/back.nc')}: $.setups[1].programs[0].tool: ")


def test_two_setups_of_one_section_must_agree_on_its_bend(folder: Path) -> None:
    third = """
[[setups]]
name = "tilted front"
up = "front"
tilt = { angle = 12, hinge = "bend line", section = "far" }
mark = "bend line"
zero = [0, 0]
z_zero = "top"
programs = [{ file = "front face.nc", tool = "vee" }]
"""
    with pytest.raises(JobFileError, match=r"\$\.setups\[2\]\.tilt: the far section cannot lean 12 .* and -12\.5"):
        parse_job((GOOD + third).encode(), source="job.toml", folder=str(folder))


def test_inches_in_a_file_of_millimetres_are_named(problems: Problems) -> None:
    # 400 mm are 15.75 inches: the blank's size is in inches, the marks are not.
    told = problems("length = 400", "length = 15.75")
    assert any("$.marks[0].along" in line and "if the blank's size is in inch" in line for line in told)
    told = problems("width = 100.5", "width = 3.95")
    assert any("$.blank.centre_line" in line and "if the blank's size is in inch" in line for line in told)


def test_millimetres_in_a_file_of_inches_are_named(folder: Path) -> None:
    text = GOOD.replace('units = "mm"', 'units = "inch"').replace("length = 400", "length = 15.75")
    with pytest.raises(JobFileError, match=r"\$\.marks\[0\]\.along: .*if it is in mm"):
        parse_job(text.encode(), source="job.toml", folder=str(folder))


def test_a_blank_longer_than_any_board_is_in_another_unit(problems: Problems) -> None:
    (told,) = problems('units = "mm"', 'units = "inch"')
    assert "$.blank.length" in told
    assert "no board is 400 in long: is this number in another unit?" in told


def test_all_mistakes_are_told_at_once(folder: Path) -> None:
    text = GOOD
    for old, new in (
        ("tolerance = 0.2", "tolerance = 0"),
        ("along = 250", "along = 1250"),
        ('tool = "bull"', 'tool = "saw"'),
        ('file = "front face.nc"', 'file = "front.nc"'),
        ("\nthickness = 30", '\nthickness = "thick"'),
        ('z_zero = "top"', 'z_zero = "bottom"'),
        ('mark = "carried"', 'mark = "bend line"'),
    ):
        assert text.count(old) == 1
        text = text.replace(old, new)
    with pytest.raises(JobFileError) as caught:
        parse_job(text.encode(), source="job.toml", folder=str(folder))
    # The blank is wrong, so nothing is said about what lies on it.
    assert [".".join(map(str, problem.path)) for problem in caught.value.problems] == [
        "tolerance",
        "blank.thickness",
        "setups.0.z_zero",
        "setups.0.programs.0.file",
        "setups.1.mark",
        "setups.1.programs.0.tool",
    ]


def read(folder: Path, text: str) -> Job:
    return parse_job(text.encode(), source="job.toml", folder=str(folder))


@pytest.mark.parametrize(
    ("written", "mm"), [('"100.5mm"', 100.5), ('"4in"', 101.6), ('"3 31/32in"', 100.80625), ("'3.5 in'", 88.9)]
)
def test_a_length_may_say_its_own_unit(folder: Path, written: str, mm: float) -> None:
    assert read(folder, GOOD.replace("width = 100.5", f"width = {written}")).blank.width_mm == mm


def test_millimetres_may_stand_in_a_file_of_inches() -> None:
    text = BOWL.read_text().replace('diameter = "3/16in"', 'diameter = "20mm"')
    job = parse_job(text.encode(), source="job.toml", folder=str(BOWL.parent))
    assert [tool.diameter_mm for tool in job.tools] == pytest.approx([6.35, 6.35, 20.0], abs=1e-9)


def test_a_length_may_do_so_in_every_table(folder: Path) -> None:
    text = GOOD.replace("across = -2.5", 'across = "-1/8in"').replace("zero = [-3, 4]", 'zero = ["-1/8in", 4]')
    budget = "\n[budget]\njog = { rectangular = '1/64in', value = '-0.1mm' }\n"
    job = read(folder, text.replace("tolerance = 0.2", 'tolerance = "1/64in"') + budget)
    assert (job.tolerance_mm, job.marks[1].across_mm) == (0.396875, -3.175)
    assert job.setups[1].zero_mm == (-3.175, 4.0)
    assert job.budget is not None
    assert job.budget.jog_mm is not None
    assert (job.budget.jog_mm.size, job.budget.jog_mm.value) == (0.396875, -0.1)


PARTS = "expected an inch in halves, quarters, 8ths, 16ths, 32nds or 64ths"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("width = 100.5", 'width = "12 feet"', "8: $.blank.width: expected a number, or text with a unit, such"),
        ("width = 100.5", 'width = "1/3in"', f"8: $.blank.width: {PARTS}, got '1/3in'"),
        ("width = 100.5", 'width = "1 7/10 in"', f"8: $.blank.width: {PARTS}, got '1 7/10 in'"),
        ("width = 100.5", 'width = "100.5"', "8: $.blank.width: expected a number, or text with a unit, such"),
        ("width = 100.5", 'width = "-1/8in"', "8: $.blank.width: expected more than 0.0, got -3.175"),
        ("zero = [1, 2.5]", 'zero = [1, "2,5mm"]', "$.setups[0].zero[1]: expected a number, or text"),
        ("angle = 90", 'angle = "90"', "$.tools[2].angle: expected a number, got '90'"),
        ("diameter = 8", 'diameter = "2mm"', "corner_radius: a corner radius is at most half the diameter, 1"),
    ],
)
def test_text_that_is_no_length_there_is_told_with_its_line(problems: Problems, old: str, new: str, says: str) -> None:
    (said,) = problems(old, new)
    assert says in said
