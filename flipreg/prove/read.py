"""What the proof is about: chunks as they were read, and the error that stops a program."""

from dataclasses import dataclass

from flipreg.errors import FlipregError
from flipreg.path import Path
from flipreg.rs274.block import Blocks
from flipreg.rs274.state import Modes

__all__ = ["PROOF_TOLERANCE_MM", "ProofError", "Read"]

PROOF_TOLERANCE_MM = 0.001
"""Largest deviation a proved program may have; ours. Rounding at four decimals stays below a tenth of it."""


class ProofError(FlipregError):
    """The output does not do what the source does; nothing is written.

    That is a mistake of this package, or a program so odd that it was not foreseen, never a mistake to be
    mended by trying again.
    """


@dataclass(frozen=True, eq=False, slots=True)
class Read:
    """One chunk of a program as it was read: its words, its modes, its motions."""

    blocks: Blocks
    modes: Modes
    path: Path
