"""One section while it is cut: its surfaces, and the pieces of wood that come loose.

Two pairs of surfaces are kept: one right at the centres of the cells, one by cutters grown to cover whole cells, which
is nowhere thicker than the wood. What holds is asked of the second, what has come loose of the first.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from math import pi

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.surface import CHORD_MM, Surface
from flipreg.cut.thickness import BothFaces
from flipreg.cut.tool import Cutter
from flipreg.job.layout import Layout
from flipreg.program.setup_face import SetupFace
from flipreg.second_process import shared_zeros
from flipreg.stock.cutting.bite import BiteMeter, Bitten
from flipreg.stock.cutting.order import OrderWatch
from flipreg.stock.cutting.rapids import Crash, cut_watched
from flipreg.stock.cutting.release import Release, first_row, piece_of, pieces_off
from flipreg.stock.sections.below import plan_box
from flipreg.stock.sections.carved_faces import CarvedFaces, Window
from flipreg.stock.sections.hanging import Borders, Hanging, clamped, hanging
from flipreg.stock.sections.permission import may_fall_at
from flipreg.stock.sections.section import SectionCut, SectionCuts

__all__ = ["Stage", "Work"]

Bools = NDArray[np.bool_]
Numbers = NDArray[np.int16]

_MOST_TRACED = 20
"""Pieces of one program whose line is looked for (chosen): each takes as long as some runs of the program."""


@dataclass(frozen=True, slots=True, eq=False)
class Stage:
    """A section after a setup that has cut it.

    Attributes
    ----------
    face : SetupFace
        The setup.
    thin : BothFaces
        The surfaces nowhere thicker than the wood, no wood where nothing is known.
    hanging : Hanging
        Its pieces.
    """

    face: SetupFace
    thin: BothFaces
    hanging: Hanging


@dataclass(slots=True, eq=False)
class Work:
    """A section while it is cut.

    Attributes
    ----------
    section : SectionCuts
        The section and what cuts it.
    borders : Borders
        What lies beyond its grid.
    plain, thin : CarvedFaces
        The surfaces that are right at the centres, and those nowhere thicker than the wood.
    opened_by : int16 array, shape of the grid
        Number from 1 of the program, in the section's order, after which a cell has no wood; 0 where there is some.
    """

    section: SectionCuts
    layout: Layout
    borders: Borders
    plain: CarvedFaces
    thin: CarvedFaces
    opened_by: Numbers
    off: Bools
    doubtful: Bools
    order: OrderWatch
    bitten: list[Bitten] = field(default_factory=list)
    _judged: Hanging | None = None

    @classmethod
    def of(cls, section: SectionCuts, layout: Layout) -> "Work":
        """Return a section that nothing has cut yet."""
        grid, faces = section.grid, (True, False)
        cutters = {face: [cut.cutter for cut in section.of(is_front=face)] for face in faces}
        plain = {face: Surface(grid, cutters[face], top_mm=0.0) for face in faces}
        grown = {face: [_grown(cutter, section) for cutter in cutters[face]] for face in faces}
        thin = {face: Surface(grid, grown[face], top_mm=0.0, zeros=shared_zeros) for face in faces}
        none, shape = np.bool_, section.grid.shape
        opened_by = np.zeros(shape, np.int16)
        return cls(
            section,
            layout,
            Borders.of(section, layout),
            CarvedFaces(plain, layout.thickness_mm),
            CarvedFaces(thin, layout.thickness_mm),
            opened_by,
            np.zeros(shape, none),
            np.zeros(shape, none),
            OrderWatch(section, layout.thickness_mm, plain),
        )

    def thin_out(self, cut: SectionCut) -> None:
        """Cut the surfaces that are nowhere thicker than the wood with a program."""
        self.thin.surfaces[cut.face.is_front].cut(cut.path, _grown(cut.cutter, self.section))

    def run(
        self, cut: SectionCut, works: "Sequence[Work]", thinned: Callable[[], object]
    ) -> tuple[list[Crash], list[Release]]:
        """Run a program; return the motions that meet wood they should not, and the pieces that it has cut loose.

        `thinned` waits until `thin_out` is done.
        """
        side = cut.face.is_front
        self._judged = None
        may_part = self.thin.deepest_mm - _lowest(cut) >= self.layout.thickness_mm
        before = self.plain.surfaces[side].copy() if may_part else None
        found = self._watched(cut)
        thinned()
        window = self._window(cut)
        for faces in (self.plain, self.thin):
            faces.was_cut(window, is_front=side)
        if before is None or self.is_sheet:
            return found, []
        if (opened_by := self.opened_by[window]).size:
            opened_by[~self.plain.now().window(window).is_left & (opened_by == 0)] = self.section.cuts.index(cut) + 1
        return found, list(self._releases(cut, before, works))

    def _window(self, cut: SectionCut) -> Window:
        """Return the cells that a program may cut."""
        box = plan_box(cut.path)
        if box is None:
            return slice(0), slice(0)
        around_mm = _grown(cut.cutter, self.section).radius_mm
        return self.section.grid.window(box[0] - around_mm, box[1] + around_mm)

    def _watched(self, cut: SectionCut) -> list[Crash]:
        """Cut the plain surface, and take down how deep the cutter bites."""
        side = cut.face.is_front
        surfaces = self.plain.surfaces
        meter = BiteMeter(surfaces[side], cut, surfaces[not side], self.layout.thickness_mm)
        self.order.before(cut)
        found = cut_watched(surfaces[side], cut, meter)
        self.bitten.append(Bitten(cut, meter.bite, meter.taken_mm3))
        self.order.after(self.bitten[-1])
        return found

    def stage(self, face: SetupFace) -> Stage | None:
        """Return the section after a setup; None where the setup cuts nothing of it."""
        if not any(cut.face is face for cut in self.section.cuts):
            return None
        now, unknown, hangs = self.thin.now(), self._unknown, self._judged
        # If the last program was judged, nothing has changed since.
        if hangs is None:
            hangs = hanging(now, self.borders, clamped(face, self.section, self.layout), self.off, unknown)
        front_mm = now.front_mm.copy()
        if unknown is not None:
            front_mm[unknown] = -np.inf
        # The last setup's back stays as it is.
        back_mm = now.back_mm if self.section.cuts[-1].face is face else now.back_mm.copy()
        return Stage(face, replace(now, front_mm=front_mm, back_mm=back_mm), hangs)

    @property
    def _unknown(self) -> Bools | None:
        """The cells where nothing is known; None without any."""
        known = self.section.known
        return None if bool(known.all()) else ~known

    @property
    def is_sheet(self) -> bool:
        """Whether the cuts of both faces together are nowhere as deep as the blank: a sheet goes through it all."""
        return self.thin.deepest_mm < self.layout.thickness_mm

    def _releases(self, cut: SectionCut, before: Surface, works: "Sequence[Work]") -> list[Release]:
        clamps = clamped(cut.face, self.section, self.layout)
        thin = self.thin.now()
        narrowest_mm = min(one.tool.diameter_mm for one in self.section.cuts)
        chip_mm2 = pi / 4.0 * narrowest_mm**2
        then = hanging(thin, self.borders, clamps, self.off, self._unknown)
        pieces = pieces_off(then, thin, self.off, chip_mm2)
        if not pieces:
            self._judged = then
            return []
        now = hanging(self.plain.now(), self.borders, clamps, self.off)
        held_cells = now.pieces.named(np.flatnonzero(now.held))
        on_clamps = clamps is not None and bool(held_cells[clamps].any())
        says = "what the clamps stand on" if on_clamps else "the piece that keeps most of the blank's border"
        out: list[Release] = []
        free = []
        for piece in pieces:
            mine = now.pieces.under(piece.cells)
            if bool(now.goes_on[mine].any()) and _held_across(self, now, mine, works):
                continue
            if bool(now.held[mine].any()):
                if not (piece.is_chip or bool(self.doubtful[piece.cells].any())):
                    is_known = not hanging(thin, self.borders, clamps, self.off).is_held_at(piece.cells)
                    out.append(Release(cut, piece, is_known, None, says, False))  # noqa: FBT003 - as its attributes say
                self.doubtful |= piece.cells
            elif piece.is_chip:
                self.off |= piece.cells
                out.append(Release(cut, piece, True, None, says, may_fall_at(cut, piece.cells, self.section.grid)))  # noqa: FBT003
            else:
                free.append(piece.cells)
        return [*out, *self._one_by_one(cut, before, [held_cells, *free], clamps, says)] if free else out

    def _one_by_one(
        self, cut: SectionCut, before: Surface, ends: list[Bools], clamps: Bools | None, says: str
    ) -> list[Release]:
        """Return what comes loose in a program in the order in which it does, given the pieces at the program's end.

        What is held is judged anew whenever something has come loose: a piece that lets go with another one still on
        it is one piece then.
        """
        side, grid = cut.face.is_front, self.section.grid
        out: list[Release] = []
        done, surface = 0, before.copy()
        while len(ends) > 1 and len(out) < _MOST_TRACED:
            now: Hanging | None = None

            def all_held(trial: Surface) -> bool:
                nonlocal now
                faces = self.plain.with_face(trial, is_front=side)
                now = hanging(faces, self.borders, clamps, self.off)
                return all(now.is_held_at(cells) for cells in ends)  # noqa: B023 - called before `ends` changes

            if done and not all_held(surface):
                # What the last motion has freed lets something else go, for it held that.
                row, parted = done - 1, surface
            elif (found := first_row(cut, done, surface, all_held)) is not None:
                row, surface, parted = found
                all_held(parted)
            else:
                break
            assert now is not None
            off = [not now.is_held_at(cells) for cells in ends]
            released = np.zeros(now.count + 1, np.bool_)
            for cells, is_off in zip(ends, off, strict=True):
                if is_off:
                    released[now.pieces.under(cells)] = True
            released[0] = False
            for group in np.unique(now.group[released]).tolist():
                numbers = np.flatnonzero(released & (now.group == group)).astype(np.int32)
                piece = piece_of(now, numbers, grid, self.borders)
                line = int(cut.path.line[row])
                self.off |= piece.cells
                out.append(Release(cut, piece, True, line, says, may_fall_at(cut, piece.cells, grid)))  # noqa: FBT003
            ends = [cells for cells, is_off in zip(ends, off, strict=True) if not is_off]
            done, surface = row + 1, parted
        return out


def _held_across(work: Work, now: Hanging, numbers: NDArray[np.int32], works: Sequence[Work]) -> bool:
    """Return whether pieces that reach the line of another section are held there."""
    for side, meets in enumerate(work.borders.meets):
        if not meets:
            continue
        bend = None if work.section.bend is not None else (work.layout.near if side == 2 else work.layout.far)
        other = next((one for one in works if one.section.bend == bend), None)
        if other is None or work.borders.goes_on[side]:
            return True
        theirs = -1 if side == 2 else 0
        if other.borders.goes_on[5 - side]:
            return True
        reaches = np.isin(now.pieces.sides()[side], numbers[numbers > 0])
        there = hanging(other.plain.now(), other.borders, None, other.off)
        xs = work.section.grid.xs_mm[reaches]
        places = np.column_stack([xs, np.full(len(xs), other.section.grid.ys_mm[theirs])])
        rows, columns, inside = other.section.grid.cells_at(places)
        cells = rows[inside] * other.section.grid.shape[1] + columns[inside]
        if not bool(inside.all()) or bool(there.held[there.pieces.at(cells)].any()):
            return True
    return False


def _lowest(cut: SectionCut) -> float:
    """Return the lowest Z that a program goes to, upright arcs included; at most 0."""
    path = cut.path
    ends = np.concatenate([path.start[:, 2], path.end[:, 2]]) if len(path) else np.zeros(1)
    lowest = float(np.nanmin(ends, initial=0.0))
    return -np.inf if bool((path.is_arc & (path.normal != 2)).any()) else min(0.0, lowest)


def _grown(cutter: Cutter, section: SectionCuts) -> Cutter:
    return cutter.grown(section.grid.reach_mm + CHORD_MM)
