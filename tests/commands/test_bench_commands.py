import io
import json
from pathlib import Path

import pytest

from flipreg.cli.parser import main

JOB = """
name = "board"
units = "mm"
tolerance = 0.2

[blank]
length = 600
width = 200
thickness = 30
edge = "left"
centre_line = 80
species = "teak"
grain = "flat-sawn"

[[marks]]
name = "Kopf oben"
face = "both"
along = 50

[[marks]]
name = "Fuß"
face = "both"
along = 550

[[marks]]
name = "side"
face = "both"
along = 300
across = 60

[[tools]]
name = "6 flat"
shape = "flat"
diameter = 6

[[setups]]
name = "front"
up = "front"
mark = "Kopf oben"
zero = [0, 0]
z_zero = "top"
programs = [{ file = "front.nc", tool = "6 flat" }]

[[setups]]
name = "Rück seite"
up = "back"
flip = "y"
mark = "Kopf oben"
zero = [0, 0]
z_zero = "top"
programs = [{ file = "back.nc", tool = "6 flat" }]
"""
BUDGET = """
[budget]
lines = { triangular = 0.1 }
pointer = { normal = 0.03 }
moisture_change = { value = 0.5, rectangular = 0.5 }
"""
PROGRAM = "G21 G90 G17\nG0 X0 Y0 Z5\nG1 X10 Y500 Z-1 F600\nG0 Z5\nM2\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "job.toml").write_text(JOB + BUDGET)
    for name in ("front.nc", "back.nc"):
        (tmp_path / name).write_text(PROGRAM)
    return tmp_path


def _run(*argv: object, stdin: bytes = b"") -> tuple[int, str, str]:
    out, err = io.BytesIO(), io.StringIO()
    status = main([str(part) for part in argv], io.BytesIO(stdin), out, err)
    return status, out.getvalue().decode(), err.getvalue()


def test_codes_that_the_job_names_as_passive_leave_the_cut_known(folder: Path) -> None:
    job, front = folder / "job.toml", folder / "front.nc"
    job.write_text(job.read_text().replace("tolerance = 0.2\n", 'tolerance = 0.2\npassive = ["M25"]\n'))
    front.write_text(front.read_text().replace("G21", "M25\nG21", 1))
    assert _run("touch", job, "--setup", "front", "Kopf oben=0,0", "Fuß=0,500")[::2] == (0, "")


def test_the_block_delete_switch_holds_for_the_programs_of_a_job_too(folder: Path) -> None:
    (folder / "job.toml").write_text(f"{JOB}[check]\ngrid = 3\n")
    (folder / "front.nc").write_text(PROGRAM.replace("G0 Z5\nM2", "/G0 X20\nG0 Z5\nM2"))
    out = {switch: _run("check", folder / "job.toml", "--block-delete", switch)[1] for switch in ("off", "on")}
    assert {switch: "lines that begin with /" in text for switch, text in out.items()} == {"off": True, "on": False}


def test_touches_on_the_marks_are_as_planned(folder: Path) -> None:
    status, out, err = _run("touch", folder / "job.toml", "--setup", "front", "Kopf oben=0,0", "Fuß=0,500")
    assert (status, err) == (0, "")
    assert out.startswith("AS PLANNED: 'front'")


def test_a_skewed_blank_is_nudged_or_its_program_moved(folder: Path) -> None:
    report = ("touch", folder / "job.toml", "--setup", "Rück seite", "Kopf oben=0.1,0.2", "Fuß=-0.9,500.2mm")
    status, out, _ = _run(*report, "--json")
    data = json.loads(out)
    assert status == 1
    assert (data["as_planned"], data["fit"]) == (False, "offset and turn")
    assert (data["nudge"]["hold"], data["nudge"]["push"]) == ("Kopf oben", "Fuß")
    assert pytest.approx(data["nudge"]["push_mm"][0], abs=1e-3) == 1.0
    status, out, err = _run(*report, "--apply", folder / "moved")
    assert status == 0
    assert "3 motions proved" in err
    line = (folder / "moved/back.nc").read_text().splitlines()[5]
    # The tip of the cut, planned at X10 Y500, comes to lie 10 beside where the far mark was touched.
    words = {word[0]: float(word[1:]) for word in line.split() if word[0] in "XY"}
    assert pytest.approx(words, abs=1.5e-3) == {"X": 9.1, "Y": 500.22}


def test_lengths_may_be_in_inches(folder: Path) -> None:
    status, out, _ = _run(
        "touch", folder / "job.toml", "--setup", "front", "Kopf oben=0in,0in", f"Fuß=0,{500 / 25.4:.6f}in"
    )
    assert status == 0, out


def test_all_programs_of_the_setup_are_moved_at_once_under_their_names(folder: Path) -> None:
    second = PROGRAM.replace("X10", "X20")
    (folder / "second.nc").write_text(second)
    job = (folder / "job.toml").read_text()
    one = '{ file = "front.nc", tool = "6 flat" }'
    assert one in job
    (folder / "job.toml").write_text(job.replace(one, one + ", " + one.replace("front", "second")))
    touches = ("touch", folder / "job.toml", "--setup", "front", "Kopf oben=1,0", "Fuß=1,500")
    status, out, err = _run(*touches, "--apply", folder / "moved")
    assert status == 0
    assert out.startswith("NOT AS PLANNED")
    assert [line.split(": written")[0] for line in err.splitlines()] == [
        str(folder / "moved/front.nc"),
        str(folder / "moved/second.nc"),
    ]
    assert (folder / "moved/front.nc").read_text().splitlines()[4] == "G0 X1 Y0 Z5"
    assert (folder / "front.nc").read_text() == PROGRAM


def test_if_one_program_cannot_be_moved_none_is_written(folder: Path) -> None:
    (folder / "second.nc").write_text("G21 G90\nG1 X1 Y# F100\nM2\n")
    job = (folder / "job.toml").read_text()
    one = '{ file = "front.nc", tool = "6 flat" }'
    (folder / "job.toml").write_text(job.replace(one, one + ", " + one.replace("front", "second")))
    touches = ("touch", folder / "job.toml", "--setup", "front", "Kopf oben=1,0", "Fuß=1,500")
    status, out, err = _run(*touches, "--apply", folder / "moved")
    assert (status, out) == (2, "")
    assert "second.nc:2:" in err
    assert not (folder / "moved").exists()


def test_programs_are_not_moved_over_themselves(folder: Path) -> None:
    touches = ("touch", folder / "job.toml", "--setup", "front", "Kopf oben=1,0", "Fuß=1,500")
    status, out, err = _run(*touches, "--apply", folder)
    assert (status, out) == (2, "")
    assert "would be written over; --apply wants another folder than the programs'" in err
    assert (folder / "front.nc").read_text() == PROGRAM


def test_a_stretch_that_no_push_mends_is_not_told_to_be_shifted_by_nothing(folder: Path) -> None:
    status, out, _ = _run("touch", folder / "job.toml", "--setup", "front", "Kopf oben=0,-0.5", "Fuß=0,500.5")
    assert status == 1
    assert "--by" not in out
    assert "Or instead" not in out
    assert "find out what is wrong with the marks" in out


def test_the_cut_is_judged_and_not_the_marks_alone(folder: Path) -> None:
    # The cut ends at Y500; the touched marks are 250 mm apart, each within the tolerance of 0.2.
    touches = ("Kopf oben=-0.15,0", "side=60.15,250")
    status, out, _ = _run("touch", folder / "job.toml", "--setup", "front", *touches, "--json")
    data = json.loads(out)
    assert status == 1
    assert data["away_mm"] == pytest.approx(0.15)
    assert data["cut_away_mm"] > 0.4


def test_a_program_that_cannot_be_read_lets_the_whole_blank_be_looked_at(folder: Path) -> None:
    (folder / "front.nc").write_text("G21 G90\nG1 X# Y0 F600\nM2\n")
    status, out, err = _run("touch", folder / "job.toml", "--setup", "front", "Kopf oben=0,0", "Fuß=0,500", "--json")
    assert "front.nc:2:" in err
    assert "the whole blank is looked at" in err
    assert status == 0
    status, out, _ = _run("touch", folder / "job.toml", "--setup", "front", "Kopf oben=0,0", "Fuß=0.19,500", "--json")
    # The blank reaches 50 mm beyond either mark.
    assert json.loads(out)["cut_away_mm"] == pytest.approx(0.19 * 550 / 500, abs=0.01)
    assert status == 1


@pytest.mark.parametrize(
    ("touches", "word"),
    [
        (["Kopf oben=0,0", "Fuß=0,500", "side=-60,250"], "mirror image"),
        (["Kopf oben=0,500", "Fuß=0,0"], "end for end"),
        (["Kopf oben=0,0", "Fuß=0,501"], "no push and turn"),
    ],
)
def test_touches_that_no_lying_explains_write_nothing(folder: Path, touches: list[str], word: str) -> None:
    target = folder / "moved"
    status, out, err = _run("touch", folder / "job.toml", "--setup", "front", *touches, "--apply", target)
    assert status == 1
    assert word in " ".join(out.split())
    assert "nothing was written" in err
    assert not target.exists()


def test_within_the_tolerance_only_what_is_open_is_asked_for(folder: Path) -> None:
    status, out, _ = _run("touch", folder / "job.toml", "--setup", "front", "Kopf oben=0.01,0.15")
    assert status == 1
    text = " ".join(out.split())
    assert "what was touched lies as planned, and how the blank is turned is open. That is not a pass." in text
    assert "What to do touch two marks that are as far apart as there are, and ask again" in text
    assert "flipreg shift" not in text
    assert "push the whole blank" not in text


def test_one_mark_moves_the_program_and_is_no_pass(folder: Path) -> None:
    arguments = ("touch", folder / "job.toml", "--setup", "front", "Fuß=0.5,500", "--apply", folder / "moved")
    status, out, _ = _run(*arguments)
    assert status == 1
    assert out.startswith("NOT AS PLANNED")
    assert "moved by X0.5 Y0 Z0" in (folder / "moved/front.nc").read_text()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--setup", "front", "Fuß"], "'Fuß' is no touched mark; expected MARK=X,Y"),
        (["--setup", "front", "Fuß=1"], "has 1 length;"),
        (["--setup", "front", "Fuß=1,x"], "'x' is not a length"),
        (["--setup", "front", "Fuß=1,2", "Fuß=1,2"], "is given twice"),
        (["--setup", "front", "Kopf oben=1,2", "Fuß=1,2"], "have one reading"),
        (["--setup", "front", "Hals=1,2"], "there is no mark 'Hals'; this setup has 'Kopf oben', 'Fuß', 'side'"),
        (["--setup", "top", "Fuß=1,2"], "the job has no setup 'top'; it has 'front', 'Rück seite'"),
    ],
)
def test_touches_that_cannot_be_used_are_refused(folder: Path, arguments: list[str], words: str) -> None:
    status, out, err = _run("touch", folder / "job.toml", *arguments)
    assert (status, out) == (2, "")
    assert words in err


def test_the_marking_sheet_is_text_json_or_a_drawing(folder: Path) -> None:
    status, out, err = _run("marks", folder / "job.toml")
    assert (status, err) == (0, "")
    assert "Fuß" in out
    assert max(map(len, out.splitlines())) <= 88
    status, out, _ = _run("marks", folder / "job.toml", "--json")
    assert [mark["along_mm"] for mark in json.loads(out)["faces"][0]["marks"]] == [50.0, 300.0, 550.0]
    for name in ("sheet.svg", "sheet.pdf", "sheet.png"):
        status, out, err = _run("marks", folder / "job.toml", "-o", folder / name)
        assert (status, out) == (0, "")
        assert (folder / name).stat().st_size > 5000
        assert "2 pages" in err


def test_a_drawing_that_cannot_be_made_writes_nothing(folder: Path) -> None:
    for name, more, words in (
        ("sheet.jpg", [], "a drawing is a .pdf, a .svg or a .png"),
        ("sheet.svg", ["--true-scale"], "true scale needs a .pdf"),
    ):
        status, out, err = _run("marks", folder / "job.toml", "-o", folder / name, *more)
        assert (status, out) == (2, "")
        assert words in err
        assert not (folder / name).exists()
    status, _, err = _run("marks", folder / "job.toml", "--true-scale")
    assert status == 2
    assert "give -o FILE.pdf" in err


def test_the_budget_is_text_or_json(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # How exactly it is drawn is looked at elsewhere.
    monkeypatch.setattr("flipreg.align.budget._COUNT", 20_000)
    status, out, _ = _run("budget", folder / "job.toml", "--json")
    data = json.loads(out)
    assert status == (0 if data["within"] else 1)
    assert data["within"] == (max(f["monte_carlo"]["distance_mm"] for f in data["features"]) <= 0.2)
    assert {"findings", "features", "map", "needed", "left_out"} <= set(data)
    _, text, _ = _run("budget", folder / "job.toml")
    assert max(map(len, text.splitlines())) <= 100
    assert "coefficient, look: the movement of teak is from memory" in " ".join(text.split())
    assert "jog readout, squareness of the axes" in " ".join(text.split())


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("triangular = 0.1", "triangular = 0.1, normal = 1", "$.budget.lines: give one shape"),
        ("triangular = 0.1", "triangular = -0.1", "$.budget.lines.triangular: expected 0.0 or more, got -0.1"),
        ("pointer =", "pointr =", "$.budget.pointr: unknown key; did you mean pointer?"),
        ('species = "teak"\n', "", "$.blank: species missing; the movement of the wood depends on it"),
        ('"teak"', '"cheese"', "no movement coefficients for 'cheese'"),
    ],
)
def test_a_budget_that_cannot_be_used_is_refused(folder: Path, old: str, new: str, words: str) -> None:
    (folder / "job.toml").write_text((JOB + BUDGET).replace(old, new))
    status, out, err = _run("budget", folder / "job.toml")
    assert (status, out) == (2, "")
    assert words in err


FEATURE = '\n[[budget.features]]\nname = "corner"\nat = [{x}, {y}]\n'


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (FEATURE.format(x=120.5, y=0), "$.budget.features[0].at: feature 'corner' is off the blank: X 120.5"),
        (FEATURE.format(x=0, y=551), "$.budget.features[0].at: feature 'corner' is off the blank: Y 551"),
        (FEATURE.format(x=0, y=-51), "its end is at -50"),
        (FEATURE.format(x=0, y=0) + "depth = 31\n", "$.budget.features[0].depth: feature 'corner' is 31 deep"),
        (FEATURE.format(x=0, y=0) + FEATURE.format(x=0, y=9), "$.budget.features[1].name: the name 'corner' is taken"),
        (
            FEATURE.format(x=0, y=0) + FEATURE.format(x=0, y=0).replace("corner", "edge"),
            "$.budget.features[1].at: 'edge' is the same place as 'corner'",
        ),
    ],
)
def test_features_that_are_not_on_the_wood_are_refused_by_every_command(folder: Path, more: str, words: str) -> None:
    (folder / "job.toml").write_text(JOB + BUDGET + more)
    for command in ("budget", "marks"):
        status, out, err = _run(command, folder / "job.toml")
        assert (status, out) == (2, "")
        assert words in err
        assert "job.toml:6" in err


def _air(before: str, after: str) -> str:
    return "".join(
        f"air_{name} = {{ temperature = {{ value = 20, normal = 1 }}, humidity = {{ {humidity} }} }}\n"
        for name, humidity in (("before", before), ("after", after))
    )


@pytest.mark.parametrize(
    ("wood", "words"),
    [
        (_air("value = 45, normal = 2", "value = 95, rectangular = 6"), "$.budget.air_after.humidity: a relative"),
        (_air("value = 2, rectangular = 3", "value = 45, normal = 2"), "$.budget.air_before.humidity: a relative"),
        (_air("value = 45, normal = 2", "value = 90, rectangular = 1"), "$.budget.air_after: this air brings the wood"),
        (_air("value = 20, normal = 2", "value = 45, normal = 2"), "$.budget.air_before: this air brings the wood"),
        ("moisture_change = { value = 9, rectangular = 0.5 }\n", "$.budget.moisture_change: 9 points of moisture"),
    ],
)
def test_air_and_wood_beyond_what_is_known_are_refused_with_their_line(folder: Path, wood: str, words: str) -> None:
    budget = BUDGET.replace("moisture_change = { value = 0.5, rectangular = 0.5 }\n", wood)
    (folder / "job.toml").write_text(JOB + budget)
    status, out, err = _run("budget", folder / "job.toml")
    assert (status, out) == (2, "")
    assert words in err
    assert "job.toml:5" in err


def test_a_job_file_that_is_not_there_is_refused_by_every_command(folder: Path) -> None:
    for command in (["marks"], ["budget"], ["touch", "--setup", "front", "a=1,2"]):
        status, out, err = _run(command[0], folder / "no.toml", *command[1:])
        assert (status, out) == (2, "")
        assert "no.toml" in err


def test_lengths_of_a_job_in_inches_are_told_in_inches(folder: Path) -> None:
    text = JOB.replace('"mm"', '"inch"').replace("tolerance = 0.2", "tolerance = 0.01")
    for old, new in (("600", "24"), ("200", "8"), ("30\n", "1.25\n"), ("80", "4"), ("550", "22"), ("50\n", "2\n")):
        text = text.replace(f"= {old}", f"= {new}")
    text = text.replace("along = 300\nacross = 60", "along = 12\nacross = 2.5").replace(
        "diameter = 6", "diameter = 0.25"
    )
    (folder / "job.toml").write_text(text)
    status, out, err = _run("marks", folder / "job.toml")
    assert status == 0, err
    assert "24 × 8 × 1.25 inch" in out
    assert " 22 " in out
