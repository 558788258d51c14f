"""How far a long task has come: a function that is called meanwhile, and programs that call it as they are read."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from flipreg.names import bare_name
from flipreg.rs274.read.dialect import Dialect
from flipreg.rs274.read.program import Readable, Units

__all__ = ["Progress", "WatchedProgram"]

Progress = Callable[[str, int, int], None]
"""Is told what goes on, how much of it is done, and how much there is: bytes of a program, programs of a job.

Where there is 0, nobody knows how much. It is called between two steps of the work, a few times a second at most where
programs are long, and may raise to end it.
"""


@dataclass(frozen=True, slots=True)
class WatchedProgram:
    r"""A program that tells how much of it has been read, for every function that takes a program.

    Programs are read in pieces while they are worked on, and some are read twice: then it begins again.

    Attributes
    ----------
    program : Program or ProgramFile
        The program.
    size : int
        Its bytes.
    progress : callable
        Is told after each piece.

    Examples
    --------
    >>> from flipreg.rs274.read.program import parse
    >>> told = []
    >>> program = parse("G21 G90\nM2\n", source="front.nc")
    >>> for piece in WatchedProgram(program, 11, lambda *step: told.append(step)).pieces():
    ...     pass
    >>> told
    [('reading front.nc', 11, 11)]
    """

    program: Readable
    size: int
    progress: Progress

    @property
    def source(self) -> str:
        """The program's name."""
        return self.program.source

    @property
    def units(self) -> Units | None:
        """The unit that was said for it."""
        return self.program.units

    @property
    def dialect(self) -> Dialect:
        """What was said of its language."""
        return self.program.dialect

    def pieces(self) -> Iterator[bytes]:
        """Yield the text, cut anywhere."""
        done, what = 0, f"reading {bare_name(self.source)}"
        for piece in self.program.pieces():
            yield piece
            done += len(piece)
            self.progress(what, done, self.size)
