"""The way over program zero at a safe height, before the first motion across of a program and after its last one.

Nothing between is touched, and what is there already is not added again. A place other than zero over which a program
starts or ends, and where it does nothing else, becomes zero.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from flipreg.path import Path
from flipreg.rewrite.shop.ending import EndFinder, Ending
from flipreg.rewrite.shop.home_start import HomeStart, heights_of, start_of
from flipreg.rewrite.shop.instead import Stop, led_over_zero, lines_that_wait, start_stop, with_zeros
from flipreg.rewrite.shop.standing_alone import spelled_z
from flipreg.rewrite.shop.way_from_zero import LowWay, low_way_from_zero
from flipreg.rewrite.text.events import MACHINE, Event, events_of
from flipreg.rewrite.text.refuse import refusal_in
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import Modes, State
from flipreg.rs274.interpret.units import InchWatch, first_state
from flipreg.rs274.read.blocks import BlockFlag, Blocks
from flipreg.rs274.read.location import Location, RefusedError
from flipreg.rs274.read.program import Readable
from flipreg.rs274.read.scanner import scan_chunks

__all__ = ["HomeSurvey", "added_lines", "survey_home", "with_lines_added"]

_AXIS_OFFSET = 920
_SAME = 1e-6
"""Millimetres; noise of the arithmetic."""


@dataclass(frozen=True, slots=True)
class HomeSurvey:
    """Where a program begins and ends, and what is missing there.

    Attributes
    ----------
    start, end
        Where it does so once the places of `stops` are zero.
    stops : tuple of Stop
        The places that become zero, in the order of their lines.
    low_way : LowWay or None
        The new way from zero to the first place, where it is lower than the safe height.
    in_inches : bool
        Whether the program has numbers in inches.
    """

    start: HomeStart
    end: Ending
    stops: tuple[Stop, ...] = ()
    low_way: LowWay | None = None
    in_inches: bool = False

    @property
    def starts_elsewhere(self) -> bool:
        """Whether the program starts over another place than zero."""
        return not self.start.is_home or any(stop.line < self.end.line for stop in self.stops)

    @property
    def ends_elsewhere(self) -> bool:
        """Whether it ends over another place, where the machine is not parked."""
        is_led = any(stop.line == self.end.line for stop in self.stops)
        return is_led or not (self.end.is_home or self.end.is_parked)

    def zeroed_in(self, blocks: Blocks) -> list[int]:
        """Return which blocks of a chunk lead over zero instead, from 0."""
        inside = (stop.line - blocks.first_line for stop in self.stops)
        return [block for block in inside if 0 <= block < len(blocks)]


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
        self._events: list[Event] = []
        self._waits: list[int] = []
        self._crossed = self._cut = False
        self._work_offset = 0
        self._units_said = False

    def survey(self, program: Readable) -> HomeSurvey:
        state, blocks = first_state(program), None
        self._units_said = program.units is not None
        end, inches = EndFinder(self._safe), InchWatch(program.units)
        for blocks in scan_chunks(program.pieces(), program.source):
            before = state
            modes, path, state = interpret_blocks(blocks, before)
            self._refuse_unclear(blocks, modes, path, (before, state))
            end.add(blocks, modes, path)
            inches.add(blocks)
            self._begin(blocks, modes, path, before)
        assert blocks is not None, "a program without a block is not legal"
        if not end.found.line:
            raise refusal_in(blocks, 0, "nothing moves in this program, so that there is no way home to add")
        if end.found.refusal is not None and not end.names_height and not end.found.is_up_by_machine:
            raise end.found.refusal
        found, stops = end.found, self._stops(program.source, end.found)
        if found.stop in stops:
            found = replace(found, is_home=True)
        events = led_over_zero(self._events, stops)
        start = start_of(events, self._safe)
        if start is None:
            message = "nothing moves along X or Y in this program, so that it is not clear where it should begin"
            raise refusal_in(blocks, 0, message)
        if found.refusal is not None and not (found.is_home or found.is_parked):
            raise found.refusal
        if _rises(found, self._safe):
            if found.rise_refusal is not None:
                raise found.rise_refusal
            if not (self._units_said or state.units_stated):
                message = "the program does not say G20 or G21, so a safe height has no unit; write it, or say --units"
                raise RefusedError(message, Location(program.source, found.line, 1, 2))
        return HomeSurvey(start, found, stops, low_way_from_zero(events, start, self._safe), inches.in_inches)

    def _stops(self, source: str, end: Ending) -> tuple[Stop, ...]:
        """Return the places that become zero; refuse one at both ends that can't."""
        begin, last = start_stop(self._events, heights_of(self._events), self._waits, self._safe), end.stop
        if last is not None and end.refusal is not None:
            last = None
        both = [stop for stop in (begin, last) if stop is not None]
        if len(both) == 2 and max(abs(a - b) for a, b in zip(both[0].at_mm, both[1].at_mm, strict=True)) <= _SAME:
            for stop in both:
                if stop.why_kept:
                    x, y = stop.at_mm
                    message = (
                        f"this program starts and ends over X{x:.6g} Y{y:.6g} mm, which can't become zero: "
                        f"{stop.why_kept}"
                    )
                    raise RefusedError(message, Location(source, stop.line, 1, 2))
        return tuple(stop for stop in both if not stop.why_kept)

    def _begin(self, blocks: Blocks, modes: Modes, path: Path, before: State) -> None:
        """Collect the events of the head: up to the first cut after the first motion across."""
        if self._crossed and self._cut:
            return
        self._waits += lines_that_wait(blocks)
        for event in events_of(blocks, modes, path, before, units_said=self._units_said):
            self._events.append(event)
            self._crossed |= event.is_across
            if self._crossed and event.moves and not event.is_rapid:
                self._cut = True
                return

    def _refuse_unclear(self, blocks: Blocks, modes: Modes, path: Path, around: tuple[State, State]) -> None:
        before, after = around
        for block, apart in modes.apart.items():
            if apart.code == _AXIS_OFFSET:
                message = "G92 gives program zero another place; home means one zero for all of it"
                raise refusal_in(blocks, block, message)
        if any(after.frame.offset_mm) or any(before.frame.offset_mm):
            raise refusal_in(blocks, 0, "an offset of G92 is in force; home means one zero for all of the program")
        skipped = np.flatnonzero(blocks.flags & BlockFlag.DELETE)
        if skipped.size:
            message = "a line that may be skipped (/), so that the way depends on a switch"
            raise refusal_in(blocks, int(skipped[0]), message)
        if any(after.assumed_zero):
            line = int(path.line[0]) - blocks.first_line if len(path) else 0
            message = "the program starts from a position that it does not name; name it in G90 first"
            raise refusal_in(blocks, line, message)
        # A traverse to a position of the machine is the same in every work offset.
        by_machine = [block + blocks.first_line for block, apart in modes.apart.items() if apart.code in MACHINE]
        own = np.flatnonzero(path.is_cut | ~np.isin(path.line, by_machine))
        if own.size:
            first = self._work_offset or int(path.work_offset[own[0]])
            self._work_offset = first
            other = path.work_offset[own] != first
            if other.any():
                block = int(path.line[own[int(np.argmax(other))]]) - blocks.first_line
                message = "a second work offset: it is not clear over which zero the program should end"
                raise refusal_in(blocks, block, message)


def added_lines(survey: HomeSurvey, safe_z_mm: Decimal) -> tuple[list[bytes], list[bytes]]:
    """Return the lines to put before the first motion across, and after the last motion."""
    return _start_lines(survey.start, safe_z_mm), _end_lines(survey.end, safe_z_mm)


def _start_lines(start: HomeStart, safe_z_mm: Decimal) -> list[bytes]:
    if start.is_home:
        return []
    lines = []
    if start.raises:
        unit = b"G20" if start.inch else b"G21"
        lines.append(unit + b" G90 G0 Z" + spelled_z(safe_z_mm, inch=start.inch).encode())
    elif start.incremental:
        lines.append(b"G90")
    lines.append(b"G0 X0 Y0")
    return [*lines, b"G91"] if start.incremental else lines


def _end_lines(end: Ending, safe_z_mm: Decimal) -> list[bytes]:
    if end.is_home or end.is_parked:
        return []
    lines = [b"G90"] if end.incremental else []
    x, y, _ = end.end_mm
    rises = _rises(end, float(safe_z_mm))
    if rises:
        lines.append(b"G0 Z" + spelled_z(safe_z_mm, inch=end.inch).encode())
    # A program that ends with a cut over zero ends with a traverse now, which goes nowhere.
    if not rises or not (abs(x) <= _SAME and abs(y) <= _SAME):
        lines.append(b"G0 X0 Y0")
    return [*lines, b"G91"] if end.incremental else lines


def _rises(end: Ending, safe_mm: float) -> bool:
    """Return whether the tool has to be raised at the end."""
    return not (end.is_home or end.is_parked or end.is_up_by_machine or end.end_mm[2] >= safe_mm - _SAME)


def with_lines_added(
    program: Readable, survey: HomeSurvey, safe_z_mm: Decimal
) -> Iterator[tuple[Blocks, bytes, list[int]]]:
    """Yield each chunk, its new text, and the new text's lines that are added, counted from 0."""
    at_start, at_end = added_lines(survey, safe_z_mm)
    line_end = b""
    for blocks in scan_chunks(program.pieces(), program.source):
        line_end = line_end or _line_end(blocks)
        text, added = blocks.text, list[int]()
        # From the back, so that places in front stay where they are.
        last = survey.end.line - blocks.first_line
        if at_end and 0 <= last < len(blocks):
            text, places = _inserted(blocks, text, last + 1, at_end, line_end)
            added += places
        for block in reversed(survey.zeroed_in(blocks)):
            text = with_zeros(blocks, text, block)
        first = survey.start.line - blocks.first_line
        if at_start and 0 <= first < len(blocks):
            text, places = _inserted(blocks, text, first, at_start, line_end)
            added = [*places, *(place + len(at_start) for place in added)]
        yield blocks, text, added


def _inserted(
    blocks: Blocks, text: bytes, block: int, lines: list[bytes], end: bytes
) -> tuple[bytes, list[int]]:
    at = int(blocks.line_start[block]) if block < len(blocks) else len(blocks.text)
    new = b"".join(line + end for line in lines)
    if at and blocks.text[at - 1 : at] not in (b"\n", b"\r"):
        new = end + new.removesuffix(end)
    return text[:at] + new + text[at:], list(range(block, block + len(lines)))


def _line_end(blocks: Blocks) -> bytes:
    start, end = int(blocks.line_end[0]), int(blocks.line_start[1]) if len(blocks) > 1 else len(blocks.text)
    return blocks.text[start:end] or b"\n"
