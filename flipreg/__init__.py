"""Make two-sided CNC work come out in register.

flipreg reads RS-274 programs, works out and proves the program for the other face, and verifies before the
cut that both faces belong to one part. What leaves it was read again and compared motion by motion with its
source. What it cannot determine it says so, and never counts as a pass. It does not know your machine, your
tools or your workholding, and never says that a cut is safe.

Millimetres and degrees, counter-clockwise positive; frames are right-handed.
"""

from importlib import import_module
from typing import TYPE_CHECKING

from flipreg.errors import FlipregError, UsageError
from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from flipreg.produce import FlipAxis, Produced, flip, flip_isometry, shift, shift_isometry
from flipreg.prove import ProofError
from flipreg.rs274.run import interpret
from flipreg.rs274.location import Location, ProgramError, RefusedError
from flipreg.rs274.program import Program, ProgramFile, parse, read

if TYPE_CHECKING:
    from flipreg.verify.check import check
    from flipreg.verify.face import FaceProgram
    from flipreg.verify.finding import Finding, Status
    from flipreg.verify.report import Report
    from flipreg.verify.summary import Summary, face_program
    from flipreg.verify.summary import summarise as bounds

__all__ = [
    "FaceProgram",
    "Finding",
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
    "Report",
    "Status",
    "Summary",
    "UsageError",
    "bounds",
    "check",
    "face_program",
    "flip",
    "flip_isometry",
    "interpret",
    "parse",
    "read",
    "shift",
    "shift_isometry",
]

_ON_FIRST_USE = {
    "FaceProgram": ("face", "FaceProgram"),
    "Finding": ("finding", "Finding"),
    "Report": ("report", "Report"),
    "Status": ("finding", "Status"),
    "Summary": ("summary", "Summary"),
    "bounds": ("summary", "summarise"),
    "check": ("check", "check"),
    "face_program": ("summary", "face_program"),
}
"""Names that the flip of a small program has no use for: it would spend half its time importing them."""


def __getattr__(name: str) -> object:
    if name not in _ON_FIRST_USE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module, attribute = _ON_FIRST_USE[name]
    return getattr(import_module(f"flipreg.verify.{module}"), attribute)
