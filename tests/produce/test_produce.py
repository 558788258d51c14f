"""New programs: where the header goes, what it says, and that it does not matter how the source is read."""

import re
import tracemalloc
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path as File

import pytest

import flipreg
from flipreg.errors import ProofError, UsageError
from flipreg.produce.isometries import FlipAxis, flip_isometry, shift_isometry
from flipreg.produce.produce import flip, shift
from flipreg.produce.produced import Produced
from flipreg.rs274.read import lines as lines_module
from flipreg.rs274.read.dialect import USUAL, Dialect
from flipreg.rs274.read.location import ProgramError, RefusedError
from flipreg.rs274.read.program import Units
from tests.motions import motions

BODY = "G21 G90\nG0 X1 Y2 Z3\nM2\n"
FLIPPED = "G21 G90\nG0 X-1 Y2 Z3\nM2\n"
ZERO = Decimal(0)


@dataclass(frozen=True)
class Pieces:
    """A program that comes in pieces."""

    cut: tuple[bytes, ...]
    source: str = "front.ngc"
    units: Units | None = None
    dialect: Dialect = USUAL

    def pieces(self) -> Iterator[bytes]:
        return iter(self.cut)


def flipped(text: str | bytes, *, source: str = "front.ngc") -> Produced:
    return flip(flipreg.parse(text, source=source), axis=FlipAxis.Y, datum_mm=(ZERO, ZERO))


def split_header(text: bytes) -> tuple[bytes, list[bytes], bytes]:
    """Return what is in front of the header, its lines, and what is after it."""
    comments = rb"\(made by [^()\r\n]*\)(\r\n|\n|\r)(?:\([^()\r\n]*\)\1)*?\(try this program [^()\r\n]*\)\1"
    found = re.search(comments, text)
    assert found
    return text[: found.start()], found[0].split(found[1])[:-1], text[found.end() :]


@pytest.mark.parametrize(
    ("front", "after"),
    [
        ("", BODY),
        ("%\n", BODY + "%\n"),
        ("%\nO1234\n", BODY + "%\n"),
        ("O1234 (tray)\n", BODY),
        ("\n \n%\n\nO1 ;one\n", BODY + "%"),
        ("\ufeff", BODY),
        ("\ufeff%\n", BODY + "%\n"),
        ("\ufeffO12\n", BODY),
        ("", "\n\n" + BODY),
        ("", "(a comment)\n" + BODY),
        ("", "/M8\n" + BODY),
        ("%\n", "G0 Z9\n" + BODY + "%\nleft over"),
    ],
)
def test_the_header_comes_after_percent_line_program_number_and_byte_order_mark(front: str, after: str) -> None:
    found, lines, rest = split_header(flipped(front + after).text)
    assert found == front.encode()
    assert rest == after.replace("X1", "X-1").encode()
    proved = b"(proved: 2 motions" if "Z9" in after else b"(proved: 1 motions"
    assert sum(line.startswith(proved) for line in lines) == 1


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_the_header_has_the_line_ends_of_the_source(line_end: str) -> None:
    text = ("%\n" + BODY + "%\n").replace("\n", line_end)
    found = flipped(text).text.decode()
    assert re.findall(r"\r\n|\n|\r", found) == [line_end] * 8


def test_a_source_of_one_line_without_an_end_gets_lines_all_the_same() -> None:
    assert flipped("G0 X1").text.endswith(b")\nG0 X-1")
    assert flipped("G0 X1").text.count(b"\n") == 3


def test_a_program_number_without_a_line_end_stays_a_program() -> None:
    text = flipped("O1234").text
    assert text.startswith(b"O1234")
    assert flipreg.parse(text).text == text
    assert b"try this program above the work" in text


def test_a_long_source_name_leaves_room_for_what_was_done() -> None:
    _, lines, _ = split_header(flipped(BODY, source="x" * 400 + ".ngc").text)
    assert b"flipped about Y" in lines[0]
    assert max(map(len, lines)) <= 256


@pytest.mark.parametrize("source", ["a(b)c.ngc", "(((", "naïve ✂.ngc", "a;b%.ngc", "", "\udcff.ngc", "a\x00\x7f\nb"])
def test_any_source_name_makes_a_header_of_plain_comments(source: str) -> None:
    found, lines, rest = split_header(flipped(BODY, source=source).text)
    assert (found, rest) == (b"", FLIPPED.encode())
    assert all(re.fullmatch(rb"\([ -'*-~]*\)", line) for line in lines)


def test_the_header_says_what_was_done() -> None:
    program = flipreg.parse(BODY, source="programs/front.ngc")
    by = (Decimal("1.50"), ZERO, Decimal("-100"))
    _, lines, _ = split_header(shift(program, by_mm=by, turn_deg=90.0, about_mm=(Decimal("1E+2"), ZERO)).text)
    assert lines[0] == b"(made by flipreg from front.ngc: turned 90 degrees about X100 Y0, moved by X1.5 Y0 Z-100)"
    _, lines, _ = split_header(flip(program, axis=FlipAxis.X, datum_mm=(ZERO, Decimal("25.40"))).text)
    assert lines[0] == b"(made by flipreg from front.ngc: flipped about X, program zero at X0 Y25.4 of the source)"
    assert lines[1] == b"(proved: 1 motions read again, largest deviation 0.000000 mm)"


def long_text(rounds: int) -> bytes:
    round_ = "G1 X{0}.5 Y-1.25\nG2 X{1}.5 I2 J0 (arc)\nX0.{0:03d}\r\nG3 Y2 R40\nG0 Z5 ;up\nG91 X1\nG90 G1 X[1+2]\n"
    body = "".join(round_.format(index, index + 4).replace("X0.", "G1 X0.") for index in range(rounds))
    return ("%\nG21 G90 G17 F100\nG0 X0 Y0 Z0\n" + body.replace("G3 Y2 R40", "G1 Y2") + "M2\n%\nleft (over\n").encode()


@pytest.mark.parametrize("size", [64, 1000])
@pytest.mark.parametrize("turn", [0.0, 90.0, 31.5])
def test_a_program_in_pieces_is_produced_like_the_whole(
    size: int, turn: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = long_text(60)
    by = (Decimal("0.125"), Decimal(-7), ZERO)
    whole = shift(flipreg.parse(text, source="front.ngc"), by_mm=by, turn_deg=turn)
    monkeypatch.setattr(lines_module, "CHUNK_BYTES", size)
    cut = tuple(text[first : first + 37] for first in range(0, len(text), 37))
    pieces = shift(Pieces(cut), by_mm=by, turn_deg=turn)
    assert len(pieces.parts) > 5
    assert pieces.text == whole.text
    assert (pieces.motions, pieces.source) == (whole.motions, whole.source)
    assert pieces.largest_deviation_mm == whole.largest_deviation_mm


def test_a_file_is_produced_like_its_text(tmp_path: File) -> None:
    file = tmp_path / "front.ngc"
    file.write_bytes(long_text(5))
    from_file = flip(flipreg.ProgramFile(file, "front.ngc"), axis=FlipAxis.Y, datum_mm=(ZERO, ZERO))
    assert from_file.text == flipped(long_text(5)).text


def test_memory_does_not_grow_with_the_file_beyond_its_output(monkeypatch: pytest.MonkeyPatch) -> None:
    # Small pieces, looked at a few at a time, for what two threads hold at once differs by some pieces from run to run.
    monkeypatch.setattr(lines_module, "CHUNK_BYTES", 19_000)
    monkeypatch.setattr("flipreg.contours.count._MOST_ROWS", 2_000)
    piece = b"G1 X12.345 Y-6.789\n" * 1_000

    def peak(megabytes: float) -> float:
        pieces = [b"G21 G90 F100\nG0 Z1\n", *[piece] * int(megabytes * 1e6 / len(piece))]
        tracemalloc.start()
        flip(Pieces(tuple(pieces)), axis=FlipAxis.Y, datum_mm=(ZERO, ZERO))
        _, highest = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        return highest / 1e6

    few, many = peak(0.5), peak(2.5)
    assert many - few < 2 * 1.3


@pytest.mark.parametrize(
    ("text", "error"),
    [
        ("G1 Xx", ProgramError),
        ("G21 G90 G0 X1\nG54 X1\nG55 X2", RefusedError),
        ("G21 G91 G0 X1", RefusedError),
        ("", ProgramError),
        ("G0 X1\n%\nG0 X2\n", ProgramError),
    ],
)
def test_what_cannot_be_produced_is_an_error(text: str, error: type[ProgramError]) -> None:
    with pytest.raises(error):
        flip(Pieces((text.encode(),)), axis=FlipAxis.Y, datum_mm=(Decimal(1), ZERO))


def test_a_fault_far_down_the_program_is_told_with_its_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lines_module, "CHUNK_BYTES", 64)
    text = long_text(60).replace(b"M2\n", b"G1 X\nM2\n")
    with pytest.raises(ProgramError) as caught:
        flip(Pieces((text,)), axis=FlipAxis.Y, datum_mm=(ZERO, ZERO))
    assert not isinstance(caught.value, ProofError)
    assert caught.value.location.line == text[: text.index(b"G1 X\n")].count(b"\n") + 1


@pytest.mark.parametrize("bad", [Decimal("NaN"), Decimal("Infinity"), Decimal("1e400")])
def test_a_place_that_is_no_length_is_a_usage_error(bad: Decimal) -> None:
    with pytest.raises(UsageError):
        flip_isometry(FlipAxis.X, (bad, ZERO))
    with pytest.raises(UsageError):
        shift_isometry(by_mm=(ZERO, bad, ZERO), turn_deg=0.0, about_mm=(ZERO, ZERO))
    with pytest.raises(UsageError):
        shift_isometry(by_mm=(ZERO, ZERO, ZERO), turn_deg=30.0, about_mm=(ZERO, bad))


@pytest.mark.parametrize("far", ["1e12", "123456789012345.678", "1e17"])
def test_a_far_place_is_written_exactly_or_refused(far: str) -> None:
    program = flipreg.parse("G21 G90\nG0 X0.001 Y0\nG1 X-1 F100\n")
    try:
        produced = flip(program, axis=FlipAxis.Y, datum_mm=(Decimal(far), ZERO))
    except flipreg.FlipregError:
        return
    expected = [float(Decimal(far) - Decimal("0.001")), float(Decimal(far) + 1)]
    assert motions(produced.text).end[:, 0].tolist() == expected


@pytest.mark.parametrize("chords", [0.0, -1.0, float("nan")])
def test_a_chord_tolerance_is_over_zero(chords: float) -> None:
    with pytest.raises(UsageError, match="chord tolerance"):
        shift(flipreg.parse(BODY), chords_mm=chords)


def test_a_refusal_for_block_delete_points_at_a_line_that_moves_something() -> None:
    program = flipreg.parse("G21 G90 G17\nG0 X0 Y0 Z5\n/M8\nG1 X10 F300\n/Y9\nX0\nM2\n", source="one.nc")
    with pytest.raises(flipreg.RefusedError, match="with lines like this one left out") as caught:
        flipreg.shift(program, turn_deg=30)
    assert caught.value.location.line == 5
