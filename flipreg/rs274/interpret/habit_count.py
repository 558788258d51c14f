"""The habits of a whole program, counted chunk after chunk, with the first lines of each."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from flipreg.rs274.read.habit import Habit, Noticed

if TYPE_CHECKING:
    from flipreg.rs274.interpret.subprograms import Step
    from flipreg.rs274.interpret.whole import Whole

__all__ = ["HabitCount", "habits_of"]

_MOST_LINES = 6
"""Lines that a note names (chosen)."""


class HabitCount:
    """Counts the habits of a program, chunk after chunk, and remembers the first lines of each."""

    def __init__(self) -> None:
        self._count: dict[Habit, int] = {}
        self._lines: dict[Habit, list[int]] = {}
        self._run_again: set[tuple[Habit, int]] = set()

    def add_step(self, step: "Step") -> None:
        """Count those of a step; what a subprogram's lines have themselves was counted where they stand."""
        if not step.depth:
            self.add(step.blocks.habits)
        self.add(step.modes.habits, called=bool(step.depth))

    def add(self, noticed: Iterable[Noticed], *, called: bool = False) -> None:
        """Count those that are said; `called` for lines of subprograms, which run more than once and count once."""
        for each in noticed:
            habit, lines = each.habit, each.line
            if not habit.value.is_said:
                continue
            if called:
                new = [line for line in lines.tolist() if (habit, line) not in self._run_again]
                self._run_again.update((habit, line) for line in new)
                lines = np.array(new, np.int64)
            if len(lines):
                self._count[habit] = self._count.get(habit, 0) + len(lines)
                first = self._lines.setdefault(habit, [])
                first += lines[: _MOST_LINES - len(first)].tolist() if len(first) < _MOST_LINES else []

    def found(self) -> list[tuple[int, str]]:
        """Return the first line of each habit and what is to be said of it, in the order of the lines."""
        said = [
            (lines[0], habit.sentence + (f" ({self._lines_of(habit)})" if len(lines) > 1 else ""))
            for habit, lines in self._lines.items()
        ]
        return sorted(said)

    def sentences(self) -> tuple[str, ...]:
        """Return what is to be said of each habit with its lines, in the order of the lines."""
        order = sorted(self._lines, key=lambda habit: self._lines[habit])
        return tuple(f"{habit.sentence} ({self._lines_of(habit)})" for habit in order)

    def _lines_of(self, habit: Habit) -> str:
        count, lines = self._count[habit], self._lines[habit]
        if count == 1:
            return f"line {lines[0]}"
        more = f" and {count - len(lines)} more" if count > len(lines) else ""
        return f"lines {', '.join(map(str, lines))}{more}"


def habits_of(whole: "Whole") -> tuple[str, ...]:
    """Return what is to be said of each habit of a program, in the order of the lines."""
    habits = HabitCount()
    habits.add(whole.blocks.habits)
    habits.add(whole.modes.habits)
    return habits.sentences()
