"""The scripts of the how-to pages: typed strictly, made of public names, and run."""

import ast
import importlib.util
import json
import shutil
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from types import ModuleType

import pytest

import flipreg
from tests.docs.examples import TOP

SCRIPTS = sorted((TOP / "docs/how-to/scripts").glob("*.py"))
TRAY = TOP / "samples/tray"


def _script(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, TOP / f"docs/how-to/scripts/{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda script: script.name)
def test_scripts_use_public_names_only(script: Path) -> None:
    tree = ast.parse(script.read_text(encoding="utf-8"))
    imported = {
        name
        for node in ast.walk(tree)
        for name in (
            [alias.name for alias in node.names]
            if isinstance(node, ast.Import)
            else [str(node.module)]
            if isinstance(node, ast.ImportFrom)
            else []
        )
    }
    assert {name for name in imported if name.startswith("flipreg")} == {"flipreg"}
    used = {
        node.attr
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "flipreg"
    }
    assert used
    assert used <= set(flipreg.__all__)


def test_a_folder_is_flipped_and_what_cannot_be_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    fronts, backs = tmp_path / "front", tmp_path / "back"
    fronts.mkdir()
    for name in ("front-profile.nc", "front-holes.nc"):
        shutil.copy(TRAY / name, fronts)
    (fronts / "wrong.nc").write_text("G21 G90\nG2 X10 Y0 F600\n")
    (problem,) = _script("flip_folder").flip_folder(fronts, backs, Decimal("12.5"))
    assert problem.startswith(f"{fronts / 'wrong.nc'}:2:1: an arc without a centre")
    assert sorted(path.name for path in backs.iterdir()) == ["front-holes.nc", "front-profile.nc"]
    exact = flipreg.flip(
        flipreg.read(fronts / "front-holes.nc"), axis=flipreg.FlipAxis.Y, datum_mm=(Decimal(25), Decimal(0))
    )
    assert (backs / "front-holes.nc").read_bytes() == exact.text
    assert "front-profile.nc: 120 motions, proved within 0.000000 mm" in capsys.readouterr().out


def test_the_worst_point_of_two_faces_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    check_faces, front = _script("check_faces").check_faces, str(TRAY / "front-holes.nc")
    assert check_faces(front, str(TRAY / "back-holes.nc"), Decimal(0), 0.1) is True
    assert "the faces are 0.000 mm apart" in capsys.readouterr().out
    assert check_faces(front, str(TRAY / "mistake/back-holes.nc"), Decimal(0), 0.1) is False
    told = capsys.readouterr().out
    assert "the faces are 0.800 mm apart at X " in told
    assert "register: " in told


def test_a_job_built_in_python_is_that_of_its_file(tmp_path: Path) -> None:
    script = _script("build_job")
    job = script.tray(TRAY)
    assert replace(job, source="") == replace(flipreg.read_job(TRAY / "job.toml"), source="")
    assert script.write_check(replace(job, limits=replace(job.limits, grid_mm=2.0)), tmp_path) is True
    assert (tmp_path / "check.txt").read_text().startswith("IN REGISTER")
    assert json.loads((tmp_path / "check.json").read_text())["in_register"] is True
    assert (tmp_path / "check.svg").read_bytes().startswith(b"<?xml")
    assert "A" in (tmp_path / "marks.txt").read_text()
