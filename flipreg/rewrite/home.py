"""The way over program zero at a safe height, before the first motion of a program and behind its last one.

Nothing between is touched. What is there already is not added again.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, Decimal
from math import isnan, nan

import numpy as np

from flipreg.path import Kind, Path
from flipreg.rs274.block import BlockFlag, Blocks
from flipreg.rs274.interpret import interpret_blocks
from flipreg.rs274.location import RefusedError
from flipreg.rs274.program import Readable
from flipreg.rs274.scan import scan_chunks
from flipreg.rs274.state import Modes, State

__all__ = ["HomeSurvey", "added_lines", "survey_home", "with_lines_added"]

_MM_PER_INCH = Decimal("25.4")
_INCH_DECIMALS = Decimal("0.0001")
_CUTTER_OFF, _LABEL = 400, 920
_SAME = 1e-6
"""Millimetres; noise of the arithmetic."""

Point = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class HomeSurvey:
    """Where a program begins and ends, and what is missing there.

    Attributes
    ----------
    first_line, last_line : int
        The lines of the first and the last motion.
    start_is_home, end_is_home : bool
        Whether the program begins, and ends, over program zero at a safe height.
    inch_first, inch_last, incremental_last : bool
        The modes there.
    end_mm : three floats
        Where the last motion ends.
    low_line : int
        The line of a way home that crosses below the safe height; 0 if none does.
    """

    first_line: int
    last_line: int
    start_is_home: bool
    end_is_home: bool
    inch_first: bool
    inch_last: bool
    incremental_last: bool
    end_mm: Point
    low_line: int


_NOTHING = HomeSurvey(
    first_line=0,
    last_line=0,
    start_is_home=False,
    end_is_home=False,
    inch_first=False,
    inch_last=False,
    incremental_last=False,
    end_mm=(nan, nan, nan),
    low_line=0,
)


def survey_home(program: Readable, safe_z_mm: Decimal) -> HomeSurvey:
    """Return where a program begins and ends, in bounded memory.

    Raises
    ------
    RefusedError
        If zero or the modes are not what the lines to be added would need.
    """
    return _Surveyor(float(safe_z_mm)).survey(program)


class _Surveyor:
    def __init__(self, safe_z_mm: float) -> None:
        self._safe = safe_z_mm
        self._start: bool | None = None
        self._first: tuple[int, bool] | None = None
        self._last = _NOTHING
        self._work_offset = 0

    def survey(self, program: Readable) -> HomeSurvey:
        state, blocks = State(), None
        for blocks in scan_chunks(program.pieces(), program.source):
            before = state
            modes, path, state = interpret_blocks(blocks, before)
            self._refuse_unclear(blocks, modes, path, (before, state))
            if len(path):
                self._add(blocks, modes, path, units_stated=before.units_stated)
        assert blocks is not None, "a program without a block is not legal"
        if self._first is None:
            raise _at(blocks, 0, "nothing moves in this program, so that there is no way home to add")
        if state.cutter != _CUTTER_OFF and not state.ended:
            raise _at(blocks, len(blocks) - 1, "cutter compensation is on where the program ends; end it with G40")
        line, inch = self._first
        return replace(self._last, first_line=line, inch_first=inch, start_is_home=bool(self._start))

    def _refuse_unclear(self, blocks: Blocks, modes: Modes, path: Path, around: tuple[State, State]) -> None:
        before, after = around
        for block, apart in modes.apart.items():
            if apart.code == _LABEL:
                raise _at(blocks, block, "G92 gives program zero another place; home means one zero for all of it")
        if any(after.frame.offset_mm) or any(before.frame.offset_mm):
            raise _at(blocks, 0, "an offset of G92 is in force; home means one zero for all of the program")
        skipped = np.flatnonzero(blocks.flags & BlockFlag.DELETE)
        if skipped.size:
            raise _at(blocks, int(skipped[0]), "a line that may be skipped (/), so that the way depends on a switch")
        if any(after.assumed_zero):
            line = int(path.line[0]) - blocks.first_line if len(path) else 0
            raise _at(blocks, line, "the program starts from a position that it does not name; name it in G90 first")
        if len(path):
            first = self._work_offset or int(path.work_offset[0])
            self._work_offset = first
            other = path.work_offset != first
            if other.any():
                block = int(path.line[int(np.argmax(other))]) - blocks.first_line
                raise _at(blocks, block, "a second work offset: it is not clear over which zero the program should end")

    def _add(self, blocks: Blocks, modes: Modes, path: Path, *, units_stated: bool) -> None:
        block = int(path.line[0]) - blocks.first_line
        if self._first is None:
            if modes.incremental[block]:
                raise _at(blocks, block, "the first motion is an increment (G91), which the added lines would move")
            self._first = int(path.line[0]), bool(modes.inch[block])
            if not (units_stated or _units_stated(modes, blocks, block)):
                raise _at(blocks, block, "the program moves before it says G20 or G21, so a safe height has no unit")
        if self._start is None:
            self._start = _starts_home(path, self._safe)
        last = int(path.line[-1]) - blocks.first_line
        low = _crosses_low(path, self._safe)
        x, y, z = path.end[-1].tolist()
        home = abs(x) <= _SAME and abs(y) <= _SAME and z >= self._safe - _SAME and path.kind[-1] == Kind.RAPID
        self._last = replace(
            self._last,
            last_line=int(path.line[-1]),
            end_is_home=bool(home and not low),
            inch_last=bool(modes.inch[last]),
            incremental_last=bool(modes.incremental[last]),
            end_mm=(x, y, z),
            low_line=low if home else 0,
        )
        if not self._last.end_is_home and last + 1 < len(blocks) and not modes.executes[last + 1]:
            self._refuse_end_beside_motion(blocks, last)

    def _refuse_end_beside_motion(self, blocks: Blocks, last: int) -> None:
        rows = blocks.rows("M")
        rows = rows[blocks.block[rows] == last]
        if rows.size:
            message = "the last motion and the end of the program share a line; put them on two"
            raise blocks.refusal(message, row=int(rows[0]))


def _units_stated(modes: Modes, blocks: Blocks, block: int) -> bool:
    rows = blocks.rows("G")
    rows = rows[blocks.block[rows] <= block]
    return bool(np.isin(np.rint(modes.values[rows]), (20, 21)).any())


def _starts_home(path: Path, safe_mm: float) -> bool | None:
    """Return whether the first motions raise the tool and go over zero; None if the chunk does not tell."""
    for row in range(len(path)):
        x, y, z = path.end[row].tolist()
        if path.kind[row] != Kind.RAPID or (not isnan(z) and z < safe_mm - _SAME):
            return False
        moved = not (isnan(x) and isnan(y))
        if moved and not float(path.start[row, 2]) >= safe_mm - _SAME:
            return False
        if not (isnan(x) or isnan(y)):
            return bool(abs(x) <= _SAME and abs(y) <= _SAME)
        if any(abs(each) > _SAME for each in (x, y) if not isnan(each)):
            return False
    return None


def _crosses_low(path: Path, safe_mm: float) -> int:
    """Return the line of the first traverse across behind the last cut that is below the safe height; 0 if none is."""
    across = (np.abs(path.end[:, :2] - path.start[:, :2]) > _SAME).any(axis=1)
    low = across & ~(path.start[:, 2] >= safe_mm - _SAME)
    cuts = np.flatnonzero(path.is_cut)
    if cuts.size:
        low[: cuts[-1] + 1] = False
    return int(path.line[int(np.argmax(low))]) if low.any() else 0


def added_lines(survey: HomeSurvey, safe_z_mm: Decimal) -> tuple[list[bytes], list[bytes]]:
    """Return the lines to put before the first motion's line and behind the last one's."""
    before: list[bytes] = []
    if not survey.start_is_home:
        unit = b"G20" if survey.inch_first else b"G21"
        before = [unit + b" G90 G0 Z" + _spelled(safe_z_mm, inch=survey.inch_first), b"G0 X0 Y0"]
    if survey.end_is_home:
        return before, []
    behind = [b"G90"] if survey.incremental_last else []
    x, y, z = survey.end_mm
    if not z >= float(safe_z_mm) - _SAME:
        behind.append(b"G0 Z" + _spelled(safe_z_mm, inch=survey.inch_last))
    # A program that ends with a cut over zero ends with a traverse now, which goes nowhere.
    if not behind or not (abs(x) <= _SAME and abs(y) <= _SAME):
        behind.append(b"G0 X0 Y0")
    return before, behind


def _spelled(z_mm: Decimal, *, inch: bool) -> bytes:
    z = (z_mm / _MM_PER_INCH).quantize(_INCH_DECIMALS, ROUND_CEILING) if inch else z_mm
    return f"{z.normalize() + 0:f}".encode()


def _at(blocks: Blocks, block: int, message: str) -> RefusedError:
    error = blocks.block_error(message, block=block)
    return RefusedError(error.message, error.location, error.excerpt)


def with_lines_added(
    program: Readable, survey: HomeSurvey, safe_z_mm: Decimal
) -> Iterator[tuple[Blocks, bytes, list[int]]]:
    """Yield each chunk, its new text, and the new text's lines that are added, counted from 0."""
    before, behind = added_lines(survey, safe_z_mm)
    for blocks in scan_chunks(program.pieces(), program.source):
        text, added = blocks.text, list[int]()
        # From the back, so that places in front stay where they are.
        last = survey.last_line - blocks.first_line
        if behind and 0 <= last < len(blocks):
            text, places = _inserted(blocks, text, last + 1, behind)
            added += places
        first = survey.first_line - blocks.first_line
        if before and 0 <= first < len(blocks):
            text, places = _inserted(blocks, text, first, before)
            added = [*places, *(place + len(before) for place in added)]
        yield blocks, text, added


def _inserted(blocks: Blocks, text: bytes, block: int, lines: list[bytes]) -> tuple[bytes, list[int]]:
    at = int(blocks.line_start[block]) if block < len(blocks) else len(blocks.text)
    end = _line_end(blocks)
    new = b"".join(line + end for line in lines)
    if at and blocks.text[at - 1 : at] not in (b"\n", b"\r"):
        new = end + new.removesuffix(end)
    return text[:at] + new + text[at:], list(range(block, block + len(lines)))


def _line_end(blocks: Blocks) -> bytes:
    start, end = int(blocks.line_end[0]), int(blocks.line_start[1]) if len(blocks) > 1 else len(blocks.text)
    return blocks.text[start:end] or b"\n"
