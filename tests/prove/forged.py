"""Edits whose writer is replaced by given lines, so that only the proof stands between them and the file.

Each knows what was written, whether the proof accepts other lines in its place, and what the judge says of them.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property
from math import isnan, nan
from typing import Protocol
from unittest.mock import patch

from flipreg.errors import ProofError
from flipreg.produce.home import home
from flipreg.produce.join import join
from flipreg.produce.split import split_tools
from flipreg.rewrite.shop.home import HomeSurvey, survey_home, with_lines_added
from flipreg.rewrite.shop.join import Joined, joined_chunks, survey_all
from flipreg.rewrite.shop.split import ToolProgram, tool_programs
from flipreg.rewrite.shop.standing_alone import Survey
from flipreg.rs274.interpret.whole import Whole, read_whole
from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.program import Program, Readable
from tests.prove.judged import TABLES, differs, plunges, unknown_start
from tests.prove.slow_machine import Done, Machine, Table, run

__all__ = ["Forge", "HomeForge", "JoinForge", "SplitForge"]

_NEAR = 1e-4


def _text(lines: Sequence[str]) -> bytes:
    return "".join(f"{line}\n" for line in lines).encode()


def _cut_zero(done: Sequence[Done], *, last: bool) -> list[float]:
    cuts = [each.zero for each in done if any(cut for cut, *_ in each.moves)]
    return cuts[-1 if last else 0]


def _is_high(machine: Machine, zero: Sequence[float], safe_mm: float, source_z: float) -> bool:
    there = not isnan(source_z) and abs(machine.place[2] - source_z) <= _NEAR and machine.up_by_machine
    return there or machine.place[2] >= zero[2] + safe_mm - _NEAR


class Forge(Protocol):
    """An edit, what it wrote, and what the proof and the judge say of other lines."""

    def written(self) -> tuple[list[str], list[int]]:
        """Return the lines of the output, and which are added."""

    def is_accepted(self, lines: list[str], added: list[int]) -> bool:
        """Return whether the proof lets these lines pass."""

    def is_wrong(self, lines: list[str], added: list[int]) -> str:
        """Return what is wrong with the lines, for any table; empty if nothing is."""


@dataclass
class HomeForge:
    """`home` of one program."""

    source: str
    safe_mm: int = 10

    @cached_property
    def _program(self) -> Program:
        return Program(self.source.encode(), "front.nc")

    @cached_property
    def _survey(self) -> HomeSurvey:
        return survey_home(self._program, Decimal(self.safe_mm))

    @cached_property
    def _made(self) -> tuple[Blocks, bytes, list[int]]:
        (made,) = with_lines_added(self._program, self._survey, Decimal(self.safe_mm))
        return made

    def written(self) -> tuple[list[str], list[int]]:
        """Return the lines of the output, and which are added."""
        _, text, added = self._made
        return text.decode().splitlines(), added

    def is_accepted(self, lines: list[str], added: list[int]) -> bool:
        """Return whether the proof lets these lines pass."""
        blocks, *_ = self._made
        with (
            patch("flipreg.produce.home.survey_home", lambda *_: self._survey),
            patch("flipreg.produce.home.with_lines_added", lambda *_: iter([(blocks, _text(lines), added)])),
        ):
            return _passes(lambda: home(self._program, safe_z_mm=Decimal(self.safe_mm)))

    def is_wrong(self, lines: list[str], added: list[int]) -> str:
        """Return what is wrong with the lines, for any table; empty if nothing is."""
        return next(filter(None, (self._judged(lines, added, table) for table in TABLES)), "")

    def _judged(self, lines: list[str], added: list[int], table: Table) -> str:
        alone = Machine(unknown_start(table))
        mine, heights = [], [nan]
        for line in self.source.splitlines():
            mine.append(alone.do(line))
            heights.append(alone.place[2])
        machine = Machine(table)
        own: list[Done] = []
        begun = False
        parked = False
        for number, line in enumerate(lines):
            before = [*machine.place]
            done = machine.do(line)
            across = any(not by and any(w in line for w in "XY") for _, by, *_ in done.moves)
            if number in added:
                zero = _cut_zero(mine, last=begun)
                found = plunges(done, machine, zero, self.safe_mm, at_start=not begun, source_z=heights[len(own)])
                if found or "M" in line or done.acts:
                    return f"{line}: {found or 'acts'}"
                parked = False if done.moves else parked
                continue
            own.append(done)
            if done.moves:
                parked = done.moves[-1][1]
            if across and not begun:
                begun = True
                zero = _cut_zero(mine, last=False)
                high = before[2] >= zero[2] + self.safe_mm - _NEAR or not isnan(heights[len(own) - 1])
                if max(abs(before[0] - zero[0]), abs(before[1] - zero[1])) > _NEAR or not high:
                    return "does not begin over zero"
        found = differs(mine, own)
        zero = _cut_zero(mine, last=True)
        if not found and not parked:
            if max(abs(machine.place[0] - zero[0]), abs(machine.place[1] - zero[1])) > _NEAR:
                return "does not end over zero"
            if not _is_high(machine, zero, self.safe_mm, heights[-1]):
                return "does not end high"
        return found


@dataclass
class JoinForge:
    """`join` of two programs; the lines are those of both."""

    sources: tuple[str, str]
    safe_mm: int = 20

    @cached_property
    def _programs(self) -> list[Program]:
        return [Program(text.encode(), f"{number}.nc") for number, text in enumerate(self.sources)]

    @cached_property
    def _surveys(self) -> list[Survey]:
        return survey_all(self._programs)

    @cached_property
    def _made(self) -> tuple[Joined, Joined]:
        first, second = joined_chunks(self._programs, self._surveys, Decimal(self.safe_mm))
        return first, second

    def written(self) -> tuple[list[str], list[int]]:
        """Return the lines of the output, and which are added."""
        first, second = self._made
        lines = first.text.decode().splitlines()
        self.first = len(lines)
        added = [*first.added, *(self.first + each for each in second.added)]
        return [*lines, *second.text.decode().splitlines()], added

    def is_accepted(self, lines: list[str], added: list[int]) -> bool:
        """Return whether the proof lets these lines pass."""
        first, second = self._made
        at = self._cut(lines, added)
        forged = [
            replace(first, text=_text(lines[:at]), added=tuple(each for each in added if each < at)),
            replace(second, text=_text(lines[at:]), added=tuple(each - at for each in added if each >= at)),
        ]
        with (
            patch("flipreg.produce.join.survey_all", lambda _: self._surveys),
            patch("flipreg.produce.join.joined_chunks", lambda *_: iter(forged)),
        ):
            return _passes(lambda: join(self._programs, safe_z_mm=Decimal(self.safe_mm)))

    def _cut(self, lines: list[str], added: list[int]) -> int:
        own = len(self.sources[0].splitlines())
        at = 0
        while own or (at in added and not lines[at].startswith("(joined") and at < self.first):
            own -= at not in added
            at += 1
        return at

    def is_wrong(self, lines: list[str], added: list[int]) -> str:
        """Return what is wrong with the lines, for any table; empty if nothing is."""
        return next(filter(None, (self._judged(lines, added, table) for table in TABLES)), "")

    def _judged(self, lines: list[str], added: list[int], table: Table) -> str:
        machine = Machine(table)
        at = self._cut(lines, added)
        first, second = (
            [re_ended(line) for line in source.splitlines()] if number == 0 else source.splitlines()
            for number, source in enumerate(self.sources)
        )
        alone = Machine(unknown_start(table))
        mine, heights = [], [nan]
        for line in first:
            mine.append(alone.do(line))
            heights.append(alone.place[2])
        own: list[list[Done]] = [[], []]
        begun = False
        for number, line in enumerate(lines):
            done_before = number >= at
            if number not in added and done_before and not begun:
                begun = True
                if not _is_high(machine, _cut_zero(mine, last=True), self.safe_mm, heights[-1]):
                    return "not up"
            done = machine.do(line)
            if number in added:
                zero = _cut_zero(mine, last=True)
                source_z = heights[min(len(own[0]), len(heights) - 1)]
                found = plunges(done, machine, zero, self.safe_mm, at_start=False, source_z=source_z)
                across = any(abs(a - b) > _NEAR for _, _, s, e in done.moves for a, b in zip(s[:2], e[:2], strict=True))
                if found or done.acts or across:
                    return f"{line}: {found or 'acts'}"
                continue
            own[done_before].append(done)
        found = differs(mine, own[0])
        return found or differs(run(second, unknown_start(table)), own[1])


def re_ended(line: str) -> str:
    """Return a line without its end."""
    return line.replace("M30", "").replace("M2", "")


@dataclass
class SplitForge:
    """The part of one tool."""

    source: str
    part: int
    safe_mm: int = 20

    @cached_property
    def _program(self) -> Program:
        return Program(self.source.encode(), "front.nc")

    @cached_property
    def _whole(self) -> Whole:
        return read_whole(self._program)

    @cached_property
    def _made(self) -> list[ToolProgram]:
        return tool_programs(self._whole, Decimal(self.safe_mm))

    def _read(self, program: Readable) -> Whole:
        return self._whole if program is self._program else read_whole(program)

    def written(self) -> tuple[list[str], list[int]]:
        """Return the lines of the part, and which are added."""
        section = self._made[self.part]
        self.section = section
        return section.text.decode().splitlines(), list(section.added)

    def is_accepted(self, lines: list[str], added: list[int]) -> bool:
        """Return whether the proof lets these lines pass."""
        sections = [*self._made]
        forged = replace(sections[self.part], text=_text(lines), added=tuple(added), begun=self._begun(lines, added))
        sections[self.part] = forged
        with (
            patch("flipreg.produce.split.read_whole", self._read),
            patch("flipreg.produce.split.tool_programs", lambda *_: sections),
        ):
            return _passes(lambda: split_tools(self._program, safe_z_mm=Decimal(self.safe_mm)))

    def _begun(self, lines: list[str], added: list[int]) -> int:
        """Return the line after the change and the lines that were added to it."""
        change = f"T{self.section.tool} M6"
        at = next((at for at, line in enumerate(lines) if change in line and at not in added), 0)
        at += 1
        while at in added and self.part:
            at += 1
        return at

    def is_wrong(self, lines: list[str], added: list[int]) -> str:
        """Return what is wrong with the lines, for any table; empty if nothing is."""
        return next(filter(None, (self._judged(lines, added, table) for table in TABLES)), "")

    def _judged(self, lines: list[str], added: list[int], table: Table) -> str:
        section = self.section
        alone = Machine(unknown_start(table))
        source = self.source.splitlines()
        mine: list[Done] = []
        for line in source[: section.last]:
            if len(mine) == section.first:
                there, up, before = [*alone.place], alone.up_by_machine, dict(alone.modes)
            mine.append(alone.do(line))
        whole = mine[section.first :]
        begun = self._begun(lines, added)
        machine = Machine(table)
        own: list[Done] = []
        for number, line in enumerate(lines):
            if number == begun:
                for axis in range(3):
                    known = not isnan(there[axis])
                    if known and abs(machine.place[axis] - there[axis]) > _NEAR:
                        return "not where it was"
                for name in ("feed", "speed", "path"):
                    if machine.modes[name] != before[name]:
                        return f"state: {name}"
            if number in added and number >= begun and {"M2", "M30"} & set(line.split()):
                if machine.modes["spindle"] != 5 or machine.modes["mist"] or machine.modes["flood"]:
                    return "left on"
                if not _is_high(machine, _cut_zero(whole, last=True), self.safe_mm, alone.place[2]):
                    return "ends low"
            done = machine.do(line)
            if number in added:
                zero = _cut_zero(whole, last=number > begun)
                early = number < begun
                z = there[2] if early else alone.place[2]
                found = plunges(done, machine, zero, self.safe_mm, at_start=early, source_z=z)
                if found == "goes down" and (_comes_down_to(done, there) or (up and _rises_to(done, there[2]))):
                    found = ""
                if found or set(done.acts) - {"end"}:
                    return f"{line}: {found or 'acts'}"
                continue
            if number >= begun:
                own.append(done)
        if self.part == 0 and not machine.ended:
            return "no end"
        return differs(whole, own)

def _comes_down_to(done: Done, there: Sequence[float]) -> bool:
    """Return whether a line comes straight down to where the whole program stands."""
    _, _, start, end = done.moves[-1]
    pairs = [*zip(end, there, strict=True), *zip(start[:2], there[:2], strict=True)]
    return all(abs(a - b) <= _NEAR for a, b in pairs)


def _rises_to(done: Done, height: float) -> bool:
    """Return whether a line goes to a height of the machine by the machine."""
    _, by_machine, _, end = done.moves[-1]
    return by_machine and abs(end[2] - height) <= _NEAR


def _passes(make: Callable[[], object]) -> bool:
    try:
        make()
    except ProofError:
        return False
    return True
