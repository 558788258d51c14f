"""Where the lines that say what was done go: after what frames a program, before all else."""

import pytest

from flipreg.rewrite.text.header import header_place
from flipreg.rs274.read.scanner import scan_chunks

BOM = "\ufeff"


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("", "G0 X1\nM2\n"),
        ("", "\n \t\nG0 X1\n"),
        ("", "(plate)\n%\nG0 X1\n"),
        ("", "(plate)\nO1\nG0 X1\n"),
        ("%\n", "G0 X1\n%\n"),
        ("%\r\nO12\r\n", "G0 X1\r\n%\r\n"),
        ("\n \t\n%\n", "G0 X1\n"),
        ("%\n\t \n O7 (plate)\n", "\nG0 X1\n"),
        ("OTRAY\n", "G0 X1\n"),
        ("%\n", "(plate)\nO1\nG0 X1\n"),
        (BOM, "G0 X1\n"),
        (BOM, " \n\nG0 X1\n"),
        (BOM + "%\n", "\nG0 X1\n"),
        (BOM + " \n%\n", "G0 X1\n"),
        ("%\nO1\n", ""),
    ],
)
def test_the_header_goes_between_the_frame_and_the_program(before: str, after: str) -> None:
    text = (before + after).encode()
    (blocks,) = list(scan_chunks([text], "a.nc"))[:1]
    assert header_place(blocks, text) == len(before.encode())
    # The program itself may have become longer or shorter.
    assert header_place(blocks, text + b"X2\n") == (len(before.encode()) if after else len(text) + 3)
