"""Where the way over program zero goes at the start of a program, and how high the tool stands there.

The lines go after the tool, the work offset and the length offset are set, and before the first motion along X or Y: a
height said before would be another one afterwards.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan

from flipreg.rewrite.text.events import Event
from flipreg.rewrite.text.refuse import refusal_in

__all__ = ["BY_MACHINE", "LOST", "START", "HomeStart", "heights_of", "start_of"]

_SAME = 1e-6

START, BY_MACHINE, LOST = "start", "machine", "lost"
"""What is known of a height that is no number: it is where the machine stood, a position of the machine, or nothing."""


@dataclass(frozen=True, slots=True)
class HomeStart:
    """Where the lines go, and what they have to do.

    Attributes
    ----------
    first_line : int
        The line of the first motion along X or Y.
    line : int
        The line before which they go.
    is_home : bool
        None is needed.
    raises : bool
        The tool has to be raised first.
    by_machine : bool
        It goes over zero at a height of the machine.
    inch, incremental : bool
        The modes before that line.
    """

    first_line: int
    line: int
    is_home: bool
    raises: bool
    by_machine: bool
    inch: bool
    incremental: bool


def start_of(events: Sequence[Event], safe_mm: float) -> HomeStart | None:
    """Return where the way over zero goes, None if nothing moves along X or Y.

    Parameters
    ----------
    events : sequence of Event
        The program's, at least up to the first cut that comes after the first motion along X or Y.
    safe_mm : float
        The safe height.

    Raises
    ------
    RefusedError
        If the lines would be a guess.
    """
    number = next((number for number, event in enumerate(events) if event.is_across), None)
    if number is None:
        return None
    across = events[number]
    if across.incremental:
        message = "the first motion is an increment (G91), which the added lines would move"
        raise refusal_in(across.blocks, across.block, message)
    heights = heights_of(events)
    height = heights[number]
    is_high = height == BY_MACHINE or (isinstance(height, float) and height >= safe_mm - _SAME)
    needs_numbers = height != BY_MACHINE
    if needs_numbers and not across.units_known:
        message = "the program moves before it says G20 or G21, so a safe height has no unit; write it, or say --units"
        raise refusal_in(across.blocks, across.block, message)
    place = number
    if not is_high:
        place = _place_of_rise(events, heights, number, safe_mm)
        needs_numbers = heights[place] != BY_MACHINE
    if needs_numbers:
        _check_offsets(events, place, number)
    is_home = is_high and _goes_to_zero(events[number:])
    if not is_home:
        _check_cuts(events, heights)
        if not needs_numbers:
            _check_zero(events, place)
    at = events[place]
    raises, by_machine = not is_high and heights[place] == START, heights[place] == BY_MACHINE
    return HomeStart(across.line, at.line, is_home, raises, by_machine, at.inch_before, at.incremental_before)


def heights_of(events: Sequence[Event]) -> list[float | str]:
    """Return what is known of the height before each event, in the numbers that hold where its motion starts.

    That is a height in millimetres, BY_MACHINE, LOST, or another word while it is where the machine stood.
    """
    height: float | str = START
    found: list[float | str] = []
    for event in events:
        if event.sets_offsets and isinstance(height, float):
            height = LOST
        found.append(height)
        if event.moves and (2 in event.axes or (event.by_machine and not event.axes)):
            z = event.end_mm[2]
            if event.by_machine:
                height = BY_MACHINE if isnan(z) else z
            elif not isnan(z):
                height = z
            elif height != START or not event.is_rapid:
                height = LOST
    return found


def _place_of_rise(events: Sequence[Event], heights: list[float | str], number: int, safe_mm: float) -> int:
    """Return the event before which the lines go where the tool is not high at the first motion across."""
    sets = [at for at in range(number + 1) if events[at].sets_offsets]
    numbers_from = sets[-1] + 1 if sets else 0
    above = _place_above(events, heights, (numbers_from, number), safe_mm)
    if above is not None:
        return above
    for at in range(numbers_from, number):
        event = events[at]
        if event.moves and not event.by_machine and 2 in event.axes:
            if event.is_rapid and not event.incremental and heights[at] == START:
                return at
            break
    if heights[number] == START:
        return number
    event, height = events[number], heights[number]
    if isinstance(height, float):
        found = f"the tool is at Z{height:g} mm where it crosses first, and was not known to be higher in these offsets"
        message = f"{found}; let the program rise to Z{safe_mm:g} on a line after G43, or ask for less height"
    else:
        message = (
            "how high the tool stands is not known where it crosses first; let the program name a Z after its offsets "
            "are set, or rise by the machine (G53 G0 Z0) before"
        )
    raise refusal_in(event.blocks, event.block, message)


def _place_above(
    events: Sequence[Event], heights: list[float | str], numbers: tuple[int, int], safe_mm: float
) -> int | None:
    """Return the last line that comes down from a height that is high before the first motion across, None without one.

    A height of the machine is one whatever is set on that line but the zero of X and Y, so also where it sets the
    length of the tool; a number counts only in the offsets of the first motion across.
    """
    numbers_from, number = numbers
    for at in range(number - 1, -1, -1):
        event, height = events[at], heights[at]
        if event.moves_zero:
            return None
        comes_down = event.moves and not event.by_machine and event.is_rapid and not event.incremental
        in_numbers = isinstance(height, float) and at >= numbers_from and height >= safe_mm - _SAME
        if comes_down and (height == BY_MACHINE or in_numbers):
            return at
    return None


def _check_offsets(events: Sequence[Event], place: int, number: int) -> None:
    """Refuse heights in numbers that mean another height where the program cuts."""
    for event in events[place:]:
        if event.sets_offsets:
            message = (
                "the tool, its length or an offset is set here, after the first motion along X or Y, so that nobody "
                "knows how high the tool is in that motion; set it before, or let the program rise by the machine "
                "(G53 G0 Z0) first"
            )
            raise refusal_in(event.blocks, event.block, message)
        if event.moves and not event.is_rapid and event.line >= events[number].line:
            return


def _check_zero(events: Sequence[Event], place: int) -> None:
    """Refuse a zero that is said where the lines would go, or after them."""
    for event in events[place:]:
        if event.moves_zero:
            message = (
                "the work offset is set here, so that no way over its zero can come before the first motion along X "
                "or Y; set it on a line before that motion"
            )
            raise refusal_in(event.blocks, event.block, message)
        if event.moves and not event.is_rapid:
            return


def _check_cuts(events: Sequence[Event], heights: list[float | str]) -> None:
    """Refuse a cut from where the machine happens to stand: the added lines would make that another place."""
    named: set[int] = set()
    for event, height in zip(events, heights, strict=True):
        if event.moves and not event.is_rapid:
            # A canned cycle goes to its hole by traverse before it cuts.
            there = named | event.axes if event.is_cycle else named
            missing = [letter for axis, letter in enumerate("XY") if axis not in there]
            missing += ["Z"] if height == START and event.axes & {0, 1} and not event.is_cycle else []
            if missing:
                message = (
                    f"this cuts from where the machine happens to stand in {' and '.join(missing)}, which the added "
                    f"lines would change; name {' and '.join(missing)} in a traverse before it"
                )
                raise refusal_in(event.blocks, event.block, message)
        if event.moves:
            named |= event.axes or {0, 1, 2}


def _goes_to_zero(events: Sequence[Event]) -> bool:
    """Return whether the first motions across lead over zero, at one height."""
    reached: set[int] = set()
    for event in events:
        if not event.moves or event.by_machine:
            continue
        if not event.is_rapid:
            return False
        if not event.axes & {0, 1}:
            continue
        if 2 in event.axes and event.end_mm[2] != event.start_mm[2]:
            return False
        if any(not abs(event.end_mm[axis]) <= _SAME for axis in event.axes & {0, 1}):
            return False
        reached |= event.axes & {0, 1}
        if reached == {0, 1}:
            return True
    return False
