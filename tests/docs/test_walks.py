"""The two walks of the architecture page are the way that the code goes."""

import re
import sys
import threading
from pathlib import Path
from types import FrameType

import numpy as np
import pytest

from flipreg.program.face_program import face_program
from flipreg.register.faces.features import face_features
from flipreg.rs274.read.program import parse
from flipreg.rs274.read.scanner import scan_chunks
from tests.commands.command import run
from tests.docs.examples import TOP

PAGE = (TOP / "docs/explanation/architecture.md").read_text(encoding="utf-8")
PACKAGE = TOP / "flipreg"
STOP = re.compile(r"^\| `([\w/]+\.py)` \| `(\w+)` \|", re.MULTILINE)
PROGRAM = re.findall(r"^```text\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)[0]


def walk(command: str) -> list[tuple[str, str]]:
    """Return the files and functions of a walk's table."""
    section = PAGE.split(f"### Through `flipreg {command}`\n")[1].split("\n#")[0]
    return STOP.findall(section)


def arguments(command: str) -> list[str]:
    """Return the arguments that the page gives to a command."""
    (line,) = re.findall(rf"^The command is `flipreg ({command} [^`]*)`", PAGE, re.MULTILINE)
    return str(line).split()


def called(command: list[str]) -> list[tuple[str, str]]:
    """Return the functions of the package that a command calls, in the order of their first calls."""
    order: dict[tuple[str, str], None] = {}

    def note(frame: FrameType, event: str, _: object) -> None:
        file = Path(frame.f_code.co_filename)
        if event == "call" and file.is_relative_to(PACKAGE):
            order.setdefault((file.relative_to(PACKAGE).as_posix(), frame.f_code.co_name))

    before = sys.getprofile()
    sys.setprofile(note)
    # The proof goes on in a thread of its own.
    threading.setprofile(note)
    try:
        status, _, err = run(command)
    finally:
        sys.setprofile(before)
        threading.setprofile(None)
    assert status == 0, err
    return list(order)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("front.nc").write_text(PROGRAM)
    return tmp_path


def test_the_walk_through_flip_is_the_way_the_code_goes(folder: Path) -> None:
    stops = walk("flip")
    assert 5 <= len(stops) <= 10
    assert [stop for stop in called(arguments("flip")) if stop in stops] == stops
    swapped = PROGRAM.replace("X10.", "X_").replace("X40.", "X10.").replace("X_", "X40.")
    assert (folder / "back.nc").read_text().endswith(f")\n{swapped}")


@pytest.mark.usefixtures("folder")
def test_the_walk_through_check_is_the_way_the_code_goes() -> None:
    assert run(arguments("flip"))[0] == 0
    stops = walk("check")
    assert 5 <= len(stops) <= 10
    assert [stop for stop in called(arguments("check")) if stop in stops] == stops


def test_the_word_is_what_the_tables_say_it_is() -> None:
    (blocks,) = scan_chunks([PROGRAM.encode()], "front.nc")
    word = int(np.flatnonzero(blocks.letter == ord("X"))[0])
    assert (blocks.mantissa[word], blocks.decimals[word], blocks.block[word]) == (10, 0, 3)
    assert PROGRAM.splitlines()[3] == "G0 X10. Y20."
    program = face_program(parse(PROGRAM), tool_diameter_mm=6.0)
    assert program.path.end[0, 0] == 10.0
    holes = face_features((program,)).holes
    assert (holes.centre_mm[0].tolist(), holes.diameter_mm[0], holes.line[0]) == ([10.0, 20.0], 6.0, 6)
