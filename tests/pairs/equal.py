"""Which placements of the back fit a part as well as the planted one: worked out from the description, by counting.

Everything that is shown lies on whole micrometres, so that whether two things coincide is a question of whole numbers.
"""

from collections import defaultdict
from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from tests.pairs.operations import Operation, Shown
from tests.pairs.placement import EIGHT, Placement

MICRONS = 1000
WIDE = 1 << 31  # micrometres, wider than any move

Places = dict[str, NDArray[np.int64]]


def places(shown: Collection[Shown]) -> Places:
    """Return the places of each name in micrometres, each once."""
    found: dict[str, set[tuple[int, int]]] = defaultdict(set)
    for name, x, y in shown:
        found[name].add((round(x * MICRONS), round(y * MICRONS)))
    return {name: np.array(sorted(points), dtype=np.int64) for name, points in found.items()}


def shown_by(operations: Sequence[Operation]) -> list[Shown]:
    return [shown for operation in operations for shown in operation.shown()]


def common(front: Places, back: Places) -> list[str]:
    return sorted(set(front) & set(back))


def coinciding(front: Places, back: Places, moved: Placement) -> int:
    """Return how much of what the back shows lies on the same of the front, after the back was moved."""
    total = 0
    for name in common(front, back):
        there = np.rint(moved.apply(back[name] / MICRONS) * MICRONS).astype(np.int64)
        total += len(_rows(there) & _rows(front[name]))
    return total


def equal_placements(
    front: Places, back: Places, planted: Sequence[Placement], share: float = 1.0
) -> list[Placement]:  # fmt: skip
    """Return the planted moves of the back, and all after which no less (or a share of it) coincides than after those.

    Only the eight ways round a square are tried. Where nothing is common to both faces it is the planted moves.
    """
    names = common(front, back)
    least = max(coinciding(front, back, moved) for moved in planted)
    if not names or least == 0:
        return list(planted)
    found = list(planted)
    for rows in EIGHT:
        matrix = np.array(rows, dtype=np.int64).reshape(2, 2)
        apart = np.vstack([
            (front[name][:, None, :] - (back[name] @ matrix.T)[None, :, :]).reshape(-1, 2) for name in names
        ])  # fmt: skip
        # One number a move: whole numbers sort many times faster than rows.
        moves, votes = np.unique(apart[:, 0] * WIDE + apart[:, 1] + WIDE // 2, return_counts=True)
        for move in moves[votes >= share * least]:
            dx, dy = int(move) // WIDE, int(move) % WIDE - WIDE // 2
            xx, xy, yx, yy = (float(value) for value in rows)
            found.append(Placement(xx, xy, yx, yy, dx / MICRONS, dy / MICRONS))
    return found


def keeps(shown: Places, moved: Placement) -> bool:
    """Return whether a move brings all that is shown to where the same was."""
    return all(
        _rows(np.rint(moved.apply(points / MICRONS) * MICRONS).astype(np.int64)) == _rows(points)
        for points in shown.values()
    )


def _rows(points: NDArray[np.int64]) -> set[tuple[int, int]]:
    return {(int(x), int(y)) for x, y in points}
