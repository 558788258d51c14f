"""Faults planted in a program with subprograms whose blocks are spelled out: the proof has to stop each."""

from decimal import Decimal
from math import atan2, degrees

import numpy as np
import pytest

import flipreg
from flipreg.errors import ProofError
from flipreg.prove import Expected
from flipreg.prove.calls import SecondRunError, SpelledLines, prove_calls
from flipreg.rs274.interpret.state import BlockDelete
from flipreg.rs274.read.program import parse

SOURCE = """\
G21 G90 G18 F50 S900
G0 X0 Y0 Z5
G2 X10 I5 (over)
M98 P7 L2
G17 X2 Y0 I-4 J0
M2
G1 X99
O7
G18 G0 X0 Y0 Z5
/G1 Z6 M8
Z5
G55 G0 X3 Y4 Z0
G2 X5 I1
G54 G0 X0 Y0 Z5
G2 X10 I5
M99
O9
G1 X7
"""

OUTPUT = """\
G21 G90 G18 F50 S900
G0 X0 Y0 Z5
G1 X3.0000 Y4.0000 Z0.0000  (over)
G1 X6.0000 Y8.0000 Z5.0000
M98 P7 L2
G2 G17 X1.2 Y1.6 I-2.4 J-3.2
M2
G1 X99
O7
G18 G0 X0 Y0 Z5
/G1 Z6 M8
Z5
G55 G0 X3 Y4 Z0
G1 X3.6000 Y4.8000 Z-1.0000
G1 X4.2000 Y5.6000 Z0.0000
G54 G0 X0 Y0 Z5
G1 X3.0000 Y4.0000 Z0.0000
G1 X6.0000 Y8.0000 Z5.0000
M99
O9
G1 X7
"""
"""Turned by the angle whose sine is 4/5; G55 about its X3 Y4. Half turns become two chords."""

TURN_DEG = degrees(atan2(4, 3))
TURN = flipreg.Isometry.rotation(TURN_DEG)
ABOUT_G55 = flipreg.Isometry.rotation(TURN_DEG, about_mm=(Decimal(3), Decimal(4)))
EXPECTED = Expected(TURN, {2: ABOUT_G55})
CHORDS_MM = 1.5
"""A chord of a quarter turn stands off a radius of 5 by 1.46."""
CLAIM = ([3, 13, 15], [1, 1, 1])


def proved(
    output: str,
    claim: tuple[list[int], list[int]] = CLAIM,
    switch: BlockDelete = BlockDelete.OFF,
    chords_mm: float = CHORDS_MM,
) -> float:
    lines, added = (np.array(column, np.int64) for column in claim)
    spelled = SpelledLines(lines, added, chords_mm)
    return prove_calls(parse(SOURCE, source="a.ngc"), EXPECTED, parse(output), block_delete=switch, spelled=spelled)


@pytest.mark.parametrize("switch", list(BlockDelete))
def test_the_output_without_a_fault_is_proved(switch: BlockDelete) -> None:
    assert proved(OUTPUT, switch=switch) < 1e-9


FAULTS = {
    "a corner off the arc": ("Z0.0000  (over)", "Z0.0020  (over)"),
    "a corner in a subprogram off": ("Z5\nG1 X3.0000 Y4.0000 Z0.0000\n", "Z5\nG1 X3.0020 Y4.0000 Z0.0000\n"),
    "the second work offset turned about the zero of the first": (
        "G1 X3.6000 Y4.8000 Z-1.0000\nG1 X4.2000 Y5.6000 Z0.0000",
        "G1 X-0.8000 Y5.6000 Z-1.0000\nG1 X-0.2000 Y6.4000 Z0.0000",
    ),
    "a chord on the other side": ("Y4.8000 Z-1.0000", "Y4.8000 Z1.0000"),
    "a chord made a traverse": ("G1 X4.2", "G0 X4.2"),
    "another feed in an added line": ("Y5.6000 Z0.0000", "Y5.6000 Z0.0000 F9"),
    "a comment lost": ("  (over)", ""),
    "a word beside the moves lost": ("/G1 Z6 M8", "/G1 Z6"),
    "the arc not named again": ("G2 G17", "G17"),
    "the other arc named": ("G2 G17", "G3 G17"),
    "a line that is never run changed": ("O9\nG1 X7", "O9\nG1 X-7"),
    "a line after the end changed": ("G1 X99", "G1 X98"),
    "another call": ("L2", "L3"),
    "a line lost": ("O7\nG18 G0 X0 Y0 Z5\n", "O7\n"),
    "a line added after the end": ("O9\nG1 X7\n", "O9\nG1 X7\nG1 X8\n"),
    "a move added": ("Z0.0000\nG54", "Z0.0000\nG1 X4.2000 Y5.6000 Z-9.0000\nG54"),
    "a move added and another lost": ("Z5\nG1 X3.0000 Y4.0000 Z0.0000\n", "Z5\nG1 Z9\n"),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS)
def test_a_planted_fault_is_stopped(fault: str) -> None:
    right, wrong = FAULTS[fault]
    assert OUTPUT.count(right) == 1
    with pytest.raises(ProofError):
        proved(OUTPUT.replace(right, wrong))


@pytest.mark.parametrize(
    "claim",
    [
        ([], []),
        ([3, 13], [1, 1]),
        ([3, 13, 14], [1, 1, 1]),
        ([2, 13, 15], [1, 1, 1]),
        ([3, 13, 15], [1, 1, 2]),
        ([3, 13, 15], [0, 2, 1]),
        ([3, 12, 15], [1, 1, 1]),
    ],
)
def test_a_false_claim_is_not_believed(claim: tuple[list[int], list[int]]) -> None:
    with pytest.raises(ProofError):
        proved(OUTPUT, claim)


def test_chords_that_stand_off_by_more_than_asked_are_stopped() -> None:
    with pytest.raises(ProofError, match="a chord would stand"):
        proved(OUTPUT, chords_mm=1.4)


def test_moves_where_the_source_does_not_move_are_stopped() -> None:
    # The claim says that the line with the speed is spelled out; the source moves nothing there.
    output = OUTPUT.replace("G21 G90 G18 F50 S900\n", "G21 G90 G18 F50 S900 G1 X5 Y5 Z5\n", 1)
    with pytest.raises(ProofError, match="would move where the source does not"):
        proved(output, ([1, *CLAIM[0]], [0, *CLAIM[1]]))


def test_a_fault_at_the_second_run_names_its_call() -> None:
    # From the second call on the arc begins elsewhere, and its chords do not.
    source = "G21 G90 G18 F50\nG0 X0 Y0 Z5\nM98 P7\nG0 X0 Y3 Z5\nM98 P7\nM2\nO7\nG2 X10 I5\nM99\n"
    output = (
        "G21 G90 G18 F50\nG0 X0 Y0 Z5\nM98 P7\nG0 X-2.4 Y1.8 Z5\nM98 P7\nM2\nO7\nG1 X3 Y4 Z0\nG1 X6 Y8 Z5\nM99\n"
    )
    spelled = SpelledLines(np.array([8]), np.array([1]), CHORDS_MM)
    with pytest.raises(SecondRunError, match=":8: the chords of an arc would be 3") as caught:
        prove_calls(
            parse(source), Expected(TURN), parse(output), block_delete=BlockDelete.OFF, spelled=spelled
        )
    assert caught.value.call_line == 5
