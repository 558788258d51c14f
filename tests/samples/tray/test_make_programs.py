from pathlib import Path
from types import ModuleType

import pytest

from tests.samples.script import SAMPLES, loaded

FOLDER = SAMPLES / "tray"
COMMITTED = sorted(path.relative_to(FOLDER).as_posix() for path in FOLDER.rglob("*.nc"))


@pytest.fixture(scope="module")
def script() -> ModuleType:
    return loaded(FOLDER)


def test_the_script_writes_exactly_the_committed_files(script: ModuleType, tmp_path: Path) -> None:
    script.write(tmp_path)
    written = sorted(path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*.nc"))
    assert written == COMMITTED
    for name in COMMITTED:
        assert (FOLDER / name).read_bytes() == (tmp_path / name).read_bytes(), name


def test_no_committed_program_is_large() -> None:
    assert max((FOLDER / name).stat().st_size for name in COMMITTED) < 150_000


def test_the_finishing_program_has_thousands_of_short_lines() -> None:
    assert (FOLDER / "front-finish.nc").read_text().count("\n") > 5_000


def test_holes_of_the_back_are_those_of_the_front_seen_from_behind() -> None:
    assert {(-x, y) for x, y in _points("front-holes.nc")} == _points("back-holes.nc")


def test_the_planted_mistake_moves_the_back_by_eight_tenths_along_x() -> None:
    right, mistaken = _points("back-holes.nc"), _points("mistake/back-holes.nc")
    assert {(round(x + 0.8, 3), y) for x, y in right} == mistaken


@pytest.mark.parametrize(("x_sign", "y_sign"), [(-1, 1), (1, -1), (-1, -1)])
def test_no_other_way_of_laying_the_tray_down_fits_its_holes(x_sign: int, y_sign: int) -> None:
    holes = _points("front-holes.nc")
    assert _from_corner({(x_sign * x, y_sign * y) for x, y in holes}) != _from_corner(holes)


def _from_corner(points: set[tuple[float, float]]) -> set[tuple[float, float]]:
    """Measure points from the corner of the box around them, so that no shift hides a match."""
    left, near = min(x for x, _ in points), min(y for _, y in points)
    return {(x - left, y - near) for x, y in points}


def _points(name: str) -> set[tuple[float, float]]:
    """Read the hole positions out of a program without flipreg: the blocks with both X and Y but the zero."""
    found = set()
    for line in (FOLDER / name).read_text().splitlines():
        words = {word[0]: word[1:] for word in line.split() if word[0] in "XY"}
        if len(words) == 2:
            found.add((float(words["X"]), float(words["Y"])))
    return found - {(0.0, 0.0)}
