"""The examples of the documents that start with `$`: where they stand, and what they print.

The commands of one page run one after the other in one folder that holds a copy of the samples, so that a
page may use a file that it made before. Standard error is shown where a terminal would show it.

Run this file to write into the pages what the commands print now; then read the difference before committing.
"""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.docs.forking import TOP, Forking

__all__ = ["BLOCK", "TOP", "Shell", "pages", "steps"]

BLOCK = re.compile(r"^```console\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def pages() -> list[Path]:
    """Return the pages that have such examples."""
    documents = [TOP / "README.md", *sorted(TOP.glob("docs/**/*.md"))]
    return [page for page in documents if BLOCK.search(page.read_text())]


def steps(block: str) -> list[tuple[str, str]]:
    """Split a block into commands, each with the output that the page shows under it."""
    parts = re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]
    return [(command, output) for command, _, output in (part.partition("\n") for part in parts)]


class Shell:
    """Runs command lines in a folder of its own, where `flipreg` is the one under test."""

    def __init__(self, folder: Path, flipreg: str) -> None:
        self._folder = folder
        shutil.copytree(TOP / "samples", folder / "samples", ignore=shutil.ignore_patterns("__pycache__"))
        binaries = folder / "bin"
        binaries.mkdir()
        for name, text in (("flipreg", flipreg), ("python3", f'#!/bin/sh\nexec "{sys.executable}" "$@"\n')):
            command = binaries / name
            command.write_text(text)
            command.chmod(0o755)
        self._environment = {
            **os.environ,
            "PATH": f"{binaries}:{os.environ['PATH']}",
            "PYTHONPATH": str(TOP),
            "COLUMNS": "100",
            "LC_ALL": "C.UTF-8",
        }

    @property
    def touched(self) -> list[str]:
        """Return the samples that the commands changed, took away or put there."""
        here, there = _contents(self._folder), _contents(TOP)
        return sorted(name for name in here.keys() | there.keys() if here.get(name) != there.get(name))

    def run(self, command: str) -> str:
        """Return what a command line prints."""
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


def _contents(folder: Path) -> dict[str, bytes]:
    files = (file for file in (folder / "samples").rglob("*") if file.is_file() and file.parent.name != "__pycache__")
    return {file.relative_to(folder).as_posix(): file.read_bytes() for file in files}


def _refresh(page: Path, shell: Shell) -> None:
    def printed(block: re.Match[str]) -> str:
        lines = [f"$ {command}\n{shell.run(command)}" for command, _ in steps(block.group(1))]
        return f"```console\n{''.join(lines)}```"

    page.write_text(BLOCK.sub(printed, page.read_text()))


if __name__ == "__main__":
    with Forking() as forking:
        for each in pages():
            with TemporaryDirectory() as made:
                _refresh(each, Shell(Path(made), forking.command))
