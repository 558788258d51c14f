"""What an edit promises, judged line by line on the small machine, for several tables: no proof, and no rewriter."""

from collections.abc import Sequence
from math import isnan, nan

from tests.prove.slow_machine import Done, Machine, Table

__all__ = ["TABLES", "differs", "plunges"]

_NEAR = 1e-4
_ALWAYS = (
    *("plane", "unit", "distance", "centres", "feed mode", "retract", "offset", "length", "cutter", "spindle"),
    *("mist", "flood", "overrides"),
)
_Origins = dict[float, tuple[float, float, float]]
_ORIGINS: tuple[_Origins, ...] = (
    {54: (0.0, 0.0, -80.0), 55: (100.0, 20.0, -95.0), 56: (7.0, 9.0, -40.0)},
    {54: (-300.0, -200.0, -150.0), 55: (-10.0, -20.0, -30.0), 56: (-5.0, 5.0, -400.0)},
)
_LENGTHS: tuple[dict[float, float], ...] = (
    {1: 0.0, 2: 130.0, 3: 20.0, 4: 5.0, 11: 61.0},
    {1: 60.0, 2: 20.0, 3: 130.0, 4: 9.0, 11: 2.0},
)
_STARTS = ((0.0, 0.0, 0.0), (-77.0, 13.0, -210.0), (444.0, -31.0, -60.0))

TABLES = [
    Table(origins, _LENGTHS[(row + column) % 2], start)
    for row, start in enumerate(_STARTS)
    for column, origins in enumerate(_ORIGINS)
]
"""In which every two of the origins, the lengths and the starts meet."""


def unknown_start(table: Table) -> Table:
    """Return the table for a run of which nobody knows where it starts."""
    return Table(table.origins, table.lengths, (nan, nan, nan), table.reference)


def differs(mine: Sequence[Done], made: Sequence[Done]) -> str:
    """Return how the source's own lines do something else in the output, empty if they don't.

    Parameters
    ----------
    mine, made : sequence of Done
        What the source's lines do in its own run, which starts where nobody knows; and what they do in the output.
    """
    if len(mine) != len(made):
        return "lines lost"
    for own, other in zip(mine, made, strict=True):
        if not own.states and not other.states:
            continue
        if not own.states or not other.states:
            return f"{own.text}: run in one only"
        for name in _ALWAYS:
            if own.states[name] != other.states[name]:
                return f"{own.text}: {name}"
        if own.acts != other.acts:
            return f"{own.text}: acts"
        if "M6" in own.acts and own.states["tool"] != other.states["tool"]:
            return f"{own.text}: tool"
        found = _moves_differ(own, other)
        if found:
            return found
    return ""


def _moves_differ(own: Done, other: Done) -> str:
    if len(own.moves) != len(other.moves):
        return f"{own.text}: motions"
    for one, another in zip(own.moves, other.moves, strict=True):
        (cuts, machine, start, end), (others_cut, _, others_start, others_end) = one, another
        if cuts != others_cut:
            return f"{own.text}: kind"
        pairs = [*zip(end, others_end, strict=True), *(zip(start, others_start, strict=True) if cuts else ())]
        if any(abs(a - b) > _NEAR for a, b in pairs if not isnan(a)):
            return f"{own.text}: place"
        if machine and not cuts:
            continue
        names = ["tool", "path", "motion", *(["feed"] if cuts else [])]
        names += ["speed"] if own.states["spindle"] != 5 else []
        for name in names:
            if own.states[name] != other.states[name]:
                return f"{own.text}: {name}"
    return ""


def plunges(
    done: Done, machine: Machine, zero: Sequence[float], safe_mm: float, *, at_start: bool, source_z: float
) -> str:
    """Return what is wrong with the motions of an added line, empty if nothing is.

    Parameters
    ----------
    done : Done
        What the line did.
    machine : Machine
        The machine after it.
    zero : three floats
        Where the numbers' zero is when the source cuts, next or last.
    safe_mm : float
        The safe height over that zero.
    at_start : bool
        Whether nothing has moved across by numbers yet, so that the way up may begin above the safe height.
    source_z : float
        Where the source itself stands.
    """
    if done.text.startswith("/"):
        return "may be skipped"
    for cuts, _, start, end in done.moves:
        if cuts:
            return "cuts"
        up, across = end[2] - start[2], max(abs(end[0] - start[0]), abs(end[1] - start[1]))
        high = end[2] >= zero[2] + safe_mm - _NEAR
        there = not isnan(source_z) and abs(end[2] - source_z) <= _NEAR and machine.up_by_machine
        if abs(up) > _NEAR and across > _NEAR:
            return "goes up or down and across at once"
        if up < -_NEAR and not (at_start and high):
            return "goes down"
        if across > _NEAR and not (high or there):
            return "crosses low"
    return ""
