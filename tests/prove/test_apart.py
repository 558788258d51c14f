"""The proof in a thread of its own finds what a proof of the whole program finds."""

import threading
from collections.abc import Iterator
from decimal import Decimal

import pytest

import flipreg
from flipreg.contours.count import ContourCount
from flipreg.errors import ProofError
from flipreg.prove import Claim, Proving, Read
from flipreg.rewrite.isometry.rewriter import Rewriter, Rewritten
from flipreg.rs274.read import lines

ZERO = (Decimal(0), Decimal(0))

@pytest.fixture(autouse=True)
def small_chunks(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(lines, "CHUNK_BYTES", 4096)
    yield
    assert not [thread for thread in threading.enumerate() if thread.name.startswith("proof")]


def long_program(blocks: int = 2000) -> flipreg.Program:
    rows = [
        f"G1 X{index % 97}.{index % 10} Y{index % 31} Z-{index % 5} F{600 + index % 3} (pass {index})"
        for index in range(blocks)
    ]
    return flipreg.parse("\n".join(["G21 G90 G17", "G0 X0 Y0 Z5", *rows, "M2", ""]))


def test_a_long_program_is_proved_in_a_thread_with_the_result_of_one_chunk(monkeypatch: pytest.MonkeyPatch) -> None:
    threads: list[str] = []
    add = Proving.add

    def noted(self: Proving, text: bytes, source: Read, claim: Claim | None) -> None:
        threads.append(threading.current_thread().name)
        add(self, text, source, claim)

    monkeypatch.setattr(Proving, "add", noted)
    away = flipreg.shift(long_program(), turn_deg=33.0)
    assert len(threads) > 10
    assert set(threads) == {"proof"}
    monkeypatch.setattr(lines, "CHUNK_BYTES", 1 << 20)
    whole = flipreg.shift(long_program(), turn_deg=33.0)
    assert (whole.text, whole.largest_deviation_mm) == (away.text, away.largest_deviation_mm)
    assert whole.largest_deviation_mm > 0


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


def test_an_error_that_is_no_proof_error_comes_through_as_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(self: Proving, text: bytes, source: Read, claim: Claim | None) -> None:
        if threading.current_thread().name != "MainThread":
            raise MemoryError

    monkeypatch.setattr(Proving, "add", broken)
    with pytest.raises(MemoryError):
        flipreg.flip(long_program(), axis=flipreg.FlipAxis.Y, datum_mm=ZERO)


def test_a_refusal_while_the_proof_runs_leaves_no_thread_behind() -> None:
    text = long_program().text.replace(b"M2", b"G55 X1\nM2")
    with pytest.raises(flipreg.RefusedError, match="second work offset"):
        flipreg.flip(flipreg.parse(text), axis=flipreg.FlipAxis.Y, datum_mm=ZERO)


def test_contours_of_each_chunk_are_counted_once_the_last_one_too(monkeypatch: pytest.MonkeyPatch) -> None:
    squares = [f"G0 X{at} Y0\nG1 Z-1 F300\nX{at + 8}\nY8\nX{at}\nY0\nG0 Z5" for at in range(0, 3000, 10)]
    program = flipreg.parse("\n".join(["G21 G90 G17", "G0 Z5", *squares, "M2", ""]))
    away = flipreg.flip(program, axis=flipreg.FlipAxis.Y, datum_mm=ZERO)
    assert any("300 closed contours changed direction" in note for note in away.notes)
    monkeypatch.setattr(lines, "CHUNK_BYTES", 1 << 20)
    assert flipreg.flip(program, axis=flipreg.FlipAxis.Y, datum_mm=ZERO).text == away.text


@pytest.mark.parametrize("chunk", [1, -1])
def test_an_error_while_contours_are_counted_comes_through(chunk: int, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = long_program()
    asked: list[int] = []

    def broken(self: ContourCount, path: flipreg.Path) -> None:
        asked.append(int(path.line[-1]))
        if (len(asked) == chunk) or (chunk < 0 and asked[-1] > 1990):
            raise MemoryError

    monkeypatch.setattr(ContourCount, "add", broken)
    with pytest.raises(MemoryError):
        flipreg.flip(whole, axis=flipreg.FlipAxis.Y, datum_mm=ZERO)
