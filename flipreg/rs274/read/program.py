"""A program as its text: kept byte for byte, read in chunks when its words are asked for."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import Enum
from os import PathLike
from typing import Protocol

from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.dialect import USUAL, Dialect, passive_codes
from flipreg.rs274.read.lines import CHUNK_BYTES, text_pieces
from flipreg.rs274.read.scanner import scan_chunks

__all__ = ["Program", "ProgramFile", "Readable", "Units", "parse", "read"]


class Units(Enum):
    """What the numbers of a program are before its first G20 or G21, which is the machine's own setting."""

    MM = "mm"
    INCH = "inch"


class Readable(Protocol):
    """What can be read as a program: a name for messages, the text in pieces, and its unit if somebody said it."""

    @property
    def source(self) -> str:
        """The name."""

    @property
    def units(self) -> Units | None:
        """What its numbers are before the first G20 or G21; None where nobody has said it."""

    @property
    def dialect(self) -> Dialect:
        """What somebody says of its language."""

    def pieces(self) -> Iterator[bytes]:
        """Yield the text, cut anywhere."""


@dataclass(frozen=True, slots=True)
class Program:
    """An RS-274 program that was read and is legal.

    Attributes
    ----------
    text : bytes
        The whole text, as it was.
    source : str
        The name it was read under, for messages.
    units : Units or None
        What its numbers are before the first G20 or G21; None where nobody has said it.
    dialect : Dialect
        What somebody says of its language.
    """

    text: bytes
    source: str
    units: Units | None = None
    dialect: Dialect = USUAL

    def pieces(self) -> Iterator[bytes]:
        """Yield the text in pieces."""
        return text_pieces(self.text)

    def chunks(self) -> Iterator[Blocks]:
        """Yield the blocks with their words, as columns in bounded chunks."""
        return scan_chunks(self.pieces(), self.source)


@dataclass(frozen=True, slots=True)
class ProgramFile:
    """A program in a file, read piece by piece: for programs larger than one wants in memory.

    Attributes
    ----------
    path : str or path-like
        The file.
    source : str
        Its name for messages.
    units : Units or None
    dialect : Dialect
        As in `Program`.
    """

    path: str | PathLike[str]
    source: str
    units: Units | None = None
    dialect: Dialect = USUAL

    def pieces(self) -> Iterator[bytes]:
        """Yield the file's bytes in pieces.

        Raises
        ------
        OSError
            If the file can't be read.
        """
        with open(self.path, "rb", buffering=0) as file:
            while piece := file.read(CHUNK_BYTES):
                yield piece


def parse(
    text: bytes | str,
    *,
    source: str = "<text>",
    units: Units | None = None,
    strict: bool = False,
    passive: Iterable[str] = (),
) -> Program:
    r"""Read a program's text.

    Parameters
    ----------
    text : bytes or str
        The program; a str is taken as UTF-8.
    source : str
        Name for messages.
    units : Units, optional
        What its numbers are before the first G20 or G21.
    strict : bool
        Whether the program is held to the letter of NISTIR 6556: each habit outside of it is an error where the
        program is interpreted.
    passive : iterable of str
        Codes of the machine's own that move nothing, such as M25.

    Returns
    -------
    Program
        The same text, known to be legal block by block.

    Raises
    ------
    ProgramError
        At the first block that is not RS-274, with line and column.
    UsageError
        At a passive code that is no machine's own.

    Examples
    --------
    >>> parse("G21 G90\nG0 X1.5\nM2\n").text
    b'G21 G90\nG0 X1.5\nM2\n'
    """
    dialect = Dialect(strict=strict, passive=passive_codes(passive))
    program = Program(text.encode() if isinstance(text, str) else bytes(text), source, units, dialect)
    for _ in program.chunks():
        pass
    return program


def read(
    path: str | PathLike[str], *, units: Units | None = None, strict: bool = False, passive: Iterable[str] = ()
) -> Program:
    """Read a program from a file; as `parse`, and OSError if the file can't be read."""
    with open(path, "rb") as file:
        text = file.read()
    return parse(text, source=str(path), units=units, strict=strict, passive=passive)
