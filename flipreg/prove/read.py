"""What the proof is about: chunks as they were read, and the error that stops a program."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path
from flipreg.rs274.interpret.state import Modes
from flipreg.rs274.read.blocks import Blocks

__all__ = ["PROOF_TOLERANCE_MM", "Claim", "Read"]

PROOF_TOLERANCE_MM = 0.001
"""Largest deviation a proved program may have (chosen). Rounding at four decimals stays below a tenth of it."""


@dataclass(frozen=True, eq=False, slots=True)
class Read:
    """One chunk of a program as it was read: its words, its modes, its motions."""

    blocks: Blocks
    modes: Modes
    path: Path


class Claim(NamedTuple):
    """What a rewriter says of the blocks that it spelled out.

    Attributes
    ----------
    block : int64, shape (k,)
        The source's blocks that are straight moves now, ascending.
    added : int64, shape (k,)
        How many lines each of them has gained.
    chords_mm : float
        How far chords may stand off their arcs.
    """

    block: NDArray[np.int64]
    added: NDArray[np.int64]
    chords_mm: float
