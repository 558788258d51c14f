"""The public names: what `dir`, `help` and a star import show, and where they come from."""

import ast
import pydoc
import re
from pathlib import Path

import flipreg
from tests.source import tree_of


def test_every_public_name_is_there_and_shown_by_dir_and_help() -> None:
    page = pydoc.plain(pydoc.render_doc(flipreg))
    for name in flipreg.__all__:
        assert hasattr(flipreg, name)
        assert name in dir(flipreg)
        assert re.search(rf"^    (class )?{name}( = \w+)?\(", page, re.MULTILINE), name


def test_types_and_values_come_from_the_same_places() -> None:
    tree = tree_of(Path(flipreg.__file__).read_text(encoding="utf-8"))
    (typed,) = (node for node in tree.body if isinstance(node, ast.If))
    named = {
        (f"flipreg.{home}" if home else "flipreg", name)
        for node in typed.body
        if isinstance(node, ast.ImportFrom)
        for home in [(node.module or "").removeprefix("flipreg.")]
        for name in [alias.asname or alias.name for alias in node.names]
    }
    assert sorted(name for _, name in named) == sorted(flipreg.__all__)
    for module, name in named:
        found = getattr(flipreg, name)
        if hasattr(found, "__module__"):
            assert found.__module__ == module, name
