"""A program read at once: for edits that have to see its end before they touch its beginning."""

from copy import deepcopy
from dataclasses import dataclass, replace

from flipreg.path import Path
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import Modes, State
from flipreg.rs274.interpret.units import first_state
from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.program import Readable
from flipreg.rs274.read.scanner import Scanner

__all__ = ["PieceReader", "Whole", "read_again", "read_whole"]


@dataclass(frozen=True, eq=False, slots=True)
class Whole:
    """All of a program, or a piece of it: its words, its modes, its motions.

    Attributes
    ----------
    blocks, modes, path
        The lines as one chunk; block b is line b + 1.
    tail : bytes
        The lines after a closing `%`, which are never read.
    before, after : State
        The states before the first block and after the last one.
    """

    blocks: Blocks
    modes: Modes
    path: Path
    tail: bytes
    before: State
    after: State

    def lines(self, first: int, last: int) -> bytes:
        """Return the text of lines, counted from 1, both ends included."""
        blocks = self.blocks
        end = int(blocks.line_start[last]) if last < len(blocks) else len(blocks.text)
        return blocks.text[int(blocks.line_start[first - 1]) : end] if first <= last else b""


def read_whole(program: Readable) -> Whole:
    """Read and interpret a program, all of it in memory.

    Raises
    ------
    ProgramError, RefusedError
        If the program is not legal, or cannot be interpreted.
    """
    return PieceReader(program.source, first_state(program)).read(b"".join(program.pieces()), last=True)


def read_again(text: bytes, source: Whole) -> Whole:
    """Read a text that was made of a program as that program was read: under its name, in its unit and dialect.

    Raises
    ------
    ProgramError, RefusedError
        As `read_whole`.
    """
    return PieceReader(source.blocks.source, source.before).read(text, last=True)


class PieceReader:
    """Reads a program in pieces of whole lines, each after the one before it.

    The lines of a piece's motions count from its own first line; places in messages count from the program's.

    Parameters
    ----------
    name : str
        The name of the program for messages.
    before : State
        The state before its first block.
    """

    def __init__(self, name: str, before: State) -> None:
        self._scanner, self._state = Scanner(name), before

    def read(self, text: bytes, *, last: bool) -> Whole:
        """Read the next piece; the last one is the program's end.

        Raises
        ------
        ProgramError, RefusedError
            If it is not legal, or cannot be interpreted.
        """
        parts = list(self._scanner.scan(text, last=last)) if text else []
        if last:
            self._scanner.check_end()
        blocks, before = parts[0], self._state
        modes, path, self._state = interpret_blocks(blocks, before)
        path = replace(path, line=path.line - (blocks.first_line - 1))
        return Whole(blocks, modes, path, b"".join(part.text for part in parts[1:]), before, self._state)

    def look_at(self, text: bytes) -> Whole:
        """Return what the next lines are, of which some may be the next piece."""
        reader = PieceReader("", self._state)
        reader._scanner = deepcopy(self._scanner)
        return reader.read(text, last=False)
