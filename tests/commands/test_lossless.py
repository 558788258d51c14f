"""Reading loses nothing: text in, the same bytes out, and every byte that a rewrite need not touch stays."""

from decimal import Decimal
from pathlib import Path as File

import pytest

import flipreg
from tests.commands.programs import CYCLES, OUTSIDE_XY, PLANE

CODE = b"G21 G90 F100\nG0 X1 Y2 Z3\nG1 X4.50\nM2\n"

TEXTS = {
    "line feeds": CODE,
    "carriage returns": CODE.replace(b"\n", b"\r"),
    "both": CODE.replace(b"\n", b"\r\n"),
    "mixed endings": b"G21 G90 F100\r\nG0 X1 Y2 Z3\rG1 X4.50\n\r\n\n\rM2",
    "byte-order mark": b"\xef\xbb\xbf" + CODE,
    "byte-order mark and percent": b"\xef\xbb\xbf%\r\n" + CODE + b"%\r\n",
    "no final newline": CODE.rstrip(),
    "latin-1 in comments": b"(f\xfcr die R\xfcckseite, \xd810)\n" + CODE + b"; caf\xe9\n",
    "utf-8 in comments": "(für die Rückseite, Ø10 – 木)\n".encode() + CODE,
    "bytes of no encoding in comments": b"(\x80\xff\xfe\xc3\x28\x1b)\n".replace(b"\x28\x1b", b"\xa0") + CODE,
    "nested comments": b"(a (b) c) (d ((e)) f)\n" + CODE,
    "semicolons": b"; all (this; X1\n" + CODE.replace(b"\nM2", b" ; G0 X9\nM2"),
    "program number": b"%\nO1234\n" + CODE + b"%\n",
    "program number with a comment": b"O0001 (tray front)\n" + CODE,
    "lower case program number": b"o7\n" + CODE,
    "text after the closing percent": b"%\n" + CODE + b"%\nanything [[ at (all\n\xff\x00\n",
    "text after the end": CODE + b"G1 X5\n\n\n",
    "blanks around percent": b"\n \t\n % \n" + CODE + b"\t%\n\n",
    "blanks everywhere": b"  g 2 1\tG9 0 f 1 0 0 \nG 0 X 1 . 5 Y - 2 Z+ .5\t\nG1 X [ 1 + 2 ] \n\tM2\t",
    "expressions": b"#1=2 G21 G90\nG0 X#1 Y[#1*SIN[30]] Z2\n##1=3 G1 F1 XATAN[1]/[2] #4=[1 OR 0]\nM2\n",
    "block delete": b"/G21\n/ N5 G90 F1\n" + CODE,
    "long comment": b"(" + b"long " * 200 + b")\n" + CODE,
    "long semicolon comment": CODE + b";" + b"long " * 2000 + b"\n",
    "centre modes": b"G90.1\nG91.1\n" + CODE,
    "all letters": b"N1 G1 X1 Y1 Z1 A1 B1 C1 F1 S1 T1\nG2 I1 J1 K1 R1\nG10 L2 P1 Q1 H1 D1\nM2\n",
    "all codes of the standard": b"\n".join(
        [b"G%s" % code for code in
         b"0 1 2 3 4 10 17 18 19 20 21 28 30 38.2 40 41 42 43 49 53 54 55 56 57 58 59 59.1 59.2 59.3 61 61.1 64 80 81 "
         b"82 83 84 85 86 87 88 89 90 91 92 92.1 92.2 92.3 93 94 98 99".split()]
        + [b"M%s" % code for code in b"0 1 3 4 5 6 7 8 9 48 49 60 30 2".split()]
    ),
    "messages": b"(MSG, hello)( m s g ,there) (MSG no)\n" + CODE,
}  # fmt: skip


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS.keys())
def test_a_program_is_byte_for_byte_its_input(text: bytes) -> None:
    program = flipreg.parse(text, source="front.ngc")
    assert program.text == text
    # Chunks are what is read of it; together they are the file, up to where reading stops.
    read = b"".join(blocks.text for blocks in program.chunks())
    assert text.startswith(read) or text.removeprefix(b"\xef\xbb\xbf").startswith(read)
    assert b"M2" in read.upper()


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS.keys())
def test_a_program_read_from_a_file_is_byte_for_byte_the_file(text: bytes, tmp_path: File) -> None:
    file = tmp_path / "front.ngc"
    file.write_bytes(text)
    assert flipreg.read(file).text == text
    assert file.read_bytes() == text


@pytest.mark.parametrize("text", (PLANE | CYCLES | OUTSIDE_XY).values(), ids=(PLANE | CYCLES | OUTSIDE_XY).keys())
def test_a_program_given_as_text_is_its_bytes(text: str) -> None:
    assert flipreg.parse(text).text == text.encode()


def test_text_beyond_latin_1_is_kept_as_utf_8() -> None:
    text = "(木 – Ø)\nM2\n"
    assert flipreg.parse(text).text == text.encode()


FLAT = [
    name
    for name in TEXTS
    if name not in {"all letters", "all codes of the standard", "expressions", "blanks everywhere", "centre modes"}
]


@pytest.mark.parametrize("name", FLAT)
def test_a_shift_along_z_changes_the_z_word_and_no_other_byte(name: str) -> None:
    # Apart from the comment at the start, which stands after the byte-order mark and the percent line.
    text = TEXTS[name]
    zero = Decimal(0)
    produced = flipreg.shift(
        flipreg.parse(text), by_mm=(zero, zero, Decimal("0.5")), turn_deg=0.0, about_mm=(zero, zero)
    ).text
    expected = text.replace(b"Z3", b"Z3.5")
    head, tail = produced.split(b"G21", 1)
    expected_head, expected_tail = expected.split(b"G21", 1)
    assert tail == expected_tail
    added = [line for line in head.splitlines() if line not in expected_head.splitlines()]
    assert added
    assert all(line.lstrip(b"\xef\xbb\xbf").startswith(b"(") and line.endswith(b")") for line in added)


def test_every_line_of_the_file_is_a_block_with_its_place() -> None:
    text = TEXTS["mixed endings"]
    chunks = list(flipreg.parse(text).chunks())
    lines = [blocks.line(block) for blocks in chunks for block in range(len(blocks))]
    assert lines[:3] == ["G21 G90 F100", "G0 X1 Y2 Z3", "G1 X4.50"]
    assert lines[-1] == "M2"
    # CRLF is one line end; LF CR is a line feed and then an empty line's carriage return.
    assert lines == ["G21 G90 F100", "G0 X1 Y2 Z3", "G1 X4.50", "", "", "", "M2"]
