"""Random programs, each written twice: as the report wants it, and with habits sprinkled in.

A program is a head, one or more tools with the sections that they cut, and an end. Every line of it is known as the
report would write it; a `Hand`, which is drawn once a program, says which habits the one who wrote it has. What was
sprinkled is known with its line and column, so that a reader can be asked for it.
"""

import random
from dataclasses import dataclass

from tests.habits.random_framing import framed
from tests.habits.random_hand import Hand, Lines
from tests.habits.random_head import ending, head, tool_change
from tests.habits.random_sections import section

__all__ = ["PASSIVE", "RandomProgram", "Sprinkled", "random_program"]

PASSIVE = ("M25", "M62", "G187")
"""The codes of the machine's own that random programs may have."""


@dataclass(frozen=True)
class Sprinkled:
    """A habit and where it stands; line 0 where it is the whole file's."""

    habit: str
    line: int
    column: int


@dataclass(frozen=True)
class RandomProgram:
    """One program twice, and how far the two may be apart where arcs were rounded."""

    text: bytes
    plain: bytes
    sprinkled: tuple[Sprinkled, ...]
    loose_mm: float
    tools: int


def random_program(seed: int) -> RandomProgram:
    """Return the program of a seed, always the same."""
    rng = random.Random(seed)
    lines = Lines(rng, Hand.drawn(rng))
    head(lines)
    tools = rng.choice([1, 1, 2, 3])
    for number in rng.sample(range(1, 9), tools):
        tool_change(lines, number)
        for _ in range(rng.randint(1, 3)):
            section(lines)
    ending(lines)
    text, found = framed(rng, lines.hand, lines.with_habits)
    plain = ("\n".join(lines.plain) + "\n").encode("latin-1")
    return RandomProgram(text, plain, tuple(Sprinkled(*each) for each in found), lines.loose_mm, tools)
