"""Golden files: a command line, a program, and what becomes of it, each in one file of `tests/cases/`.

A file begins with `; ` and the command line; the program follows, up to a line `; ---`; the rest is the new
program without its header. A refusal is `; refused LINE:COLUMN: MESSAGE` instead, where the message may be its
beginning only.
"""

import io
import re
from pathlib import Path

import pytest

from flipreg.cli import parser as cli

CASES = sorted((Path(__file__).parents[1] / "cases").glob("*.txt"))

HEADER = re.compile(rb"\(made by flipreg from [^\n]*\)\n(?:\([^\n]*\)\n)+?\(try this program [^\n]*\)\n")


def test_there_are_cases() -> None:
    assert len(CASES) > 40


@pytest.mark.parametrize("file", CASES, ids=lambda file: file.stem)
def test_a_case_comes_out_as_its_file_says(file: Path, tmp_path: Path) -> None:
    command, _, rest = file.read_bytes().partition(b"\n")
    program, _, expected = rest.partition(b"\n; ---\n")
    source = tmp_path / "case.ngc"
    source.write_bytes(program)
    verb, *options = command.decode().removeprefix("; ").split()
    out, err = io.BytesIO(), io.StringIO()
    status = cli.main([verb, str(source), *options], io.BytesIO(), out, err)
    if expected.startswith(b"; refused "):
        place = expected.decode().removeprefix("; refused ").rstrip("\n")
        assert (status, out.getvalue()) == (2, b"")
        assert err.getvalue().startswith(f"{source}:{place}")
    else:
        assert status == 0
        body, headers = HEADER.subn(b"", out.getvalue())
        assert headers == 1
        assert body == expected.removesuffix(b"\n")
