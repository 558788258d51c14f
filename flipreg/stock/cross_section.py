"""Sections across the finished part at the stations of a job, fine enough to be drawn at true size."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.heightmap import height_map_of
from flipreg.job.layout import Layout
from flipreg.program.setup_face import SetupFace
from flipreg.stock.sections.remaining import RemainingStock, Thickness
from flipreg.stock.sections.section import sections

__all__ = ["CrossSection", "cross_sections"]

Floats = NDArray[np.float64]

_STEP_MM = 0.2
"""Distance of the points of a section (chosen): a printed line is about as wide."""


@dataclass(frozen=True, slots=True, eq=False)
class CrossSection:
    """A section across the part, seen from the near end with the front up.

    Attributes
    ----------
    station : Thickness
        The station it goes through, with what is planned there.
    x_mm : float64, shape (n,)
        Across the part, from its left edge to its right one; the centre line is at 0.
    front_mm, back_mm : float64, shape (n,)
        Heights of both surfaces, 0 on the blank's front.
    """

    station: Thickness
    x_mm: Floats
    front_mm: Floats
    back_mm: Floats

    def thickness_at(self, share: float) -> tuple[float, float]:
        """Return a place across the part, 0 at its left edge and 1 at its right one, and how thick it is there."""
        x_mm = float(self.x_mm[0] + share * (self.x_mm[-1] - self.x_mm[0]))
        return x_mm, float(np.interp(x_mm, self.x_mm, self.front_mm - self.back_mm))


def cross_sections(
    layout: Layout, faces: Sequence[SetupFace], left: Sequence[RemainingStock], stations: Sequence[Thickness]
) -> Iterator[CrossSection]:
    """Yield the section through each station at which the thickness is known and wood is left, in their order.

    Parameters
    ----------
    layout : Layout
        Of the job.
    faces : sequence of SetupFace
        Its setups.
    left : sequence of RemainingStock
        What is left of each section of the blank.
    stations : sequence of Thickness
        The stations.
    """
    cuts = {section.name: section for section in sections(layout, faces)}
    stocks = {stock.name: stock for stock in left}
    for station in stations:
        if not station.left_mm:
            continue
        low_mm, high_mm = _across(layout, stocks[station.section], station)
        count = max(2, round((high_mm - low_mm) / _STEP_MM) + 1)
        grid = Grid(low_mm, station.at_mm[1], (high_mm - low_mm) / (count - 1), (1, count))
        heights = []
        for is_front in (True, False):
            own = [(cut.path, cut.cutter) for cut in cuts[station.section].of(is_front=is_front)]
            heights.append(height_map_of(own, grid, top_mm=0.0)[0].astype(np.float64) if own else np.zeros(count))
        front, back = heights[0], -layout.thickness_mm - heights[1]
        across_mm = low_mm + grid.step_mm * np.arange(count, dtype=np.float64)
        # A cell at the edge may be wood in its middle and none where a section is finer: that is no part of it.
        wood = np.flatnonzero(front > back)
        if len(wood) < 2:
            continue
        part = slice(int(wood[0]), int(wood[-1]) + 1)
        # Where both faces cut through there is no wood, and the surfaces meet.
        yield CrossSection(station, across_mm[part], np.maximum(front, back)[part], back[part])


def _across(layout: Layout, stock: RemainingStock, station: Thickness) -> tuple[float, float]:
    """Return from where to where the part goes at a station: the run of its cells; else the whole blank."""
    grid = stock.grid
    row = int(np.clip(round((station.at_mm[1] - grid.y_mm) / grid.step_mm), 0, grid.shape[0] - 1))
    column = int(np.clip(round((station.at_mm[0] - grid.x_mm) / grid.step_mm), 0, grid.shape[1] - 1))
    outside = np.flatnonzero(~stock.part[row])
    if not stock.part[row, column]:
        return layout.job.blank.x_range_mm
    first = int(outside[outside < column].max(initial=-1)) + 1
    last = int(outside[outside > column].min(initial=grid.shape[1])) - 1
    return grid.x_mm + first * grid.step_mm, grid.x_mm + last * grid.step_mm
