"""The comment a produced program starts with: what was done to what, how exactly, and the caution."""

import re
from decimal import Decimal

import pytest

import flipreg
from tests.commands.programs import PLANE
from tests.motions import motions

TEXT = PLANE["lines"]


def flipped(text: str | bytes, source: str = "front.ngc") -> bytes:
    datum_mm = (Decimal("25.4"), Decimal(0))
    return flipreg.flip(flipreg.parse(text, source=source), axis=flipreg.FlipAxis.Y, datum_mm=datum_mm).text


def shifted(text: str | bytes, source: str = "front.ngc") -> bytes:
    program = flipreg.parse(text, source=source)
    return flipreg.shift(
        program,
        by_mm=(Decimal("1.5"), Decimal(0), Decimal(0)),
        turn_deg=30.0,
        about_mm=(Decimal(0), Decimal(0)),
    ).text


def header(produced: bytes, source: str = TEXT) -> str:
    """Return the lines that the source does not have: there are some, always."""
    lines = produced.decode("latin-1").splitlines()
    added = lines[: len(lines) - len(source.splitlines())]
    assert len(added) >= 3
    return "\n".join(added)


def test_the_header_names_the_source_the_flip_and_the_caution() -> None:
    text = header(flipped(TEXT))
    assert "front.ngc" in text
    assert "flipped about Y, program zero at X25.4 Y0 of the source" in text
    assert re.search(r"deviation\D*[0-9.]+ ?mm", text, re.IGNORECASE)
    assert re.search(r"above the work", text, re.IGNORECASE)


def test_the_header_names_the_source_the_shift_and_the_caution() -> None:
    text = header(shifted(TEXT))
    assert "front.ngc" in text
    assert "turned 30 degrees about X0 Y0, moved by X1.5 Y0 Z0" in text
    assert re.search(r"deviation\D*[0-9.]+ ?mm", text, re.IGNORECASE)
    assert re.search(r"above the work", text, re.IGNORECASE)


def test_the_header_is_comments_in_the_standards_own_style() -> None:
    # NISTIR 6556 section 3.3.4: round brackets, printable characters, no nesting; section 3.3: 256 characters.
    for line in header(flipped(TEXT)).splitlines():
        assert re.fullmatch(r"\([ -'*-~]*\)", line)
        assert len(line) <= 256


def test_the_header_never_says_that_a_cut_is_safe() -> None:
    assert "safe" not in header(flipped(TEXT)).lower()


@pytest.mark.parametrize(
    "source",
    [
        "front (1).ngc",
        "a)\nG0 X999 Y999 (.ngc",
        "a) G0 X999 (.ngc",
        "über mäßig.ngc",
        "tab\there;semi.ngc",
        "x" * 300 + ".ngc",
        "\u202egpj.ngc",
        "a\r%\rb.ngc",
    ],
    ids=["brackets", "newline", "code", "umlauts", "control", "long", "bidi", "carriage return"],
)
def test_no_source_name_gets_out_of_the_header_comment(source: str) -> None:
    produced = flipped(TEXT, source)
    assert len(motions(produced)) == len(motions(TEXT))
    text = header(produced)
    for line in text.splitlines():
        assert re.fullmatch(r"\([ -'*-~]*\)", line)
        assert len(line) <= 256


def test_the_header_comes_after_the_opening_percent_line() -> None:
    # NISTIR 6556 section 3.1: the percent line is the first line that is not blank.
    produced = flipped(f"%\n{TEXT}%\n")
    assert produced.startswith(b"%\n(")
    assert produced.endswith(b"%\n")
    assert len(motions(produced)) == len(motions(TEXT))


def test_a_byte_order_mark_stays_at_the_start() -> None:
    produced = flipped(b"\xef\xbb\xbf" + TEXT.encode())
    assert produced.startswith(b"\xef\xbb\xbf")
    assert produced.count(b"\xef\xbb\xbf") == 1


def test_the_header_ends_its_lines_as_the_source_does() -> None:
    produced = flipped(TEXT.replace("\n", "\r\n"))
    assert produced.count(b"\n") == produced.count(b"\r\n")


def test_a_flip_of_a_flip_still_names_its_source() -> None:
    twice = flipped(flipped(TEXT), "back.ngc")
    assert b"back.ngc" in twice
    assert len(motions(twice)) == len(motions(TEXT))
