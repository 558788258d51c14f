"""Bad input ends in one clear message with its place, exit status 2, and nothing written."""

import io
from pathlib import Path as File

import pytest

from flipreg.cli import parser as cli
from tests.commands.command import assert_one_message, run

GOOD = b"G21 G90 F100\nG0 X0 Y0 Z5\nG1 X10 Z-1\nM2\n"


def line(text: bytes) -> bytes:
    """Return a program whose line 3 is bad."""
    return b"G21 G90 G17 F100\nG0 X0 Y0 Z5\n" + text + b"\nM2\n"


BAD: dict[str, tuple[bytes, int | None]] = {
    # what, and the line of the fault where there is only one to name
    "binary junk": (bytes(range(256)) * 20, None),
    "an image": (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" + bytes(100), None),
    "a compressed file": (b"PK\x03\x04\x14\x00\x00\x00\x08\x00" + bytes(200), None),
    "zero bytes": (bytes(1000), None),
    "an empty file": (b"", None),
    "a file of blank lines": (b"\n\n \n", None),
    "UTF-16": ("G21\nG0 X1\nM2\n".encode("utf-16"), None),
    "NaN": (line(b"G1 XNAN"), 3),
    "not a number with a sign": (line(b"G1 X-nan"), 3),
    "infinity": (line(b"G1 XINF"), 3),
    "an exponent": (line(b"G1 X1e999"), 3),
    "four hundred digits": (line(b"G1 X" + b"9" * 400), 3),
    "digits of another script": (line("G1 X١٢".encode()), 3),
    "full-width letters": (line("Ｇ1 X1".encode()), 3),
    "an arc with no centre": (line(b"G2 X10 Y0"), 3),
    "an arc whose radii disagree": (line(b"G2 X10 Y0 I4"), 3),
    "an arc of radius zero": (line(b"G2 X0 Y0 I0 J0"), 3),
    "an arc with too short a radius": (line(b"G2 X10 Y0 R4"), 3),
    "an arc with both radius and centre": (line(b"G2 X10 Y0 R5 I5"), 3),
    "an unknown G code": (line(b"G5.7 X1"), 3),
    "an unknown M code": (line(b"M123"), 3),
    "an unknown letter": (line(b"G1 W1"), 3),
    "an open bracket": (line(b"G1 X[1+[2*3]"), 3),
    "a bracket too many": (line(b"G1 X[1+2]]"), 3),
    "a conflict marker": (line(b"<<<<<<< HEAD\nG1 X1\n=======\nG1 X2\n>>>>>>> theirs"), 3),
    "HTML around a program": (b"<!DOCTYPE html>\n<html><body><pre>\n" + GOOD + b"</pre></body></html>\n", 1),
    "HTML after a program": (line(b"</pre></body></html>"), 3),
    "division by zero": (line(b"G1 X[1/0]"), 3),
    "the root of a negative number": (line(b"G1 XSQRT[-1]"), 3),
    "the logarithm of zero": (line(b"G1 XLN[0]"), 3),
    "an arc sine of two": (line(b"G1 XASIN[2]"), 3),
    "a power too large": (line(b"G1 X[10**400]"), 3),
    "an exponential too large": (line(b"G1 XEXP[10000]"), 3),
    "a complex power": (line(b"G1 X[[0-8]**0.5]"), 3),
    "MOD by zero": (line(b"G1 X[5 MOD 0]"), 3),
    "an infinite product": (line(b"G1 X[EXP[700]*EXP[700]]"), 3),
    "a thousand brackets": (line(b"G1 X" + b"[" * 1000 + b"1" + b"]" * 999), 3),
    "ten thousand hashes": (line(b"G1 X" + b"#" * 10_000 + b"1"), 3),
    "no feed in inverse time": (line(b"G93 G1 X1"), 3),
    "a percent line in the middle": (line(b"%"), 4),
    "a very large coordinate": (line(b"G1 X" + b"9" * 200), 3),
}

each_bad = pytest.mark.parametrize(("text", "at_line"), BAD.values(), ids=BAD.keys())


@each_bad
def test_a_bad_file_is_one_message_status_2_and_no_output(text: bytes, at_line: int | None, tmp_path: File) -> None:
    file, out_file = tmp_path / "front.ngc", tmp_path / "back.ngc"
    file.write_bytes(text)
    status, out, err = run(["flip", str(file), "--axis", "y", "--at", "0", "-o", str(out_file)])
    assert (status, out) == (2, b"")
    assert_one_message(err, str(file), at_line)
    assert [file] == list(tmp_path.iterdir())


@each_bad
def test_a_bad_program_on_standard_input_is_one_message_and_no_output(text: bytes, at_line: int | None) -> None:
    status, out, err = run(["flip", "-", "--axis", "y", "--at", "0"], text)
    assert (status, out) == (2, b"")
    assert_one_message(err, "<stdin>", at_line)


@pytest.mark.parametrize(
    "arguments",
    [
        ["bounds", "-"],
        ["shift", "-", "--by", "1,2"],
        ["shift", "-", "--turn", "30"],
        ["flip", "-", "--axis", "x", "--at", "0"],
    ],
    ids=" ".join,
)
@pytest.mark.parametrize("name", ["binary junk", "an empty file", "an arc whose radii disagree", "a conflict marker"])
def test_every_command_refuses_a_bad_program_alike(arguments: list[str], name: str) -> None:
    text, at_line = BAD[name]
    status, out, err = run(arguments, text)
    assert (status, out) == (2, b"")
    assert_one_message(err, "<stdin>", at_line)


LONG = 1_000_000

LONG_LINES = {
    "one word again and again": b"X1" * (LONG // 2),
    "digits": b"G1 X" + b"1" * LONG,
    "no letter at all": b"=" * LONG,
    "brackets": b"G1 X" + b"[" * LONG,
}


@pytest.mark.parametrize("text", LONG_LINES.values(), ids=LONG_LINES.keys())
def test_a_line_of_a_megabyte_is_one_short_message(text: bytes) -> None:
    status, out, err = run(["flip", "-", "--axis", "y", "--at", "0"], line(text))
    assert (status, out) == (2, b"")
    assert_one_message(err, "<stdin>", 3)


def test_a_missing_file_is_named(tmp_path: File) -> None:
    file = tmp_path / "front.ngc"
    status, out, err = run(["flip", str(file), "--axis", "y", "--at", "0", "-o", str(tmp_path / "back.ngc")])
    assert (status, out) == (2, b"")
    assert str(file) in err
    assert err.count("\n") == 1
    assert "Traceback" not in err
    assert not list(tmp_path.iterdir())


def test_a_directory_is_named(tmp_path: File) -> None:
    status, out, err = run(["flip", str(tmp_path), "--axis", "y", "--at", "0"])
    assert (status, out) == (2, b"")
    assert str(tmp_path) in err
    assert err.count("\n") == 1
    assert "Traceback" not in err


def test_an_existing_output_file_is_untouched_by_a_failure(tmp_path: File) -> None:
    file, out_file = tmp_path / "front.ngc", tmp_path / "back.ngc"
    file.write_bytes(line(b"G2 X10 Y0 I4"))
    out_file.write_bytes(b"precious\n")
    before = out_file.stat()
    status, out, err = run(["flip", str(file), "--axis", "y", "--at", "0", "-o", str(out_file)])
    assert (status, out) == (2, b"")
    assert_one_message(err, str(file), 3)
    assert out_file.read_bytes() == b"precious\n"
    assert (before.st_ino, before.st_mtime_ns) == (out_file.stat().st_ino, out_file.stat().st_mtime_ns)
    assert sorted([file, out_file]) == sorted(tmp_path.iterdir())


@pytest.mark.parametrize("fault", [b"G2 X10 Y0 I4", b"G1 X[", b"G53 G1 X1", b"G1 X1 X2"])
def test_a_fault_in_the_last_line_of_a_long_program_leaves_nothing_on_standard_output(fault: bytes) -> None:
    # Long enough for several chunks: the first ones must not be out before the last one is proved.
    good = b"".join(b"G1 X%d.5 Y%d\n" % (index % 300, index % 200) for index in range(60_000))
    text = b"G21 G90 G17 F100\nG0 X0 Y0 Z5\n" + good + fault + b"\nM2\n"
    status, out, err = run(["flip", "-", "--axis", "y", "--at", "0"], text)
    assert (status, out) == (2, b"")
    assert_one_message(err, "<stdin>", 60_003)


@pytest.mark.parametrize(
    "arguments",
    [
        ["--axis", "y", "--at", "nan"],
        ["--axis", "y", "--at", "inf"],
        ["--axis", "y", "--at", "1e3x"],
        ["--axis", "y", "--at", "0.5ft"],
        ["--axis", "z", "--at", "0"],
        ["--axis", "y", "--datum", "1"],
        ["--axis", "y", "--datum", "1,2,3"],
        ["--axis", "y", "--at", "0", "--datum", "1,2"],
        ["--at", "0"],
        ["--axis", "y", "--at", "0", "--no-such-option"],
    ],
    ids=" ".join,
)
def test_an_argument_that_cannot_be_used_is_status_2_and_no_output(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    out, err = io.BytesIO(), io.StringIO()
    try:
        status = cli.main(["flip", "-", *arguments], io.BytesIO(GOOD), out, err)
    except SystemExit as leaving:
        status = int(leaving.code or 0)
    talk = err.getvalue() + capsys.readouterr().err
    assert (status, out.getvalue()) == (2, b"")
    assert len(talk) > 10
    assert "Traceback" not in talk
