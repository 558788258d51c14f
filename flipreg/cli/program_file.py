"""Programs as the command line reads them: from files piece by piece, or from standard input."""

import os
from collections.abc import Iterator
from typing import TYPE_CHECKING, BinaryIO, NamedTuple

from flipreg.cli.file_error import FileError, reason
from flipreg.rs274.read.dialect import USUAL, Dialect
from flipreg.rs274.read.program import Program, ProgramFile, Readable, Units

if TYPE_CHECKING:
    from flipreg.progress import Progress

__all__ = ["open_program"]


class _NamedFile(NamedTuple):
    """A program in a file, whose troubles are told in one line."""

    file: ProgramFile

    @property
    def source(self) -> str:
        return self.file.source

    @property
    def units(self) -> Units | None:
        return self.file.units

    @property
    def dialect(self) -> Dialect:
        return self.file.dialect

    def pieces(self) -> Iterator[bytes]:
        try:
            yield from self.file.pieces()
        except OSError as error:
            raise FileError(f"{self.source}: cannot be read: {reason(error)}") from None


def open_program(
    name: str,
    stdin: BinaryIO,
    *,
    progress: "Progress | None" = None,
    units: Units | None = None,
    dialect: Dialect = USUAL,
) -> Readable:
    """Return the program of a path, or of standard input for `-`.

    A file is read piece by piece when its pieces are asked for; standard input can be read once only and is
    kept in memory. `progress` is told how much of it has been read; `units` is what its numbers are before the
    first G20 or G21, and `dialect` what somebody says of its language.

    Raises
    ------
    FileError
        If standard input cannot be read; a file that cannot be says so when its pieces are asked for.
    """
    program: Readable
    if name == "-":
        program, size = _of_standard_input(stdin, units, dialect)
    else:
        program, size = _NamedFile(ProgramFile(name, name, units, dialect)), _size(name)
    if progress is None:
        return program
    # Imported here: most programs are read by commands that nobody watches on a terminal.
    from flipreg.progress import WatchedProgram

    return WatchedProgram(program, size, progress)


def _of_standard_input(stdin: BinaryIO, units: Units | None, dialect: Dialect) -> tuple[Readable, int]:
    try:
        text = stdin.read()
    except OSError as error:
        raise FileError(f"<stdin>: cannot be read: {reason(error)}") from None
    return Program(text, "<stdin>", units, dialect), len(text)


def _size(name: str) -> int:
    """Return the bytes of a file, 0 where that is not known: what is wrong with it is told when it is read."""
    try:
        return os.path.getsize(name)
    except OSError:
        return 0
