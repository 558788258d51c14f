"""The programs that cut one face."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from flipreg.path import Path
from flipreg.verify.finding import Finding

__all__ = ["Face", "FaceProgram"]


@dataclass(frozen=True, slots=True, eq=False)
class FaceProgram:
    """One program of a face: what it moves and with which tool.

    All programs of a face share one program zero, and `path` is in that program frame, in millimetres
    whatever the program's unit.

    Attributes
    ----------
    path : Path
        The motions.
    name : str
        How the person calls the program; findings name it.
    tool_diameter_mm : float or None
        Cutting diameter in millimetres; None where it was not told.
    inch : bool
        Whether the program's numbers are inches.
    findings : tuple of Finding
        What to look at in the program before it cuts.
    dwell_s : float
        How long its G4 blocks let the machine wait, in seconds.

    Raises
    ------
    ValueError
        If the diameter is negative or not finite.
    """

    path: Path
    name: str
    tool_diameter_mm: float | None = None
    inch: bool = False
    findings: tuple[Finding, ...] = ()
    dwell_s: float = 0.0

    def __post_init__(self) -> None:
        diameter = self.tool_diameter_mm
        if diameter is not None and not (isfinite(diameter) and diameter >= 0.0):
            raise ValueError(f"a tool diameter is 0 mm or more, got {diameter}")


Face = Sequence[FaceProgram]
"""The programs of one face, in the order they run; all share one program zero."""
