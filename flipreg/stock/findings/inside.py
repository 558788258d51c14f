"""Whether a setup cuts on the blank, and on the section that lies flat."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.job.blank import BlankFace
from flipreg.job.layout import Layout
from flipreg.job.setup import Section
from flipreg.job.tool import Tool
from flipreg.program.setup_face import SetupFace
from flipreg.register.faces.bounds import Box
from flipreg.register.faces.chords import Cut
from flipreg.register.faces.features import drilled_holes
from flipreg.units import INCH_MM, length_text, place_text, shown_now

__all__ = ["CutExtent", "cut_extents", "fits_in_inches", "inside_findings"]

Floats = NDArray[np.float64]

_FAR_TOO_LARGE = 5.0
"""A part this many times larger than its blank is in another unit than the blank's size (chosen)."""
_AIR = 4.0
"""Tool radii beyond the edge up to which it may still be meant so: a pass that turns round in the air (chosen)."""
_OVER_THE_LINE_MM = 0.5
"""How far past the line where sections meet the tool's rim may cut before it is told, in millimetres (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class CutExtent:
    """Where one program cuts, in the frame of the section that lies flat.

    Attributes
    ----------
    face : SetupFace
        Its setup.
    program : str
        Its name.
    tool : Tool
        What it cuts with; a program that changes tools has an extent for each stretch.
    points_mm : float64, shape (n, 3)
        Where the tool's centre cuts; with the back up z is counted in the section's frame all the same.
    line : int64, shape (n,)
        Lines of the program.
    box_mm : Box
        Extents of the tool's centre: xmin, ymin, xmax, ymax.
    """

    face: SetupFace
    program: str
    tool: Tool
    points_mm: Floats
    line: NDArray[np.int64]
    box_mm: Box

    @property
    def radius_mm(self) -> float:
        """Radius of the tool."""
        return self.tool.diameter_mm / 2


def cut_extents(face: SetupFace) -> list[CutExtent]:
    """Return where each program of a setup cuts, tool by tool; where nothing is cut is left out."""
    made = []
    for _, program, tool in face.runs():
        cut = Cut.of(program.path, 0.0)
        holes = drilled_holes(program)
        points = np.concatenate([cut.xyz_mm, np.column_stack([holes.centre_mm, holes.floor_mm])])
        lines = np.concatenate([program.path.line[cut.row], holes.line])
        known = np.isfinite(points).all(axis=1)
        if known.any():
            at = face.section_from_program.apply(points[known])
            made.append(CutExtent(face, program.name, tool, at, lines[known], _box_mm(at)))
    return made


def _box_mm(points_mm: Floats) -> Box:
    x, y = points_mm[:, 0], points_mm[:, 1]
    xmin, ymin, xmax, ymax = (np.round([x.min(), y.min(), x.max(), y.max()], 6) + 0.0).tolist()
    return xmin, ymin, xmax, ymax


def fits_in_inches(found: list[CutExtent], layout: Layout) -> bool:
    """Return whether the cutting is far too large for the blank, and would fit if the blank's size were in inches.

    More than half of the programs cut beyond the blank then; where a few do, it is they that have another unit.
    """
    blank = layout.job.blank
    size = np.max([np.subtract(extent.box_mm[2:], extent.box_mm[:2]) for extent in found], axis=0)
    share = size / (blank.width_mm, blank.length_mm)
    low, high = (np.column_stack([blank.x_range_mm, layout.y_range_mm])[end] for end in (0, 1))
    beyond = [bool((extent.box_mm[:2] < low).any() or (extent.box_mm[2:] > high).any()) for extent in found]
    return bool(share.max() > _FAR_TOO_LARGE and share.max() <= INCH_MM) and 2 * sum(beyond) > len(beyond)


def inside_findings(face: SetupFace, found: list[CutExtent], layout: Layout) -> Iterator[Finding]:
    """Yield findings on one setup: whether it cuts on the blank and where its section lies flat."""
    if not found:
        yield Finding(
            "bounds", Status.NOT_DETERMINED, f"setup {face.name!r} cuts nothing; it would need programs that do"
        )
        return
    low_x_mm, high_x_mm = layout.job.blank.x_range_mm
    low_y_mm, high_y_mm = layout.y_range_mm
    box = np.array([extent.box_mm for extent in found])
    status, worst = Status.PASS, None
    for extent in found:
        x, y = extent.points_mm[:, 0], extent.points_mm[:, 1]
        over = np.max([low_x_mm - x, x - high_x_mm, low_y_mm - y, y - high_y_mm], axis=0)
        row = int(over.argmax())
        # The rim that the tool still cuts is on the blank as long as its centre is no further out than its radius.
        if over[row] > extent.radius_mm and (worst is None or over[row] > worst[0]):
            worst = float(over[row]), extent, row
            status = Status.FAIL if over[row] > _AIR * max(extent.radius_mm, 1.0) else Status.WARN
    sides = (box[:, 0].min(), box[:, 2].max(), box[:, 1].min(), box[:, 3].max())
    low_x, high_x, low_y, high_y = (shown_now().number(float(side), 1) for side in sides)
    reach = f"X {low_x} to {high_x}, Y {low_y} to {high_y}"
    if worst is None:
        yield Finding("bounds", status, f"setup {face.name!r} cuts on the blank: {reach} (tool centre)")
    else:
        over_mm, extent, row = worst
        bare = shown_now().bare
        x_mm, y_mm = extent.points_mm[row, :2].tolist()
        yield Finding(
            "bounds",
            status,
            f"setup {face.name!r} cuts off the blank, up to {length_text(over_mm, 1)} beyond its edge at "
            f"{place_text((x_mm, y_mm))}; the blank is X {bare(low_x_mm)} to {bare(high_x_mm)}, "
            f"Y {bare(low_y_mm)} to {bare(high_y_mm)}",
            extent.program,
            int(extent.line[row]),
        )
    yield from _past_the_bend(face, found, layout)


def _past_the_bend(face: SetupFace, found: list[CutExtent], layout: Layout) -> Iterator[Finding]:
    """Find cuts on the other section, which does not lie flat: depth there is not what the program says."""
    up = BlankFace.FRONT if face.is_front else BlankFace.BACK
    for bend in (layout.near, layout.far):
        if bend is None:
            continue
        straight_mm, flat_mm = bend.corner(up)
        # Towards +1 lies the section that does not lie flat.
        side = 1.0 if bend.section is Section.FAR else -1.0
        corner_mm = straight_mm
        if bend == face.bend:
            side, corner_mm = -side, flat_mm
        elif face.bend is not None:
            continue
        past = [side * (extent.points_mm[:, 1] - corner_mm) - extent.radius_mm for extent in found]
        worst = int(np.argmax([part.max() for part in past]))
        extent, row = found[worst], int(past[worst].argmax())
        over_mm = float(past[worst][row]) + extent.radius_mm
        if over_mm > extent.radius_mm + _OVER_THE_LINE_MM:
            yield Finding(
                "bounds",
                Status.WARN,
                f"setup {face.name!r} cuts up to {length_text(over_mm, 1)} past the line where the sections meet on "
                f"the {up.value}; beyond it the face does not lie flat, so the depth there is another",
                extent.program,
                int(extent.line[row]),
            )
