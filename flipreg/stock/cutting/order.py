"""Programs that run too late or too early, as the wood shows it: finish before rough, profile before the inner work.

A program that mostly feeds through air, well above what an earlier one has left there, comes too late if that one bites
far deeper than what it would have had to take after it. And a piece that through cuts go round, so that it is free or
hangs in narrow tabs, is no place to go on cutting in.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.labelled import label
from flipreg.cut.regions import widened
from flipreg.cut.surface import Surface, is_known
from flipreg.findings import Finding, Status
from flipreg.job.tool import ToolShape
from flipreg.names import bare_name
from flipreg.path import Path
from flipreg.stock.cutting.bite import Bitten
from flipreg.stock.sections.below import fed_below
from flipreg.stock.sections.section import SectionCut, SectionCuts, section_name
from flipreg.stock.sections.ways import Ways
from flipreg.units import length_text

__all__ = ["OrderWatch"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Bools = NDArray[np.bool_]

_AIR_MM = 0.05
"""A feed that is this far above the wood goes through air; a spring pass does not. Millimetres (chosen)."""
_MOSTLY = 0.5
"""Share of a program's feeds below the face in air, above which it is asked whether it comes too late (chosen)."""
_ALL = 0.9
"""Share in air of a program that takes nothing, above which that is told (chosen)."""
_DEEPER = 3.0
"""How many times what would have been left to take the earlier program has to bite, all along, and at least its
cutter's diameter: rough cuts in wood go down by half a diameter to a whole one (common practice, no source)."""
_LEAST_LEFT_MM = 0.5
"""Less is never asked of a program to leave; millimetres (chosen): common practice leaves 0.3 to 1 for finishing."""
_POINTS = 4_096
"""Points of a program's feeds that are looked at (chosen)."""
_TABS_MM = 16.0
"""Wood between two through cuts that is narrower is a tab; millimetres (chosen): common practice has 4 to 12."""
_COARSE_MM = 0.6
"""Cells are looked at this far apart where pieces are told (chosen): finer than any kerf."""
_LEAST_MM2 = 4.0
"""Less that is cut in a piece is not told (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class _Ran:
    """A program that has run, with points of its feeds below the face, shape (k, 3), and the heights before there."""

    bitten: Bitten
    points_mm: Floats
    before_mm: Floats
    spacing_mm: float

    @property
    def typical_mm(self) -> float:
        """How deep it bites all along: half its feeds go at least so deep into the wood, and its deepest bite does."""
        if self.bitten.bite is None or not len(self.points_mm):
            return 0.0
        return min(self.bitten.bite.depth_mm, float(np.median(self.before_mm - self.points_mm[:, 2])))


@dataclass(slots=True, eq=False)
class OrderWatch:
    """Watches a section while it is cut, program by program; `findings` are of the code 'order'.

    Attributes
    ----------
    section : SectionCuts
        The section.
    thickness_mm : float
        Of the blank.
    surfaces : dict from bool
        Both faces while they are cut, the front's under True, each in its own Z.
    """

    section: SectionCuts
    thickness_mm: float
    surfaces: dict[bool, Surface]
    findings: list[Finding] = field(default_factory=list)
    _ran: list[_Ran] = field(default_factory=list)
    _told: list[_Ran] = field(default_factory=list)
    _hanging: Bools | None = None
    _freed_by: SectionCut | None = None
    _was: Singles | None = None
    _points: tuple[Floats, Floats, float] | None = None

    def before(self, cut: SectionCut) -> None:
        """Look at the wood before a program runs."""
        surface = self.surfaces[cut.face.is_front]
        self._points = _sampled(cut.path, surface)
        self._was = None if self._hanging is None else surface.heights_mm[:: self._every, :: self._every].copy()

    def after(self, bitten: Bitten) -> None:
        """Look at the wood after it has run."""
        assert self._points is not None
        ran = _Ran(bitten, *self._points)
        self.findings += self._too_late(ran)
        self._ran.append(ran)
        self.findings += self._in_a_released_piece(bitten.cut)
        if self._hanging is None and bitten.bite is not None:
            self._hang(bitten.cut)

    @property
    def _every(self) -> int:
        return max(1, int(_COARSE_MM / self.section.grid.step_mm))

    def _too_late(self, late: _Ran) -> Iterator[Finding]:
        cut = late.bitten.cut
        if not len(late.points_mm) or cut.tool.shape is ToolShape.DRILL:
            return
        above = late.points_mm[:, 2] - late.before_mm
        in_air = above > _AIR_MM
        share = float(in_air.mean())
        if share < _MOSTLY:
            return
        left_mm = max(_LEAST_LEFT_MM, float(np.percentile(above[in_air], 5.0)))
        says = (
            f"{bare_name(cut.program.name)} comes later, {100.0 * share:z.0f} % of its feeds in air, about "
            f"{length_text(float(np.median(above[in_air])), 1)} above what is left there"
        )
        for early in sorted(self._ran, key=lambda one: -one.typical_mm):
            bite, other = early.bitten.bite, early.bitten.cut
            if bite is None or early.typical_mm < max(_DEEPER * left_mm, other.tool.diameter_mm):
                break
            if other.face.is_front is not cut.face.is_front or other.tool.shape is ToolShape.DRILL:
                continue
            if _covered(late.points_mm[in_air], early, other.cutter.radius_mm) >= _MOSTLY:
                if early in self._told:
                    return
                self._told.append(early)
                yield Finding(
                    "order",
                    Status.FAIL,
                    f"setup {other.face.name!r}: bites up to {length_text(bite.depth_mm, 1)} deep at once, and "
                    f"{says}: finish "
                    "before rough? Let that one run first",
                    other.program.name,
                    bite.line,
                    section_name(other.face.bend),
                    bite.at_mm,
                )
                return
        if late.bitten.bite is None and share >= _ALL:
            yield Finding(
                "order",
                Status.WARN,
                f"setup {cut.face.name!r}: takes nothing, {100.0 * share:z.0f} % of its feeds in air, about "
                f"{length_text(float(np.median(above[in_air])), 1)} above what the programs before it have left: is "
                "it wanted, "
                "and here?",
                cut.program.name,
                int(cut.path.line[int(fed_below(cut.path).argmax())]),
                section_name(cut.face.bend),
            )

    def _in_a_released_piece(self, cut: SectionCut) -> Iterator[Finding]:
        freed = self._freed_by
        # A drill presses straight down, on what the piece lies on.
        if self._hanging is None or self._was is None or freed is None or cut.tool.shape is ToolShape.DRILL:
            return
        grid, every = self.section.grid, self._every
        now = self.surfaces[cut.face.is_front].heights_mm[::every, ::every]
        hit = self._hanging & (self._was - now > _AIR_MM)
        if float(hit.sum()) * grid.cell_mm2 * every**2 < _LEAST_MM2:
            return
        line, at = _first(cut, hit, self._was, grid.x_mm, grid.y_mm, every * grid.step_mm)
        same = cut.face is freed.face
        advice = ": profile before the inner work? Let this one run first" if same else ""
        deep_mm = float((self._was - now).max(where=hit, initial=0.0))
        yield Finding(
            "order",
            Status.FAIL if same else Status.WARN,
            f"setup {cut.face.name!r}: cuts up to {length_text(deep_mm, 1)} deep in a piece that "
            f"{bare_name(freed.program.name)} has cut round before, so that it is loose or hangs in narrow tabs only"
            f"{advice}",
            cut.program.name,
            line,
            section_name(cut.face.bend),
            at,
        )

    def _hang(self, cut: SectionCut) -> None:
        """Find the pieces that hang in nothing but narrow wood, if a program has cut them round."""
        every, grid = self._every, self.section.grid
        front, back = (self.surfaces[side].heights_mm[::every, ::every] for side in (True, False))
        if -float(front.min()) - float(back.min()) < self.thickness_mm:
            return
        through = -(front + back) >= self.thickness_mm
        if not bool(through.any()):
            return
        step_mm = every * grid.step_mm
        # Beyond the grid the blank goes on, or ends: a piece that reaches its edge is not told.
        reach = int(np.ceil(_TABS_MM / 2 / step_mm))
        pad = reach + 2
        free = ~widened(np.pad(through, pad), reach)
        places = label(free)
        rim = np.concatenate(places.sides())
        outer = np.unique(rim[rim > 0])
        inner = np.setdiff1d(np.arange(1, places.count + 1), outer)
        if not outer.size or not inner.size:
            return
        self._hanging = places.named(inner)[pad:-pad, pad:-pad]
        self._freed_by = cut


def _sampled(path: Path, surface: Surface) -> tuple[Floats, Floats, float]:
    """Return points of the feeds below the face, about evenly along them, the heights there, and their distance."""
    rows = np.flatnonzero(fed_below(path) & is_known(path))
    # Of arcs the way between their ends will do.
    whole = np.cumsum(np.hypot(*(path.end[rows, :2] - path.start[rows, :2]).T))
    if not len(whole) or not whole[-1] > 0.0:
        return np.empty((0, 3)), np.empty(0), 0.0
    at = (np.arange(_POINTS) + 0.5) / _POINTS * whole[-1]
    place = np.minimum(np.searchsorted(whole, at), len(whole) - 1)
    length = np.diff(whole[np.stack([np.maximum(place - 1, 0), place])], axis=0)[0]
    some = path.take(rows[place])
    share = 1.0 - np.clip((whole[place] - at) / np.where(length > 0.0, length, np.inf), 0.0, 1.0)
    share = np.where(some.is_arc, 1.0, share)[:, np.newaxis]
    points = some.start + share * (some.end - some.start)
    grid = surface.grid
    column = np.rint((points[:, 0] - grid.x_mm) / grid.step_mm).astype(np.intp)
    line = np.rint((points[:, 1] - grid.y_mm) / grid.step_mm).astype(np.intp)
    inside = (points[:, 2] < 0.0) & (line >= 0) & (line < grid.shape[0]) & (column >= 0) & (column < grid.shape[1])
    heights = surface.heights_mm[line[inside], column[inside]].astype(np.float64)
    return points[inside], heights, float(whole[-1]) / _POINTS


def _covered(points_mm: Floats, early: _Ran, radius_mm: float) -> float:
    """Return the share of points that an earlier program's cutter comes over, as far as its sampled points tell."""
    some = points_mm[:: max(1, len(points_mm) // 256), :2]
    others = early.points_mm[:, :2]
    if not len(others):
        return 0.0
    near_mm = radius_mm + early.spacing_mm
    away = np.array([float(np.hypot(*(others - point).T).min()) for point in some])
    return float((away <= near_mm).mean())


def _first(
    cut: SectionCut, hit: Bools, was: Singles, x_mm: float, y_mm: float, step_mm: float
) -> tuple[int, tuple[float, float]]:
    """Return the line of the first motion that cuts one of the cells, and that cell's place."""
    ways = Ways.of(cut.path)
    first, place = len(ways.line), (x_mm, y_mm)
    rows, columns = np.nonzero(hit)
    for at in range(0, len(rows), max(1, len(rows) // 64)):
        row, column = int(rows[at]), int(columns[at])
        point = x_mm + column * step_mm, y_mm + row * step_mm
        away, tip = ways.over(point)
        cuts = (away <= cut.cutter.radius_mm) & (tip + cut.cutter.profile(away) < was[row, column] - _AIR_MM)
        if bool(cuts.any()) and int(cuts.argmax()) < first:
            first, place = int(cuts.argmax()), point
    return int(ways.line[min(first, len(ways.line) - 1)]), place
