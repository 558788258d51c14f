"""Cuts of every shape twice over: as motions for the height map, and as the solid that they sweep.

How far a sum over cells may be off follows from layers: at any depth the cut is a region whose edge is made of convex
closed curves, and only a cell that a curve passes can count wrongly. A convex curve as wide as w and as high as h
passes no more than 2 (w + h) / step + 4 cells of step² each, so the volume is right to

    depth · sum of (2 (w + h) · step + 4 · step²),

the length of the edge times the step times the depth. That holds for the worst place of the grid. For a place at
random the errors of cells are as often positive as negative; if they were independent, each even between plus and minus
half a cell, the root of their mean square would be depth · step² · sqrt(cells / 12). The root mean square of six places
is over twice that once in two thousand times (chi-square, six degrees of freedom).
"""

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.heightmap import height_map_of
from flipreg.cut.surface import CHORD_MM
from flipreg.cut.tool import Cutter
from flipreg.path import Kind, Path
from tests.cut.bruteforce import polyline
from tests.reference.cut.solids import Silhouette, Sweep, plunged, straight, turn, united

__all__ = ["Cut", "arc", "passes", "plunge"]

Floats = NDArray[np.float64]

_PLACES = 6
"""Grids a step is tried on, each shifted by a part of a cell."""


@dataclass(frozen=True)
class Cut:
    """Motions, the solid they sweep, how deep it reaches, and the convex curves at its edge: width and height."""

    paths: tuple[Path, ...]
    cutter: Cutter
    sweep: Sweep
    depth_mm: float
    curves_mm: tuple[tuple[float, float], ...]
    box_mm: tuple[float, float, float, float]
    round_mm: float = 0.0
    """Length of edge that the chords of arcs may shift."""

    def volumes_mm3(self, step_mm: float) -> Floats:
        """Return the volume on grids at several places."""
        shifts = np.random.default_rng(7).uniform(0.0, 1.0, (_PLACES, 2))
        return np.array([self._volume_mm3(step_mm, (float(x), float(y))) for x, y in shifts])

    def worst_mm3(self, step_mm: float) -> float:
        """Return by how much a volume may be off at the worst place of the grid."""
        return self.depth_mm * self._cells(step_mm) * step_mm**2 + self.chords_mm3

    def usual_mm3(self, step_mm: float) -> float:
        """Return the root mean square that six places stay under, if cells were independent."""
        return 2.0 * self.depth_mm * step_mm**2 * math.sqrt(self._cells(step_mm) / 12.0)

    def _volume_mm3(self, step_mm: float, shift: tuple[float, float]) -> float:
        low = self.box_mm[0] - step_mm * (1.0 + shift[0]), self.box_mm[1] - step_mm * (1.0 + shift[1])
        grid = Grid.covering(low, (self.box_mm[2] + step_mm, self.box_mm[3] + step_mm), step_mm)
        heights = height_map_of([(path, self.cutter) for path in self.paths], grid, top_mm=0.0)
        return -float(heights.sum(dtype=np.float64)) * grid.cell_mm2

    def _cells(self, step_mm: float) -> float:
        return sum(2.0 * (w + h) / step_mm + 4.0 for w, h in self.curves_mm)

    @property
    def chords_mm3(self) -> float:
        """By how much the chords of arcs may change the volume."""
        return self.depth_mm * self.round_mm * CHORD_MM


def passes(cutter: Cutter, silhouette: Silhouette, *ways: list[list[float]]) -> Cut:
    """Return straight passes from corner to corner."""
    corners = [np.array(way) for way in ways]
    motions = [(a, b) for way in corners for a, b in pairwise(way)]
    ends = np.concatenate(corners)
    r = cutter.radius_mm
    sizes = [np.abs(b - a)[:2] + 2 * r for a, b in motions]
    low, high = ends[:, :2].min(axis=0) - r, ends[:, :2].max(axis=0) + r
    return Cut(
        paths=tuple(polyline(way) for way in corners),
        cutter=cutter,
        sweep=united([straight(silhouette, a.tolist(), b.tolist()) for a, b in motions]),
        depth_mm=-float(ends[:, 2].min()),
        curves_mm=tuple((float(w), float(h)) for w, h in sizes),
        box_mm=(float(low[0]), float(low[1]), float(high[0]), float(high[1])),
    )


def plunge(cutter: Cutter, silhouette: Silhouette, depth_mm: float) -> Cut:
    """Return one plunge at the origin."""
    r = cutter.radius_mm
    return Cut(
        paths=(polyline(np.array([[0.0, 0.0, 1.0], [0.0, 0.0, -depth_mm]])),),
        cutter=cutter,
        sweep=plunged(silhouette, [0.0, 0.0, -depth_mm]),
        depth_mm=depth_mm,
        curves_mm=((2 * r, 2 * r),),
        box_mm=(-r, -r, r, r),
    )


def arc(cutter: Cutter, silhouette: Silhouette, around_mm: float, angle_deg: float, depth_mm: float) -> Cut:
    """Return an arc about the origin from the direction of +X, counter-clockwise; its ends are the cutter itself."""
    end = math.radians(angle_deg)
    corners = np.array([[1.0, 0.0], [math.cos(end), math.sin(end)]]) * around_mm
    line = polyline(np.column_stack([corners, [-depth_mm, -depth_mm]]))
    path = replace(
        line,
        kind=np.array([Kind.ARC], np.uint8),
        centre=np.array([[0.0, 0.0, -depth_mm]]),
        sweep_deg=np.array([angle_deg]),
    )
    r, far = cutter.radius_mm, around_mm + cutter.radius_mm
    ends = [plunged(silhouette, [*corner, -depth_mm]) for corner in corners]
    swept = turn(silhouette, [0.0, 0.0, -depth_mm], around_mm, angle_deg)
    circles = [2 * far, 2 * (around_mm - r), *([] if angle_deg == 360.0 else [2 * r, 2 * r])]
    return Cut(
        paths=(path,),
        cutter=cutter,
        sweep=swept if angle_deg == 360.0 else united([swept, *ends]),
        depth_mm=depth_mm,
        curves_mm=tuple((size, size) for size in circles),
        box_mm=(-far, -far, far, far),
        round_mm=math.pi * sum(circles),
    )
