"""The proof: whether an output program, read again, does what was asked for: its source moved, or with its edits.

The proof shares no decision with the rewriting: only reading, interpretation and plane geometry, see
`docs/explanation/proof.md`. Output text is read and interpreted again like any program, and
each motion is compared with the moved motion of the source; what is not a coordinate - feeds, speeds, tools,
miscellaneous functions, comments - has to be in the output word for word.
"""

from flipreg.prove.apart import ProvingApart
from flipreg.prove.chunk import prove
from flipreg.prove.expected import Expected
from flipreg.prove.proving import Proving
from flipreg.prove.read import PROOF_TOLERANCE_MM, Claim, Read

__all__ = ["PROOF_TOLERANCE_MM", "Claim", "Expected", "Proving", "ProvingApart", "Read", "prove"]
