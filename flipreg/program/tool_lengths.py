"""Under which tool length offset each tool cuts, and where that is another tool's.

Every tool has a length of its own, and G43 with its H word says which one the control takes off. A tool that runs with
another's is as much too low or too high as the two differ. Nothing of the table in the control is in a program; what
contradicts itself there is.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.program.blocks_with import blocks_with
from flipreg.rs274.code_numbers import G, M
from flipreg.rs274.interpret.state import UNKNOWN_LENGTH
from flipreg.rs274.interpret.subprograms import Step

__all__ = ["LengthUse", "ToolLengthReader", "length_findings"]


class LengthUse(NamedTuple):
    """A tool that cuts under a length offset.

    Attributes
    ----------
    tool : int
        Its T number.
    length : int
        As `flipreg.rs274.interpret.state.State.length_offset` has it.
    is_said : bool
        Whether G43 or G49 stands between the change to the tool and the cut.
    line : int
        Line of the first such cut.
    """

    tool: int
    length: int
    is_said: bool
    line: int


class ToolLengthReader:
    """Looks at the steps of one program; `uses` tells which tool cuts under which length."""

    def __init__(self) -> None:
        self._uses: dict[tuple[int, int, bool], LengthUse] = {}
        self._is_said = False

    def add(self, step: Step) -> None:
        """Look at the next step."""
        changes = _executed(step, blocks_with(step, "M", (M.CHANGE_TOOL,)))
        lengths = _executed(step, blocks_with(step, "G", (G.LENGTH_ON, G.LENGTH_OFF)))
        # In one block the tool is changed before its length is said.
        events = sorted([*((block, False) for block in changes), *((block, True) for block in lengths)])
        rows = np.flatnonzero(step.path.is_cut)
        blocks = step.path.line[rows] - step.blocks.first_line
        begin = 0
        for block, is_said in events:
            end = int(np.searchsorted(blocks, block))
            self._use(step, rows[begin:end])
            begin, self._is_said = max(begin, end), is_said
        self._use(step, rows[begin:])

    def _use(self, step: Step, rows: NDArray[np.intp]) -> None:
        if rows.size:
            row = int(rows[0])
            line = int(step.path.line[row])
            length = int(step.modes.length_offset[line - step.blocks.first_line])
            use = LengthUse(int(step.path.tool[row]), length, self._is_said, line)
            if use.tool > 0:
                self._uses.setdefault(use[:3], use)

    def uses(self) -> tuple[LengthUse, ...]:
        """Return what was found, in the order of the cuts; tools without a T number are left out."""
        return tuple(self._uses.values())


def length_findings(programs: Iterable[tuple[str, Sequence[LengthUse]]]) -> Iterator[Finding]:
    """Yield findings of the code 'length': one for each tool of a program that cuts under a length that isn't its own.

    Parameters
    ----------
    programs : iterable of (str, sequence of LengthUse)
        The programs that one table of lengths in the control serves, with their names.
    """
    named = list(programs)
    everywhere = [use for _, uses in named for use in uses]
    for program, uses in named:
        told: set[int] = set()
        for use in uses:
            found = None if use.tool in told else _wrong(use, uses, everywhere)
            if found is not None:
                told.add(use.tool)
                status, says = found
                yield Finding("length", status, says, program, use.line)


def _wrong(use: LengthUse, uses: Sequence[LengthUse], everywhere: Sequence[LengthUse]) -> tuple[Status, str] | None:
    """Return what is wrong with a use, of those of its program and of those of all programs, or None."""
    tool, length = use.tool, use.length
    if length == tool:
        return None
    owner = _owner(length, everywhere)
    if length > 0 and owner != tool:
        return Status.FAIL, (
            f"T{tool} cuts under the length of T{owner} (G43 H{length}), and its tip is as much too low or too high as "
            f"the two differ: write G43 with the H of T{tool} after its M6"
        )
    is_said = any(one.is_said and (one.tool, one.length) == (tool, length) for one in uses)
    if not is_said and any(_is_on(one.length) and one.tool != tool for one in uses):
        return Status.FAIL, (
            f"T{tool} cuts without a G43 after its M6, where other tools have one, and its tip is as much too low or "
            f"too high as the tools differ: write G43 H{tool} after the M6, or G49 if no length is meant"
        )
    apart = {one.length - one.tool for one in everywhere if one.length > 0}
    is_alone = all(one.tool == tool for one in everywhere)
    if length > 0 and (is_alone or len(apart) > 1):
        return Status.WARN, f"T{tool} cuts under G43 H{length}: is that the number of its length in the control?"
    return None


def _owner(length: int, uses: Sequence[LengthUse]) -> int:
    """Return the tool that a length offset belongs to: the one of its number, else the first that cuts under it."""
    if any(one.tool == length for one in uses):
        return length
    return next(one.tool for one in uses if one.length == length)


def _is_on(length: int) -> bool:
    return length not in (0, UNKNOWN_LENGTH)


def _executed(step: Step, blocks: NDArray[np.int64]) -> list[int]:
    return [int(block) for block in blocks[step.modes.executes[blocks]]]
