"""Several programs as one: framing and ends taken away, and at each junction what the next one relies on.

Programs that don't agree on unit, tool or work offset are refused: one of them would cut something else.
"""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum

import numpy as np

from flipreg.names import bare_name
from flipreg.rewrite.shop.standing_alone import MODAL_START, Survey, spelled_z, survey_program
from flipreg.rewrite.text.framing import begins_in, end_bytes, is_framing, percents
from flipreg.rewrite.text.refuse import refusal_in
from flipreg.rewrite.text.spans import Span, spliced
from flipreg.rs274.code_groups import WORK_OFFSETS
from flipreg.rs274.read.blocks import EXPRESSION, BlockFlag, Blocks
from flipreg.rs274.read.location import Location, RefusedError
from flipreg.rs274.read.program import Readable
from flipreg.rs274.read.scanner import scan_chunks

__all__ = ["Joined", "WayUp", "check_agreement", "closing_lines", "joined_chunks", "refuse", "survey_all", "ways_up"]

_BOM = b"\xef\xbb\xbf"
_ENDS = (2, 30)
_SAME = 1e-6


class WayUp(Enum):
    """How the tool comes up after a program."""

    RAISED = "raised to Z{height} {where}"
    BY_MACHINE = "raised by the machine (G53) {where}"
    IS_HIGH = "not raised {where}: the tool is at Z{height} or higher"
    AT_MACHINE_HEIGHT = "not raised {where}: the tool is at a height of the machine"


@dataclass(frozen=True, eq=False, slots=True)
class Joined:
    """One chunk of one program, and its lines in the joined program.

    Attributes
    ----------
    program : int
        Which of the programs, from 0.
    blocks : Blocks
        The chunk.
    text : bytes
        Its lines in the joined program.
    added : tuple of int
        Lines of that text that are new, from 0.
    """

    program: int
    blocks: Blocks
    text: bytes
    added: tuple[int, ...]


def survey_all(programs: Sequence[Readable]) -> list[Survey]:
    """Read all programs once; see `survey_program`."""
    return [survey_program(program) for program in programs]


def check_agreement(surveys: Sequence[Survey]) -> None:
    """Refuse programs that do not agree on unit, tool and work offset, or that set parameters.

    Raises
    ------
    RefusedError
        At the first line that uses another.
    """
    first = surveys[0]
    for survey in surveys:
        if not survey.tools:
            raise refuse(survey.source, 1, "nothing moves in this program")
        if not (survey.is_unit_said or survey.after.units_stated):
            message = "the program does not say G20 or G21, so its unit is not known to agree; write it, or say --units"
            raise refuse(survey.source, next(iter(survey.units.values())), message)
        for what, mine, names in (
            ("unit", "units", {20: "inches", 21: "millimetres"}),
            ("tool", "tools", {-1: "no tool named"}),
            ("work offset", "work_offsets", dict(enumerate(WORK_OFFSETS, 1))),
        ):
            expected = next(iter(getattr(first, mine)))
            for value, line in getattr(survey, mine).items():
                if value != expected:
                    found, wanted = (names.get(each, f"T{each}") for each in (value, expected))
                    message = f"another {what} than where {first.source} begins: {found}, expected {wanted}"
                    raise refuse(survey.source, line, message)
    for survey in surveys[:-1]:
        for line, what in ((survey.settings_line, "a parameter is set"), (survey.data_line, "G10 moves a zero")):
            if line:
                raise refuse(survey.source, line, f"{what}, which the next program would see")
    for before, survey in itertools.pairwise(surveys):
        if before.path_line and survey.unpathed_line:
            message = (
                f"{before.source} sets path control (G61, G64), and this motion comes before this program says its "
                "own; name G61 or G64 before it"
            )
            raise refuse(survey.source, survey.unpathed_line, message)
        if before.length_offset and survey.unlengthed_line:
            message = (
                f"{before.source} leaves a tool length offset in force (G43), and this program names a height before "
                "it says its own; end the one before with G49, or name G43 or G49 before this line"
            )
            raise refuse(survey.source, survey.unlengthed_line, message)


def refuse(source: str, line: int, message: str) -> RefusedError:
    """Return the refusal at a line of a program that is not at hand any more."""
    return RefusedError(message, Location(source, line, 1, 2))


def joined_chunks(programs: Sequence[Readable], surveys: Sequence[Survey], safe_z_mm: Decimal) -> Iterator[Joined]:
    """Yield the joined program, chunk by chunk.

    Raises
    ------
    RefusedError
        Where words after the end of a program would be run, or compensation is on at a junction.
    """
    line_end = surveys[0].line_end
    for number, (program, survey) in enumerate(zip(programs, surveys, strict=True)):
        is_last = number == len(programs) - 1
        if survey.compensated_line and not is_last:
            message = "cutter compensation is on at the end; end it with G40 and a motion away from the work"
            raise refuse(survey.source, survey.compensated_line, message)
        junction = _junction(surveys, number) if number else []
        rise = [] if is_last else _rise(survey, safe_z_mm)
        framing = _Framing(survey, surveys, number)
        for blocks in scan_chunks(program.pieces(), program.source):
            text, places = framing.taken_off(blocks, rise)
            text = b"".join(line + line_end for line in junction) + text
            yield Joined(number, blocks, text, (*range(len(junction)), *(len(junction) + place for place in places)))
            junction = []


def closing_lines(surveys: Sequence[Survey]) -> list[bytes]:
    """Return what has to stand after the last program: one end, and a percent line if the first begins with one."""
    last = surveys[-1]
    if surveys[0].opens:
        return [] if last.closes else [b"%"]
    return [] if last.end_line else [b"M30"]


def _rise(survey: Survey, safe_z_mm: Decimal) -> list[bytes]:
    """Return the way up after the last motion of a program, where its numbers still mean the height that it cut at."""
    ending = survey.ending
    if ending.is_up_by_machine or ending.refusal is not None or ending.end_mm[2] >= float(safe_z_mm) - _SAME:
        return []
    if ending.rise_refusal is not None:
        raise ending.rise_refusal
    unit = "G20" if ending.inch else "G21"
    lines = [f"{unit} G90 G0 Z{spelled_z(safe_z_mm, inch=ending.inch)}", *(["G91"] if ending.incremental else [])]
    return [line.encode() for line in lines]


def ways_up(surveys: Sequence[Survey], safe_z_mm: Decimal) -> list[WayUp]:
    """Return how the tool comes up after each program but the last."""
    found = []
    for survey in surveys[:-1]:
        if _rise(survey, safe_z_mm):
            found.append(WayUp.RAISED)
        elif survey.ending.is_up_by_machine:
            found.append(WayUp.AT_MACHINE_HEIGHT)
        else:
            found.append(WayUp.IS_HIGH if survey.ending.refusal is None else WayUp.BY_MACHINE)
    return found


def _junction(surveys: Sequence[Survey], number: int) -> list[bytes]:
    """Return the lines between two programs: stop, and the modes that the next one starts in by itself.

    Raises
    ------
    RefusedError
        If the tool can't be raised after the program before.
    """
    before, following = surveys[number - 1], surveys[number]
    unit = "G20" if 20 in before.units else "G21"
    lines = [f"(joined: {_name(following.source)} follows)".encode()]
    if before.ending.refusal is not None and not before.ending.is_up_by_machine:
        heights = [survey.machine_z for survey in surveys if survey.machine_z]
        if not heights:
            raise before.ending.refusal
        lines.append(b"G90 G53 G0 Z" + heights[0])
    modal = MODAL_START.format(unit=unit)
    if before.length_offset:
        modal += " G49"
    if before.after.absolute_centres:
        modal += " G91.1"
    if before.overrides_off:
        modal += " M48"
    return [*lines, b"M5", *([b"M9"] if before.coolant else []), modal.encode()]


def _name(source: str) -> str:
    name = bare_name(source).replace("(", "[").replace(")", "]")
    return "".join(char if " " <= char < "\x7f" else "?" for char in name)[-80:]


class _Framing:
    """Takes off what makes a text a program of its own."""

    def __init__(self, survey: Survey, surveys: Sequence[Survey], number: int) -> None:
        self._survey = survey
        self._is_first, self._is_last = number == 0, number == len(surveys) - 1
        self._opens = surveys[0].opens
        self._ends_file = self._is_last and not closing_lines(surveys)
        self._is_begun = False

    def taken_off(self, blocks: Blocks, rise: Sequence[bytes]) -> tuple[bytes, list[int]]:
        """Return a chunk's text without what is not the joined program's, and the lines of it that are new.

        Taken off are percent lines, program number and end; put in is the way up after the last motion.
        """
        if len(blocks) and blocks.flags[-1] & BlockFlag.AFTER_END:
            return self._tail(blocks), []
        self._refuse_words_after_end(blocks)
        edits: list[Span] = []
        starts = [*blocks.line_start.tolist(), len(blocks.text)]
        last = self._survey.ending.line - blocks.first_line
        place = last + 1
        opening, closing = percents(blocks, is_begun=self._is_begun)
        self._is_begun = self._is_begun or begins_in(blocks) < len(blocks)
        stay = opening * (self._opens and self._is_first) + closing * (self._opens and self._is_last)
        for block in {*opening, *closing} - {*stay}:
            edits.append((starts[block], starts[block + 1], b""))
            place -= block <= last
        edits += [(int(blocks.start[row]), int(blocks.end[row]), b"") for row in self._words(blocks)]
        if not self._is_first and blocks.first_line == 1 and blocks.text.startswith(_BOM):
            edits.append((0, len(_BOM), b""))
        places: list[int] = []
        end = self._survey.line_end
        if rise and 0 <= last < len(blocks):
            at = starts[last + 1]
            open_line = b"" if blocks.text[at - 1 : at] in (b"\n", b"\r") else end
            edits.append((at, at, open_line + b"".join(line + end for line in rise)))
            places = list(range(place, place + len(rise)))
        last_bytes = [] if self._ends_file else self._end_bytes(blocks)
        text = spliced(blocks.text, sorted(edits + last_bytes))
        # A percent line is taken off whole, and leaves no line that would need an end.
        is_whole = blocks.text.endswith((b"\n", b"\r")) or blocks.flags[-1] & BlockFlag.PERCENT
        is_ended = is_whole or any(new for _, _, new in last_bytes) or (places and last + 1 == len(blocks))
        return text if not text or is_ended or self._is_last else text + end, places

    def _tail(self, blocks: Blocks) -> bytes:
        if self._is_last and self._opens:
            return blocks.text
        if not is_framing(blocks.text):
            message = "text after the closing % of this program would be read in the joined one; take it out"
            raise refusal_in(blocks, 0, message)
        return b""

    def _end_bytes(self, blocks: Blocks) -> list[tuple[int, int, bytes]]:
        """Return the edits that take zero bytes and Ctrl-Z from the end; a line that holds no more stays a line."""
        found = end_bytes(blocks.text)
        edits = [(first, stop, b"") for first, stop in found]
        if found and int(blocks.line_start[-1]) == found[0][0] and found[-1][1] == len(blocks.text):
            edits[-1] = (*found[-1], self._survey.line_end)
        return edits

    def _words(self, blocks: Blocks) -> list[int]:
        rows = [] if self._is_first else blocks.rows("O").tolist()
        if self._is_last or not self._survey.end_line:
            return rows
        ends = blocks.rows("M")
        for row in ends[blocks.block[ends] + blocks.first_line == self._survey.end_line].tolist():
            places = int(blocks.decimals[row])
            if places != EXPRESSION and int(blocks.mantissa[row]) in (end * 10**places for end in _ENDS):
                rows.append(row)
        return rows

    def _refuse_words_after_end(self, blocks: Blocks) -> None:
        if self._is_last or not self._survey.end_line:
            return
        end = self._survey.end_line - blocks.first_line
        rows = np.flatnonzero((blocks.block > end) & (blocks.letter != ord("N")))
        if rows.size:
            message = "words after the end of this program would be run in the joined one; take them out"
            raise blocks.refusal(message, row=int(rows[0]))
