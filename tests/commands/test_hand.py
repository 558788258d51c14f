"""`flipreg hand`: the mirrored part, front and back together, written only if they are in register."""

import json
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

import flipreg
from tests.commands.command import run
from tests.motions import motions, sampled

FRONT = """\
G21 G90 G17
T1 M6
G0 X10 Y5 Z5
G1 Z-3 F300
X60
Y25
G3 X50 Y35 I-10
G1 X10 Y30
Y5
G0 Z5
X20 Y12
G1 Z-3
G0 Z5
X45 Y18
G1 Z-3
G0 Z5
M2
"""
"""An outline without symmetry, and two holes."""

DATUMS = {"y": (Decimal(70), Decimal(4)), "x": (Decimal(3), Decimal(50))}


def both_faces(folder: Path, axis: str) -> tuple[Path, Path, list[str]]:
    """Write a front and its back, and return them with the options that say how the blank is turned over."""
    front, back = folder / "front.nc", folder / "back.nc"
    front.write_text(FRONT)
    flipped = flipreg.flip(flipreg.parse(FRONT), axis=flipreg.FlipAxis(axis), datum_mm=DATUMS[axis])
    back.write_bytes(flipped.text)
    x, y = DATUMS[axis]
    options = ["--axis", axis, "--datum", f"{x},{y}", "--tolerance", "0.05", "--tool", "6"]
    return front, back, ["--front", str(front), "--back", str(back), *options]


@pytest.mark.parametrize("axis", ["x", "y"])
@pytest.mark.parametrize("across", ["x=31.5", "y=20"])
def test_both_faces_of_the_mirrored_part_are_in_register(axis: str, across: str, tmp_path: Path) -> None:
    _, _, options = both_faces(tmp_path, axis)
    into = tmp_path / "left"
    status, out, err = run(["hand", *options, "--across", across, "--into", str(into)])
    assert (status, out.decode().split(":")[0]) == (0, "IN REGISTER")
    assert err.count("written") == 2
    front, back = (motions((into / name).read_bytes()) for name in ("front.nc", "back.nc"))
    _assert_mirrored(motions(FRONT), front, across)
    _assert_flipped(front, back, axis)


def _assert_mirrored(source: flipreg.Path, made: flipreg.Path, across: str) -> None:
    letter, at = across.split("=")
    expected = sampled(source)
    column = "xy".index(letter)
    expected[..., column] = 2 * float(at) - expected[..., column]
    np.testing.assert_allclose(sampled(made), expected, atol=1e-9)


def _assert_flipped(front: flipreg.Path, back: flipreg.Path, axis: str) -> None:
    """Hold the mirrored back to the flip of the mirrored front about the same datum: it is cut at the same places."""
    x, y = map(float, DATUMS[axis])
    seen = sampled(back)
    seen[..., 0] = x - seen[..., 0] if axis == "y" else x + seen[..., 0]
    seen[..., 1] = y + seen[..., 1] if axis == "y" else y - seen[..., 1]
    np.testing.assert_allclose(seen, sampled(front), atol=1e-9)


def test_the_mirrored_part_is_another_thing_than_the_other_face(tmp_path: Path) -> None:
    _, back, options = both_faces(tmp_path, "y")
    run(["hand", *options, "--across", "x=35", "--into", str(tmp_path / "left")])
    other_face = motions(back.read_bytes()).end
    left = motions((tmp_path / "left" / "front.nc").read_bytes()).end
    assert np.abs(np.nan_to_num(other_face - left)).max() > 1


def test_faces_that_are_not_in_register_are_not_written(tmp_path: Path) -> None:
    _, back, options = both_faces(tmp_path, "y")
    back.write_bytes(flipreg.shift(flipreg.read(back), by_mm=(Decimal(0), Decimal("0.8"), Decimal(0))).text)
    into = tmp_path / "left"
    status, out, err = run(["hand", *options, "--across", "x=0", "--into", str(into)])
    assert (status, into.exists()) == (1, False)
    assert out.startswith(b"NOT IN REGISTER")
    assert err == "the mirrored programs are not shown to be in register; nothing was written\n"


def test_climb_milling_can_be_kept(tmp_path: Path) -> None:
    _, _, options = both_faces(tmp_path, "y")
    run(["hand", *options, "--across", "x=0", "--into", str(tmp_path / "left"), "--keep-climb", "--json"])
    made = motions((tmp_path / "left" / "front.nc").read_bytes())
    source = motions(FRONT)
    assert made.end[2].tolist() == [-10, 30, -3]
    assert sorted(made.end[:, 2].tolist()[1:]) == sorted(source.end[:, 2].tolist()[1:])


def test_contours_that_the_mirror_turns_to_conventional_are_told(tmp_path: Path) -> None:
    front, back, options = both_faces(tmp_path, "y")
    closed = "G21 G90\nT1 M6\nG0 X0 Y0 Z5\nG1 Z-2 F300\nX40\nY20\nX10 Y30\nX0\nY0\nG0 Z5\nM2\n"
    front.write_text(closed)
    flipped = flipreg.flip(flipreg.parse(closed), axis=flipreg.FlipAxis.Y, datum_mm=DATUMS["y"])
    back.write_bytes(flipped.text)
    into = tmp_path / "left"
    status, _, err = run(["hand", *options, "--across", "x=20", "--into", str(into)])
    assert status == 0
    assert f"{into / 'front.nc'}: 1 closed contour " in err
    assert "lines 5-9" in err


def test_subprograms_are_mirrored_where_they_stand(tmp_path: Path) -> None:
    front, back, options = both_faces(tmp_path, "y")
    lines = FRONT.splitlines()
    text = "\n".join([*lines[:3], "M98 P7", *lines[9:], "O7", *lines[3:9], "M99", ""])
    front.write_text(text)
    flipped = flipreg.flip(flipreg.parse(text), axis=flipreg.FlipAxis.Y, datum_mm=DATUMS["y"])
    back.write_bytes(flipped.text)
    into = tmp_path / "left"
    assert run(["hand", *options, "--across", "x=31.5", "--into", str(into)])[0] == 0
    _assert_mirrored(motions(FRONT), motions((into / "front.nc").read_bytes()), "x=31.5")


def test_the_report_can_be_json(tmp_path: Path) -> None:
    _, _, options = both_faces(tmp_path, "y")
    status, out, _ = run(["hand", *options, "--across", "x=0", "--into", str(tmp_path / "left"), "--json"])
    assert (status, json.loads(out)["in_register"]) == (0, True)


def test_the_header_says_that_it_is_the_other_hand(tmp_path: Path) -> None:
    _, _, options = both_faces(tmp_path, "y")
    run(["hand", *options, "--across", "x=31.50", "--into", str(tmp_path / "left")])
    first = (tmp_path / "left" / "back.nc").read_text().splitlines()[0]
    assert first == "(made by flipreg from back.nc: mirrored for the other hand about x = 31.5 of the front)"


def test_a_source_is_never_overwritten(tmp_path: Path) -> None:
    front, _, options = both_faces(tmp_path, "y")
    status, out, err = run(["hand", *options, "--across", "x=0", "--into", str(tmp_path)])
    assert (status, out, front.read_text()) == (2, b"", FRONT)
    assert "would overwrite its own source" in err


@pytest.mark.parametrize("across", ["z=0", "x", "x=", "5", "x=a"])
def test_a_line_that_is_none_is_told(across: str, tmp_path: Path) -> None:
    _, _, options = both_faces(tmp_path, "y")
    status, out, err = run(["hand", *options, "--across", across, "--into", str(tmp_path / "left")])
    assert (status, out) == (2, b"")
    assert "--across" in err


def test_two_programs_of_one_name_are_told(tmp_path: Path) -> None:
    front, _, options = both_faces(tmp_path, "y")
    other = tmp_path / "other"
    other.mkdir()
    (other / "front.nc").write_text(FRONT)
    options.insert(2, str(other / "front.nc"))
    status, _, err = run(["hand", *options, "--across", "x=0", "--into", str(tmp_path / "left")])
    assert (status, front.exists()) == (2, True)
    assert "two programs are named front.nc" in err
