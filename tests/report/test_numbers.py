"""Numbers in reports: nothing is minus nothing, and nothing is written in powers of ten."""

import ast
import re
from pathlib import Path

import pytest

from tests.source import nodes_of

PACKAGE = Path(__file__).parents[2] / "flipreg"
ROOMS = ("register", "job_check", "report", "align", "drawing", "program", "stock")
FIXED = re.compile(r"\.\d[fg%]$")


def written_without_z(text: str) -> list[str]:
    """Return the formats of numbers with decimals that would write what rounds to nothing as minus nothing."""
    specs = [
        part.value
        for node in nodes_of(text)
        if isinstance(node, ast.FormattedValue) and isinstance(node.format_spec, ast.JoinedStr)
        for part in node.format_spec.values
        if isinstance(part, ast.Constant) and isinstance(part.value, str)
    ]
    return [spec for spec in specs if FIXED.search(spec) and "z" not in spec]


def test_formats_without_z_are_found() -> None:
    assert written_without_z("f'{x:.2f} {y:z.2f} {z:+.3f} {n:>4}'") == [".2f", "+.3f"]


@pytest.mark.parametrize("room", ROOMS)
def test_no_report_can_write_minus_nothing(room: str) -> None:
    wrong = {
        module.name: found
        for module in sorted((PACKAGE / room).rglob("*.py"))
        if (found := written_without_z(module.read_text(encoding="utf-8")))
    }
    assert wrong == {}
