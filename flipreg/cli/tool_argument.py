"""What `--tool` means: a cutter by its diameter or its shape, of one T number or of whole programs."""

import argparse
from dataclasses import dataclass
from decimal import Decimal

from flipreg.cli.arguments import positive, size
from flipreg.errors import UsageError
from flipreg.job.tool import Tool, ToolShape

__all__ = ["ToldTool", "add_tool", "tool", "tools"]

_FORMS = {
    "flat": "flat:D",
    "ball": "ball:D",
    "bull": "bull:D:CORNER-RADIUS",
    "vee": "vee:D:INCLUDED-ANGLE",
    "drill": "drill:D or drill:D:POINT-ANGLE",
}

_MORE_SIZES = {"flat": (0,), "ball": (0,), "bull": (1,), "vee": (1,), "drill": (0, 1)}
"""How many sizes there may be besides the diameter."""


@dataclass(frozen=True, slots=True)
class ToldTool:
    """A cutter that the command line tells.

    Attributes
    ----------
    diameter_mm : float
        Cutting diameter, 0 or more.
    tool : Tool or None
        The same with its shape; None for a tool without width.
    """

    diameter_mm: float
    tool: Tool | None


def add_tool(parser: argparse.ArgumentParser) -> None:
    """Add the option that names tools; `tools` reads it."""
    parser.add_argument(
        "--tool",
        type=tool,
        action="append",
        default=[],
        metavar="[Tn=][SHAPE:]D",
        help="cutting diameter of a flat cutter, or ball:D, bull:D:CORNER-RADIUS, vee:D:ANGLE, drill:D:ANGLE; once "
        "for all programs, or once for each, front first; of programs that change tools by T number: --tool T1=6 "
        "--tool T5=ball:19.05",
    )


def tool(text: str) -> tuple[int | None, ToldTool]:
    """Return a cutter, with the T number that `T3=30` or `T5=ball:19.05` says it is of."""
    name, equals, of_it = text.rpartition("=")
    if not equals:
        return None, _told(text)
    number = name.strip()[1:]
    if name.strip()[:1] not in ("T", "t") or not (number.isascii() and number.isdigit()):
        raise argparse.ArgumentTypeError(f"{text!r} is not of the form T3=30")
    return int(number), _told(of_it)


def tools(options: argparse.Namespace, count: int) -> tuple[list[ToldTool | None], dict[int, ToldTool]]:
    """Return each program's tool, one for all or one for each in the order of the programs, and tools by T number."""
    plain = [told for number, told in options.tool if number is None]
    numbered: dict[int, ToldTool] = {}
    for number, told in options.tool:
        if number is not None and numbered.setdefault(number, told) != told:
            raise UsageError(f"--tool says T{number} twice, and two tools")
    return _plain_tools(plain, count), numbered


def _plain_tools(told: list[ToldTool], count: int) -> list[ToldTool | None]:
    if not told:
        return [None] * count
    if len(told) == 1:
        return [told[0]] * count
    if len(told) != count:
        raise UsageError(f"{len(told)} tools for {count} programs; give --tool once for all, or one for each program")
    return [*told]


def _told(text: str) -> ToldTool:
    """Return the cutter of `30` or `ball:19.05`; a plain diameter is a flat cutter's."""
    word, colon, sizes = text.strip().partition(":")
    if not colon:
        diameter = float(size(text))
        # Cutters that are equal have one name, so that a change from one to the other is none.
        return ToldTool(diameter, Tool("flat", ToolShape.FLAT, diameter) if diameter else None)
    form = _FORMS.get(word)
    if form is None:
        raise argparse.ArgumentTypeError(f"{text!r}: {word!r} is no shape of a tool; known are {', '.join(_FORMS)}")
    first, *rest = sizes.split(":")
    if len(rest) not in _MORE_SIZES[word]:
        raise argparse.ArgumentTypeError(f"{text!r} is not of the form {form}")
    diameter = float(positive(first))
    corner = float(positive(rest[0])) if rest and word == "bull" else None
    angle = _degrees(rest[0]) if rest and word != "bull" else None
    try:
        made = Tool(word, ToolShape(word), diameter, corner_radius_mm=corner, angle_deg=angle)
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"{text!r}: {error}") from None
    return ToldTool(diameter, made)


def _degrees(text: str) -> float:
    try:
        return float(Decimal(text))
    except ArithmeticError:
        raise argparse.ArgumentTypeError(f"{text!r} is not an angle in degrees") from None
