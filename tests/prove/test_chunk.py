"""One chunk proved, and a program chunk after chunk: what is compared, and what is told."""

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from flipreg.errors import ProofError
from flipreg.geometry.isometry import Isometry
from flipreg.prove import Expected, Proving, Read, prove
from flipreg.prove.chunk import prove_motions
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import BlockDelete, State
from flipreg.rs274.read.scanner import Scanner, scan_chunks
from tests.prove.reads import read

ASIDE = Isometry.translation(Decimal(10), Decimal(0))
HERE = "G21 G90\nG0 X1 Y2 Z3\nG1 X5 F90\n"
THERE = "G21 G90\nG0 X11 Y2 Z3\nG1 X15 F90\n"


def test_an_isometry_is_taken_as_well_as_one_for_each_zero() -> None:
    assert prove(read(HERE), ASIDE, read(THERE)) == 0.0
    assert prove(read(HERE), Expected(ASIDE), read(THERE)) == 0.0
    with pytest.raises(ProofError):
        prove(read(HERE), Isometry(), read(THERE))


def test_the_tolerance_can_be_another() -> None:
    off = THERE.replace("X15", "X15.003")
    with pytest.raises(ProofError, match=r"0\.003000 mm off in the output, allowed is 0\.001 mm"):
        prove(read(HERE), ASIDE, read(off))
    assert prove(read(HERE), ASIDE, read(off), tolerance_mm=0.004) == pytest.approx(0.003, abs=1e-9)


def test_axis_offsets_count_in_the_deviation_and_in_the_tolerance() -> None:
    # The axis is there already, so that no motion shows the axis offset.
    here, there = HERE + "G92 X7\n", THERE + "G92 X17.0006\n"
    assert prove(read(here), ASIDE, read(there)) == pytest.approx(0.0006, abs=1e-9)
    with pytest.raises(ProofError, match=r"^front\.ngc:4: the axis offset"):
        prove(read(here), ASIDE, read(there), tolerance_mm=0.0005)
    with pytest.raises(ProofError, match=r"^front\.ngc:4: the axis offset"):
        prove(read(here), ASIDE, read(THERE + "G92 X7\n"))


def test_motions_alone_are_held_to_the_same_tolerance_whatever_the_words_say() -> None:
    expected = Expected(ASIDE)
    assert prove_motions(read(HERE), expected, read(THERE + "(said)\n"), claim=None) == 0.0
    assert prove_motions(read(HERE), expected, read(THERE.replace("X15", "X15.0009")), claim=None) == pytest.approx(
        0.0009, abs=1e-9
    )
    with pytest.raises(ProofError, match=r"^front\.ngc:3: the end of this motion would be 0\.001100 mm off"):
        prove_motions(read(HERE), expected, read(THERE.replace("X15", "X15.0011")), claim=None)


def chunks(text: str, *, block_delete: BlockDelete = BlockDelete.OFF) -> list[tuple[bytes, Read]]:
    """Return each line of a program as a chunk of its own, with what an interpreter makes of it."""
    state, found = State(block_delete=block_delete), []
    for number, line in enumerate(text.encode().splitlines(keepends=True)):
        (blocks,) = scan_chunks([line], "front.ngc")
        blocks = replace(blocks, first_line=number + 1)
        modes, path, state = interpret_blocks(blocks, state)
        found.append((line, Read(blocks, modes, path)))
    return found


def proved(source: str, output: str, *, block_delete: BlockDelete = BlockDelete.OFF) -> Proving:
    proving = Proving("front.ngc", ASIDE, block_delete=block_delete)
    texts = output.encode().splitlines(keepends=True)
    for (_, source_read), text in zip(chunks(source, block_delete=block_delete), texts, strict=True):
        proving.add(text, source_read, None)
    return proving


def test_what_was_said_in_one_chunk_holds_in_the_next() -> None:
    proving = proved("G21 G91\nG90 G0 X1 Y2 Z3\nG91 G1 X5 F90\nX2\n", "G21 G91\nG90 G0 X11 Y2 Z3\nG91 G1 X5 F90\nX2\n")
    assert proving.largest_mm == 0.0
    assert proving.finish() == 0.0
    with pytest.raises(ProofError, match=r"^front\.ngc:3: "):
        proved("G21 G90\nG0 X1 Y2 Z3\nG91 G1 X5 F90\n", "G21 G90\nG0 X11 Y2 Z3\nG91 G1 X15 F90\n")


@pytest.mark.parametrize("offs", [("0007", "0002"), ("0002", "0007")])
def test_the_largest_deviation_of_all_chunks_is_told(offs: tuple[str, str]) -> None:
    first, second = offs
    proving = proved("G21 G90\nG0 X1 Y2 Z3\nX5\nX6\n", f"G21 G90\nG0 X11 Y2 Z3\nX15.{first}\nX16.{second}\n")
    assert proving.largest_mm == pytest.approx(0.0007, abs=1e-9)
    assert proving.finish() == pytest.approx(0.0007, abs=1e-9)


def test_with_block_delete_on_it_is_the_motions_that_are_compared() -> None:
    source, output = "G21 G90\nG0 X1 Y2 Z3\n/X9\nX5\n", "G21 G90\nG0 X11 Y2 Z3\n/X8 (not run)\nX15\n"
    assert proved(source, output, block_delete=BlockDelete.ON).finish() == 0.0
    with pytest.raises(ProofError, match=r"^front\.ngc:3: "):
        proved(source, output)
    with pytest.raises(ProofError, match=r"^front\.ngc:4: "):
        proved(source, output.replace("X15", "X16"), block_delete=BlockDelete.ON)


def test_an_output_that_is_not_legal_is_said_to_be_so_with_its_line() -> None:
    message = "the output would not be legal, nothing was written:\nfront.ngc:3:"
    with pytest.raises(ProofError, match=f"^{re.escape(message)}"):
        proved("G21 G90\nG0 X1 Y2 Z3\nX5\n", "G21 G90\nG0 X11 Y2 Z3\nX15 X16\n")
    with pytest.raises(ProofError, match=f"^{re.escape(message)}"):
        proved("G21 G90\nG0 X1 Y2 Z3\nX5\n", "G21 G90\nG0 X11 Y2 Z3\nG2 X15 R1\n")


def test_an_output_that_ends_early_is_said_to_do_so() -> None:
    proving = Proving("front.ngc", ASIDE)
    with pytest.raises(ProofError, match=r"^front\.ngc: the output would end early; nothing was written$"):
        proving.add(b"%\nG21\n%\nG90\n", read("G21 G90\n"), None)


def test_an_output_that_is_not_whole_is_said_to_be_so() -> None:
    (blocks,) = Scanner("front.ngc").scan(b"\n \n")
    modes, path, _ = interpret_blocks(blocks, State())
    proving = Proving("front.ngc", ASIDE)
    proving.add(blocks.text, Read(blocks, modes, path), None)
    with pytest.raises(ProofError, match=r"^the output would not be whole, nothing was written:\nfront\.ngc:1:"):
        proving.finish()
