"""A job run in thought: every program in its order over the surfaces of its section.

Two pairs of surfaces are kept for each section: one right at the centres of the cells, one by cutters grown to cover
whole cells, which is nowhere thicker than the wood. A pass for what holds and for thin places comes from the second;
a find comes from the first, so that the grid invents nothing.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from flipreg.cut.heightmap import undetermined
from flipreg.cut.surface import CHORD_MM, Surface
from flipreg.cut.thickness import BothFaces
from flipreg.cut.tool import Cutter
from flipreg.job.layout import Layout
from flipreg.progress import Progress, bare_name
from flipreg.verify.bite import BiteMeter, Bitten
from flipreg.verify.finding import Finding
from flipreg.verify.kerf import Kerf, kerf_of
from flipreg.verify.left import Held, SectionLeft
from flipreg.verify.loose import Loose, came_loose, held, joined, joined_on_a_sheet
from flipreg.verify.order import OrderWatch
from flipreg.verify.rapids import Crash, cut_watched
from flipreg.verify.section import SectionCut, SectionCuts, cuts_of, sections
from flipreg.verify.setup_face import SetupFace
from flipreg.verify.slanted import Slant, slant_of

__all__ = ["Carved", "Crashes", "LeftOut", "carve"]


@dataclass(frozen=True, slots=True)
class Crashes:
    """The motions of one program that meet wood they should not."""

    cut: SectionCut
    found: tuple[Crash, ...]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Motions of one program that may cut but have no place in the maps, with the first one's line.

    Attributes
    ----------
    cut : SectionCut
        The program.
    count : int
        How many; 0 for those in another work offset, of which there are others that may not cut.
    line : int
        Line of the first.
    is_fed : bool
        Whether any of them is fed; else all are traverses.
    """

    cut: SectionCut
    count: int
    line: int
    is_fed: bool


@dataclass(frozen=True, slots=True, eq=False)
class Carved:
    """What running all programs shows.

    Attributes
    ----------
    left : tuple of SectionLeft
        What is left of each section.
    kerfs : tuple of Kerf or None
        Of each section, None where no program is named as a profile.
    held : tuple of Held
        How each piece hangs in the blank after each setup that cuts its kerf.
    loose : tuple of Loose
        Pieces that come loose.
    crashes : tuple of Crashes
        By program.
    slants : tuple of Slant
        Traverses through sections that do not lie flat, by program and section.
    left_out : tuple of LeftOut
        By program.
    sections : tuple of SectionCuts
        What was cut, by section.
    bitten : tuple of Bitten
        How deep each program bites with each tool, by section, in the order they run.
    order : tuple of Finding
        Of programs that run too late or too early.
    """

    left: tuple[SectionLeft, ...]
    kerfs: tuple[Kerf | None, ...]
    held: tuple[Held, ...]
    loose: tuple[Loose, ...]
    crashes: tuple[Crashes, ...]
    slants: tuple[Slant, ...]
    left_out: tuple[LeftOut, ...]
    sections: tuple[SectionCuts, ...]
    bitten: tuple[Bitten, ...]
    order: tuple[Finding, ...]


def carve(layout: Layout, faces: Sequence[SetupFace], *, progress: Progress | None = None) -> Carved:
    """Run a job's programs over its blank.

    Parameters
    ----------
    layout : Layout
        Of the job, for the thickness that counts.
    faces : sequence of SetupFace
        Its setups with their programs, in order.
    progress : callable, optional
        Is told how many programs have been run.
    """
    works = [_Work.of(section, layout) for section in sections(layout, faces)]
    crashes: list[Crashes] = []
    slants: list[Slant] = []
    hangs: list[Held] = []
    loose: list[Loose] = []
    done, count = 0, sum(len(work.section.cuts) for work in works)
    worked = [work.section.bend for work in works]
    # Programs in the air over their own section may run into another one.
    idle = [cut for face in faces if face.bend not in worked for cut in cuts_of(layout, face)]
    for face in faces:
        for cut in (cut for cut in idle if cut.face is face):
            slants += _slants(cut, works, layout, faces)
        for work in works:
            for cut in (cut for cut in work.section.cuts if cut.face is face):
                if progress is not None:
                    progress(f"running {bare_name(cut.program.name)}", done, count)
                done += 1
                slants += _slants(cut, works, layout, faces)
                found, newly = work.run(cut)
                if found:
                    crashes.append(Crashes(cut, tuple(found)))
                # A piece that goes on across a bend hangs in the blank as long as any part of it does.
                loose += [one for one in newly if not (one.piece.goes_on and any(each.holds_across for each in works))]
            hangs += work.held_after(face)
    return Carved(
        left=tuple(work.left() for work in works),
        kerfs=tuple(work.kerf for work in works),
        held=tuple(hangs),
        loose=tuple(loose),
        crashes=tuple(crashes),
        slants=tuple(slants),
        left_out=tuple(
            part
            for cut in (*(cut for work in works for cut in work.section.cuts), *idle)
            if (part := _left_out(cut)) is not None
        ),
        sections=tuple(work.section for work in works),
        bitten=tuple(one for work in works for one in work.bitten),
        order=tuple(finding for work in works for finding in work.order.findings),
    )


def _slants(cut: SectionCut, works: "Sequence[_Work]", layout: Layout, faces: Sequence[SetupFace]) -> Iterator[Slant]:
    """Yield the traverses of a program through the sections beside the one that lies flat."""
    for bend in dict.fromkeys((None, layout.near, layout.far)):
        if bend != cut.face.bend:
            work = next((work for work in works if work.section.bend == bend), None)
            left = None if work is None else work.plain_now
            slant = slant_of(cut, bend, left, layout, faces)
            if slant is not None:
                yield slant


def _left_out(cut: SectionCut) -> LeftOut | None:
    if cut.elsewhere is not None:
        return LeftOut(cut, 0, cut.elsewhere, is_fed=True)
    path = cut.path
    rows = undetermined(path, top_mm=0.0)
    # A traverse from where nobody knows, before the program has said a whole position, is how programs begin.
    first_known = int(np.argmax(np.isfinite(path.end).all(axis=1))) if len(path) and cut.is_first else -1
    begins = (rows <= first_known) & ~path.is_cut[rows] & ~(path.end[rows, 2] < 0.0)
    rows = rows[~begins]
    if not len(rows):
        return None
    return LeftOut(cut, len(rows), int(path.line[rows[0]]), bool(path.is_cut[rows].any()))


@dataclass(slots=True, eq=False)
class _Work:
    """One section while it is cut."""

    section: SectionCuts
    kerf: Kerf | None
    thickness_mm: float
    plain: dict[bool, Surface]
    thin: dict[bool, Surface]
    on_one_sheet: list[bool]
    still: list[bool]
    order: OrderWatch
    changed: bool = False
    bitten: list[Bitten] = field(default_factory=list)

    @classmethod
    def of(cls, section: SectionCuts, layout: Layout) -> "_Work":
        plain, thin = {}, {}
        for is_front in (True, False):
            cutters = [cut.cutter for cut in section.of(is_front=is_front)]
            plain[is_front] = Surface(section.grid, cutters, top_mm=0.0)
            thin[is_front] = Surface(section.grid, [_grown(cutter, section) for cutter in cutters], top_mm=0.0)
        kerf = kerf_of(section, layout)
        sheet = [] if kerf is None else joined_on_a_sheet(section.known, kerf)
        # Where no blank is left outside the profile, nothing of it ever held.
        still = [kerf is not None and bool(kerf.blank.any())] * len(sheet)
        order = OrderWatch(section, layout.thickness_mm, plain)
        return cls(section, kerf, layout.thickness_mm, plain, thin, sheet, still, order)

    def run(self, cut: SectionCut) -> tuple[list[Crash], list[Loose]]:
        """Run a program; return the motions that meet wood they should not, and the pieces that it has cut loose."""
        side = cut.face.is_front
        plain, thin = self.plain[side], self.thin[side]
        if self.kerf is None or not (self.kerf.pieces and bool(self.kerf.blank.any())):
            thin.cut(cut.path, _grown(cut.cutter, self.section))
            return self._watched(cut), []
        before, in_kerf = plain.copy(), thin.heights_mm[self.kerf.cells]
        found = self._watched(cut)
        thin.cut(cut.path, _grown(cut.cutter, self.section))
        if np.array_equal(in_kerf, thin.heights_mm[self.kerf.cells]):
            return found, []
        # Any program may cut a tab away, not only the profile's.
        self.changed = True
        were, self.still = self.still, self.joined_now()
        gone = [number for number, (was, still) in enumerate(zip(were, self.still, strict=True)) if was and not still]
        pieces = [self.kerf.pieces[number] for number in gone]
        return found, [came_loose(cut, piece, self.kerf, before, self.plain_with) for piece in pieces]

    def _watched(self, cut: SectionCut) -> list[Crash]:
        """Cut the plain surface, and take down how deep the cutter bites."""
        side = cut.face.is_front
        meter = BiteMeter(self.plain[side], cut, self.plain[not side], self.thickness_mm)
        self.order.before(cut)
        found = cut_watched(self.plain[side], cut, meter)
        self.bitten.append(Bitten(cut, meter.bite, meter.taken_mm3))
        self.order.after(self.bitten[-1])
        return found

    def held_after(self, face: SetupFace) -> list[Held]:
        """Return how the pieces hang after a setup that has changed it."""
        if self.kerf is None or not self.changed:
            return []
        self.changed = False
        faces = self.thin_known()
        return [
            Held(face.name, self.section.name, piece.at_mm, piece.area_mm2, still, *held(faces, self.kerf, piece))
            for piece, still in zip(self.kerf.pieces, self.still, strict=True)
        ]

    def joined_now(self) -> list[bool]:
        """Return which pieces hang together with the blank, in wood that is known."""
        assert self.kerf is not None
        known = self.section.known
        deepest = [surface.heights_mm.min(where=known, initial=0.0) for surface in self.thin.values()]
        if -float(sum(deepest)) < self.thickness_mm:
            # Both faces' cuts together are nowhere as deep as the blank: a sheet goes through all that is known.
            return self.on_one_sheet
        return joined(self.thin_known(), self.kerf)

    @property
    def holds_across(self) -> bool:
        """Whether a piece that goes on across a bend is still joined to the blank in this section."""
        if self.kerf is None:
            return False
        return any(piece.goes_on and still for piece, still in zip(self.kerf.pieces, self.still, strict=True))

    def thin_known(self) -> BothFaces:
        """Return the thin surfaces, with no wood where they do not hold."""
        faces = self.faces(self.thin)
        faces.front_mm[~self.section.known] = -np.inf
        return faces

    def plain_now(self) -> BothFaces:
        """Return the plain surfaces as they are."""
        return self.faces(self.plain)

    def plain_with(self, side: bool, surface: Surface) -> BothFaces:  # noqa: FBT001 - a key, not a switch
        """Return the plain surfaces with another one for a side.

        Where setups of another section may have cut too, there is no more wood than this, so that what is loose here
        is loose.
        """
        return self.faces({**self.plain, side: surface})

    def faces(self, surfaces: dict[bool, Surface]) -> BothFaces:
        front = surfaces[True].heights_mm.copy()
        return BothFaces(
            self.section.grid, front, np.float32(-self.thickness_mm) - surfaces[False].heights_mm, self.thickness_mm
        )

    def left(self) -> SectionLeft:
        section, nothing = self.section, np.zeros(self.section.grid.shape, np.bool_)
        return SectionLeft(
            name=section.name,
            bend=section.bend,
            setups=tuple(dict.fromkeys(cut.face.name for cut in section.cuts)),
            grid=section.grid,
            faces=self.plain_now(),
            thin=self.faces(self.thin),
            known=section.known,
            kerf=nothing if self.kerf is None else self.kerf.cells,
            part=nothing if self.kerf is None else self.kerf.part,
        )


def _grown(cutter: Cutter, section: SectionCuts) -> Cutter:
    return cutter.grown(section.grid.reach_mm + CHORD_MM)
