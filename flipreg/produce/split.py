"""One program for each tool of a program, proved."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from flipreg.errors import ProofError, UsageError
from flipreg.produce.header import headed
from flipreg.produce.produced import Produced
from flipreg.prove.part import compare_part
from flipreg.prove.read import Read
from flipreg.prove.taken_apart import ProvingParts
from flipreg.rewrite.shop.split import ToolProgram, tool_programs
from flipreg.rs274.interpret.habit_count import habits_of
from flipreg.rs274.interpret.units import InchWatch
from flipreg.rs274.interpret.whole import Whole, read_again, read_whole
from flipreg.rs274.read.location import ProgramError
from flipreg.rs274.read.part import part_of
from flipreg.rs274.read.program import Readable

__all__ = ["ToolPart", "split_tools"]


@dataclass(frozen=True, slots=True)
class ToolPart:
    """What one tool does.

    Attributes
    ----------
    tool : int
        Its number.
    produced : Produced
        The program.
    """

    tool: int
    produced: Produced


def split_tools(program: Readable, *, safe_z_mm: Decimal | None = None) -> tuple[ToolPart, ...]:
    r"""Make one program for each tool, in the order they are used.

    Parameters
    ----------
    program : Program or ProgramFile
        The program; held in memory.
    safe_z_mm : Decimal, optional
        The height each part ends and begins at, in millimetres; by default the highest place the program goes to.

    Returns
    -------
    tuple of ToolPart
        In the order of the program. A tool that comes back after another one has a part for each time: cut in
        another order, the result would be another.

    Raises
    ------
    ProgramError
        If the program is not legal.
    RefusedError
        If it changes no tool, cuts before its first tool, or a part relies on what can't be made explicit.
    ProofError
        If the parts do not do what the program does; never written.
    UsageError
        If the height is not over 0.

    Examples
    --------
    >>> from flipreg.rs274.read.program import parse
    >>> program = parse("G21 G90\nT1 M6\nG0 Z5\nX0 Y0\nG1 Z-1 F300\nG0 Z5\nT2 M6\nG0 X9\nG1 Z-2\nG0 Z5\nM2\n")
    >>> [part.tool for part in split_tools(program)]
    [1, 2]
    >>> split_tools(program)[1].produced.text.splitlines()[3:8]
    [b'G21 G90', b'G17 G21 G90 G94 G40 G54 G98', b'F300', b'T2 M6', b'G0 Z5']
    """
    whole = read_whole(program)
    highest = float(np.nanmax(whole.path.end[:, 2], initial=-np.inf))
    if not np.isfinite(highest):
        message = "this program names no height (Z), so that nobody knows how high its parts should end"
        raise UsageError(f"{program.source}: {message}; name a Z over the work for each tool")
    safe = Decimal(repr(round(highest, 6))) if safe_z_mm is None else safe_z_mm
    if not safe > 0:
        raise UsageError(f"a safe height is a Z over 0 mm, got {safe}; say which with --safe-z")
    parts = tool_programs(whole, safe)
    _check_cover(whole, parts)
    proving = ProvingParts(Read(whole.blocks, whole.modes, whole.path), safe, program.units)
    return tuple(_part(whole, part, number, parts, proving) for number, part in enumerate(parts))


def _check_cover(whole: Whole, parts: Sequence[ToolProgram]) -> None:
    after = parts[0].shared + 1
    for part in parts:
        if part.first != after or part.shared != parts[0].shared:
            raise ProofError(f"{whole.blocks.source}:{after}: lines would be lost")
        after = part.last + 1
    if after != len(whole.blocks) + 1:
        raise ProofError(f"{whole.blocks.source}:{after}: lines would be lost")


def _part(
    whole: Whole,
    part: ToolProgram,
    number: int,
    parts: Sequence[ToolProgram],
    proving: ProvingParts,
) -> ToolPart:
    source = whole.blocks.source
    try:
        output = read_again(part.text, whole)
    except ProgramError as error:
        raise ProofError("a part would not be legal", error) from None
    shared = part.shared
    head = compare_part(_slice(whole, 0, shared), _slice(output, 0, shared), (), moved_start=False)
    own, made = _slice(whole, part.first - 1, part.last), _slice(output, shared, len(output.blocks))
    added = tuple(line - shared for line in part.added)
    deviation = max(head, compare_part(own, made, added, moved_start=False))
    by_machine = np.isin(made.path.line - made.blocks.first_line, list(made.modes.apart)) & ~made.path.is_cut
    # What the program moves before its first tool change it moves with the tool that is in.
    tools = [part.tool, *([whole.before.tool] if number == 0 else [])]
    if not np.isin(made.path.tool[~by_machine], tools).all():
        raise ProofError(f"{source}:{part.first}: a part would move with another tool")
    is_last = number == len(parts) - 1
    read = Read(output.blocks, output.modes, output.path)
    proving.add(read, (shared, part.first - 1, part.last), part.added, part.begun, is_last=is_last)
    done = f"tool {part.tool}, part {number + 1} of {len(parts)}"
    inches = InchWatch(None)
    inches.add(output.blocks)
    produced = Produced((), source, deviation, len(own.path), ())
    produced = headed(output.blocks, [part.text], produced, (done,), in_inches=inches.in_inches)
    # What is read by habit is told once, with the source's lines.
    return ToolPart(part.tool, replace(produced, notes=habits_of(whole) if number == 0 else ()))


def _slice(whole: Whole, first: int, stop: int) -> Read:
    """Return some blocks as they were read."""
    blocks = whole.blocks
    low, high = np.searchsorted(blocks.block, [first, stop]).tolist()
    begin, end = np.searchsorted(whole.path.line, [first + 1, stop + 1]).tolist()
    apart = {block - first: what for block, what in whole.modes.apart.items() if first <= block < stop}
    modes = replace(whole.modes, values=whole.modes.values[low:high].copy(), apart=apart)
    return Read(part_of(blocks, first, stop), modes, whole.path.take(slice(begin, end)))
