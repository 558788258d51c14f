"""Cutters by their shapes on the command line, and the rim that they let the check see."""

import json
from pathlib import Path as File

import numpy as np
import pytest

from flipreg.path import Kind, Path
from tests.commands.command import run
from tests.job.plain_file import plain_job
from tests.register.carved import Placed, ball_heights, domed, raster
from tests.register.shapes import Floats

REACH, DEPTH = 26.0, 14.0
"""How far the passes reach from the middle, and how deep the floor beside the part is, in millimetres."""
MIDDLE_Y = 35.0

JOB = plain_job((80, 80, 20), along=5, centre_line=40, tolerance=0.3, tool="6 ball") + "\n[check]\ngrid = 1\n"


def surface(u: Floats, v: Floats) -> Floats:
    """Return a small part's height: a dome that is lower at one end and no side like another, and a floor beside."""
    high = domed(u * 3.0, v * 3.0)
    return np.where(high <= -11.0, -DEPTH, high - 0.05 * (u + 0.9 * v + 30.0))


def written(path: Path, at_mm: tuple[float, float, float]) -> str:
    lines = ["G21 G90 G17 F900", "S12000 M3"]
    for kind, (x, y, z) in zip(path.kind.tolist(), (path.end + at_mm).tolist(), strict=True):
        words = [f"{letter}{at:.3f}" for letter, at in zip("XYZ", (x, y, z), strict=True) if np.isfinite(at)]
        lines.append(" ".join(["G0" if kind == Kind.RAPID else "G1", *words]))
    return "\n".join([*lines, "G0 Z10", "M30", ""])


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> File:
    """Return a folder with a carved pair, the same back 0.5 mm off, and its job."""
    made = tmp_path_factory.mktemp("carved")
    front = ball_heights(Placed(surface, (0.0, 0.0)), 3.0)

    def mirrored(x: Floats, y: Floats) -> Floats:
        return front(-x, y)

    ways = {"front.nc": (front, "x", 0.5, 0.3), "back.nc": (mirrored, "y", 0.6, 0.8)}
    for name, (heights, along, stepover, phase) in ways.items():
        path = raster(heights, REACH, stepover, along=along, phase=phase, every=0.25).path
        for file, off_mm in ((name, 0.0), (f"off-{name}", 1.0)):
            (made / file).write_text(written(path, (off_mm, MIDDLE_Y, 0.0)))
    (made / "job.toml").write_text(JOB)
    return made


def checked(folder: File, back: str, *more: str) -> tuple[int, dict[str, dict[str, str | float]]]:
    """Return the exit status of a check, and the directions of its JSON."""
    told = ["--axis", "y", "--at", "0", "--tolerance", "0.3", *more]
    status, out, err = run(["check", str(folder / "front.nc"), str(folder / back), *told, "--json"])
    assert err == ""
    return status, json.loads(out)["directions"]


def test_the_rim_of_a_carved_pair_shows_register_once_shapes_and_thickness_are_told(folder: File) -> None:
    status, directions = checked(folder, "back.nc", "--thickness", "20", "--tool", "ball:6")
    assert (status, {one["status"] for one in directions.values()}) == (0, {"pass"})
    assert all("rim" in str(one["evidence"]) for one in directions.values())


@pytest.mark.parametrize("more", [["--thickness", "20"], ["--tool", "ball:6"]], ids=["no tool", "no thickness"])
def test_without_the_tool_or_the_thickness_the_rim_says_nothing(folder: File, more: list[str]) -> None:
    status, directions = checked(folder, "back.nc", *more)
    assert status == 1
    assert not any("rim" in str(one["evidence"]) for one in directions.values())


def test_a_carved_back_that_is_off_is_not_passed_and_the_rim_says_by_how_much(folder: File) -> None:
    status, directions = checked(folder, "off-back.nc", "--thickness", "20", "--tool", "ball:6")
    assert status == 1
    # To the right in the back's own numbers is to the left as seen from the front.
    assert directions["across"]["off"] == pytest.approx(-1.0, abs=0.05)
    assert directions["across"]["status"] == "not determined"


def test_a_job_is_judged_by_the_same_rim(folder: File) -> None:
    _, out, err = run(["check", str(folder / "job.toml"), "--json"])
    assert err == ""
    (pair,) = json.loads(out)["pairs"]
    assert pair["in_register"] is True
    assert "rim" in pair["directions"]["along"]["evidence"]


@pytest.mark.parametrize(
    ("said", "says"),
    [
        ("ball", "'ball'"),
        ("cone:6", "'cone' is no shape of a tool; known are flat, ball, bull, vee, drill"),
        ("ball:6:1", "is not of the form ball:D"),
        ("bull:6", "is not of the form bull:D:CORNER-RADIUS"),
        ("bull:6:4", "at most half the diameter"),
        ("T5=vee:12:nan", "angle"),
        ("ball:0", "more than 0"),
    ],
)
def test_a_shape_that_is_none_is_refused_with_what_is_expected(folder: File, said: str, says: str) -> None:
    file = str(folder / "front.nc")
    status, out, err = run(["check", file, file, "--tolerance", "0.1", "--tool", said])
    assert (status, out) == (2, b"")
    assert says in " ".join(err.split())


@pytest.mark.parametrize("said", ["6", "flat:6", "bull:6:1", "vee:12:90", "drill:5", "drill:5:118", "ball:0.25in"])
def test_every_shape_of_the_job_file_can_be_told(said: str, tmp_path: File) -> None:
    file = str(tmp_path / "front.nc")
    File(file).write_text("G21 G90\nG0 X5 Y5 Z5\nG1 Z-1 F300\nX20\nG0 Z5\nM30\n")
    status, out, _ = run(["check", file, file, "--tolerance", "0.1", "--tool", f"T1={said}", "--tool", said])
    assert status == 1
    assert out
