"""Source text as trees of Python's own parser; each text is parsed once for all tests that look at it."""

import ast
from functools import cache

__all__ = ["nodes_of", "tree_of"]


@cache
def tree_of(text: str) -> ast.Module:
    """Return the tree of a module's text."""
    return ast.parse(text)


@cache
def nodes_of(text: str) -> tuple[ast.AST, ...]:
    """Return every node of a module's text, those further out first."""
    return tuple(ast.walk(tree_of(text)))
