"""Reading what the job file says of the machine, of clamps and stations, and of what the check looks for."""

from collections.abc import Callable
from pathlib import Path

import pytest

from flipreg.job.clamp import Clamp
from flipreg.job.file.read import parse_job
from flipreg.job.job import Job
from flipreg.job.limits import Limits
from flipreg.job.machine import Machine
from flipreg.job.problem import JobFileError
from flipreg.job.station import Station
from flipreg.job.tool import Tool, ToolShape

FOLDER = Path(__file__).parents[2] / "samples/paddle"
PADDLE = (FOLDER / "job.toml").read_text(encoding="utf-8")

TEETH = "plunge = true               # its teeth"
BLADE_BACK = "machine_zero = [300, 690, -94]\n"
CLAMPS = """clamps = [
  { name = "near", x = [-150, -90], y = [-500, -440], top = 52.5 },
  { name = "far", x = [90, 150], y = [-500, -440], top = 50 },
]
"""
GOOD = (
    PADDLE.replace(BLADE_BACK, BLADE_BACK + CLAMPS)
    .replace("rapid = 5000 ", "stop_angle = 25\nrapid = 5000 ")
    .replace("least_web = 5\n", "least_web = 5\ngrid = 0.5\nmost_into_spoilboard = 0.3\nclearance = 2\n")
    .replace("along = 1120\n", "along = 1120\nacross = -40\n")
)


def read(text: str) -> Job:
    return parse_job(text.encode(), source="job.toml", folder=str(FOLDER))


class TestWhatIsRead:
    def test_the_machine(self) -> None:
        expected = Machine(5000.0, 250.0, 25.0, ((0.0, 600.0), (0.0, 1000.0), (-120.0, 0.0)))
        assert expected == read(GOOD).machine

    def test_what_the_check_looks_for(self) -> None:
        assert Limits(0.5, 5.0, 0.3, 20.0, 2.0) == read(GOOD).limits

    def test_the_stations(self) -> None:
        stations = read(GOOD).stations
        assert [station.name for station in stations] == ["grip", "shaft", "throat", "blade"]
        assert stations[0] == Station("grip", 150.0)
        assert stations[3] == Station("blade", 1120.0, -40.0)

    def test_the_planned_thickness_of_a_station(self) -> None:
        text = GOOD.replace("across = -40", "across = -40\nthickness = { planned = 14.5, tolerance = 0.25 }")
        assert read(text).stations[3] == Station("blade", 1120.0, -40.0, 14.5, 0.25)
        with pytest.raises(JobFileError, match=r"stations\[3\]\.thickness\.tolerance: missing: how far off it may be"):
            read(text.replace(", tolerance = 0.25", ""))

    def test_the_clamps_and_machine_zero_of_each_setup(self) -> None:
        setups = read(GOOD).setups
        assert [setup.machine_zero_mm for setup in setups[:2]] == [(300.0, 90.0, -60.0)] * 2
        assert setups[3].machine_zero_mm == (300.0, 690.0, -94.0)
        assert [setup.clamps for setup in setups[:3]] == [(), (), ()]
        near = Clamp("near", (-150.0, -90.0), (-500.0, -440.0), 52.5)
        assert setups[3].clamps == (near, Clamp("far", (90.0, 150.0), (-500.0, -440.0), 50.0))

    def test_which_programs_cut_the_profile_and_which_tools_plunge(self) -> None:
        job = read(GOOD)
        assert [Path(part.file).name for part in job.setups[0].programs if part.profile] == ["shaft-front-profile.nc"]
        assert [job.tools[0].plunge, job.tools[2].plunge] == [True, None]
        assert read(GOOD.replace(TEETH, "plunge = false # its teeth")).tools[0].plunge is False

    def test_inches_become_millimetres(self) -> None:
        job = read(GOOD.replace('units = "mm"', 'units = "inch"').replace("length = 1400 ", "length = 390 ")
                   .replace("along = 1120", "along = 112").replace("along = 780", "along = 78")
                   .replace("along = 450", "along = 45").replace("along = 800", "along = 80")
                   .replace("along = 860", "along = 86").replace("along = 1380", "along = 138")
                   .replace("along = 1387", "along = 139").replace("690]", "20]"))  # fmt: skip
        assert job.machine is not None
        assert job.machine.rapid_mm_per_min == pytest.approx(127_000.0)
        assert job.machine.acceleration_mm_per_s2 == pytest.approx(6_350.0)
        assert job.machine.stop_deg == 25.0
        assert job.machine.travel_mm is not None
        assert job.machine.travel_mm[2] == pytest.approx((-3048.0, 0.0))
        assert pytest.approx((12.7, 127.0, 7.62, 508.0, 50.8)) == (
            job.limits.grid_mm,
            job.limits.least_web_mm,
            job.limits.most_into_spoilboard_mm,
            job.limits.over_zero_at_mm,
            job.limits.clearance_mm,
        )
        assert (job.stations[3].along_mm, job.stations[3].across_mm) == pytest.approx((2844.8, -1016.0))
        assert job.setups[0].machine_zero_mm == pytest.approx((7620.0, 2286.0, -1524.0))
        clamp = job.setups[3].clamps[0]
        assert (*clamp.x_mm, *clamp.y_mm, clamp.top_mm) == pytest.approx((-3810, -2286, -12700, -11176, 1333.5))

    def test_nothing_of_it_is_needed(self) -> None:
        start, end = PADDLE.index("# A hobby router"), PADDLE.index("[[marks]]")
        lines = (PADDLE[:start] + PADDLE[end:]).splitlines()
        job = read("\n".join(line for line in lines if not line.startswith(("machine_zero", "plunge"))))
        assert job.machine is None
        assert Limits() == job.limits
        assert job.stations == ()
        assert {None} == {setup.machine_zero_mm for setup in job.setups}

    def test_a_machine_may_have_travel_only_and_that_of_one_axis(self) -> None:
        start, end = PADDLE.index("rapid ="), PADDLE.index("# What the check")
        job = read(PADDLE[:start] + "travel = { z = [-90.5, 1] }\n" + PADDLE[end:])
        assert Machine(travel_mm=(None, None, (-90.5, 1.0))) == job.machine


ONE_MISTAKE = [
    ("acceleration = 250 ", "#", "$.machine.rapid", "rapid without acceleration"),
    ("rapid = 5000 ", "#", "$.machine.acceleration", "acceleration without rapid"),
    ("rapid = 5000 ", "rapid = 0 ", "$.machine.rapid", "more than 0.0, got 0"),
    ("acceleration = 250 ", "acceleration = inf ", "$.machine.acceleration", "a finite number"),
    ("stop_angle = 25", "stop_angle = 181", "$.machine.stop_angle", "180.0 or less"),
    ("x = [0, 600]", "x = [600, 0]", "$.machine.travel.x", "the lower number first, got [600, 0]"),
    ("y = [0, 1000]", "y = [7, 7]", "$.machine.travel.y", "the lower number first, got [7, 7]"),
    ("z = [-120, 0]", "z = [-120]", "$.machine.travel.z", "at least 2, got 1"),
    ("z = [-120, 0]", "a = [-120, 0]", "$.machine.travel.a", "unknown key"),
    ("grid = 0.5", "grid = 0", "$.check.grid", "more than 0.0, got 0"),
    ("grid = 0.5", "grid = 500", "$.check.grid", "500 is more than the blank, which is 240 wide"),
    ("grid = 0.5", "grid = 2.6", "$.check.grid", "2.6 is too coarse to see what the tool '5 drill' cuts"),
    ("least_web = 5", "least_web = 0", "$.check.least_web", "more than 0.0"),
    ("least_web = 5", "least_web = 35", "$.check.least_web", "35 is more than the blank, which is 34 thick"),
    ("most_into_spoilboard = 0.3", "most_into_spoilboard = -0.3", "$.check.most_into_spoilboard", "0.0 or more"),
    ("clearance = 2", "clearance = -2", "$.check.clearance", "0.0 or more"),
    ("over_zero_at = 20", 'over_zero_at = "20"', "$.check.over_zero_at", "such as \"3/8in\", got '20'"),
    ("least_web = 5", "last_web = 5", "$.check.last_web", "did you mean least_web?"),
    ('name = "throat"\nalong = 780', 'name = "grip"\nalong = 780', "$.stations[2].name", "taken by $.stations[0]"),
    ("along = 1120", "along = 1401", "$.stations[3].along", "'blade' is off the blank: 1401 from the near end"),
    ("along = 1120", "along = -1", "$.stations[3].along", "0.0 or more"),
    ("across = -40", "across = -121", "$.stations[3].across", "off the blank: -121 beside the centre line"),
    ("along = 1120\n", "", "$.stations[3].along", "missing: distance from the near end"),
    ('name = "far", x = [90', 'name = "near", x = [90', "$.setups[3].clamps[1].name", "$.setups[3].clamps[0] already"),
    ("x = [90, 150]", "x = [150, 90]", "$.setups[3].clamps[1].x", "the lower number first"),
    ("x = [90, 150], y = [-500, -440]", "x = [90, 150], y = [1, 1]", "$.setups[3].clamps[1].y", "the lower number"),
    (", top = 52.5", "", "$.setups[3].clamps[0].top", "missing: the program's Z at its highest point"),
    ("machine_zero = [300, 690, -94]", "machine_zero = [300, 690]", "$.setups[3].machine_zero", "at least 3, got 2"),
    (TEETH, "plunge = 1 # its teeth", "$.tools[0].plunge", "valid boolean"),
    ("point_angle = 118", "point_angle = 118\nplunge = false", "$.tools[2].plunge", "a drill goes straight down"),
    ('"blade-back-profile.nc", tool = "6 flat", profile = true', '"blade-back-profile.nc", tool = "6 flat", '
     'profile = "yes"', "$.setups[3].programs[2].profile", "valid boolean"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "path", "says"), ONE_MISTAKE)
def test_one_mistake_is_told_once_with_its_key_path(old: str, new: str, path: str, says: str) -> None:
    assert GOOD.count(old) == 1
    with pytest.raises(JobFileError) as caught:
        read(GOOD.replace(old, new))
    (told,) = str(caught.value).splitlines()
    assert f" {path}: " in told
    assert says in told


def test_the_line_is_that_of_the_key() -> None:
    with pytest.raises(JobFileError) as caught:
        read(GOOD.replace("x = [90, 150]", "x = [150, 90]"))
    line = next(number for number, text in enumerate(GOOD.splitlines(), 1) if 'name = "far"' in text)
    assert str(caught.value).startswith(f"job.toml:{line}: ")


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Machine(rapid_mm_per_min=5000.0), "come together or not at all"),
        (lambda: Machine(5000.0, 0.0), "numbers over 0"),
        (lambda: Machine(stop_deg=float("nan")), "stop_deg: expected a finite number, got nan"),
        (lambda: Machine(travel_mm=((1.0, 0.0), None, None)), "from a lower to a higher number"),
        (lambda: Limits(grid_mm=0.0), "lengths over 0 mm, got 0.0"),
        (lambda: Limits(clearance_mm=-0.1), "lengths of 0 or more, got -0.1"),
        (lambda: Limits(over_zero_at_mm=float("inf")), "over_zero_at_mm: expected a finite number, got inf"),
        (lambda: Station("s", float("nan")), "Station 's': along_mm: expected a finite number, got nan"),
        (lambda: Clamp("c", (1.0, 0.0), (0.0, 1.0), 0.0), "from a lower to a higher number in X and in Y"),
        (lambda: Clamp("c", (0.0, 1.0), (0.0, 1.0), float("inf")), "top_mm: expected a finite number, got inf"),
        (lambda: Tool("drill", ToolShape.DRILL, 5.0, plunge=False), "a drill goes straight down"),
    ],
)
def test_values_out_of_range_cannot_be_made(make: Callable[[], object], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        make()
