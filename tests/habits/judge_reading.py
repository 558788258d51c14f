"""Whether `flipreg` reads a program with habits as the outsider does, and tells of each habit where it stands."""

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import flipreg
from tests.habits.random_habits import PASSIVE, RandomProgram, Sprinkled
from tests.habits.slow_compare import against_path, apart
from tests.habits.slow_places import Motion
from tests.habits.slow_reader import motions

__all__ = ["faults_of_reading"]

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "language.md"
ROW = re.compile(r"^\| ([a-z-]+) \| (.*) \| (.*) \| (yes|no) \| (.*) \|$", re.MULTILINE)
NEVER_READ = "unread-text"
"""The one habit that the report has too."""


def _without_side_of_parks(motion: Motion) -> Motion:
    """Return a motion without the side of compensation, if it leads to a place of the machine.

    There the report wants G40 before it, and people have it after it.
    """
    parks = any(place.base.startswith(("home", "machine")) for place in motion.end)
    return replace(motion, side=0) if parks else motion


@cache
def _table() -> dict[str, tuple[str, bool, str]]:
    """Return, for each habit of the page, what is told of it, whether it is, and what `--strict` says."""
    rows = ROW.findall(PAGE.read_text(encoding="utf-8").replace("`", ""))
    return {code: (f"{found}: {read}", said == "yes", f"{found}, which") for code, found, read, said, _ in rows}


def faults_of_reading(program: RandomProgram) -> Iterator[str]:
    """Yield what is read, told or refused otherwise than it should be."""
    plain = motions(program.plain)
    found = map(_without_side_of_parks, motions(program.text, passive=PASSIVE))
    expected = map(_without_side_of_parks, plain)
    wrong = apart([*expected], [*found], within_mm=program.loose_mm, has_lines=False)
    if wrong is not None:
        yield f"the outsider reads another program without the habits: {wrong}"
    read = flipreg.parse(program.text, source="habits.nc", passive=PASSIVE)
    for switch in flipreg.BlockDelete:
        is_on = switch is flipreg.BlockDelete.ON
        path = flipreg.interpret(read, block_delete=switch)
        wrong = against_path(motions(program.text, is_switch_on=is_on, passive=PASSIVE), path)
        if wrong is not None:
            yield f"interpret with the switch {switch.value}: {wrong}"
    wrong = against_path(plain, flipreg.interpret(flipreg.parse(program.plain, source="plain.nc", strict=True)))
    if wrong is not None:
        yield f"interpret, without the habits: {wrong}"
    yield from _faults_of_telling(read, program)
    yield from _faults_of_strict_reading(program)


def _faults_of_telling(read: flipreg.Program, program: RandomProgram) -> Iterator[str]:
    """Yield habits that are told wrongly: each once, at its first line, and none that isn't there."""
    told = {each.message: each.line for each in flipreg.bounds(read).findings if each.check == "habit"}
    for habit, (sentence, is_told, _) in _table().items():
        lines = [each.line for each in program.sprinkled if each.habit == habit]
        found = [line for message, line in told.items() if message.startswith(sentence)]
        if bool(lines and is_told) != bool(found):
            yield f"{habit} in lines {lines} is told at lines {found}"
        elif found and min(lines) not in (0, *found):
            yield f"{habit} in lines {lines} is told at line {found}"


def _faults_of_strict_reading(program: RandomProgram) -> Iterator[str]:
    """Yield what is wrong with the error of `strict`: it is of the first habit, at its word."""
    marks = [each for each in program.sprinkled if each.habit != NEVER_READ]
    try:
        flipreg.interpret(flipreg.parse(program.text, source="habits.nc", strict=True))
    except flipreg.ProgramError as error:
        if not marks:
            yield f"strict: {error}"
        elif all(each.line for each in marks):
            yield from _faults_of_place(error, marks)
        return
    if marks:
        yield f"strict takes {marks}"


def _faults_of_place(error: flipreg.ProgramError, marks: list[Sprinkled]) -> Iterator[str]:
    where = (error.location.line, error.location.column)
    first = min((each.line, each.column) for each in marks)
    expected = [_table()[each.habit][2] for each in marks if (each.line, each.column) == first]
    if where != first:
        yield f"strict: {first} is expected ({', '.join(expected)}): {error}"
    elif not any(error.message.replace("`", "").startswith(complaint) for complaint in expected):
        yield f"strict: {expected} is expected: {error}"
