"""What the reports of a job say of the wood."""

import json

from flipreg.job.limits import Limits
from flipreg.job.station import Station
from flipreg.report.job import job_text
from flipreg.report.json.job import job_json
from tests.stock.wood_jobs import checked, part, profile

TABBED = profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0)
PROGRAMS = {"front-profile": ("6 flat", TABBED), "back-profile": ("6 flat", TABBED)}
STATIONS = [Station("middle", 50.0, 0.0)]


def test_the_text_has_tables_of_what_holds_the_tabs_and_the_stations() -> None:
    text = job_text(checked(part(PROGRAMS, stations=STATIONS), PROGRAMS, compares=True), full=True)
    lines = [" ".join(line.split()) for line in text.splitlines()]
    assert "middle 0.00 0.00 20.00" in lines
    assert any(line.startswith("front ") and "floor 9.5" in line for line in lines)
    assert any(line.startswith("back ") and "2 tabs" in line and line.endswith("mm²") for line in lines)
    # A board in one piece has no sections to tell apart.
    assert "tab X Y wide thick area" in lines
    assert [" ".join(line.split()[:2]) for line in lines if line.startswith("K")] == ["K1 -20.0", "K2 20.0"]
    assert "straight" not in text
    assert max(map(len, text.splitlines())) <= 80


def test_a_planned_thickness_stands_beside_what_is_left() -> None:
    stations = [*STATIONS, Station("end", 90.0, 0.0, 19.5, 0.25)]
    text = job_text(checked(part(PROGRAMS, stations=stations), PROGRAMS), full=True)
    lines = [" ".join(line.split()) for line in text.splitlines()]
    assert "station front cut back cut left planned" in lines
    assert "middle 0.00 0.00 20.00" in lines
    assert "end 0.00 0.00 20.00 19.5 ± 0.25" in lines


def test_the_verdict_points_to_what_fails() -> None:
    loose = profile(20.0, 30.0, -10.5)
    programs = {"front-profile": ("6 flat", loose), "back-profile": ("6 flat", loose)}
    report = checked(part(programs), programs, compares=True)
    text = job_text(report)
    number = next(number for number, one in enumerate(report.remarks, 1) if one.check == "holding")
    assert text.splitlines()[1] == f"BUT NOT AS IT SHOULD BE: see {number} below."
    assert any(line.startswith(f"{number}. holding, fails:") for line in text.splitlines())


def test_json_has_the_same_in_numbers() -> None:
    report = json.loads(
        json.dumps(job_json(checked(part(PROGRAMS, limits=Limits(grid_mm=0.1), stations=STATIONS), PROGRAMS)))
    )
    assert [left["grid_mm"] for left in report["left"]] == [0.1]
    assert [(one["setup"], one["joined"], len(one["tabs"])) for one in report["held"]] == [
        ("front", True, 0),
        ("back", True, 2),
    ]
    assert [tab["number"] for tab in report["tabs"]] == [1, 2]
    (station,) = report["stations"]
    assert (station["name"], station["section"], station["left_mm"]) == ("middle", "straight", 20.0)
    (step,) = report["steps"]
    assert step["worst_mm"] == max(step["step_mm"]) == 0.0
    assert len(step["at_mm"]) == len(step["step_mm"]) > 50
    web = next(one for one in report["findings"] if one["check"] == "breakthrough")
    assert web["section"] == "straight"
