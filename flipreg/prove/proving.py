"""The proof of one whole program, chunk by chunk."""

from flipreg.geometry.isometry import Isometry
from flipreg.prove.chunk import prove, prove_motions
from flipreg.prove.expected import Expected
from flipreg.prove.read import PROOF_TOLERANCE_MM, Claim, Read
from flipreg.prove.reader import OutputReader
from flipreg.rs274.interpret.state import BlockDelete, State
from flipreg.rs274.read.dialect import Dialect
from flipreg.rs274.read.program import Units

__all__ = ["Proving"]


class Proving:
    """Reads an output program like any other and compares it with its source.

    Parameters
    ----------
    source : str
        Name of the source, for messages.
    expected : Isometry or Expected
        Maps the source's frame to the output's, or each work offset's.
    block_delete : BlockDelete
        The machine's switch. With the switch on it is the motions alone that are compared: what the lines say is
        compared with it off.
    units : Units, optional
        What the numbers of both programs are before the first G20 or G21, if somebody said it.
    passive : frozenset of str
        Codes of the machine's own that move nothing in both programs.
    """

    def __init__(
        self,
        source: str,
        expected: Isometry | Expected,
        *,
        block_delete: BlockDelete = BlockDelete.OFF,
        units: Units | None = None,
        passive: frozenset[str] = frozenset(),
    ) -> None:
        first = State(block_delete=block_delete, inch=units is Units.INCH, dialect=Dialect(passive=passive))
        self._reader, self._block_delete = OutputReader(source, first), block_delete
        self._expected = expected if isinstance(expected, Expected) else Expected(expected)
        self._largest_mm = 0.0

    @property
    def largest_mm(self) -> float:
        """Largest deviation so far."""
        return self._largest_mm

    def add(self, text: bytes, source: Read, claim: Claim | None) -> None:
        """Prove the next chunk.

        Raises
        ------
        ProofError
            If the text is not legal, or does not do what the source does.
        """
        output = self._reader.read(text)
        if self._block_delete is BlockDelete.ON:
            deviation = prove_motions(source, self._expected, output, claim=claim)
        else:
            deviation = prove(source, self._expected, output, tolerance_mm=PROOF_TOLERANCE_MM, claim=claim)
        self._largest_mm = max(self._largest_mm, deviation)

    def finish(self) -> float:
        """Return the largest deviation of all chunks, in millimetres.

        Raises
        ------
        ProofError
            If the output ends before it is whole.
        """
        self._reader.check_end()
        return self._largest_mm
