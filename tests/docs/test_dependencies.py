"""What the package stands on: declared, imported and given a reason, each of them."""

import ast
import re
import sys
import tomllib

from tests.docs.examples import TOP
from tests.source import nodes_of


def test_every_package_is_declared_imported_and_given_a_reason() -> None:
    declared = tomllib.loads((TOP / "pyproject.toml").read_text())["project"]["dependencies"]
    names = sorted(re.split(r"[>=<~]", one)[0] for one in declared)
    page = (TOP / "DEVELOPERS.md").read_text()
    table = page.partition("## What the package stands on")[2].partition("\n## ")[0]
    rows = re.findall(r"^\| (\w+) \| ([^|]{10,}) \| ([^|]{10,}) \|$", table, re.MULTILINE)
    assert sorted(name for name, what, _ in rows if what.strip() != "what it does here") == names
    imported = {
        (name or "").partition(".")[0]
        for module in (TOP / "flipreg").rglob("*.py")
        for node in nodes_of(module.read_text(encoding="utf-8"))
        for name in (
            [alias.name for alias in node.names]
            if isinstance(node, ast.Import)
            else [node.module]
            if isinstance(node, ast.ImportFrom)
            else []
        )
    }
    assert sorted(imported - set(sys.stdlib_module_names) - {"flipreg"}) == names
