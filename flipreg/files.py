"""Files as the command line needs them: programs in, results out in one step or not at all."""

import os
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import BinaryIO

from flipreg.errors import FlipregError
from flipreg.progress import Progress, WatchedProgram
from flipreg.rs274.program import Program, ProgramFile, Readable

__all__ = ["FileError", "open_program", "replace_file"]


class FileError(FlipregError, OSError):
    """A file that cannot be read or written; the text gives its name and the reason."""


@dataclass(frozen=True, slots=True)
class _NamedFile:
    """A program in a file, whose troubles are told in one line."""

    file: ProgramFile

    @property
    def source(self) -> str:
        return self.file.source

    def pieces(self) -> Iterator[bytes]:
        try:
            yield from self.file.pieces()
        except OSError as error:
            raise FileError(f"{self.source}: cannot be read: {_reason(error)}") from None


def open_program(name: str, stdin: BinaryIO, *, progress: Progress | None = None) -> Readable:
    """Return the program of a path, or of standard input for `-`.

    A file is read piece by piece when its pieces are asked for; standard input can be read once only and is
    kept in memory. `progress` is told how much of it has been read.

    Raises
    ------
    FileError
        If standard input cannot be read; a file that cannot be says so when its pieces are asked for.
    """
    if name != "-":
        named = _NamedFile(ProgramFile(FilePath(name), name))
        return named if progress is None else WatchedProgram(named, _size(name), progress)
    try:
        program = Program(stdin.read(), "<stdin>")
    except OSError as error:
        raise FileError(f"<stdin>: cannot be read: {_reason(error)}") from None
    return program if progress is None else WatchedProgram(program, len(program.text), progress)


def replace_file(name: str, parts: Iterable[bytes]) -> None:
    """Write a file in one step: an existing file is replaced whole, or not touched.

    Raises
    ------
    FileError
        If it cannot be written.
    """
    target = FilePath(os.path.realpath(name))
    try:
        if target.is_dir():
            raise FileError(f"{name}: cannot be written: it is a directory")
        if target.exists() and not target.is_file():
            # A device or a pipe has no old content to keep, and must not become a file.
            with target.open("wb") as stream:
                stream.writelines(parts)
            return
        handle, temporary = tempfile.mkstemp(prefix=".flipreg-", dir=target.parent)
    except FileError:
        raise
    except OSError as error:
        raise FileError(f"{name}: cannot be written: {_reason(error)}") from None
    try:
        with open(handle, "wb") as file:
            file.writelines(parts)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, _mode(target))
        os.replace(temporary, target)
    except OSError as error:
        raise FileError(f"{name}: cannot be written: {_reason(error)}") from None
    finally:
        with suppress(FileNotFoundError):
            os.unlink(temporary)


def _size(name: str) -> int:
    """Return the bytes of a file, 0 where that is not known: what is wrong with it is told when it is read."""
    try:
        return os.path.getsize(name)
    except OSError:
        return 0


def _mode(target: FilePath) -> int:
    """Return the mode of the file that is replaced, or the mode a new file gets."""
    if target.exists():
        return target.stat().st_mode & 0o7777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _reason(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
