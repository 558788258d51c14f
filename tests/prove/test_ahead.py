"""What the proof looks at before a part begins: whether its next lines lean on the part before."""

from decimal import Decimal

import pytest

from flipreg.errors import ProofError
from flipreg.prove.ahead import check_clear_from_anywhere, says_length
from flipreg.prove.machine.beside import Beside
from flipreg.prove.machine.history import History
from flipreg.prove.machine.machine import Machine
from tests.prove.machine.walks import lines

HEAD = "G21 G90 F100 T1 M6\nG43\nG0\n"


def _after_head(text: str) -> tuple[Beside, list[int]]:
    """Walk the head alone; return both machines and the blocks that come next."""
    made = lines(HEAD + text)
    beside = Beside("a.nc", Machine(), Machine(), History())
    for block in range(3):
        beside.step(made.line(block))
    return beside, list(range(3, len(made)))


@pytest.mark.parametrize(
    "text",
    [
        "G43 H2\n",
        "G49\nG0 Z5\n",
        "M3 S900\nG43 H2 Z5\n",
        "G0 X1 Y2\nG43 H2\n",
        "G53 G0 Z0\nX1\nG43\n",
        "G28\nG49\n",
        "G91 G28 Z0\nG90\nG43 H2\n",
    ],
)
def test_a_length_is_said_before_anything_depends_on_it(text: str) -> None:
    beside, blocks = _after_head(text)
    assert says_length(beside.source, lines(HEAD + text), blocks)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "M3 S900\nG0 X1\n",
        "G0 Z5\nG43 H2\n",
        "G0 X1 Z5\nG43 H2\n",
        "G1 X1\nG43 H2\n",
        "G1 G53 Z0\nG43 H2\n",
        "G0 X0 Y0\nG2 X1 Y1 R5\nG43 H2\n",
        "G81 X1 Y1 R1 Z-1\nG43 H2\n",
        "G92 Z0\nG43 H2\n",
        "G38.2 X1\nG43 H2\n",
    ],
)
def test_a_length_is_not_said_before_something_depends_on_it(text: str) -> None:
    beside, blocks = _after_head(text)
    assert not says_length(beside.source, lines(HEAD + text), blocks)


def clear(text: str, axes: set[int]) -> None:
    beside, blocks = _after_head(text)
    check_clear_from_anywhere(beside, lines(HEAD + text), blocks, axes, Decimal(10))


@pytest.mark.parametrize(
    ("text", "axes"),
    [
        ("G0 Z10\nX1 Y1\nG1 Z-1\n", {0, 1, 2}),
        ("G53 G0 Z0\nX1\nY1\nG1 Z-1\n", {0, 1, 2}),
        ("G0 X1\nY1\nZ2\n", {0, 1}),
        ("G1 Z-1\n", set()),
        ("M3 S9\n", {0}),
    ],
)
def test_traverses_up_and_across_are_clear_from_anywhere(text: str, axes: set[int]) -> None:
    clear(text, axes)


@pytest.mark.parametrize(
    ("text", "axes"),
    [
        ("G0 Z9\nX1 Y1\n", {0, 1, 2}),
        ("G0 X1 Y1\nZ10\n", {0, 1, 2}),
        ("G0 X1\nZ2\n", {0, 1}),
        ("G0 X1 Y1 Z10\n", {0, 1}),
        ("G1 X1 Y1\n", {0, 1}),
        ("G91\nG0 X1\n", {0}),
        ("G0 Z10\nG1 X1\n", {0, 2}),
    ],
)
def test_what_comes_down_cuts_or_steps_from_anywhere_is_not_clear(text: str, axes: set[int]) -> None:
    with pytest.raises(ProofError, match="begin at a place that nobody knows; nothing was written"):
        clear(text, axes)
