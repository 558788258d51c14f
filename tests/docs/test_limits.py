"""The page of chosen limits lists every constant that was chosen, with its value and why."""

import ast
import re

from tests.docs.limits import PAGE, TOP, chosen_limits, page
from tests.source import nodes_of


def test_the_page_is_what_the_constants_say() -> None:
    # If this fails after a constant has changed: python -m tests.docs.limits
    assert page() == PAGE.read_text(encoding="utf-8")


def test_every_chosen_limit_has_a_reason_in_words() -> None:
    limits = list(chosen_limits())
    assert len(limits) > 100
    assert [limit for limit in limits if len(limit.reason.split()) < 3] == []


def test_nothing_says_that_it_was_chosen_in_another_way() -> None:
    found = [
        f"{file.relative_to(TOP)}:{node.lineno}: {node.value}"
        for file in sorted((TOP / "flipreg").rglob("*.py"))
        for node in nodes_of(file.read_text(encoding="utf-8"))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        if re.search(r"[;.]\s+[Oo]urs\b(?!, theirs)|,\s+ours[.;]|\bour choice\b|\bof ours\b", node.value)
    ]
    assert found == []
