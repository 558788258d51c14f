"""What still holds a part in its blank: tabs, and how thick they are.

The kerf is the band in which the profile cutter goes round the part, tabs included: where it passes, whatever its
depth. Wood that is left in the kerf and reaches from the part to the blank is a tab. Figures are as good as the
grid: a width is known to about a cell, and cutters grown by `Grid.reach_mm` make it err to the thin side.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.thickness import LEAST_LEFT_MM, BothFaces

__all__ = ["Bridge", "Tab", "bridges"]

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]

_END_SHARE = 0.15
"""Share of the way across a tab that is left out at either end when its weakest section is looked for (chosen)."""
_IN_CELL = np.stack(np.meshgrid(*[(np.arange(5) - 2) / 5] * 2), axis=-1).reshape(-1, 2)
"""Points of a cell, in steps from its centre."""
_LEANS = np.exp(1j * np.radians(np.arange(-40, 41, 5))).tolist()
"""By how much the way across a tab may lean from that between the middles of its ends (chosen)."""


@dataclass(frozen=True, slots=True)
class Tab:
    """One bridge between part and blank.

    Attributes
    ----------
    at_mm : (x, y)
        Middle of it, in the frame of the grid.
    direction_deg : float
        The way from the part to the blank, counter-clockwise from +X, -180 to 180.
    width_mm : float
        Width where it is narrowest, across that way.
    thickness_mm : float
        Of the area of its weakest section over that width; less where most of its wood there, or most of the weakest
        section, is thinner.
    thinnest_mm : float
        Least thickness anywhere in it.
    section_mm2 : float
        Their product.
    top_mm, bottom_mm : float
        Highest and lowest Z of its wood, from the front face.
    """

    at_mm: tuple[float, float]
    direction_deg: float
    width_mm: float
    thickness_mm: float
    thinnest_mm: float
    section_mm2: float
    top_mm: float
    bottom_mm: float


@dataclass(frozen=True, slots=True)
class Bridge:
    """A tab and the two pieces of wood that it joins.

    Attributes
    ----------
    tab : Tab
        Its figures; its direction is the way from the first piece to the second.
    one, other : int
        Numbers of the pieces, the smaller first.
    box_mm : (xmin, ymin, xmax, ymax)
        Extent of its cells, and of a cell more on each side.
    """

    tab: Tab
    one: int
    other: int
    box_mm: tuple[float, float, float, float]


def bridges(faces: BothFaces, kerf: Bools, numbers: NDArray[np.int32]) -> tuple[Bridge, ...]:
    """Return the bridges of wood in a kerf, each once, with the pieces that it joins.

    Parameters
    ----------
    faces : BothFaces
        What is left.
    kerf : bool array, shape `grid.shape`
        Cells of the kerf, tabs included.
    numbers : int32 array, shape `grid.shape`
        Of each cell outside the kerf the number of its piece, over 0; 0 elsewhere.
    """
    cells, labels = faces.pieces(without=~kerf).where()
    contacts = _contacts(cells, labels, numbers, faces)
    pairs, count = np.unique(contacts, axis=0, return_counts=True)
    found = []
    for number in np.unique(pairs[:, 0]).tolist():
        mine = pairs[:, 0] == number
        if int(mine.sum()) < 2:
            continue
        # Of more than two pieces, those that it touches along the most cells.
        most = np.sort(pairs[mine, 1][np.argsort(-count[mine], kind="stable")[:2]])
        window, mine_there = _window(cells[labels == number], faces.grid.shape)
        part = faces.window(window)
        in_x, in_y = part.joints()
        inner, outer = (_beside(mine_there, numbers[window] == piece, in_x, in_y) for piece in most)
        low, high = part.grid.xs_mm[[0, -1]], part.grid.ys_mm[[0, -1]]
        box_mm = float(low[0]), float(high[0]), float(low[1]), float(high[1])
        found.append(Bridge(_tab(part, mine_there, inner, outer), int(most[0]), int(most[1]), box_mm))
    return tuple(found)


def _contacts(
    cells: NDArray[np.intp], labels: NDArray[np.int32], numbers: NDArray[np.int32], faces: BothFaces
) -> NDArray[np.int32]:
    """Return the label of each labelled cell with the number of each neighbour that it hangs together with."""
    row, column = np.divmod(cells, faces.grid.shape[1])
    top, bottom = faces.front_mm[row, column], faces.back_mm[row, column]
    found = []
    for down, across in ((0, 1), (0, -1), (1, 0), (-1, 0)):
        inside = (row + down >= 0) & (row + down < numbers.shape[0])
        inside &= (column + across >= 0) & (column + across < numbers.shape[1])
        beside = row[inside] + down, column[inside] + across
        shared = np.minimum(top[inside], faces.front_mm[beside])
        shared -= np.maximum(bottom[inside], faces.back_mm[beside])
        at = (numbers[beside] > 0) & (shared > np.float32(LEAST_LEFT_MM))
        found.append(np.column_stack([labels[inside][at], numbers[beside][at]]))
    return np.concatenate(found)


def _window(cells: NDArray[np.intp], shape: tuple[int, int]) -> tuple[tuple[slice, slice], Bools]:
    """Return the part of the grid around some cells, with a cell more on each side, and which of it they are."""
    row, column = np.divmod(cells, shape[1])
    rows, columns = (slice(max(0, int(at.min()) - 1), int(at.max()) + 2) for at in (row, column))
    window = rows, slice(columns.start, min(columns.stop, shape[1]))
    there = np.zeros((min(rows.stop, shape[0]) - rows.start, window[1].stop - columns.start), np.bool_)
    there[row - rows.start, column - columns.start] = True
    return window, there


def _beside(mine: Bools, others: Bools, joined_x: Bools, joined_y: Bools) -> Bools:
    """Return which of some cells hang together with one of the others."""
    out = np.zeros_like(mine)
    out[:, 1:] |= mine[:, 1:] & others[:, :-1] & joined_x
    out[:, :-1] |= mine[:, :-1] & others[:, 1:] & joined_x
    out[1:] |= mine[1:] & others[:-1] & joined_y
    out[:-1] |= mine[:-1] & others[1:] & joined_y
    return out


def _tab(faces: BothFaces, cells: Bools, inner: Bools, outer: Bools) -> Tab:
    grid = faces.grid
    rows, columns = np.nonzero(cells)
    places = grid.centres_mm(rows, columns)
    left = faces.left_mm[cells].astype(np.float64)
    way = grid.centres_mm(*np.nonzero(outer)).mean(axis=0) - grid.centres_mm(*np.nonzero(inner)).mean(axis=0)
    length = float(np.hypot(*way))
    # Where both sides have one middle, as round a part held all round, no way is better than another.
    way = way / length if length > 0.0 else np.array([1.0, 0.0])
    width, section, thickness = _weakest(places, left, (inner[cells], outer[cells]), way, grid.step_mm)
    middle = places.mean(axis=0)
    return Tab(
        at_mm=(float(middle[0]), float(middle[1])),
        direction_deg=float(np.degrees(np.arctan2(way[1], way[0]))),
        width_mm=width,
        thickness_mm=thickness,
        thinnest_mm=float(left.min()),
        section_mm2=section,
        top_mm=float(faces.front_mm[cells].max()),
        bottom_mm=float(faces.back_mm[cells].min()),
    )


def _weakest(
    places: Floats, left: Floats, sides: tuple[Bools, Bools], way: Floats, step: float
) -> tuple[float, float, float]:
    """Return width, area and thickness of the section with the least area between the tab's two ends.

    Sections stand square to the way along which the ends are farthest apart: from middle to middle a way may lean, as
    on curved kerfs and beside corners.
    """
    best, ends, turned = -np.inf, (0.0, 0.0), way
    for lean in _LEANS:
        trial = np.array([way[0] * lean.real - way[1] * lean.imag, way[0] * lean.imag + way[1] * lean.real])
        inner, outer = (places[side] @ trial for side in sides)
        between = float(inner.max()), float(outer.min())
        if between[1] - between[0] > best:
            best, ends, turned = between[1] - between[0], between, trial
    if best < step:
        # The ends reach past each other: between their middles, without what a slanted end fills partly.
        begin, stop = (float(np.median(places[side] @ way)) for side in sides)
        rest = _END_SHARE * (stop - begin)
        ends, turned = (begin + rest, stop - rest), way
    return _slice(places @ turned, left, ends, (_IN_CELL * step) @ turned, step)


def _slice(
    along: Floats, left: Floats, ends: tuple[float, float], spread: Floats, step: float
) -> tuple[float, float, float]:
    """Return the least width and the least area of slices two cells thick between two ends, and a thickness.

    Every cell is shared out by points of it, so that a slanted way counts as much of it in each slice as it should.
    Where cuts of both faces end at different places, slices of nearly one area may be wide and thin, or narrow and
    thick: the narrowest is the width that is told. The thickness is that of most of the slice with the least area, and
    of most of the narrowest: a cell at the end of the tab that is thicker adds nothing.
    """
    begin, stop = ends
    layer = step / np.sqrt(len(spread))
    count = max(1, round((stop - begin) / layer) + 1)
    number = np.rint((along[:, np.newaxis] + spread - begin) / layer).astype(np.intp).ravel()
    inside = (number >= 0) & (number < count)
    number, shares = number[inside], np.repeat(left, len(spread))[inside]
    layers = min(count, round(2.0 * step / layer))
    per_point = step * step / len(spread) / (layers * layer)
    width, area = (
        np.convolve(np.bincount(number, weights, count), np.full(layers, per_point), "valid")
        for weights in (np.ones_like(shares), shares)
    )
    narrowest = float(width.min())
    if not narrowest:
        return 0.0, 0.0, 0.0
    most = (
        float(np.median(shares[(number >= first) & (number < first + layers)]))
        for first in (int(area.argmin()), int(width.argmin()))
    )
    thickness = min(float(area.min()) / narrowest, *most)
    return narrowest, narrowest * thickness, thickness
