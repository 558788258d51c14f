"""The proof in a process of its own finds what the proof at home finds."""

import os
import signal
from collections.abc import Iterator
from decimal import Decimal

import pytest

import flipreg
from flipreg.errors import ProofError
from flipreg.prove import Claim, Proving, Read, apart, process
from flipreg.rewrite.rewriter import Rewriter, Rewritten
from flipreg.rs274.read import lines

ZERO = (Decimal(0), Decimal(0))

needs_fork = pytest.mark.skipif(not apart._can_fork(), reason="no second core, no fork, or other threads")


@pytest.fixture(autouse=True)
def small_chunks(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(lines, "CHUNK_BYTES", 4096)
    yield
    with pytest.raises(ChildProcessError):
        os.waitpid(-1, os.WNOHANG)


def long_program(blocks: int = 2000) -> flipreg.Program:
    rows = [
        f"G1 X{index % 97}.{index % 10} Y{index % 31} Z-{index % 5} F{600 + index % 3} (pass {index})"
        for index in range(blocks)
    ]
    return flipreg.parse("\n".join(["G21 G90 G17", "G0 X0 Y0 Z5", *rows, "M2", ""]))


@needs_fork
def test_a_long_program_is_proved_apart_with_the_result_of_home(monkeypatch: pytest.MonkeyPatch) -> None:
    forked: list[Proving] = []

    class Noted(process.ProofProcess):
        def __init__(self, proving: Proving) -> None:
            forked.append(proving)
            super().__init__(proving)

    monkeypatch.setattr(process, "ProofProcess", Noted)
    away = flipreg.shift(long_program(), turn_deg=33.0)
    assert len(forked) == 1
    monkeypatch.setattr(apart, "_can_fork", lambda: False)
    home = flipreg.shift(long_program(), turn_deg=33.0)
    assert home == away
    assert home.largest_deviation_mm > 0


def test_a_short_program_is_proved_at_home(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(process, "ProofProcess", None)
    assert flipreg.flip(long_program(50), axis=flipreg.FlipAxis.Y, datum_mm=ZERO).motions == 51


@pytest.mark.parametrize("line", [500, 1990])
def test_a_fault_far_into_the_program_stops_it(line: int, monkeypatch: pytest.MonkeyPatch) -> None:
    rewrite = Rewriter.rewrite

    def faulty(self: Rewriter, *arguments: object, **named: object) -> Rewritten:
        new = rewrite(self, *arguments, **named)  # type: ignore[arg-type]
        return Rewritten(new.text.replace(b"(pass %d)" % line, b"X500 (pass %d)" % line))

    monkeypatch.setattr(Rewriter, "rewrite", faulty)
    with pytest.raises(ProofError, match="not be legal"):
        flipreg.flip(long_program(), axis=flipreg.FlipAxis.Y, datum_mm=ZERO)


def test_a_number_wrong_by_a_hundredth_is_found_and_its_line_named(monkeypatch: pytest.MonkeyPatch) -> None:
    rewrite = Rewriter.rewrite

    def faulty(self: Rewriter, *arguments: object, **named: object) -> Rewritten:
        new = rewrite(self, *arguments, **named)  # type: ignore[arg-type]
        wrong = [text.replace(b" Y", b" Y0", 1) if b"(pass 1501)" in text else text for text in new.text.split(b"\n")]
        return Rewritten(b"\n".join(wrong).replace(b"Y013", b"Y13.01"))

    monkeypatch.setattr(Rewriter, "rewrite", faulty)
    with pytest.raises(ProofError, match=r"<text>:1504: the end of this motion would be 0\.010000 mm off"):
        flipreg.flip(long_program(), axis=flipreg.FlipAxis.Y, datum_mm=ZERO)


@needs_fork
def test_a_proof_that_dies_is_no_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    home = os.getpid()

    class Dying(Proving):
        def add(self, text: bytes, source: Read, claim: Claim | None) -> None:
            if os.getpid() != home:
                os.kill(os.getpid(), signal.SIGKILL)
            super().add(text, source, claim)

    monkeypatch.setattr("flipreg.produce.produce.Proving", Dying)
    with pytest.raises(ProofError, match="the proof ended"):
        flipreg.flip(long_program(), axis=flipreg.FlipAxis.Y, datum_mm=ZERO)


@needs_fork
def test_a_refusal_while_the_proof_runs_apart_leaves_nothing_behind() -> None:
    text = long_program().text.replace(b"M2", b"G55 X1\nM2")
    with pytest.raises(flipreg.RefusedError, match="second work offset"):
        flipreg.flip(flipreg.parse(text), axis=flipreg.FlipAxis.Y, datum_mm=ZERO)
