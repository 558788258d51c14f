"""What a setup cuts, as lines to be drawn: the edges of profiles, pockets and slots, and holes."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import Face, FaceProgram
from flipreg.program.setup_face import SetupFace
from flipreg.register.faces.chords import cutting_rows, wood_top
from flipreg.register.faces.features import face_features
from flipreg.register.faces.outline import Outline
from flipreg.register.placing.silhouette import silhouette

if TYPE_CHECKING:
    import shapely

__all__ = ["FaceEdges", "edges_of_cells", "face_edges", "program_edges"]

Floats = NDArray[np.float64]

_CHORD_MM = 0.05
"""How far an arc may stand off its drawn chords, in millimetres (chosen): on paper about a fiftieth of one."""
_LEAST_HOLE_MM = 2.0
_GROWN_MM = 5.0
"""Passes up to twice this far apart are drawn as one region; millimetres (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class FaceEdges:
    """Lines and holes of one setup, X and Y of the section, as seen from the front.

    Attributes
    ----------
    lines : tuple of float64 arrays, shape (n, 2)
        Closed edges that the tools leave.
    holes_mm : float64, shape (n, 2)
        Centres of the holes.
    diameters_mm : float64, shape (n,)
        Their diameters, NaN where the tool is not known.
    """

    lines: tuple[Floats, ...]
    holes_mm: Floats
    diameters_mm: Floats

    @property
    def all_lines(self) -> tuple[Floats, ...]:
        """The edges, and a circle for each hole; where its diameter is not known, as small as can be seen."""
        turns = np.linspace(0.0, 2 * np.pi, 33)
        circle = np.stack([np.cos(turns), np.sin(turns)], axis=1)
        radii = np.nan_to_num(self.diameters_mm, nan=_LEAST_HOLE_MM) / 2
        holes = (at + radius * circle for at, radius in zip(self.holes_mm, radii, strict=True))
        return (*self.lines, *holes)


def face_edges(face: SetupFace) -> FaceEdges:
    """Return what a setup cuts, thinned to what a drawing can show.

    Of programs that the job names as profiles both edges of the groove are drawn, of the others the edges of closed
    contours.
    """
    features = face_features(face.programs)
    seen = face.seen_from_above
    profiles = {index for index, named in enumerate(face.setup.programs) if named.profile}
    swept = [part for index in sorted(profiles) for part in face.programs[index].by_tool()]
    lines = [line for part in swept for line in _swept(part, seen)]
    edges = [one for one in features.outlines if features.of_program[one.program] not in profiles]
    lines += [line for outline in edges for line in _edge(outline, seen)]
    return FaceEdges(tuple(lines), seen.apply(features.holes.centre_mm), features.holes.diameter_mm)


def program_edges(programs: Face, seen: Isometry) -> FaceEdges:
    """Return what the programs of a face cut: the edges of closed contours, else the silhouette, and the holes.

    Parameters
    ----------
    programs : sequence of FaceProgram
        Of one face.
    seen : Isometry
        Maps their frame to that of the drawing.
    """
    features = face_features(programs)
    lines = [line for outline in features.outlines for line in _edge(outline, seen)]
    if not lines and not features.is_empty:
        known = all(radius is not None for radius in features.radius_mm)
        widest = max((radius or 0.0 for radius in features.radius_mm), default=0.0)
        ring = silhouette(features, max(_GROWN_MM, widest), use_tools=known)
        lines = [] if ring is None else [seen.apply(ring)]
    return FaceEdges(tuple(lines), seen.apply(features.holes.centre_mm), features.holes.diameter_mm)


def edges_of_cells(cells: NDArray[np.bool_], grid: Grid) -> tuple[Floats, ...]:
    """Return lines round regions of cells, through the middles between them and the others, in the grid's frame."""
    from contourpy import LineType, contour_generator

    # A frame of other cells closes the lines of regions that reach the edge of the grid.
    framed = np.pad(cells.astype(np.float32), 1)
    lines = contour_generator(z=framed, line_type=LineType.Separate).lines(0.5)
    first = np.array([grid.x_mm - grid.step_mm, grid.y_mm - grid.step_mm])
    return tuple(first + grid.step_mm * np.asarray(line, dtype=np.float64) for line in lines)


def _edge(outline: Outline, seen: Isometry) -> Iterator[Floats]:
    """Yield the edge that a contour leaves: beside the way of the tool's centre, by its radius."""
    import shapely

    ring = shapely.Polygon(outline.loop.points_mm)
    radius_mm = outline.edge_radius_mm or 0.0
    edge = shapely.buffer(shapely.make_valid(ring), outline.side.value * radius_mm)
    yield from _rings(edge if not edge.is_empty else ring, seen)


def _swept(program: FaceProgram, seen: Isometry) -> Iterator[Floats]:
    """Yield both edges of the region that a program's tool passes in the wood."""
    from flipreg.cut.outline import outline

    rows = cutting_rows(program.path, wood_top(program.path))
    across = np.hypot(*(program.path.end[:, :2] - program.path.start[:, :2]).T) > 0.0
    path = program.path.take(np.flatnonzero(rows & (across | program.path.is_arc)))
    radius_mm = program.tool_diameter_mm / 2 if program.tool_diameter_mm else 0.0
    if len(path) and radius_mm > 0.0:
        yield from _rings(outline(path, radius_mm, chord_mm=_CHORD_MM), seen)


def _rings(region: "shapely.Geometry", seen: Isometry) -> Iterator[Floats]:
    import shapely

    for polygon in shapely.get_parts(shapely.simplify(region, _CHORD_MM)):
        if isinstance(polygon, shapely.Polygon):
            for ring in (polygon.exterior, *polygon.interiors):
                yield seen.apply(shapely.get_coordinates(ring))
