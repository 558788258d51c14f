"""Two programs with subprograms run call for call: the same lines, no more and no fewer, and what never runs stays."""

import re

import pytest

from flipreg.errors import ProofError
from flipreg.geometry.isometry import Isometry
from flipreg.prove import Expected
from flipreg.prove.calls import SecondRunError, prove_calls
from flipreg.rs274.interpret.state import BlockDelete
from flipreg.rs274.read.program import parse

SOURCE = """\
G21 G90 F50
G0 X0 Y0 Z5
M98 P7 L2
/M98 P8
M98 P7
M2
G1 X99
O7
G0 X1
Z3
M99
O8
G0 X2
M99
O9
G0 X9
"""
AS_IT_WAS = Expected(Isometry())


def proved(output: str, *, source: str = SOURCE, block_delete: BlockDelete = BlockDelete.OFF) -> float:
    programs = (parse(text, source="front.ngc") for text in (source, output))
    return prove_calls(next(programs), AS_IT_WAS, next(programs), block_delete=block_delete)


def stops(message: str, right: str, wrong: str, *, block_delete: BlockDelete = BlockDelete.OFF) -> None:
    assert right in SOURCE
    with pytest.raises(ProofError, match=f"^{re.escape(message)}"):
        proved(SOURCE.replace(right, wrong, 1), block_delete=block_delete)


@pytest.mark.parametrize("block_delete", BlockDelete)
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_a_program_is_its_own_moved_by_nothing(block_delete: BlockDelete, line_end: str) -> None:
    text = SOURCE.replace("\n", line_end)
    assert proved(text, source=text, block_delete=block_delete) == 0.0
    bare = text.removesuffix(line_end)
    assert proved(bare, source=text, block_delete=block_delete) == 0.0
    assert proved(text, source=bare, block_delete=block_delete) == 0.0


@pytest.mark.parametrize("block_delete", BlockDelete)
@pytest.mark.parametrize(("right", "wrong"), [("P7 L2", "P7"), ("M98 P7\nM2", "M98 P9\nM2"), ("M98 P7\nM2", "M2\n")])
def test_calls_that_run_other_lines_are_stopped(right: str, wrong: str, block_delete: BlockDelete) -> None:
    source = f"{SOURCE}M99\n"
    assert right in source
    with pytest.raises(ProofError, match=r"^front\.ngc(: the output would run other lines|:\d+: .* would change); no"):
        proved(source.replace(right, wrong, 1), source=source, block_delete=block_delete)


def test_more_lines_run_are_said_to_be_more_whichever_way_the_switch_stands() -> None:
    for block_delete in BlockDelete:
        stops(
            "front.ngc: the output would run more lines; nothing was written",
            "M98 P7\nM2",
            "M98 P7 L2\nM2",
            block_delete=block_delete,
        )


def test_what_is_not_legal_is_said_to_be_so_with_its_line() -> None:
    message = "the output would not be legal, nothing was written:\nfront.ngc:13:"
    stops(message, "G0 X2", "G0 X2 X3")
    stops("the output would not be legal, nothing was written:\nfront.ngc:2:", "G0 X0 Y0", "G0 X0 X0.5")


def test_a_fault_in_a_line_that_runs_is_named_by_that_line() -> None:
    stops("front.ngc:2: the end of this motion would be 1.000000 mm off", "X0 Y0", "X0 Y1")
    stops("front.ngc:9: the end of this motion would be 1.000000 mm off", "X1\n", "X2\n")


def test_a_fault_that_shows_when_a_subprogram_runs_again_names_the_call() -> None:
    source = "G21 G90\nG0 X0 Y0 Z5\nM98 P7\nG0 X5\nM98 P7\nM2\nO7\nG91 G0 X1\nG90\nM99\n"
    output = source.replace("G91 G0 X1", "G90 G0 X1")
    # From X0 a step to X1 is the place X1, from X5 it is not.
    with pytest.raises(SecondRunError, match=r"^front\.ngc:8: the end of this motion would be 5\.0") as caught:
        proved(output, source=source, block_delete=BlockDelete.ON)
    assert caught.value.call_line == 5


@pytest.mark.parametrize(
    ("right", "wrong", "line"), [("G1 X99", "G1 X98", 7), ("O9", "O19", 15), ("G0 X9", "g0 X9", 16), ("X9\n", "\n", 16)]
)
def test_a_line_that_never_runs_stays_as_it_is(right: str, wrong: str, line: int) -> None:
    stops(f"front.ngc:{line}: a line that is never run would change; nothing was written", right, wrong)


@pytest.mark.parametrize("output", [f"{SOURCE}G0 X8\n", SOURCE.removesuffix("G0 X9\n")])
def test_lines_lost_or_added_where_nothing_runs_are_stopped(output: str) -> None:
    with pytest.raises(ProofError, match=r"^front\.ngc: the output would run other lines; nothing was written$"):
        proved(output)


def test_a_source_that_is_not_legal_with_the_switch_on_is_compared_as_far_as_it_is() -> None:
    source = "G21 G90 F9\nG0 X0 Y0 Z5\nM98 P7\n/G1 Z1\nG0 X5\nM2\nO7\n/G0 X0 Z0\nG18 G2 X4 Z0 I2\nM99\n"
    assert proved(source, source=source, block_delete=BlockDelete.OFF) == 0.0
    assert proved(source, source=source, block_delete=BlockDelete.ON) == 0.0
    with pytest.raises(ProofError, match=r"^front\.ngc:2: "):
        proved(source.replace("X0 Y0", "X0 Y1"), source=source, block_delete=BlockDelete.ON)
