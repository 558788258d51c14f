"""What to say of the places that became zero, and of the other traverses that lead there."""

from collections.abc import Sequence

import numpy as np

from flipreg.path import Kind, Path
from flipreg.rewrite.shop.instead import Stop

__all__ = ["OtherVisits", "became_zero"]

_SAME = 1e-6
_MOST_LINES = 3
"""More lines than these are counted and not named (chosen)."""


def became_zero(stops: Sequence[Stop]) -> list[str]:
    """Return a sentence for each place."""
    return [
        f"{_place(at)} became X0 Y0 in {_lines([stop.line for stop in stops if stop.at_mm == at])}: the program did "
        "nothing there"
        for at in dict.fromkeys(stop.at_mm for stop in stops)
    ]


class OtherVisits:
    """Looks, chunk after chunk, which other traverses of a source lead to the places that became zero."""

    def __init__(self, stops: Sequence[Stop]) -> None:
        self._found: dict[tuple[float, float], list[int]] = {stop.at_mm: [] for stop in stops}
        self._own = [stop.line for stop in stops]

    def add(self, path: Path) -> None:
        """Look at the source's next motions."""
        for at, lines in self._found.items():
            is_there = (np.abs(path.end[:, :2] - np.array(at)) <= _SAME).all(axis=1) & (path.kind == Kind.RAPID)
            came = (path.end[:, :2] != path.start[:, :2]).any(axis=1) & ~np.isin(path.line, self._own)
            lines.extend(path.line[is_there & came].tolist())

    def notes(self) -> tuple[str, ...]:
        """Return what to say of them: they are the source's own, and stay."""
        return tuple(
            f"{_lines(lines)} still {'lead' if len(lines) > 1 else 'leads'} to {_place(at)}, between the start and the "
            "end; see that nothing stands there"
            for at, lines in self._found.items()
            if lines
        )


def _place(at_mm: tuple[float, float]) -> str:
    return " ".join(f"{letter}{value:.6g}" for letter, value in zip("XY", at_mm, strict=True))


def _lines(lines: Sequence[int]) -> str:
    if len(lines) == 1:
        return f"line {lines[0]}"
    if len(lines) > _MOST_LINES:
        return f"lines {', '.join(map(str, lines[:_MOST_LINES]))} and {len(lines) - _MOST_LINES} more"
    return f"lines {', '.join(map(str, lines[:-1]))} and {lines[-1]}"
