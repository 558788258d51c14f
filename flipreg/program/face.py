"""The programs that cut one face."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import isfinite

from flipreg.cut.tool import Cutter
from flipreg.findings import Finding
from flipreg.path import Path
from flipreg.program.tool_lengths import LengthUse
from flipreg.program.tool_words import ToolWords

__all__ = ["Face", "FaceProgram", "ToolRun"]


@dataclass(frozen=True, slots=True)
class ToolRun:
    """Consecutive motions of a program with one tool.

    Attributes
    ----------
    first, end : int
        Row of the first motion, and the row after the last one.
    diameter_mm : float or None
        Cutting diameter in millimetres; None where it was not told.
    cutter : Cutter or None
        Shape of the tool; None where it was not told.

    Raises
    ------
    ValueError
        If the diameter is negative or not finite.
    """

    first: int
    end: int
    diameter_mm: float | None
    cutter: Cutter | None = None

    def __post_init__(self) -> None:
        _refuse_no_diameter(self.diameter_mm)

    @property
    def rows(self) -> slice:
        """Its rows."""
        return slice(self.first, self.end)


@dataclass(frozen=True, slots=True, eq=False)
class FaceProgram:
    """One program of a face: what it moves and with which tools.

    All programs of a face share one program zero, and `path` is in that program frame, in millimetres
    whatever the program's unit.

    Attributes
    ----------
    path : Path
        The motions.
    name : str
        How the person calls the program; findings name it.
    tool_diameter_mm : float or None
        Cutting diameter in millimetres of the one tool it runs with; None where it was not told, or where `runs` tell.
    inch : bool
        Whether the program's numbers are inches.
    findings : tuple of Finding
        What to look at in the program before it cuts.
    dwell_s : float
        How long its G4 blocks let the machine wait, in seconds.
    words : ToolWords
        What the program itself says about its tools.
    runs : tuple of ToolRun
        The motions of each tool in their order, in a program that changes tools; empty where one tool makes them all.
    cutter : Cutter or None
        Shape of the one tool it runs with; None where it was not told, or where `runs` tell.
    lengths : tuple of LengthUse
        Under which tool length offsets its tools cut.
    says_unit : bool
        Whether the program says its unit itself, by G20 or G21; where it does not, `inch` is what was taken.

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
    words: ToolWords = field(default_factory=ToolWords)
    runs: tuple[ToolRun, ...] = ()
    cutter: Cutter | None = None
    lengths: tuple[LengthUse, ...] = ()
    says_unit: bool = True

    def __post_init__(self) -> None:
        _refuse_no_diameter(self.tool_diameter_mm)

    def tool_runs(self) -> tuple[ToolRun, ...]:
        """Return the motions of each tool, also where one tool makes them all."""
        return self.runs or (ToolRun(0, len(self.path), self.tool_diameter_mm, self.cutter),)

    def by_tool(self) -> "tuple[FaceProgram, ...]":
        """Return the program cut up where the tool changes: each part has one tool, and the same name."""
        if not self.runs:
            return (self,)
        return tuple(
            replace(
                self,
                path=self.path.take(run.rows),
                tool_diameter_mm=run.diameter_mm,
                cutter=run.cutter,
                runs=(),
            )
            for run in self.runs
        )


Face = Sequence[FaceProgram]
"""The programs of one face, in the order they run; all share one program zero."""


def _refuse_no_diameter(diameter_mm: float | None) -> None:
    if diameter_mm is not None and not (isfinite(diameter_mm) and diameter_mm >= 0.0):
        raise ValueError(f"a tool diameter is 0 mm or more, got {diameter_mm}")
