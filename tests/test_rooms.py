import ast
import re
from pathlib import Path

TOP = Path(__file__).parents[1]
PACKAGE = TOP / "flipreg"
ROW = re.compile(r"^\| `(\w+)` \| (.*)\|$", re.MULTILINE)


def test_imports_go_the_way_the_architecture_page_says() -> None:
    allowed = _allowed()
    wrong = [
        f"{module.relative_to(TOP)}: {room} may not import {target}"
        for module in sorted(PACKAGE.rglob("*.py"))
        if (room := _room(module)) not in ("__init__", "__main__")
        for target in _imported_rooms(module.read_text())
        if target not in {room, "errors", *allowed[room]}
    ]
    assert wrong == []


def test_every_room_has_a_row_in_the_table() -> None:
    rooms = {_room(module) for module in PACKAGE.rglob("*.py")}
    assert rooms - {"__init__", "__main__", "errors"} == set(_allowed())


def test_neither_the_proof_nor_the_checks_know_the_rewriter() -> None:
    allowed = _allowed()
    for room in ("prove", "verify"):
        assert not {"rewrite", "produce"} & _reached(room, allowed)


def test_imports_inside_functions_and_of_whole_rooms_are_seen() -> None:
    text = "import flipreg.rewrite.flip\ndef later() -> None:\n    from flipreg.verify import check\n"
    assert _imported_rooms(text) == {"rewrite", "verify"}
    assert _imported_rooms("from flipreg import rs274, cli") == {"rs274", "cli"}


def _allowed() -> dict[str, set[str]]:
    """Return who may import whom, out of the table of the architecture page."""
    page = (TOP / "docs/explanation/architecture.md").read_text()
    return {room: set(re.findall(r"`(\w+)`", targets)) for room, targets in ROW.findall(page)}


def _reached(room: str, allowed: dict[str, set[str]]) -> set[str]:
    reached: set[str] = set()
    waiting = [room]
    while waiting:
        for target in allowed[waiting.pop()] - reached:
            reached.add(target)
            waiting.append(target)
    return reached


def _room(module: Path) -> str:
    return module.relative_to(PACKAGE).parts[0].removesuffix(".py")


def _imported_rooms(text: str) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports name the whole package"
            assert node.module is not None
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return {name.split(".")[1] for name in names if name.startswith("flipreg.")}
