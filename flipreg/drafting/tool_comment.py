"""What the comments of a program say about one of its tools: diameter, shape, angle, corner.

Which words name a shape is common practice, no source.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from flipreg.job.tool import ToolShape
from flipreg.program.face import FaceProgram
from flipreg.program.tool_words import NamedSize
from flipreg.units import INCH_MM

__all__ = ["ToolComment", "tool_comment"]

_SHAPES = (
    (ToolShape.DRILL, re.compile(r"\b(?:drill|twist)\b", re.IGNORECASE)),
    (ToolShape.BALL, re.compile(r"\bball", re.IGNORECASE)),
    (ToolShape.BULL, re.compile(r"\bbull", re.IGNORECASE)),
    (ToolShape.VEE, re.compile(r"\b(?:vee|v)\b", re.IGNORECASE)),
    (ToolShape.FLAT, re.compile(r"\b(?:flat|square|end ?mill)\b", re.IGNORECASE)),
)
"""In the order they are looked for: `ball end mill` is a ball."""
_ANGLE = re.compile(r"(\d+(?:\.\d+)?)\s*-?(?:deg(?:rees?)?\b|°)", re.IGNORECASE)
_CORNER = re.compile(r"\b(?:cr|corner(?: radius)?|r)\s*[=:]?\s*(\d*\.\d+|\d+)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class ToolComment:
    """What comments say about a tool; None for what they don't say.

    Attributes
    ----------
    diameter_mm : float or None
        Its cutting diameter.
    shape : ToolShape or None
        Its shape.
    angle_deg : float or None
        The angle that a vee's or a drill's comment names.
    corner_mm : float or None
        The corner radius that a bull nose's comment names.
    text, program, line
        The comment, the name of the program that it is in, and its line there; empty and 0 where there is none.
    """

    diameter_mm: float | None = None
    shape: ToolShape | None = None
    angle_deg: float | None = None
    corner_mm: float | None = None
    text: str = ""
    program: str = ""
    line: int = 0


def tool_comment(program: FaceProgram, number: int | None, *, alone: bool) -> ToolComment:
    """Return what the comments of a program say about one of its tools.

    Parameters
    ----------
    program : FaceProgram
        The program.
    number : int or None
        The tool's T number, None for the tool that is put in by hand.
    alone : bool
        Whether it is the program's only tool, so that comments that name no number are about it.
    """
    for size in program.words.sizes:
        if size.number == number or (alone and (size.number is None or number is None)):
            return _read(size, program)
    return ToolComment()


def _read(size: NamedSize, program: FaceProgram) -> ToolComment:
    text = size.text
    shape = next((shape for shape, words in _SHAPES if words.search(text)), None)
    angle, corner = _ANGLE.search(text), _CORNER.search(text)
    unit_mm = INCH_MM if program.inch else 1.0
    return ToolComment(
        diameter_mm=_diameter_mm(size.sizes_mm, inch=program.inch),
        shape=shape,
        angle_deg=float(angle[1]) if angle and shape in (ToolShape.VEE, ToolShape.DRILL) else None,
        corner_mm=float(corner[1]) * unit_mm if corner and shape is ToolShape.BULL else None,
        text=text,
        program=program.name,
        line=size.line,
    )


def _diameter_mm(sizes_mm: Iterable[float], *, inch: bool) -> float:
    """Return the diameter among those that a comment may mean: a number without a unit is in the program's."""
    first, *others = sizes_mm
    return first * INCH_MM if inch and first * INCH_MM in others else first
