"""How many closed contours a program has that a mirror runs the other way round, in bounded memory."""

import numpy as np
from numpy.typing import NDArray

from flipreg.contours.contour import comes_back, contour_rows
from flipreg.contours.unturned import Why, unturned_lines
from flipreg.path import Path

__all__ = ["ContourCount", "Tally", "counted"]

Index = NDArray[np.int64]

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
        self.add_all(np.array([first_line]), np.array([last_line]))

    def add_all(self, first_line: Index, last_line: Index) -> None:
        """Count as many more as there are lines."""
        self.count += len(first_line)
        few = slice(_FEW - len(self.lines))
        self.lines += zip(first_line[few].tolist(), last_line[few].tolist(), strict=True)

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
        self.turnable.add_all(path.line.take(first), path.line.take(last))
        for why, lines in unturned_lines(path, first, last).items():
            self.unturned[why].add_all(*lines)
