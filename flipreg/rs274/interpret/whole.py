"""A program read at once: for edits that have to see its end before they touch its beginning."""

from dataclasses import dataclass

from flipreg.path import Path
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import Modes, State
from flipreg.rs274.interpret.units import first_state
from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.program import Readable
from flipreg.rs274.read.scanner import Scanner

__all__ = ["Whole", "read_again", "read_whole"]


@dataclass(frozen=True, eq=False, slots=True)
class Whole:
    """All of a program: its words, its modes, its motions.

    Attributes
    ----------
    blocks, modes, path
        The program as one chunk; block b is line b + 1.
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
    return _read(program.source, b"".join(program.pieces()), first_state(program))


def read_again(text: bytes, source: Whole) -> Whole:
    """Read a text that was made of a program as that program was read: under its name, in its unit and dialect.

    Raises
    ------
    ProgramError, RefusedError
        As `read_whole`.
    """
    return _read(source.blocks.source, text, source.before)


def _read(name: str, text: bytes, before: State) -> Whole:
    scanner = Scanner(name)
    parts = list(scanner.scan(text, last=True)) if text else []
    scanner.check_end()
    blocks = parts[0]
    modes, path, after = interpret_blocks(blocks, before)
    return Whole(blocks, modes, path, b"".join(part.text for part in parts[1:]), before, after)
