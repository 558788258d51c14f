"""What is left of the wood, checked from outside: refusals with their lines, and what fails."""

import shutil
from pathlib import Path as File

import pytest

from tests.commands.command import run

TRAY = File(__file__).parents[2] / "samples/tray"


@pytest.fixture
def folder(tmp_path: File) -> File:
    """Return a copy of the tray's folder."""
    return File(shutil.copytree(TRAY, tmp_path / "tray"))


def _with_grid(folder: File, grid: str) -> tuple[str, int]:
    """Write a job with a grid; return its name, and the line that says the grid."""
    text = (folder / "job.toml").read_text(encoding="utf-8")
    assert "[check]\n" in text
    text = text.replace("[check]\n", f"[check]\ngrid = {grid}\n")
    path = folder / "grid.toml"
    path.write_text(text, encoding="utf-8")
    return str(path), text.splitlines().index(f"grid = {grid}") + 1


@pytest.mark.parametrize(("grid", "says"), [("0.001", "million cells; take at least"), ("40", "too coarse")])
def test_a_grid_that_cannot_be_used_is_refused_with_its_line_and_what_to_do(folder: File, grid: str, says: str) -> None:
    name, line = _with_grid(folder, grid)
    status, out, err = run(["check", name])
    assert (status, out) == (2, b"")
    assert err.startswith(f"{name}:{line}: $.check.grid: ")
    assert says in err


def test_a_traverse_into_wood_fails_the_check_although_all_is_in_register(folder: File) -> None:
    program = folder / "front-holes.nc"
    lines = program.read_text(encoding="utf-8").splitlines()
    end = max(number for number, line in enumerate(lines) if "M30" in line or "M2" in line)
    lines[end:end] = ["G0 X0 Y200", "G0 Z-15", "G0 Z30", "G0 X0 Y0"]
    program.write_text("\n".join(lines) + "\n", encoding="utf-8")
    status, out, err = run(["check", _with_grid(folder, "2")[0]])
    text = " ".join(out.decode().split())
    assert (status, err) == (1, "")
    assert "IN REGISTER" in text
    assert f"front-holes.nc line {end + 2}" in text
