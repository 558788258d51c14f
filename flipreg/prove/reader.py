"""The reader of the proof: an output program read again like any other, chunk after chunk."""

from flipreg.errors import ProofError
from flipreg.prove.read import Read
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import State
from flipreg.rs274.read.location import ProgramError
from flipreg.rs274.read.scanner import Scanner

__all__ = ["OutputReader"]


class OutputReader:
    """Reads the chunks of an output program in order.

    Parameters
    ----------
    source : str
        Name of the program, for messages.
    first : State
        The state before its first block.
    what : str
        What messages call the program.
    """

    def __init__(self, source: str, first: State, *, what: str = "output") -> None:
        self._source, self._what = source, what
        self._scanner = Scanner(source)
        self._state = first

    def read(self, text: bytes, *, name: str | None = None) -> Read:
        """Return the next chunk as it reads; `name` is whose lines it has, if not the program's own.

        Raises
        ------
        ProofError
            If it is not legal, or no chunk.
        """
        try:
            parts = list(self._scanner.scan(text))
            if len(parts) != 1:
                raise ProofError(f"{name or self._source}: the {self._what} would end early")
            modes, path, self._state = interpret_blocks(parts[0], self._state)
        except ProgramError as error:
            raise ProofError(f"the {self._what} would not be legal", error) from None
        return Read(parts[0], modes, path)

    def check_end(self) -> None:
        """Raise a ProofError if the program would end before it is whole."""
        try:
            self._scanner.check_end()
        except ProgramError as error:
            raise ProofError(f"the {self._what} would not be whole", error) from None
