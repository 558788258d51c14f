"""Which tool length offset a tool cuts under, and which of them can't be its own."""

import pytest

import flipreg
from flipreg.findings import Status


def tool(number: int, length: str, change: str = "") -> str:
    """Return what a post writes for one tool."""
    change = change or f"T{number} M6"
    return f"{change}\nS9000 M3\nG0 X0 Y0\n{length} Z15\nG1 Z-1 F300\nX5\nG0 Z15\nM5\n"


def found(*parts: str) -> list[tuple[Status, str]]:
    text = "".join(["G21 G90 G17 G49\n", *parts, "M30\n"])
    summary = flipreg.bounds(flipreg.parse(text, source="one.nc"))
    lengths = [finding for finding in summary.findings if finding.check == "length"]
    return [(one.status, one.message.split(",")[0].split(":")[0]) for one in lengths]


@pytest.mark.parametrize(
    "parts",
    [
        (tool(1, "G43 H1"), tool(2, "G43 H2")),
        (tool(1, "G0"), tool(2, "G0")),
        (tool(1, "G43 H11"), tool(2, "G43 H12")),
        (tool(1, "G43"), tool(2, "G43")),
        (tool(1, "G43 H1"), tool(1, "G0")),
        (tool(1, "G43 H1", "G43 H1\nT1 M6"),),
        (tool(1, "G43 H1"), tool(2, "G0", "T2 M6 G49")),
        (tool(0, "G43 H1", "(by hand)"),),
    ],
)
def test_tools_under_lengths_of_their_own_are_not_told(parts: tuple[str, ...]) -> None:
    assert found(*parts) == []


@pytest.mark.parametrize(
    ("parts", "says"),
    [
        ((tool(1, "G43 H2"), tool(2, "G43 H2")), ["T1 cuts under the length of T2 (G43 H2)"]),
        ((tool(1, "G43 H1"), tool(2, "G0")), ["T2 cuts under the length of T1 (G43 H1)"]),
        (
            (tool(1, "G43 H2"), tool(2, "G43 H1")),
            ["T1 cuts under the length of T2 (G43 H2)", "T2 cuts under the length of T1 (G43 H1)"],
        ),
        ((tool(1, "G43 H1"), "G49\n", tool(2, "G0")), ["T2 cuts without a G43 after its M6"]),
        ((tool(1, "G43"), tool(2, "G0")), ["T2 cuts without a G43 after its M6"]),
        ((tool(1, "G0"), tool(2, "G43 H2")), ["T1 cuts without a G43 after its M6"]),
    ],
)
def test_a_tool_that_cuts_with_another_ones_length_fails(parts: tuple[str, ...], says: list[str]) -> None:
    assert found(*parts) == [(Status.FAIL, one) for one in says]


@pytest.mark.parametrize(
    ("parts", "says"),
    [
        ((tool(1, "G43 H2"),), "T1 cuts under G43 H2"),
        ((tool(1, "G43 H1"), tool(2, "G43 H12")), "T2 cuts under G43 H12"),
    ],
)
def test_a_length_with_another_number_than_its_tool_is_worth_a_look(parts: tuple[str, ...], says: str) -> None:
    assert found(*parts) == [(Status.WARN, says)]
