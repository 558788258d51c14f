"""Write the page of chosen limits from the constants: run this when one has changed, and read the difference."""

import ast
import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

from tests.source import tree_of

__all__ = ["Limit", "chosen_limits", "page"]

TOP = Path(__file__).parents[2]
PAGE = TOP / "docs/explanation/limits.md"

_HEAD = """# Chosen limits

Some constants have no source in a standard or a measurement: how close two corners have to be to be one, say.
We chose them, and nobody else vouches for them.
The docstring of such a constant says "(chosen)", and this page lists them all: what each is for and why it is so.
"Measured" means that other values were tried, and that this one was best.

The page is made from the docstrings, and a test holds it to them:

```
.venv/bin/python -m tests.docs.limits
```
"""

_UNITS = {
    "MM": "mm",
    "MM2": "mm²",
    "DEG": "°",
    "CELLS": "cells",
    "BYTES": "bytes",
    "C": "°C",
    "S": "s",
    "PERCENT": "%",
    "TOOLS": "diameters",
}
"""Units by the last part of a constant's name."""

_MARK = re.compile(r"\s*\(chosen(?:, (measured))?\)")


class Limit(NamedTuple):
    """One constant that somebody chose."""

    module: str
    name: str
    value: str
    unit: str
    reason: str


def chosen_limits() -> Iterator[Limit]:
    """Yield every module-level constant whose docstring says that it was chosen, in the order of the files."""
    for file in sorted((TOP / "flipreg").rglob("*.py")):
        body = tree_of(file.read_text(encoding="utf-8")).body
        for before, node in pairwise(body):
            if not isinstance(before, ast.Assign) or not isinstance(node, ast.Expr):
                continue
            if not isinstance(node.value, ast.Constant) or not isinstance(node.value.value, str):
                continue
            text = " ".join(node.value.value.split())
            if not re.search(r"\bchosen\b", text, re.IGNORECASE) or text.startswith("Why"):
                continue
            name = ast.unparse(before.targets[0])
            reason = _MARK.sub(lambda found: " (measured)" if found[1] else "", text).removeprefix("Chosen; ")
            module = file.relative_to(TOP / "flipreg").with_suffix("").as_posix()
            yield Limit(module, name, ast.unparse(before.value), _unit(name, text), reason[:1].upper() + reason[1:])


def page() -> str:
    """Return the page, a table for each folder of the package."""
    rooms: dict[str, list[Limit]] = {"files at the top": []}
    for limit in chosen_limits():
        room, inside, _ = limit.module.partition("/")
        rooms.setdefault(room if inside else "files at the top", []).append(limit)
    parts = [_HEAD]
    for room, limits in rooms.items():
        parts.append(f"\n## {room}\n\n| constant | value | unit | what for, and why |\n|---|---|---|---|\n")
        parts += [f"| `{one.module}`: `{one.name}` | `{one.value}` | {one.unit} | {one.reason} |\n" for one in limits]
    return "".join(parts)


def _unit(name: str, text: str) -> str:
    if re.search(r"\bmillimetres\b", text, re.IGNORECASE) and "square" not in text and "_MM" not in name:
        return "mm"
    return _UNITS.get(name.rpartition("_")[2], "")


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
