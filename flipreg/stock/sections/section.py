"""The sections of a blank, and what every program cuts of the one that lies flat.

A bent blank has flat sections that meet in hinge lines. Each is looked at in its own frame, in which its faces are
z = 0 and z = -thickness and its setups cut straight down, so that height maps hold. What a setup of another section
does here is cut at a slant and has no height map; cells that it may come near are not known.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid, default_step_mm
from flipreg.cut.surface import CHORD_MM, Surface, chords
from flipreg.cut.tool import Cutter
from flipreg.job.bend import Bend
from flipreg.job.layout import Layout
from flipreg.job.problem import JobFileError, Problem
from flipreg.job.tool import Tool
from flipreg.path import Path
from flipreg.program.cutters import cutter_of
from flipreg.program.face import FaceProgram
from flipreg.program.setup_face import SetupFace
from flipreg.stock.sections.below import fed_below, plan_box
from flipreg.stock.sections.reached import reached
from flipreg.units import INCH_MM

__all__ = [
    "MOST_CELLS",
    "SectionCut",
    "SectionCuts",
    "cuts_of",
    "of_section",
    "passed",
    "passed_over",
    "section_lead",
    "section_name",
    "sections",
]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Singles = NDArray[np.float32]

_AROUND_CELLS = 3
"""Cells that a grid goes beyond what is cut, so that uncut wood is all around it (chosen)."""
MOST_CELLS = 25_000_000
"""Cells of a section's maps (chosen): some 40 bytes each, so that a check stays around a gigabyte."""


@dataclass(frozen=True, slots=True, eq=False)
class SectionCut:
    """One stretch of a program with one cutter, as it cuts the section that lies flat in its setup.

    Attributes
    ----------
    face : SetupFace
        Its setup.
    program : FaceProgram
        The stretch; its program's name and lines are what findings point to.
    tool : Tool
        What it is cut with.
    cutter : Cutter
        The tool's shape.
    is_profile : bool
        Whether it cuts along the part's edge, through, together with the other face's.
    path : Path
        The motions it makes in one work offset, X and Y in the section's frame, Z from the face that is up.
    elsewhere : int or None
        Line of the first motion in another work offset than the program's first, of which nobody knows where it is;
        None without any.
    is_first : bool
        Whether it is its program's first.
    """

    face: SetupFace
    program: FaceProgram
    tool: Tool
    cutter: Cutter
    is_profile: bool
    path: Path
    elsewhere: int | None
    is_first: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class SectionCuts:
    """A section and all that is cut of it.

    Attributes
    ----------
    name : str
        'straight', 'far' or 'near', as the job file calls it.
    bend : Bend or None
        None for the straight section.
    cuts : tuple of SectionCut
        In the order they run.
    grid : Grid
        Cells around all that is cut, as far as the section goes.
    known : bool array, shape `grid.shape`
        Cells that no setup of another section comes near.
    lead : str
        What sentences about it begin with: its name, or nothing where the blank has no other section.
    """

    name: str
    bend: Bend | None
    cuts: tuple[SectionCut, ...]
    grid: Grid
    known: Bools
    lead: str = ""

    def of(self, *, is_front: bool) -> list[SectionCut]:
        """Return the cuts of one face."""
        return [cut for cut in self.cuts if cut.face.is_front is is_front]


def section_name(bend: Bend | None) -> str:
    """Return what the job file calls a section."""
    return "straight" if bend is None else bend.section.value


def section_lead(name: str, layout: Layout) -> str:
    """Return what sentences about a section begin with: nothing where the blank is all one section."""
    return "" if _is_one(layout) else f"{name} section: "


def of_section(bend: Bend | None, layout: Layout) -> str:
    """Return what stands after a place in a sentence: the section it is on; nothing where the blank is all one."""
    return "" if _is_one(layout) else f" of the {section_name(bend)} section"


def sections(layout: Layout, faces: Sequence[SetupFace]) -> list[SectionCuts]:
    """Return the sections that are cut, in the order of their first setup; those cut off the blank are left out."""
    made = []
    for bend in dict.fromkeys(face.bend for face in faces):
        cuts = tuple(cut for face in faces if face.bend == bend for cut in cuts_of(face))
        grid = _grid(layout, bend, cuts)
        if grid is not None:
            others = [face for face in faces if face.bend != bend]
            name, known = section_name(bend), ~reached(layout, bend, others, grid)
            made.append(SectionCuts(name, bend, cuts, grid, known, section_lead(name, layout)))
    return made


def cuts_of(face: SetupFace) -> Iterator[SectionCut]:
    """Yield the programs of a setup, stretch by stretch, as they cut the section that lies flat."""
    last, offset = None, 0
    for named, program, tool in face.runs():
        path, elsewhere = program.path, None
        is_first, last = named is not last, named
        if is_first and len(path):
            offset = int(path.work_offset[0])
        if len(path):
            away = path.work_offset != offset
            if bool(away.any()):
                elsewhere = int(path.line[int(away.argmax())])
                path = path.take(~away)
        seen = path.transformed(face.seen_from_above)
        yield SectionCut(face, program, tool, cutter_of(tool), named.profile, seen, elsewhere, is_first)


def passed(cuts: Sequence[SectionCut], grid: Grid) -> Singles:
    """Return what the feeds of some programs below the face leave by themselves.

    Z from their own face, shape `grid.shape`: below 0 where they pass.
    """
    heights_mm = np.zeros(grid.shape, np.float32)
    if (found := _alone(cuts, grid, 0.0)) is not None:
        window, surface = found
        heights_mm[window] = surface.heights_mm
    return heights_mm


def passed_over(cuts: Sequence[SectionCut], grid: Grid, *, around_mm: float) -> Bools:
    """Return where the feeds of some programs below the face pass, by cutters grown by a distance."""
    cells = np.zeros(grid.shape, np.bool_)
    if (found := _alone(cuts, grid, around_mm)) is not None:
        window, surface = found
        np.less(surface.heights_mm, 0.0, out=cells[window])
    return cells


def _alone(
    cuts: Sequence[SectionCut], grid: Grid, around_mm: float
) -> tuple[tuple[slice, slice], Surface] | None:
    """Return the part of a grid around all that some programs feed below the face, and what they leave of it alone."""
    wide = [cut.cutter.grown(around_mm) for cut in cuts]
    paths = [cut.path.take(fed_below(cut.path)) for cut in cuts]
    boxes = [
        (box[0] - cutter.radius_mm, box[1] + cutter.radius_mm)
        for path, cutter in zip(paths, wide, strict=True)
        if (box := plan_box(path)) is not None
    ]
    if not boxes:
        return None
    window = grid.window(np.min([low for low, _ in boxes], axis=0), np.max([high for _, high in boxes], axis=0))
    if any(one.stop <= one.start for one in window):
        return None
    surface = Surface(grid.part(*window), wide, top_mm=0.0)
    for path, cutter in zip(paths, wide, strict=True):
        surface.cut(path, cutter)
    return window, surface


def _is_one(layout: Layout) -> bool:
    return layout.near is None and layout.far is None


def _grid(layout: Layout, bend: Bend | None, cuts: Sequence[SectionCut]) -> Grid | None:
    """Return the cells around what is cut, clipped to the section; None where nothing is cut on it."""
    boxes = [box for cut in cuts if (box := _box(cut)) is not None]
    if not boxes:
        return None
    low, high = np.min([box[0] for box in boxes], axis=0), np.max([box[1] for box in boxes], axis=0)
    section = np.array(layout.section_box_mm(bend))
    limits = layout.job.limits
    step_mm = limits.grid_mm
    for _ in range(2):
        around_mm = 0.0 if step_mm is None else _AROUND_CELLS * step_mm
        box_low, box_high = np.maximum(low - around_mm, section[:2]), np.minimum(high + around_mm, section[2:])
        if bool((box_high <= box_low).any()):
            return None
        corners = (float(box_low[0]), float(box_low[1])), (float(box_high[0]), float(box_high[1]))
        if step_mm is None:
            step_mm = default_step_mm(*corners, layout.job.tolerance_mm)
    assert step_mm is not None
    _refuse_too_many_cells(layout, box_high - box_low, step_mm, cuts)
    return Grid.covering(*corners, step_mm)


def _refuse_too_many_cells(layout: Layout, size_mm: Floats, step_mm: float, cuts: Sequence[SectionCut]) -> None:
    """Refuse maps that no memory would hold: by their grid, or by the margin of a tool that nobody has."""
    job = layout.job
    widest = max((cut.tool for cut in cuts), key=lambda tool: tool.diameter_mm)
    cells = float(np.prod(size_mm / step_mm + 1.0))
    margins = float(np.prod((size_mm + 4.0 * widest.diameter_mm) / step_mm + 1.0))
    unit_mm = INCH_MM if job.inch else 1.0
    if job.limits.grid_mm is not None and cells > MOST_CELLS:
        least = 1.01 * float(np.sqrt(float(np.prod(size_mm)) / MOST_CELLS)) / unit_mm
        # Rounded up, so that the step that is advised is large enough.
        digit = 10.0 ** floor(log10(least))
        enough = f"{ceil(least / digit) * digit:g}"
        says = f"the maps would have {cells / 1e6:z.0f} million cells; take at least {enough}, or leave it out"
        raise JobFileError(job.source, [Problem(("check", "grid"), says)])
    if margins > 4.0 * MOST_CELLS:
        path = ("tools", job.tools.index(widest), "diameter")
        says = f"{widest.diameter_mm / unit_mm:g} is too wide for the maps of what is left; is it a slip?"
        raise JobFileError(job.source, [Problem(path, says)])


def _box(cut: SectionCut) -> tuple[Floats, Floats] | None:
    """Return the lowest and highest X and Y of what a program does below the face, the cutter's rim included.

    Traverses count: what they run into is wood wherever it is.
    """
    points = []
    for start, end in chords(cut.path, CHORD_MM):
        below = np.minimum(start[:, 2], end[:, 2]) < 0.0
        ends = np.concatenate([start[below, :2], end[below, :2]])
        if len(ends):
            points += [ends.min(axis=0), ends.max(axis=0)]
    if not points:
        return None
    return np.min(points, axis=0) - cut.cutter.radius_mm, np.max(points, axis=0) + cut.cutter.radius_mm
