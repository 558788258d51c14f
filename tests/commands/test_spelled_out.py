"""Arcs and canned cycles outside the XY plane under a free turn, written as moves: beside work offsets, in subprograms.

What a person asks for with --chords and --spell-cycles. Each motion of the source has to end where it should, and
every corner of a chord has to lie on its arc.
"""

from decimal import Decimal

import numpy as np
import pytest

import flipreg
from tests.commands.command import run
from tests.commands.laws import moved
from tests.motions import motions

CHUNK_BYTES = 8192
"""Size of the parts that long programs are read in here."""
TURN_DEG = 7.0
HEAD = "G21 G90 G18 F50\nG0 X0 Y0 Z5\n"
ARGUMENTS = ["shift", "-", "--turn", "7", "--chords", "0.01", "--spell-cycles"]


def produced(text: str, *more: str) -> str:
    status, out, err = run([*ARGUMENTS, *more], text.encode())
    assert status == 0, err
    return out.decode()


def refused(text: str) -> str:
    status, out, err = run(ARGUMENTS, text.encode())
    assert (status, out) == (2, b"")
    return err


def assert_reaches_all_ends(text: str, made: str, about: dict[int, tuple[str, str]] | None = None) -> None:
    """Hold every end of the source, in order, to an end of the result."""
    before, after = motions(text), motions(made)
    pivots = [(about or {}).get(offset, ("0", "0")) for offset in before.work_offset.tolist()]
    wanted = np.array(
        [moved(end, ("0", "0", "0"), TURN_DEG, pivot) for end, pivot in zip(before.end, pivots, strict=True)]
    )
    row = 0
    for end, offset in zip(wanted, before.work_offset.tolist(), strict=True):
        while np.abs(after.end[row] - end).max() > 3e-4 or after.work_offset[row] != offset:
            row += 1
        row += 1
    assert row == len(after)


ALIKE = {
    "in the main program": f"{HEAD}G2 X10 Z5 I5 K0\nM98 P7\nG0 X9 Y9 Z9\nM98 P7\nM2\nO7\nG0 X1 Y1 Z5\nM99\n",
    "in a subprogram": f"{HEAD}M98 P7\nG0 X5 Y5 Z9\nM98 P7\nM2\nO7\nG0 X0 Y0 Z5\nG2 X10 I5\nG0 Z5\nM99\n",
    "in a subprogram that is repeated": f"{HEAD}M98 P7 L3\nM2\nO7\nG0 X0 Y0 Z5\nG2 X10 I5\nM99\n",
    "in both": f"{HEAD}G2 X10 I5\nM98 P7\nG2 X10 I5\nM98 P7\nM2\nO7\nG0 X0 Y0 Z5\nG3 X-4 I-2\nG0 X0\nM99\n",
    "in a subprogram of a subprogram": (
        f"{HEAD}M98 P7 L2\nM2\nO7\nG0 X0 Y0 Z5\nM98 P8\nM99\nO8\nG2 X10 I5\nM98 P9\nM99\nO9\nG3 X0 I-5\nM99\n"
    ),
    "a cycle": f"{HEAD}M98 P7 L2\nM2\nO7\nG0 X0 Y0 Z5\nG81 X2 Z3 R-1 Y-4\nX3\nG80\nM99\n",
    "an arc in XY carries on after a call": (
        f"{HEAD}M98 P7\nG17 X2 Y0 I-4 J0\nG18 G0 X0\nM98 P7\nM2\nO7\nG0 X0 Y0 Z5\nG18 G2 X10 Z5 I5 K0\nM99\n"
    ),
    "an arc in XY carries on in a call": (
        f"{HEAD}G2 X10 I5\nM98 P7\nG0 X0 Y0\nG18 G2 X10 I5\nM98 P7\nM2\nO7\nG17 X2 Y0 I-4 J0\nM99\n"
    ),
    "with N words, blanks, comments": f"{HEAD}N5 M98 P7 (call)\nM2\nO7\nn10 g2x10i5(half a turn)f30\nN20 M99\n",
    "a skipped line": f"{HEAD}M98 P7 L2\nM2\nO7\nG0 X0 Y0 Z5\n/G2 X10 I5\nG0 X1 Y1 Z9\nM99\n",
    "text after that is never run": f"{HEAD}G2 X10 I5\nM98 P7\nM2\nG2 X99 I9\nO7\nG0 X1 Y1\nM99\nO9\nG2 X1 I9\nM99\n",
}


@pytest.mark.parametrize("text", ALIKE.values(), ids=ALIKE.keys())
def test_moves_are_spelled_out_in_a_program_with_subprograms(text: str) -> None:
    made = produced(text)
    assert "subprograms run where they are called" in made
    assert_reaches_all_ends(text, made)


def test_text_that_is_never_run_is_left_alone_beside_spelled_out_blocks() -> None:
    made = produced(ALIKE["text after that is never run"])
    assert "M2\nG2 X99 I9\nO7\n" in made
    assert made.endswith("O9\nG2 X1 I9\nM99\n")


def test_a_subprogram_that_calls_need_spelled_out_in_two_ways_is_refused_at_the_second_call() -> None:
    # The second call makes the same arc, by its centre's offset, from another place.
    text = f"{HEAD}M98 P7\nG0 X2 Y3 Z5\nM98 P7\nM2\nO7\nG91 G2 X10 I5\nG90\nM99\n"
    assert_reaches_all_ends(text, produced(text))
    err = refused(f"{HEAD}M98 P7\nG0 X0 Y3 Z5\nM98 P7\nM2\nO7\nG2 X10 I5\nG0 Z9\nM99\n")
    assert err.startswith("<stdin>:5:1: this call runs a subprogram again, and no text of it does what both calls need")


def test_an_arc_beside_a_call_is_refused_with_its_line() -> None:
    err = refused(f"{HEAD}G2 X10 I5 M98 P7\nM2\nO7\nG0 X1 Y1\nM99\n")
    assert err.startswith("<stdin>:3:11: M98 in a block that has to be spelled out would stop after its first move")


OFFSETS = {
    "an arc in each": f"{HEAD}G2 X10 I5\nG17 G55\nG0 X1 Y2 Z3\nG18 G2 X11 I5\nG54 G0 X0 Y0 Z0\nM2\n",
    "arcs one after the other": f"{HEAD}G2 X10 I5\nG55 G0 X1 Y2 Z3\nG2 X3 I1\nX5 I1\nG17 X5 Y2 I3 J3\nM2\n",
    "an arc beside straight moves": f"{HEAD}G55 G0 X1 Y2 Z3\nG1 X5 Y5\nG54 G0 X0 Y0 Z5\nG2 X10 I5\nM2\n",
    "a cycle beside an arc": f"{HEAD}G2 X10 I5\nG55 G0 X1 Y2 Z3\nG81 X2 Z3 R1 Y-4\nX3\nG80\nG54 G0 X0 Y0 Z0\nM2\n",
    "with a subprogram": f"{HEAD}G2 X10 I5\nG55 G0 X1 Y2 Z3\nM98 P7\nM98 P7\nM2\nO7\nG0 X0 Y0\nG2 X10 I5\nM99\n",
}


@pytest.mark.parametrize("text", OFFSETS.values(), ids=OFFSETS.keys())
def test_moves_are_spelled_out_beside_a_second_work_offset(text: str) -> None:
    made = produced(text, "--offset", "G55=3,4")
    assert_reaches_all_ends(text, made, {2: ("3", "4")})


def test_chords_stand_off_their_arc_by_no_more_than_asked_in_each_work_offset() -> None:
    path = motions(produced(OFFSETS["an arc in each"], "--offset", "G55=3,4"))
    for offset, centre in ((1, moved(np.array([5.0, 0, 5]), ("0", "0", "0"), TURN_DEG, ("0", "0"))),
                           (2, moved(np.array([6.0, 2, 3]), ("0", "0", "0"), TURN_DEG, ("3", "4")))):  # fmt: skip
        cuts = path.take((path.work_offset == offset) & path.is_cut)
        assert len(cuts) > 10
        np.testing.assert_allclose(np.linalg.norm(cuts.end - centre, axis=1), 5, atol=3e-4)
        np.testing.assert_allclose(np.linalg.norm((cuts.start + cuts.end) / 2 - centre, axis=1), 5, atol=0.0105)


def test_a_place_that_is_not_known_is_refused_where_a_block_has_to_be_spelled_out() -> None:
    err = refused(f"{HEAD}G38.2 Y5\nG2 X10 I5\nM2\n")
    assert err.startswith("<stdin>:4:1: a block that has to be spelled out names all three coordinates, and Y is not")


def test_a_motion_that_is_carried_into_the_next_chunk_is_named_there(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("flipreg.rs274.read.lines.CHUNK_BYTES", CHUNK_BYTES)
    # The chunk ends after the arc that is spelled out; the first block of the next one carries on.
    filler = "(" + "-" * 98 + ")\n"
    rows = CHUNK_BYTES // len(filler) - 1
    head = HEAD + filler * rows
    arc = "G2 X10 I5"
    pad = CHUNK_BYTES - len(head) - len(arc) - 1
    text = f"{head}{arc}{' ' * pad}\nG17 X2 Y0 I-4 J0\nM2\n"
    assert len(list(flipreg.parse(text).chunks())) == 2
    assert_reaches_all_ends(text, produced(text))


def test_a_cycle_that_carries_on_after_a_spelled_out_one_is_named_again() -> None:
    text = f"{HEAD}G17 G81 X1 Y2 Z-3 R1\nG18 X3 Y-4 R2 Z3\nG17 X4 Y4 Z-3 R1\nG80\nM2\n"
    made = produced(text)
    assert_reaches_all_ends(text, made)
    assert motions(made).cycle.tolist()[-3:] == [81, 81, 81]


def test_a_long_program_with_a_subprogram_is_cut_at_the_same_lines_by_the_proof(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("flipreg.rs274.read.lines.CHUNK_BYTES", CHUNK_BYTES)
    # Its text grows past the size at which programs are read in parts.
    line = "G1 X1 Y2\n"
    text = HEAD + line * (CHUNK_BYTES // len(line) - 20) + "M98 P7\nM2\nO7\nG0 X3 Y3\nM99"
    made = flipreg.flip(
        flipreg.parse(text), axis=flipreg.FlipAxis.Y, datum_mm=(Decimal("1000.25"), Decimal("0"))
    )
    assert made.text.endswith(b"O7\nG0 X997.25 Y3\nM99")
