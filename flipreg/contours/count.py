"""How many closed contours a program has that a mirror runs the other way round, in bounded memory."""

import numpy as np

from flipreg.contours.contour import comes_back, contour_rows
from flipreg.contours.unturned import Why, find_unturned
from flipreg.path import Path

__all__ = ["ContourCount", "Tally", "counted"]

_FEW = 6
"""Contours whose lines are kept (chosen)."""
_MOST_ROWS = 50_000
"""Motions that are looked at together (chosen)."""


class Tally:
    """How many contours there are, and the first and last line of the first few."""

    def __init__(self) -> None:
        self.count = 0
        self.lines: list[tuple[int, int]] = []

    def add(self, first_line: int, last_line: int) -> None:
        """Count one more."""
        self.add_all([(first_line, last_line)], 1)

    def add_all(self, lines: list[tuple[int, int]], count: int) -> None:
        """Count so many more, of which the lines of the first few at least are named."""
        self.count += count
        self.lines += lines[: _FEW - len(self.lines)]

    def __str__(self) -> str:
        """Return the lines as a person reads them: `3-9, 12 and 4 more`."""
        shown = ", ".join(str(first) if first == last else f"{first}-{last}" for first, last in self.lines)
        return shown + (f" and {self.count - len(self.lines)} more" if self.count > len(self.lines) else "")


def counted(count: int) -> str:
    """Return a number of contours in words."""
    return f"{count} closed contour{'s' * (count > 1)}"


class ContourCount:
    """Counts the contours of a program, chunk after chunk.

    Attributes
    ----------
    turnable : Tally
        Those that can be run the other way round.
    unturned : mapping from Why to Tally
        Those that can't be.
    """

    def __init__(self) -> None:
        self.turnable = Tally()
        self.unturned = {why: Tally() for why in Why}
        self._waiting: list[Path] = []

    def add(self, path: Path) -> None:
        """Look at the next motions."""
        self._waiting.append(path)
        if sum(map(len, self._waiting)) <= _MOST_ROWS:
            return
        # No contour goes on after a traverse at full height, but for one with tabs that are crossed up there.
        path = Path.concatenate(self._waiting)
        height = np.where(path.is_cut | np.isnan(path.end[:, 2]), -np.inf, path.end[:, 2])
        end = len(path) - int(np.argmax(height[::-1]))
        if 2 * end < len(path):
            end = len(path) - int(np.argmin(path.is_cut[::-1]))
        if 2 * end < len(path):
            end = len(path)
        self._look(path.take(slice(0, end)))
        self._waiting = [path.take(slice(end, len(path)))]

    def finish(self) -> None:
        """Look at what waits for more."""
        if self._waiting:
            self._look(Path.concatenate(self._waiting))
            self._waiting.clear()

    def notes(self) -> tuple[str, ...]:
        """Say which closed contours a mirror has run the other way round, when all motions were looked at."""
        notes = []
        changed = "changed direction, climb to conventional or back"
        if self.turnable.count:
            notes.append(f"{counted(self.turnable.count)} {changed}: lines {self.turnable}; --keep-climb keeps it")
        for why, tally in self.unturned.items():
            if tally.count:
                what = f"{counted(tally.count)} {changed}, and --keep-climb can't keep it"
                notes.append(f"{what}, because {why.value}: lines {tally}")
        return tuple(notes)

    def _look(self, path: Path) -> None:
        if not comes_back(path):
            return
        first, last = contour_rows(path)
        few = zip(path.line[first[:_FEW]].tolist(), path.line[last[:_FEW]].tolist(), strict=True)
        self.turnable.add_all([*few], len(first))
        unturned = find_unturned(path, first, last)
        for why, tally in self.unturned.items():
            found = [each for each in unturned if each.why is why]
            tally.add_all([(each.first_line, each.last_line) for each in found[:_FEW]], len(found))
