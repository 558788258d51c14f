"""What is imported when: heavy and rarely used packages only where they are needed."""

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import flipreg
from tests.source import nodes_of, tree_of

PACKAGE = Path(flipreg.__file__).parent

HEAVY = {"shapely", "lark", "scipy"}
"""Take longer to import than a short program takes to flip."""

COMMAND = {"argparse", "json"}
"""Belong to the command line and to the rooms that write for scripts."""

_LOADED_LATE = {
    "shapely": r"(register|stock|cut)/",
    "json": r"(report|drawing|job)/",
    "argparse": r"cli/",
}
"""Where a package may be imported at the top of a module: modules that are themselves imported late."""


def at_the_top(tree: ast.Module) -> Iterator[str]:
    """Yield the packages that a module imports when it is imported itself."""
    for node in tree.body:
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield (node.module or "").split(".")[0]


def test_heavy_packages_are_imported_only_by_modules_that_are_imported_late() -> None:
    wrong = []
    for module in sorted(PACKAGE.rglob("*.py")):
        name = module.relative_to(PACKAGE).as_posix()
        for package in set(at_the_top(tree_of(module.read_text(encoding="utf-8")))) & (HEAVY | COMMAND):
            allowed = _LOADED_LATE.get(package)
            if allowed is None or not re.match(allowed, name):
                wrong.append(f"{name} imports {package} at the top")
    assert wrong == []


def test_no_module_of_the_package_prints_exits_or_reads_the_clock() -> None:
    wrong = []
    for module in sorted(PACKAGE.rglob("*.py")):
        text = module.read_text(encoding="utf-8")
        for node in nodes_of(text):
            called = node.func if isinstance(node, ast.Call) else None
            if isinstance(called, ast.Name) and called.id in ("print", "input", "exit", "eval", "exec"):
                wrong.append(f"{module.name}:{called.lineno} calls {called.id}")
        if {"time", "datetime", "random"} & set(at_the_top(tree_of(text))):
            wrong.append(f"{module.name} knows the time, or chance")
    assert wrong == []


_HELP = "from io import *; from flipreg.cli.parser import main; main(['--help'], BytesIO(), BytesIO(), StringIO()); "


@pytest.mark.parametrize(
    ("start", "unwanted"), [("", HEAVY | COMMAND | {"numpy"}), (_HELP, HEAVY | {"numpy"})], ids=["package", "help"]
)
def test_importing_the_package_is_light_and_so_is_help(start: str, unwanted: set[str]) -> None:
    script = f"{start}import flipreg, sys; print(*sorted({{name.split('.')[0] for name in sys.modules}}))"
    loaded = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout.split()
    assert "flipreg" in loaded
    assert not unwanted & set(loaded)


def test_flipping_a_plain_program_imports_neither_the_parser_nor_shapes(tmp_path: Path) -> None:
    source = tmp_path / "front.ngc"
    source.write_text("%\nN10 G21 G90 (plain)\nG 0 X 1 Y 2 ; spaced\nG1 X5 F100\nG2 X7 I1\nM2\n%\n")
    script = (
        "import sys\n"
        "from flipreg.cli.parser import main\n"
        f"arguments = ['flip', {str(source)!r}, '--axis', 'y', '--at', '0']\n"
        "main(arguments, sys.stdin.buffer, sys.stdout.buffer, sys.stderr)\n"
        "sys.exit(bool({'lark', 'shapely', 'scipy'} & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, check=False)
    assert (done.returncode, b"G3 X-7 I-1" in done.stdout) == (0, True)
