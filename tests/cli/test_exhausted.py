"""What runs out under a command: room for standard output, and memory. One line each, and what to do."""

import io
import subprocess
import sys
from pathlib import Path as File

import pytest

from flipreg.cli.parser import main
from flipreg.program import summary

TOP = File(__file__).parents[2]
HOLES = str(TOP / "samples/tray/front-holes.nc")
FULL = File("/dev/full")


@pytest.mark.skipif(not FULL.exists(), reason="needs a device that is always full")
@pytest.mark.parametrize(
    "arguments", [["bounds", HOLES], ["flip", HOLES, "--axis", "y", "--at", "0"], ["bounds", HOLES, "--json"]]
)
def test_a_full_disk_is_one_line_and_exit_status_2(arguments: list[str]) -> None:
    with FULL.open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "flipreg", *arguments], cwd=TOP, stdout=full, stderr=subprocess.PIPE, check=False
        )
    assert done.returncode == 2
    said = done.stderr.decode()
    assert said.count("\n") == 1
    assert said.startswith("standard output cannot be written: no space left on device; what has arrived there is not")


@pytest.mark.parametrize(
    "trouble",
    [
        MemoryError("Unable to allocate 3.9 GiB for an array"),
        ImportError("libfast.so.5: failed to map segment from shared object"),
    ],
)
def test_memory_that_runs_out_is_one_line_and_exit_status_2(
    trouble: Exception, monkeypatch: pytest.MonkeyPatch
) -> None:
    def summarise(*_: object, **__: object) -> None:
        raise trouble

    monkeypatch.setattr(summary, "summarise", summarise)
    out, err = io.BytesIO(), io.StringIO()
    assert main(["bounds", HOLES], io.BytesIO(), out, err) == 2
    assert out.getvalue() == b""
    assert err.getvalue().count("\n") == 1
    assert "the memory of this machine is not enough" in err.getvalue()


def test_a_library_that_is_not_there_is_not_called_a_lack_of_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    def summarise(*_: object, **__: object) -> None:
        raise ImportError("No module named 'shapely'")

    monkeypatch.setattr(summary, "summarise", summarise)
    with pytest.raises(ImportError, match="shapely"):
        main(["bounds", HOLES], io.BytesIO(), io.BytesIO(), io.StringIO())
