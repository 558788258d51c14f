"""The rooms of the package, and which way imports go: between rooms, and inside them."""

import ast
import re
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

from tests.source import nodes_of, tree_of

TOP = Path(__file__).parents[1]
PACKAGE = TOP / "flipreg"
ROW = re.compile(r"^\| `([\w.]+)` \| [^|]* \| ([^|]*)\|$", re.MULTILINE)


def test_imports_go_the_way_the_architecture_page_says() -> None:
    allowed = _allowed()
    wrong = [
        f"{_name(module)}: {room} may not import {_room(target)}"
        for module in sorted(PACKAGE.rglob("*.py"))
        if (room := _room(_name(module)))
        for target in _imported(module.read_text(encoding="utf-8"))
        if _room(target) not in {"", room, "errors", *allowed[room]}
    ]
    assert wrong == []


def test_every_room_has_a_row_in_the_table_and_uses_what_the_row_says() -> None:
    used: dict[str, set[str]] = {}
    for module in PACKAGE.rglob("*.py"):
        room = _room(_name(module))
        targets = {_room(target) for target in _imported(module.read_text(encoding="utf-8"))}
        used.setdefault(room, set()).update(targets - {"", room, "errors"})
    assert {room: sorted(targets) for room, targets in used.items() if room not in ("", "errors")} == {
        room: sorted(targets) for room, targets in _allowed().items()
    }


def test_the_table_says_of_each_room_what_its_own_first_line_says() -> None:
    page = (TOP / "docs/explanation/architecture.md").read_text(encoding="utf-8")
    told = dict(re.findall(r"^\| `([\w.]+)` \| ([^|]*) \| [^|]*\|$", page, re.MULTILINE))
    assert told == {room: _first_line(room) for room in _allowed()}


def test_modules_import_one_another_in_no_circle() -> None:
    arrows = {
        _name(module): {target for target in _imported(module.read_text(encoding="utf-8")) if _room(target)}
        for module in PACKAGE.rglob("*.py")
        if _room(_name(module))
    }
    assert len(list(TopologicalSorter(arrows).static_order())) >= len(arrows)


def test_rooms_import_one_another_in_no_circle() -> None:
    order = list(TopologicalSorter(_allowed()).static_order())
    assert order.index("geometry") < order.index("rs274.read") < order.index("rewrite.text") < order.index("cli")


def test_neither_the_proof_nor_the_checks_know_the_rewriter() -> None:
    allowed = _allowed()
    checking = ("prove", "program", "register", "stock", "job_check")
    for room in allowed:
        if room.split(".")[0] in checking:
            assert not {other.split(".")[0] for other in _reached(room, allowed)} & {"rewrite", "produce"}


def test_a_name_that_modules_export_means_one_thing_in_the_whole_package() -> None:
    # Constants in capitals are read with their module: each command has a COMMAND.
    homes: dict[str, list[str]] = {}
    for module in sorted(PACKAGE.rglob("*.py")):
        if _room(_name(module)):
            for name in _defined(module.read_text(encoding="utf-8")):
                homes.setdefault(name, []).append(_name(module))
    assert {name: modules for name, modules in homes.items() if len(modules) > 1} == {}


def test_imports_inside_functions_and_of_whole_rooms_are_seen() -> None:
    text = "import flipreg.rewrite.shop.home\ndef later() -> None:\n    from flipreg.register import check\n"
    assert _imported(text) == {"flipreg.rewrite.shop.home", "flipreg.register.check"}
    assert _imported("from flipreg import path, cli") == {"flipreg.path", "flipreg.cli"}
    assert {_room(name) for name in ("flipreg.path", "flipreg.rs274.read.scanner", "flipreg")} == {
        "path",
        "rs274.read",
        "",
    }


def _defined(text: str) -> set[str]:
    """Return the classes, functions and kinds of values that a module defines and exports."""
    names, exported = set(), set()
    for node in tree_of(text).body:
        if isinstance(node, ast.ClassDef | ast.FunctionDef):
            names.add(node.name)
        elif isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            names.add(node.targets[0].id)
            if node.targets[0].id == "__all__":
                exported = set(ast.literal_eval(node.value))
    return {name for name in names & exported if not name.isupper()}


def _allowed() -> dict[str, set[str]]:
    """Return which room uses which, out of the table of the architecture page."""
    page = (TOP / "docs/explanation/architecture.md").read_text(encoding="utf-8")
    return {room: set(re.findall(r"`([\w.]+)`", targets)) for room, targets in ROW.findall(page)}


def _first_line(room: str) -> str:
    """Return the first line of a room's docstring as a cell of the table: no capital, no full stop."""
    place = PACKAGE / Path(*room.split("."))
    module = place / "__init__.py" if place.is_dir() else place.with_suffix(".py")
    line = (ast.get_docstring(tree_of(module.read_text(encoding="utf-8"))) or "").splitlines()[0]
    word, _, rest = line.removesuffix(".").partition(" ")
    return f"{word if word[:2].isupper() else word.lower()} {rest}"


def _reached(room: str, allowed: dict[str, set[str]]) -> set[str]:
    reached: set[str] = set()
    waiting = [room]
    while waiting:
        for target in allowed[waiting.pop()] - reached:
            reached.add(target)
            waiting.append(target)
    return reached


def _name(module: Path) -> str:
    """Return the dotted name of a module of the package."""
    return ".".join(module.relative_to(TOP).with_suffix("").parts).removesuffix(".__init__")


def _room(name: str) -> str:
    """Return the room of a module: its folder, or itself where it lies at the top; nothing for the package itself."""
    parts = name.split(".")[1:]
    if not parts or parts[0].startswith("__"):
        return ""
    if (PACKAGE / Path(*parts)).is_dir():
        return ".".join(parts)
    return ".".join(parts[:-1]) or parts[0]


@cache
def _imported(text: str) -> set[str]:
    """Return the modules of the package that a text imports, anywhere in it."""
    names: set[str] = set()
    for node in nodes_of(text):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports name the whole package"
            assert node.module is not None
            inside = {f"{node.module}.{alias.name}" for alias in node.names}
            modules = {name for name in inside if _is_module(name)}
            names |= modules or {node.module}
            if modules and modules != inside:
                names.add(node.module)
    return {name for name in names if name.startswith("flipreg.")}


def _is_module(name: str) -> bool:
    place = TOP / Path(*name.split("."))
    return place.is_dir() or place.with_suffix(".py").is_file()
