from math import hypot, pi
from pathlib import Path
from types import ModuleType

import pytest

from tests.samples.script import SAMPLES, loaded

FOLDER = SAMPLES / "bowl"
COMMITTED = sorted(path.name for path in FOLDER.glob("*.nc"))


@pytest.fixture(scope="module")
def script() -> ModuleType:
    return loaded(FOLDER)


def test_the_script_writes_exactly_the_committed_files(script: ModuleType, tmp_path: Path) -> None:
    script.write(tmp_path)
    assert sorted(path.name for path in tmp_path.glob("*.nc")) == COMMITTED == ["back.nc", "front.nc"]
    for name in COMMITTED:
        assert (FOLDER / name).read_bytes() == (tmp_path / name).read_bytes(), name


def test_the_script_does_without_flipreg() -> None:
    lines = (FOLDER / "make_programs.py").read_text().splitlines()
    assert [line for line in lines if line.startswith(("import", "from")) and "flipreg" in line] == []


@pytest.mark.parametrize("name", COMMITTED)
def test_each_program_is_in_inches_and_changes_tools(name: str) -> None:
    text = (FOLDER / name).read_text()
    assert "G20" in text
    assert len({line.split()[0] for line in text.splitlines() if " M6 " in line}) == 3
    assert text.count("\n") < 1000


@pytest.mark.parametrize("inset", [-0.125, 0.0, 1.0, 1.75, 2.4])
def test_a_loop_is_closed_without_corners_as_long_as_it_has_ends(script: ModuleType, inset: float) -> None:
    arcs = script.loop(inset)
    for one, after in zip(arcs, [*arcs[1:], arcs[0]], strict=True):
        assert one.at(one.end) == pytest.approx(after.at(after.start))
        turned = (after.start - one.end) % (2 * pi)
        assert inset >= script.END_RADIUS or min(turned, 2 * pi - turned) == pytest.approx(0.0, abs=1e-9)
    assert max(arc.at(0.0)[0] for arc in arcs if arc.start < 0.0) == pytest.approx(script.HALF_WIDTH - inset)


@pytest.mark.parametrize("share", [0.0, 0.2, 0.5, 0.8, 1.0])
@pytest.mark.parametrize("which", ["cove", "round"])
def test_the_ball_touches_the_surface_and_does_not_cut_into_it(script: ModuleType, which: str, share: float) -> None:
    is_cove = which == "cove"
    inset, tip = (script._in_cove if is_cove else script._on_round)(share * pi / 2)
    depth_at = script.hollow_depth if is_cove else script.base_depth
    # Places of the finished profile, its upright stretches too.
    profile = [(step / 2000, depth_at(step / 2000)) for step in range(int(script.FOOT_INSET * 2000))]
    edge = script.RIM if is_cove else 0.0
    bottom = script.FOOT_HEIGHT + script.ROUND
    profile += [(edge, 0.0 if is_cove else bottom + step / 500) for step in range(50)]
    nearest = min(hypot(inset - i, tip - script.CUTTER - d) for i, d in profile)
    assert nearest == pytest.approx(script.CUTTER, abs=1e-3)


def test_holes_are_alike_on_both_sides_of_nothing(script: ModuleType) -> None:
    (a, b), middle = script.HOLES, script.MIDDLE_Y
    for turned in ((-b[0], b[1]), (b[0], 2 * middle - b[1]), (-b[0], 2 * middle - b[1])):
        assert hypot(a[0] - turned[0], a[1] - turned[1]) > 0.25
