"""Pieces of wood: a flood fill over the dexels.

Two neighbouring cells hang together if they share a side and some height.
A piece is held if it lies under a clamp; where no clamp is known, the piece with most of the blank's border is.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from tests.dexels.wood import NOTHING, Wood

Labels = NDArray[np.int64]


@dataclass(frozen=True)
class Piece:
    label: int
    area_mm2: float
    at: tuple[float, float]
    cell: tuple[int, int]


def label(wood: Wood) -> Labels:
    """Return the piece that each cell belongs to, -1 where there is no wood."""
    there = wood.there
    number = np.arange(there.size).reshape(there.shape)
    pairs = []
    for first, second in (((slice(None), slice(None, -1)), (slice(None), slice(1, None))),
                          ((slice(None, -1), slice(None)), (slice(1, None), slice(None)))):
        shared = np.minimum(wood.high[first], wood.high[second]) - np.maximum(wood.low[first], wood.low[second])
        hang = (shared > NOTHING) & there[first] & there[second]
        pairs.append(np.array([number[first][hang], number[second][hang]]))
    edges = np.concatenate(pairs, axis=1)
    graph = coo_array((np.ones(edges.shape[1], dtype=np.int8), (edges[0], edges[1])), shape=(there.size, there.size))
    _, names = connected_components(graph, directed=False)
    return np.where(there, names.reshape(there.shape), -1).astype(np.int64)


def held_label(labels: Labels) -> int:
    border = np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]])
    names, counts = np.unique(border[border >= 0], return_counts=True)
    return int(names[counts.argmax()]) if len(names) else -2


def loose_pieces(wood: Wood, least_mm2: float) -> list[Piece]:
    """Pieces that nothing holds, the largest first; smaller than `least_mm2` is a chip."""
    labels = label(wood)
    held = held_label(labels)
    names, where, counts = np.unique(labels, return_index=True, return_counts=True)
    found = []
    for name, first, count in zip(names, where, counts, strict=True):
        area = float(count) * wood.grid**2
        if name in (-1, held) or area < least_mm2:
            continue
        rows, columns = np.nonzero(labels == name)
        at = float(wood.x[columns].mean()), float(wood.y[rows].mean())
        row, column = np.unravel_index(first, labels.shape)
        found.append(Piece(int(name), area, at, (int(row), int(column))))
    return sorted(found, key=lambda piece: -piece.area_mm2)
