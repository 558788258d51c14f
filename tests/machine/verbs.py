"""The commands under test, run as a person would, with files in a folder of their own."""

import io
import tempfile
from dataclasses import dataclass
from pathlib import Path

from flipreg.cli import parser as cli

__all__ = ["Ran", "ran", "without_header"]


@dataclass(frozen=True)
class Ran:
    """Exit status, what was written by name (`-` is standard output), and what was said."""

    status: int
    out: dict[str, str]
    said: str


def ran(arguments: list[str], **files: str) -> Ran:
    """Run a command; `a=TEXT` makes a file `a.nc`, which an argument `a` means, and `into` is a folder."""
    with tempfile.TemporaryDirectory() as folder:
        there = Path(folder)
        for name, text in files.items():
            (there / f"{name}.nc").write_bytes(text.encode())
        names = {name: str(there / f"{name}.nc") for name in files}
        into = there / "into"
        words = [str(into) if word == "into" else names.get(word, word) for word in arguments]
        out, err = io.BytesIO(), io.StringIO()
        status = cli.main(words, io.BytesIO(b""), out, err)
        written = {path.name: path.read_bytes().decode() for path in sorted(into.glob("*"))} if into.is_dir() else {}
        said = err.getvalue().replace(f"{folder}/", "")
    return Ran(status, written or {"-": out.getvalue().decode()}, said)


def without_header(text: str) -> str:
    """Return a program without the lines of remarks that a command puts before it, if it put any."""
    lines = text.splitlines(keepends=True)
    last = next((at for at, line in enumerate(lines) if line.startswith("(try this program")), None)
    if last is None:
        return text
    mark = lines[:1] if lines[0].lstrip().startswith("%") else []
    return "".join(mark + lines[last + 1 :])
