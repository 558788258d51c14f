"""Below the command line nothing prints, writes, or looks at the clock, and two modules read files."""

import ast
from pathlib import Path

from tests.source import nodes_of

PACKAGE = Path(__file__).parents[1] / "flipreg"
TOUCHING = {"open", "print", "input", "read_bytes", "read_text", "write_bytes", "write_text", "unlink", "rename"}
CLOCKS_AND_WIRES = {"time", "datetime", "socket", "subprocess", "tempfile", "shutil"}
DATA = {"rs274/read/grammar.py", "job/file/schema.py"}
"""They read a file of the package itself: the grammar, and the schema of job files."""


def test_below_the_command_line_only_the_readers_of_programs_and_jobs_open_files() -> None:
    touching = {
        name
        for module in PACKAGE.rglob("*.py")
        if not (name := module.relative_to(PACKAGE).as_posix()).startswith("cli/")
        and touched(module.read_text(encoding="utf-8"))
    }
    assert touching - DATA == {"rs274/read/program.py", "job/file/read.py"}


def test_what_touches_the_outside_world_is_seen() -> None:
    assert touched("def f(p):\n    with p.open('rb') as g:\n        pass\n") == {"open"}
    assert touched("print(1)\nimport time\nfrom datetime import date\n") == {"print", "time", "datetime"}
    assert touched("self.opened = reopen(1)\n") == set()


def touched(text: str) -> set[str]:
    """Return the calls and imports of a text that touch files, terminals, clocks or other processes."""
    found = set()
    for node in nodes_of(text):
        if isinstance(node, ast.Call):
            called = node.func
            found.add(called.id if isinstance(called, ast.Name) else getattr(called, "attr", ""))
        elif isinstance(node, ast.Import):
            found |= {f"import {alias.name.split('.')[0]}" for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found.add(f"import {(node.module or '').split('.')[0]}")
    imports = {name.removeprefix("import ") for name in found if name.startswith("import ")}
    return (found & TOUCHING) | (imports & CLOCKS_AND_WIRES)
