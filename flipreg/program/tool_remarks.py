"""Where a program's words about its tools don't fit what it runs with: for a person to look at, and nothing fails."""

from collections.abc import Iterator

import numpy as np

from flipreg.findings import Finding, Status
from flipreg.program.face import FaceProgram
from flipreg.program.tool_words import NamedSize
from flipreg.units import limit_text

__all__ = ["tool_remarks"]

_ALIKE_MM = 0.06
"""Sizes this close are one size, rounded; millimetres (chosen)."""


def tool_remarks(program: FaceProgram) -> Iterator[Finding]:
    """Yield findings of the code 'tool': comments that name other sizes, and tools that never get into the spindle."""
    told: set[float] = set()
    for size in program.words.sizes:
        diameter_mm = _diameter_mm(program, size)
        if diameter_mm is None or diameter_mm in told:
            continue
        if min(abs(one - diameter_mm) for one in size.sizes_mm) > _ALIKE_MM:
            told.add(diameter_mm)
            tool = "the tool" if size.number is None else f"tool T{size.number}"
            yield Finding(
                "tool",
                Status.WARN,
                f"a comment says {size.text!r}, and {tool} was taken as {limit_text(diameter_mm)} wide: which of them "
                "is in the spindle? The comment decides nothing here",
                program.name,
                size.line,
            )
    changes = bool((program.path.tool > 0).any())
    for one in program.words.selected:
        if changes and one.number > 0 and one.cuts_after and not bool((program.path.tool == one.number).any()):
            yield Finding(
                "tool",
                Status.WARN,
                f"T{one.number} is selected, and no M6 puts it into the spindle: what is cut after it was taken to be "
                "cut with the tool before it",
                program.name,
                one.location.line,
            )


def _diameter_mm(program: FaceProgram, size: NamedSize) -> float | None:
    """Return the diameter of the tool that a comment is about; None where it is not known or not used."""
    runs = program.tool_runs()
    if size.number is None:
        return runs[0].diameter_mm if len(runs) == 1 else None
    for run in runs:
        if bool(np.isin(size.number, program.path.tool[run.rows])):
            return run.diameter_mm
    # A tool that is put in by hand has no M6, and perhaps no T word.
    selected = {one.number for one in program.words.selected}
    by_hand = len(runs) == 1 and bool((program.path.tool < 0).all()) and selected <= {size.number}
    return runs[0].diameter_mm if by_hand else None
