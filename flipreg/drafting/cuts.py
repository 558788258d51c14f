"""What a face's programs cut, as far as a blank has to be guessed round it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.contours.contour import find_contours
from flipreg.drafting.tools import DraftedTools
from flipreg.geometry.arc import arc_bounds
from flipreg.job.setup import ZZero
from flipreg.job.tool import Tool, ToolShape
from flipreg.path import Path
from flipreg.program.face import FaceProgram
from flipreg.register.faces.chords import cutting_rows, wood_top

__all__ = ["FaceCuts", "Outermost", "face_cuts"]

Floats = NDArray[np.float64]

_NORMAL_Z = 2
_ALIKE = 0.9
"""Contours of at least this share of the largest area go round the same (chosen)."""
_CLEARED = 0.8
"""Contours as deep that follow each other down to this share of the largest area clear a pocket (chosen)."""
_NEXT_DIAMETERS = 2.0
"""Contours follow each other if they are no farther apart than this many diameters of the tool (chosen)."""
_LEAST_SHARE = 0.3
"""What goes round the part encloses at least this share of the rectangle round all cuts (chosen)."""
_DEEP_SHARE = 0.5
"""A contour less deep than this share of the deepest cut is no edge (chosen): those of both faces that meet share the
thickness, and no cut is deeper than that."""


@dataclass(frozen=True, slots=True)
class Outermost:
    """The largest closed contour of a program.

    Attributes
    ----------
    program : int
        Place of the program on its face.
    area_mm2 : float
        What the tool's centre goes round.
    depth_mm : float
        How deep the lowest contour of about this size is cut.
    """

    program: int
    area_mm2: float
    depth_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class FaceCuts:
    """What one face cuts, in the numbers of its programs.

    Attributes
    ----------
    box_mm : float64, shape (4,)
        xmin, ymin, xmax, ymax with the cutters' rims; NaN where nothing is cut.
    z_zero : ZZero
        Where Z zero seems to be.
    depth_mm : float
        How deep it cuts below the face that is up, drills left out unless there are only drills; 0 with Z zero on the
        spoilboard.
    height_mm : float
        With Z zero on the spoilboard, what the blank is no thicker than; 0 with Z zero on top.
    outermost : tuple of Outermost
        The largest closed contour of each program that has one.
    """

    box_mm: Floats
    z_zero: ZZero
    depth_mm: float
    height_mm: float
    outermost: tuple[Outermost, ...]

    @property
    def is_empty(self) -> bool:
        """Whether nothing is cut at a known place."""
        return bool(np.isnan(self.box_mm).any())

    def goes_round(self, program: int, largest_mm2: float) -> bool:
        """Tell whether a program seems to cut round the part: its contour is as large as any, and as deep as its face.

        Parameters
        ----------
        program : int
            Place of the program on the face.
        largest_mm2 : float
            Area of the largest contour of both faces.
        """
        return any(one.program == program and self._is_edge(one, largest_mm2) for one in self.outermost)

    def round_mm(self, largest_mm2: float) -> float:
        """Return how deep the contours round the part are cut, 0 where there are none; the area as above."""
        return max((one.depth_mm for one in self.outermost if self._is_edge(one, largest_mm2)), default=0.0)

    def _is_edge(self, one: "Outermost", largest_mm2: float) -> bool:
        low_x, low_y, high_x, high_y = self.box_mm.tolist()
        is_large = one.area_mm2 >= max(_ALIKE * largest_mm2, _LEAST_SHARE * (high_x - low_x) * (high_y - low_y))
        return is_large and one.depth_mm >= _DEEP_SHARE * self.depth_mm


def face_cuts(drafted: DraftedTools, of_face: Sequence[int]) -> FaceCuts:
    """Return what a face cuts.

    Parameters
    ----------
    drafted : DraftedTools
        All programs with their tools.
    of_face : sequence of int
        Places of the programs that are the face's, at least one.
    """
    boxes: list[list[float]] = []
    depths: list[float] = []
    drilled: list[float] = []
    tops: list[float] = []
    outermost: list[Outermost] = []
    for place, number in enumerate(of_face):
        program = drafted.programs[number]
        top_mm = wood_top(program.path)
        tops.append(top_mm)
        for part, tool in _parts(program, drafted.runs[number]):
            path = part.path.take(cutting_rows(part.path, top_mm))
            if not len(path):
                continue
            low_x, low_y, high_x, high_y = _box(path)
            radius_mm = tool.diameter_mm / 2
            boxes.append([low_x - radius_mm, low_y - radius_mm, high_x + radius_mm, high_y + radius_mm])
            (drilled if tool.shape is ToolShape.DRILL else depths).append(-float(np.nanmin(path.end[:, 2])))
        widest_mm = max((tool.diameter_mm for tool in drafted.runs[number]), default=0.0)
        outermost += _outermost(program.path, place, widest_mm)
    on_top = [top_mm == 0.0 for top_mm in tops]
    is_top = sum(on_top) * 2 >= len(on_top)
    heights = [top_mm for top_mm in tops if top_mm != 0.0]
    box = np.full(4, np.nan)
    if boxes:
        sides = np.array(boxes)
        box = np.concatenate([sides[:, :2].min(axis=0), sides[:, 2:].max(axis=0)])
    return FaceCuts(
        box,
        ZZero.TOP if is_top else ZZero.SPOILBOARD,
        max(0.0, *(depths or drilled or [0.0])) if is_top else 0.0,
        0.0 if is_top else min(heights),
        tuple(outermost),
    )


def _parts(program: FaceProgram, runs: Sequence[Tool]) -> Iterator[tuple[FaceProgram, Tool]]:
    return zip(program.by_tool(), runs, strict=True)


def _box(path: Path) -> tuple[float, float, float, float]:
    """Return the extents of motions whose ends are known: xmin, ymin, xmax, ymax of the tool's centre."""
    points = np.concatenate([path.start[:, :2], path.end[:, :2]])
    low, high = points.min(axis=0), points.max(axis=0)
    arcs = path.take(path.is_arc & (path.normal == _NORMAL_Z))
    if len(arcs):
        reach = arc_bounds(arcs.start[:, :2], arcs.end[:, :2], arcs.centre[:, :2], arcs.sweep_deg)
        low, high = np.minimum(low, reach[:, :2].min(axis=0)), np.maximum(high, reach[:, 2:].max(axis=0))
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _outermost(path: Path, place: int, diameter_mm: float) -> Iterator[Outermost]:
    """Yield the largest contour of a program, unless others as deep follow it inwards: that is a pocket.

    What lies deeper in the middle, such as a hollow, says nothing about it as long as wood is left between.
    """
    contours = find_contours(path)
    if not contours:
        return
    outer = max(contours, key=lambda contour: abs(contour.area_mm2))
    largest = abs(outer.area_mm2)
    depths = {contour: -float(np.nanmin(path.end[contour.first : contour.last + 1, 2])) for contour in contours}
    depth_mm = max(depths[contour] for contour in contours if abs(contour.area_mm2) >= _ALIKE * largest)
    step_mm2 = _NEXT_DIAMETERS * diameter_mm * _length(path.take(slice(outer.first, outer.last + 1)))
    last = largest
    for area in sorted((abs(contour.area_mm2) for contour in contours if depths[contour] >= depth_mm), reverse=True):
        if last - area > step_mm2:
            break
        last = area
    if last > _CLEARED * largest:
        yield Outermost(place, largest, depth_mm)


def _length(path: Path) -> float:
    """Return how long fed motions are, seen from above."""
    radius = np.hypot(*(path.start[:, :2] - path.centre[:, :2]).T)
    arcs = radius * np.radians(np.abs(path.sweep_deg))
    lines = np.hypot(*(path.end[:, :2] - path.start[:, :2]).T)
    return float(np.where(path.is_arc, arcs, lines).sum())
