"""Edits whose writer is replaced by given lines, so that only the proof stands between them and the file.

Each knows what was written, whether the proof accepts other lines in its place, and what the judge says of them.
"""

from collections.abc import Callable, Sequence
from copy import copy, deepcopy
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache, cached_property
from math import isnan, nan
from typing import Protocol
from unittest.mock import patch

from flipreg.errors import ProofError
from flipreg.produce.home import home
from flipreg.produce.join import join
from flipreg.produce.split import _part as prove_part
from flipreg.prove.joined import ProvingJoined
from flipreg.prove.read import Read
from flipreg.prove.taken_apart import ProvingParts
from flipreg.rewrite.shop.home import HomeSurvey, survey_home, with_lines_added
from flipreg.rewrite.shop.join import Joined, joined_chunks, survey_all
from flipreg.rewrite.shop.split import ToolProgram, tool_programs
from flipreg.rewrite.shop.standing_alone import Survey
from flipreg.rs274.interpret.whole import Whole, read_whole
from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.program import Program
from tests.prove.judged import TABLES, differs, plunges, unknown_start
from tests.prove.slow_machine import Done, Machine

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


@cache
def _alone(lines: tuple[str, ...], table: int) -> tuple[list[Done], list[float]]:
    """Return what lines do in a run of their own, and the height before the first and after each of them."""
    machine = Machine(unknown_start(TABLES[table]))
    done, heights = [], [nan]
    for line in lines:
        done.append(machine.do(line))
        heights.append(machine.place[2])
    return done, heights


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
        return next(filter(None, (self._judged(lines, added, table) for table in range(len(TABLES)))), "")

    def _judged(self, lines: list[str], added: list[int], table: int) -> str:
        mine, heights = _alone((*self.source.splitlines(),), table)
        machine = Machine(TABLES[table])
        zeros = _cut_zero(mine, last=False), _cut_zero(mine, last=True)
        own: list[Done] = []
        begun = False
        parked = False
        for number, line in enumerate(lines):
            before = [*machine.place]
            done = machine.do(line)
            across = any(not by and any(w in line for w in "XY") for _, by, *_ in done.moves)
            if number in added:
                z = heights[len(own)]
                found = plunges(done, machine, zeros[begun], self.safe_mm, at_start=not begun, source_z=z)
                if found or "M" in line or done.acts:
                    return f"{line}: {found or 'acts'}"
                parked = False if done.moves else parked
                continue
            own.append(done)
            if done.moves:
                parked = done.moves[-1][1]
            if across and not begun:
                begun = True
                zero = zeros[0]
                high = before[2] >= zero[2] + self.safe_mm - _NEAR or not isnan(heights[len(own) - 1])
                if max(abs(before[0] - zero[0]), abs(before[1] - zero[1])) > _NEAR or not high:
                    return "does not begin over zero"
        found = differs(mine, own)
        zero = zeros[1]
        if not found and not parked:
            if max(abs(machine.place[0] - zero[0]), abs(machine.place[1] - zero[1])) > _NEAR:
                return "does not end over zero"
            if not _is_high(machine, zero, self.safe_mm, heights[-1]):
                return "does not end high"
        return found


class _Resumed(ProvingJoined):
    """A proof that has seen the first program."""

    def __init__(self, after_first: ProvingJoined) -> None:
        self.__dict__.update(deepcopy(after_first.__dict__))

    def add(self, program: int, blocks: Blocks, text: bytes, added: Sequence[int]) -> None:
        """Prove the next chunk."""
        if program:
            super().add(program, blocks, text, added)


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
        is_first_as_written = (forged[0].text, forged[0].added) == (first.text, first.added)
        proving = _Resumed(self._after_first) if is_first_as_written else ProvingJoined(*self._asked)
        with (
            patch("flipreg.produce.join.survey_all", lambda _: self._surveys),
            patch("flipreg.produce.join.joined_chunks", lambda *_: iter(forged)),
            patch("flipreg.produce.join.ProvingJoined", lambda *_: proving),
        ):
            return _passes(lambda: join(self._programs, safe_z_mm=Decimal(self.safe_mm)))

    @property
    def _asked(self) -> tuple[Decimal, list[Program]]:
        return Decimal(self.safe_mm), self._programs

    @cached_property
    def _after_first(self) -> ProvingJoined:
        """The proof after the first program as it was written."""
        proving = ProvingJoined(*self._asked)
        first, _ = self._made
        proving.add(first.program, first.blocks, first.text, first.added)
        return proving

    def _cut(self, lines: list[str], added: list[int]) -> int:
        own = len(self.sources[0].splitlines())
        at = 0
        while own or (at in added and not lines[at].startswith("(joined") and at < self.first):
            own -= at not in added
            at += 1
        return at

    def is_wrong(self, lines: list[str], added: list[int]) -> str:
        """Return what is wrong with the lines, for any table; empty if nothing is."""
        return next(filter(None, (self._judged(lines, added, table) for table in range(len(TABLES)))), "")

    def _judged(self, lines: list[str], added: list[int], table: int) -> str:
        machine = Machine(TABLES[table])
        at = self._cut(lines, added)
        mine, heights = _alone(tuple(map(re_ended, self.sources[0].splitlines())), table)
        alone, _ = _alone((*self.sources[1].splitlines(),), table)
        zero = _cut_zero(mine, last=True)
        own: list[list[Done]] = [[], []]
        begun = False
        for number, line in enumerate(lines):
            done_before = number >= at
            if number not in added and done_before and not begun:
                begun = True
                if not _is_high(machine, zero, self.safe_mm, heights[-1]):
                    return "not up"
            done = machine.do(line)
            if number in added:
                source_z = heights[min(len(own[0]), len(heights) - 1)]
                found = plunges(done, machine, zero, self.safe_mm, at_start=False, source_z=source_z)
                across = any(abs(a - b) > _NEAR for _, _, s, e in done.moves for a, b in zip(s[:2], e[:2], strict=True))
                if found or done.acts or across:
                    return f"{line}: {found or 'acts'}"
                continue
            own[done_before].append(done)
        found = differs(mine, own[0])
        return found or differs(alone, own[1])


def re_ended(line: str) -> str:
    """Return a line without its end."""
    return line.replace("M30", "").replace("M2", "")


@dataclass
class SplitForge:
    """The part of one tool; the parts after it are left as they are, and not proved again."""

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

    @cached_property
    def _before(self) -> ProvingParts:
        """The proof after the parts before, as they were written."""
        whole = self._whole
        source = Read(whole.blocks, whole.modes, whole.path)
        proving = ProvingParts(source, Decimal(self.safe_mm), self._program.units)
        for number in range(self.part):
            prove_part(whole, self._made[number], number, self._made, proving)
        return proving

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
        proving = copy(self._before)
        proving._machine, proving._history = proving._machine.copy(), copy(proving._history)
        return _passes(lambda: prove_part(self._whole, forged, self.part, sections, proving))

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
        return next(filter(None, (self._judged(lines, added, table) for table in range(len(TABLES)))), "")

    @cached_property
    def _whole_runs(self) -> list[tuple[list[float], bool, dict[str, object], list[Done], float]]:
        """For each table where the whole program is before the part, its own lines, and the height it ends at."""
        runs = []
        for table in TABLES:
            alone = Machine(unknown_start(table))
            mine: list[Done] = []
            for line in self.source.splitlines()[: self.section.last]:
                if len(mine) == self.section.first:
                    there, up, before = [*alone.place], alone.up_by_machine, dict(alone.modes)
                mine.append(alone.do(line))
            runs.append((there, up, before, mine[self.section.first :], alone.place[2]))
        return runs

    def _judged(self, lines: list[str], added: list[int], table: int) -> str:
        there, up, before, whole, last = self._whole_runs[table]
        begun = self._begun(lines, added)
        zeros = _cut_zero(whole, last=False), _cut_zero(whole, last=True)
        machine = Machine(TABLES[table])
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
                if not _is_high(machine, zeros[1], self.safe_mm, last):
                    return "ends low"
            done = machine.do(line)
            if number in added:
                zero = zeros[number > begun]
                early = number < begun
                z = there[2] if early else last
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
