from math import hypot
from pathlib import Path
from types import ModuleType

import pytest

from tests.samples.script import SAMPLES, loaded

FOLDER = SAMPLES / "paddle"
COMMITTED = sorted(path.name for path in FOLDER.glob("*.nc"))


@pytest.fixture(scope="module")
def script() -> ModuleType:
    return loaded(FOLDER)


def test_the_script_writes_exactly_the_committed_files(script: ModuleType, tmp_path: Path) -> None:
    script.write(tmp_path)
    assert sorted(path.name for path in tmp_path.glob("*.nc")) == COMMITTED
    for name in COMMITTED:
        assert (FOLDER / name).read_bytes() == (tmp_path / name).read_bytes(), name


def test_the_programs_are_small(script: ModuleType) -> None:
    sizes = [(FOLDER / name).stat().st_size for name in COMMITTED]
    assert len(sizes) == 16
    assert max(sizes) < 150_000
    assert sum(sizes) < 1_500_000


def test_the_script_does_without_flipreg() -> None:
    lines = (FOLDER / "make_programs.py").read_text().splitlines()
    assert [line for line in lines if line.startswith(("import", "from")) and "flipreg" in line] == []


def test_the_wrong_job_differs_in_one_jog_only() -> None:
    right, wrong = ((FOLDER / name).read_text().splitlines() for name in ("job.toml", "job-wrong-jog.toml"))
    assert len(right) == len(wrong)
    changed = [pair for pair in zip(right, wrong, strict=True) if pair[0] != pair[1]]
    assert changed[1:] == [("zero = [0, -30]", "zero = [0, -32]")]
    assert changed[0][0].startswith("# ")


def test_the_paddle_is_as_long_as_it_says_and_bends_where_it_says(script: ModuleType) -> None:
    assert (script.LENGTH, script.ANGLE) == (1320.0, 12.0)
    assert script.half_width(0.0) == script.half_width(1320.0) == 0.0
    assert max(script.half_width(b / 10) for b in range(13200)) == pytest.approx(107.5)


def test_it_stays_inside_the_blank_everywhere(script: ModuleType) -> None:
    assert max(script.half_height(b) for b in range(1321)) <= script.THICKNESS / 2
    assert max(script.half_width(b) for b in range(1321)) + script.FLAT < 120.0


@pytest.mark.parametrize("b", [50.0, 300.0, 700.0, 900.0, 1050.0, 1200.0])
@pytest.mark.parametrize("u", [-0.9, -0.3, 0.0, 0.6])
def test_the_ball_touches_the_surface_and_does_not_cut_into_it(script: ModuleType, u: float, b: float) -> None:
    a, b_tip, c = script._ball_tip(u, b)
    centre = (a, b_tip, c + script.BALL)
    near = [
        script._surface(u + du / 400, b + db / 20)
        for du in range(-20, 21)
        for db in range(-60, 61, 3)
        if abs(u + du / 400) <= 1
    ]
    distances = [hypot(*(p - q for p, q in zip(place, centre, strict=True))) for place in near]
    assert min(distances) == pytest.approx(script.BALL, abs=0.01)


def test_the_edge_and_the_profile_are_a_tool_radius_apart(script: ModuleType) -> None:
    outline = script._outline(script.SETUPS[2])
    edge = [(script.half_width(b / 4), b / 4) for b in range(3260, 5281)]
    middle = outline[40:60]
    for a, b in middle:
        nearest = min(hypot(abs(a) - x, b - y) for x, y in edge)
        assert nearest == pytest.approx(script.FLAT, abs=0.02)
