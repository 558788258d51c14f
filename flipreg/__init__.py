"""Make two-sided CNC work come out in register.

flipreg reads RS-274 programs, works out and proves the program for the other face, and verifies before the
cut that both faces belong to one part. What leaves it was read again and compared motion by motion with its
source. What it cannot determine it says so, and never counts as a pass. It does not know your machine, your
tools or your workholding, and never says that a cut is safe.

Millimetres and degrees, counter-clockwise positive; frames are right-handed.
"""

from flipreg.errors import FlipregError, UsageError
from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from flipreg.produce import FlipAxis, Produced, flip, shift
from flipreg.prove import ProofError
from flipreg.rs274.location import Location, ProgramError, RefusedError
from flipreg.rs274.program import Program, ProgramFile, parse, read

__all__ = [
    "FlipAxis",
    "FlipregError",
    "Isometry",
    "Location",
    "Path",
    "Produced",
    "Program",
    "ProgramError",
    "ProgramFile",
    "ProofError",
    "RefusedError",
    "UsageError",
    "flip",
    "parse",
    "read",
    "shift",
]
