"""The proof of one whole program, chunk by chunk."""

from flipreg.geometry.isometry import Isometry
from flipreg.prove.chunk import prove
from flipreg.prove.read import PROOF_TOLERANCE_MM, Claim, ProofError, Read
from flipreg.rs274.interpret import interpret_blocks
from flipreg.rs274.location import ProgramError
from flipreg.rs274.scan import Scanner
from flipreg.rs274.state import State

__all__ = ["Proving"]


class Proving:
    """Reads an output program like any other and compares it with its source.

    Parameters
    ----------
    source : str
        Name of the source, for messages.
    expected : Isometry
        Maps the source's frame to the output's.
    """

    def __init__(self, source: str, expected: Isometry) -> None:
        self._source = source
        self._scanner = Scanner(source)
        self._state = State()
        self._expected = expected
        self._largest_mm = 0.0

    def add(self, text: bytes, source: Read, claim: Claim | None) -> None:
        """Prove the next chunk.

        Raises
        ------
        ProofError
            If the text is not legal, or does not do what the source does.
        """
        deviation = prove(source, self._expected, self._read(text), tolerance_mm=PROOF_TOLERANCE_MM, claim=claim)
        self._largest_mm = max(self._largest_mm, deviation)

    def finish(self) -> float:
        """Return the largest deviation of all chunks, in millimetres.

        Raises
        ------
        ProofError
            If the output ends before it is whole.
        """
        try:
            self._scanner.check_end()
        except ProgramError as error:
            raise ProofError(f"the output would not be whole, nothing was written:\n{error}") from None
        return self._largest_mm

    def _read(self, text: bytes) -> Read:
        try:
            parts = list(self._scanner.scan(text))
            if len(parts) != 1:
                raise ProofError(f"{self._source}: the output would end early; nothing was written")
            modes, path, self._state = interpret_blocks(parts[0], self._state)
        except ProgramError as error:
            raise ProofError(f"the output would not be legal, nothing was written:\n{error}") from None
        return Read(parts[0], modes, path)
