"""Run every example of the documents that starts with `$`, and compare what it prints.

The commands of one page run one after the other in one folder that holds a copy of the samples, so that a
page may use a file that it made before. Standard error is shown where a terminal would show it.
"""

import os
import re
import shutil
import subprocess
import sys
from doctest import ELLIPSIS, OutputChecker
from pathlib import Path

import pytest

TOP = Path(__file__).parents[2]
BLOCK = re.compile(r"^```console\n(.*?)^```$", re.MULTILINE | re.DOTALL)
DOCUMENTS = [TOP / "README.md", *sorted(TOP.glob("docs/**/*.md"))]
PAGES = [page for page in DOCUMENTS if BLOCK.search(page.read_text())]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(TOP).as_posix())
def test_examples_print_what_the_page_says(page: Path, tmp_path: Path) -> None:
    shell = _Shell(tmp_path)
    for block in BLOCK.findall(page.read_text()):
        for command, expected in _steps(block):
            printed = shell.run(command)
            if not OutputChecker().check_output(expected, printed, ELLIPSIS):
                difference = f"expected:\n{expected}\nprinted:\n{printed}"
                pytest.fail(f"{page.name}: $ {command}\n{difference}", pytrace=False)


def test_a_wrong_output_would_be_noticed(tmp_path: Path) -> None:
    printed = _Shell(tmp_path).run("echo 'in register'; echo talk >&2")
    assert OutputChecker().check_output("in register\ntalk\n", printed, ELLIPSIS)
    assert not OutputChecker().check_output("out of register\n...\n", printed, ELLIPSIS)


def _steps(block: str) -> list[tuple[str, str]]:
    """Split a block into commands, each with the output that the page shows under it."""
    steps = []
    for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
        command, _, expected = part.replace("\\\n", "").partition("\n")
        steps.append((command, expected))
    return steps


class _Shell:
    """Runs command lines in a folder of its own where `flipreg` is the one under test."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        shutil.copytree(TOP / "samples", folder / "samples", ignore=shutil.ignore_patterns("__pycache__"))
        binaries = folder / "bin"
        binaries.mkdir()
        command = binaries / "flipreg"
        command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m flipreg "$@"\n')
        command.chmod(0o755)
        self._environment = {
            **os.environ,
            "PATH": f"{binaries}:{os.environ['PATH']}",
            "PYTHONPATH": str(TOP),
            "COLUMNS": "100",
            "LC_ALL": "C.UTF-8",
        }

    def run(self, command: str) -> str:
        done = subprocess.run(
            ["bash", "-c", command],
            cwd=self._folder,
            env=self._environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            timeout=60,
            check=False,
        )
        return done.stdout
