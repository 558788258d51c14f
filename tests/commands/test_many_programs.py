"""A part that many programs cut: one thing to look at is told once, with the programs it is about."""

from pathlib import Path

from tests.commands.command import run

PLUG = "G21 G17 G90\nM3 S9000\nG0 Z5\nG0 X{0} Y{1}\nG1 Z-5 F300\nG0 Z5\nG0 X0 Y0\nM5\nM30\n"


def test_one_remark_about_many_programs_is_told_once(tmp_path: Path) -> None:
    faces: dict[str, list[str]] = {"front": [], "back": []}
    for number in range(5):
        for face, names in faces.items():
            path = tmp_path / f"{face}{number}.nc"
            path.write_text(PLUG.format((30 + 7 * number) * (1 if face == "front" else -1), number**2))
            names.append(str(path))
    options = ["--axis", "y", "--at", "0", "--tolerance", "0.1", "--tool", "6"]
    said = " ".join(run(["check", "--front", *faces["front"], "--back", *faces["back"], *options])[1].decode().split())
    assert said.count("a cut with a tool that was never named") == 1
    assert f"{faces['front'][0]} line 5, {faces['front'][1]} line 5, {faces['front'][2]} line 5 and 7 more: a" in said
