"""What the package defines is reached from the command line or from a public name: nothing is there for tests alone.

Reached is told by names: a definition counts as used where its name stands in something that is used itself.
"""

import ast
from collections import defaultdict
from pathlib import Path

from tests.source import tree_of

PACKAGE = Path(__file__).parents[1] / "flipreg"

CALLED_BY_LIBRARIES = {
    "print_help": "argparse",
    **dict.fromkeys(
        ("arctangent", "bracketed", "late_delete", "nested", "open_comment", "operation", "program_name"),
        "the parser, by rule",
    ),
    **dict.fromkeys(("_one_moisture", "_one_shape"), "pydantic"),
    **dict.fromkeys(("persistent_id", "persistent_load"), "pickle"),
}
OF_PUBLIC_VALUES = {"differs_by"}
"""Methods of values that are public: scripts call them."""


def test_nothing_is_there_for_tests_alone() -> None:
    known = CALLED_BY_LIBRARIES.keys() | OF_PUBLIC_VALUES
    where, reached = _reached()
    idle = [f"{place}: {name}" for name in where.keys() - reached - known for place in where[name]]
    assert sorted(idle) == []


def test_a_function_that_nobody_calls_is_seen(tmp_path: Path) -> None:
    (tmp_path / "__init__.py").write_text('_WHERE = {"one": ("used",)}\n')
    (tmp_path / "one.py").write_text(
        "def used() -> int:\n    return _helper()\n\n\ndef _helper() -> int:\n    return 1\n\n\n"
        "def idle() -> int:\n    return _of_idle()\n\n\ndef _of_idle() -> int:\n    return 2\n"
    )
    where, reached = _reached(tmp_path)
    assert where.keys() - reached == {"idle", "_of_idle"}


def _reached(package: Path = PACKAGE) -> tuple[dict[str, list[str]], set[str]]:
    """Return where each name is defined, and the names that are reached from code that runs by itself."""
    where: dict[str, list[str]] = defaultdict(list)
    uses: dict[str, set[str]] = defaultdict(set)
    waiting = {"main", "run"}
    for file in sorted(package.rglob("*.py")):
        is_top = file == package / "__init__.py"
        for node in tree_of(file.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("__"):
                _note(node, file.relative_to(package).as_posix(), where, uses)
            elif is_top or not (isinstance(node, ast.Import | ast.ImportFrom) or _is_all(node)):
                waiting |= _names(node)
    reached: set[str] = set()
    while waiting:
        name = waiting.pop()
        if name not in reached:
            reached.add(name)
            waiting |= uses[name]
    return where, reached


def _note(
    node: ast.FunctionDef | ast.ClassDef, file: str, where: dict[str, list[str]], uses: dict[str, set[str]]
) -> None:
    """Note a definition and what it uses; of a class, each method is one of its own, but those that Python calls."""
    where[node.name].append(f"{file}:{node.lineno}")
    inside = node.body if isinstance(node, ast.ClassDef) else []
    own = [part for part in inside if isinstance(part, ast.FunctionDef) and not part.name.startswith("__")]
    uses[node.name] |= _names(node, without=own) - {node.name}
    for method in own:
        _note(method, file, where, uses)


def _names(node: ast.AST, without: list[ast.FunctionDef] | None = None) -> set[str]:
    """Return names, attributes, and texts that are names, which `getattr` and tables of names take."""
    found: set[str] = set()
    waiting = [node]
    while waiting:
        for part in ast.iter_child_nodes(waiting.pop()):
            if part in (without or []):
                continue
            waiting.append(part)
            if isinstance(part, ast.Name):
                found.add(part.id)
            elif isinstance(part, ast.Attribute):
                found.add(part.attr)
            elif isinstance(part, ast.Constant) and isinstance(part.value, str):
                found |= {name for name in part.value.split(".") if name.isidentifier()}
    return found


def _is_all(node: ast.AST) -> bool:
    return isinstance(node, ast.Assign) and any(
        isinstance(target, ast.Name) and target.id == "__all__" for target in node.targets
    )
