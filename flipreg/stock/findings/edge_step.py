"""The step at the seam of an edge that is cut half from each face: how far the two walls stand apart, all along.

The walls are those of the profile cuts, as lines in the plan: exact, and no matter of any grid. The step at a point of
the front's wall is the distance to the nearest point of the back's.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from flipreg.cut.outline import outline
from flipreg.cut.surface import CHORD_MM
from flipreg.findings import Finding, Status
from flipreg.job.layout import Layout
from flipreg.stock.sections.kerf import Kerf, KerfEdge
from flipreg.stock.sections.section import SectionCuts, section_lead
from flipreg.units import length_text, limit_text, place_text

__all__ = ["EdgeStep", "edge_step", "step_findings"]

Floats = NDArray[np.float64]

_EVERY_MM = 2.0
"""Distance of the points along the edge; millimetres (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class EdgeStep:
    """The step along the edges of one section's pieces.

    Attributes
    ----------
    section : str
        Its name.
    at_mm : float64, shape (n, 2)
        Points of the front's wall along the edge, every 2 mm, in the frame of the section.
    step_mm : float64, shape (n,)
        How far the back's wall is away there; at most the kerf's width, beyond which an edge is cut from one face.
    """

    section: str
    at_mm: Floats
    step_mm: Floats


def edge_step(section: SectionCuts, kerf: Kerf) -> EdgeStep | None:
    """Return the step along the edges of a section; None where no edge is cut from both faces."""
    sides = [[edge for edge in kerf.profiles if edge.cut.face.is_front is side] for side in (True, False)]
    if not kerf.pieces or not all(sides):
        return None
    front, back = map(_swept, sides)
    if bool(shapely.is_empty(front)) or bool(shapely.is_empty(back)):
        return None
    points = _along(shapely.boundary(front))
    widest_mm = max(edge.cut.tool.diameter_mm for edge in kerf.profiles)
    points = points[_is_beside(points, kerf, section, widest_mm / 2)]
    distance = np.asarray(shapely.distance(shapely.points(points), shapely.boundary(back)), dtype=np.float64)
    both = distance < widest_mm
    return EdgeStep(section.name, points[both], distance[both]) if bool(both.any()) else None


def step_findings(made: Sequence[EdgeStep], layout: Layout) -> Iterator[Finding]:
    """Yield a finding of the code 'step' for each section."""
    tolerance_mm = layout.job.tolerance_mm
    for one in made:
        worst = int(one.step_mm.argmax())
        x_mm, y_mm = one.at_mm[worst].tolist()
        over = float((one.step_mm > tolerance_mm).mean())
        along = f", and over {limit_text(tolerance_mm)} along {100.0 * over:z.0f} % of it" if over else ""
        yield Finding(
            "step",
            Status.WARN if over else Status.PASS,
            f"{section_lead(one.section, layout)}the edge cut from both faces steps at the seam by up to "
            f"{length_text(one.step_mm[worst])}, at {place_text((x_mm, y_mm))}{along}",
            section=one.section,
            at_mm=(x_mm, y_mm) if over else None,
        )


def _swept(edges: Sequence[KerfEdge]) -> shapely.Geometry:
    """Return what the contours of one face that run along an edge sweep, seen from above, tabs included."""
    return shapely.union_all(
        [outline(edge.cut.path.take(edge.rows), edge.cut.cutter.radius_mm, chord_mm=CHORD_MM) for edge in edges]
    )


def _along(walls: shapely.Geometry) -> Floats:
    """Return points along lines, shape (n, 2)."""
    spaced = shapely.segmentize(walls, _EVERY_MM)
    # Corners of round walls lie far closer than that; one in each stretch is enough.
    points = []
    for line in shapely.get_parts(spaced):
        corners = shapely.get_coordinates(line)
        way = np.diff(corners, axis=0)
        size = np.sqrt((way * way).sum(axis=1))
        far = np.concatenate([[0.0], np.cumsum(size)])
        # Shapely would walk along the line anew for every point.
        at = np.arange(0.0, far[-1], _EVERY_MM)
        before = np.searchsorted(far[1:], at, side="right")
        share = (at - far[before]) / size[before]
        points.append(corners[before] + share[:, np.newaxis] * way[before])
    return np.concatenate(points)


def _is_beside(points: Floats, kerf: Kerf, section: SectionCuts, radius_mm: float) -> NDArray[np.bool_]:
    """Return which points lie beside a piece: others are the waste's side of the kerf, which is two radii away."""
    grid, part = section.grid, kerf.part & section.known
    found = np.zeros(len(points), np.bool_)
    for turn in np.arange(0.0, 2.0 * np.pi, np.pi / 4).tolist():
        for reach_mm in (grid.step_mm, radius_mm / 2, radius_mm):
            row, column, inside = grid.cells_at(points + reach_mm * np.array([np.cos(turn), np.sin(turn)]))
            found[inside] |= part[row[inside], column[inside]]
    return found
