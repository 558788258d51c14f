"""What is to be known of the part once all programs have run: openings, thin places, tabs.

The part's outline and the way of its profile are given; which wood is there comes from the dexels alone.
"""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage

from tests.dexels.pieces import label
from tests.dexels.wood import Wood

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Opening:
    area_mm2: float
    at: tuple[float, float]
    cells: frozenset[tuple[float, float]]

    def covers(self, place: tuple[float, float], grid: float) -> bool:
        """Whether a place lies in it, or within a cell of it."""
        return any(math.dist(place, cell) < 1.5 * grid for cell in self.cells)


@dataclass(frozen=True)
class Tab:
    at: tuple[float, float]
    width: float
    thickness: float
    section_mm2: float


def inside(wood: Wood, region: shapely.Polygon, shrunk: float = 0.0) -> Mask:
    """Cells whose centres lie in a region, made smaller by `shrunk`."""
    smaller = region.buffer(-shrunk)
    shapely.prepare(smaller)
    x, y = np.meshgrid(wood.x, wood.y)
    return np.asarray(shapely.contains_xy(smaller, x, y))


def openings(wood: Wood, part: shapely.Polygon) -> list[Opening]:
    """Places in the part where no wood is left, the largest first; what lies within a cell of its edge is the edge."""
    empty = inside(wood, part, 1.5 * wood.grid) & ~wood.there
    names, count = ndimage.label(empty, structure=np.ones((3, 3)))
    found = []
    for name in range(1, count + 1):
        rows, columns = np.nonzero(names == name)
        at = float(wood.x[columns].mean()), float(wood.y[rows].mean())
        cells = frozenset(zip(wood.x[columns].tolist(), wood.y[rows].tolist(), strict=True))
        found.append(Opening(len(rows) * wood.grid**2, at, cells))
    return sorted(found, key=lambda opening: -opening.area_mm2)


def thinnest_web(wood: Wood, part: shapely.Polygon) -> float | None:
    """Least wood of the part between a cut from the front and one from the back; None where none are opposite."""
    both = inside(wood, part, 1.5 * wood.grid) & wood.there
    both &= (wood.high < -1e-6) & (wood.low > -wood.thickness + 1e-6)
    return float(wood.left[both].min()) if both.any() else None


def thinnest_wood(wood: Wood, part: shapely.Polygon) -> float:
    """Least thickness that is left anywhere in the part, openings aside."""
    there = inside(wood, part, 1.5 * wood.grid) & wood.there
    return float(wood.left[there].min()) if there.any() else 0.0


def tabs(wood: Wood, part: shapely.Polygon, kerf: tuple[float, float]) -> list[Tab]:
    """Wood that reaches across the kerf, from the part to the rest, each with its weakest section.

    The kerf is the band at these distances from the part's edge where both faces are cut, or one is cut through.
    Sections are looked for along lines of equal distance from the edge, sampled four times a cell.
    """
    band = inside(wood, part.buffer(kerf[1])) & ~inside(wood, part.buffer(kerf[0]))
    names = label(_only(wood, band))
    widths: dict[int, list[tuple[float, float, float]]] = {}
    aways = np.linspace(kerf[0] + wood.grid, kerf[1] - wood.grid, 12)
    for away in aways:
        line = shapely.get_coordinates(shapely.segmentize(part.buffer(away).exterior, wood.grid / 4))
        middle, steps = (line[1:] + line[:-1]) / 2, np.hypot(*np.diff(line, axis=0).T)
        rows, columns = wood.cell(middle[:, 0], middle[:, 1])
        here, left = names[rows, columns], wood.left[rows, columns]
        for name in np.unique(here[here >= 0]):
            some = here == name
            section = float(steps[some].sum()), float(left[some].max()), float((left * steps)[some].sum())
            widths.setdefault(int(name), []).append(section)
    found = []
    for name, sections in widths.items():
        if len(sections) < len(aways):
            continue
        rows, columns = np.nonzero(names == name)
        at = float(wood.x[columns].mean()), float(wood.y[rows].mean())
        found.append(Tab(at, *(min(column) for column in zip(*sections, strict=True))))
    return found


def _only(wood: Wood, mask: Mask) -> Wood:
    some = wood.copy()
    some.high[~mask] = some.low[~mask]
    return some
