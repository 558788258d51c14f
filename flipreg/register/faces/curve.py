"""A closed edge that points can be compared with: nearest places, and where nothing is known."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from flipreg.register.faces.loop import Loop
from flipreg.register.faces.nearest_chord import NearestChord

__all__ = ["Curve"]

Floats = NDArray[np.float64]

_LEVEL_MM = 0.0005
"""Corners closer to the chord of their neighbours than this are left out, in millimetres (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A ring, with points sampled on it and an index of its chords.

    Attributes
    ----------
    ring_mm : float64, shape (n + 1, 2)
        Corners; the last one repeats the first.
    samples_mm : float64, shape (m, 2)
        All corners and points between them, evenly enough to compare the ring by them; without those near a
        gap.
    centroid_mm : float64, shape (2,)
        Centre of the enclosed area.
    area_mm2, length_mm : float
        Of the ring.
    """

    ring_mm: Floats
    samples_mm: Floats
    centroid_mm: Floats
    area_mm2: float
    length_mm: float
    _chords: NearestChord
    _unknown: BaseGeometry | None

    @classmethod
    def of_loop(cls, loop: Loop, side: int, radius_mm: float, widest_mm: float) -> "Curve":
        """Return the edge that a tool going round a loop leaves, as a wider tool could reach it.

        Parameters
        ----------
        loop : Loop
            The way of the tool's centre.
        side : int
            -1 where the part is inside the loop, +1 where it is outside.
        radius_mm : float
            Radius of the tool.
        widest_mm : float
            Radius of the wider one of the two tools that are compared, at least `radius_mm`. Inner corners are
            rounded as it would round them: they differ by the tools, not by where the faces lie.

        Returns
        -------
        Curve
            The loop itself where nothing is left of it when offset: it then agrees with nothing by chance.
        """
        ring = np.concatenate([loop.points_mm[-1:], loop.points_mm])
        polygon = _largest(shapely.make_valid(shapely.Polygon(ring))) or shapely.Polygon(ring)
        edge = _offset(_offset(polygon, -side * (widest_mm - radius_mm)), side * widest_mm)
        unknown = None
        if loop.gap.any():
            # In a gap the contour may bulge from its chord: nothing is known there.
            chords = shapely.linestrings(np.stack([ring[:-1][loop.gap], ring[1:][loop.gap]], axis=1))
            reach = widest_mm + 0.3 * shapely.length(chords)
            unknown = shapely.union_all(shapely.buffer(chords, reach + 0.05))
            shapely.prepare(unknown)
        return cls.of_ring(shapely.get_coordinates(edge.exterior), unknown)

    @classmethod
    def of_ring(cls, ring_mm: Floats, unknown: BaseGeometry | None = None) -> "Curve":
        """Return the curve of a ring whose last corner repeats the first, shape (n + 1, 2)."""
        polygon = shapely.Polygon(ring_mm)
        ring = shapely.get_coordinates(shapely.simplify(polygon.exterior, _LEVEL_MM))
        if len(ring) < 4:
            ring = ring_mm
        spacing = float(np.clip(polygon.length / 1500.0, 0.2, 4.0))
        samples = shapely.get_coordinates(shapely.segmentize(shapely.LinearRing(ring), spacing))[:-1]
        if unknown is not None:
            known = ~shapely.intersects_xy(unknown, samples)
            samples = samples[known]
        centroid = shapely.get_coordinates(shapely.centroid(polygon))[0]
        area, length = float(polygon.area), float(polygon.length)
        return cls(ring, samples, centroid, area, length, NearestChord(ring), unknown)

    def nearest(self, points_mm: Floats) -> tuple[Floats, Floats, NDArray[np.bool_]]:
        """Return the nearest places of the ring.

        Parameters
        ----------
        points_mm : array, shape (n, 2)
            Positions in the frame of the ring.

        Returns
        -------
        foot_mm : array, shape (n, 2)
            The nearest points of the ring.
        direction : array, shape (n, 2)
            Unit vectors along the ring there.
        is_known : bool array, shape (n,)
            False where the place lies in or near a gap.
        """
        which = self._chords.of(points_mm)
        start, end = self.ring_mm[which], self.ring_mm[which + 1]
        along = end - start
        length = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-12)
        direction = along / length[:, np.newaxis]
        share = np.clip(((points_mm - start) * direction).sum(axis=1), 0.0, length)
        foot = start + share[:, np.newaxis] * direction
        known = np.ones(len(points_mm), np.bool_)
        if self._unknown is not None:
            known = ~shapely.intersects_xy(self._unknown, foot)
        return foot, direction, known


def _largest(geometry: BaseGeometry | None) -> shapely.Polygon | None:
    """Return the polygon of largest area among the parts, None where there is none."""
    if geometry is None:
        return None
    parts = [part for part in shapely.get_parts(geometry) if isinstance(part, shapely.Polygon)]
    if not parts:
        parts = [
            part
            for outer in shapely.get_parts(geometry)
            for part in shapely.get_parts(outer)
            if isinstance(part, shapely.Polygon)
        ]
    return max(parts, key=lambda part: part.area, default=None)


def _offset(polygon: shapely.Polygon, distance_mm: float) -> shapely.Polygon:
    """Return the polygon grown or shrunk, itself where nothing would be left.

    64 chords a quarter turn keep the corners of a 3 mm tool true to 0.0003 mm.
    """
    if distance_mm == 0.0:
        return polygon
    return _largest(polygon.buffer(distance_mm, quad_segs=64)) or polygon
