"""A job run in thought: every program in its order over the surfaces of its section."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.heightmap import undetermined
from flipreg.findings import Finding
from flipreg.job.layout import Layout
from flipreg.names import bare_name
from flipreg.program.setup_face import SetupFace
from flipreg.progress import Progress
from flipreg.second_process import SecondProcess
from flipreg.stock.cutting.at_once import at_once
from flipreg.stock.cutting.bite import Bitten
from flipreg.stock.cutting.parting import Stage, Work
from flipreg.stock.cutting.rapids import Crash
from flipreg.stock.cutting.release import Release
from flipreg.stock.cutting.slanted import Slant, slant_of
from flipreg.stock.sections.kerf import Kerf, kerf_of
from flipreg.stock.sections.remaining import RemainingStock
from flipreg.stock.sections.section import SectionCut, SectionCuts, cuts_of, sections

__all__ = ["Carved", "Crashes", "LeftOut", "carve", "is_for_two"]

_LONG_MOTIONS = 50_000
"""A program of so many is worth a thread (chosen): for fewer, threads wait for each other longer than they save."""
_CELLS_FOR_TWO = 200_000
"""Maps of so many cells are worth a second process (chosen): to make it and to tell the two apart takes some
hundredths of a second."""


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
    left : tuple of RemainingStock
        What is left of each section.
    kerfs : tuple of Kerf
        Of each section: the cuts that part its pieces.
    stages : tuple of tuples of Stage
        Of each section: how it was after each setup that cuts it.
    opened_by : tuple of int16 arrays
        Of each section: number from 1 of the program after which a cell has no wood, 0 where there is some.
    released : tuple of Release
        Pieces that come loose, in the order in which they do.
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

    left: tuple[RemainingStock, ...]
    kerfs: tuple[Kerf, ...]
    stages: tuple[tuple[Stage, ...], ...]
    opened_by: tuple[NDArray[np.int16], ...]
    released: tuple[Release, ...]
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
    works = [Work.of(section, layout) for section in sections(layout, faces)]
    crashes: list[Crashes] = []
    slants: list[Slant] = []
    stages: list[list[Stage]] = [[] for _ in works]
    released: list[Release] = []
    done, count = 0, sum(len(work.section.cuts) for work in works)
    worked = [work.section.bend for work in works]
    # Programs in the air over their own section may run into another one.
    idle = [cut for face in faces if face.bend not in worked for cut in cuts_of(face)]
    thinnings = [(work, cut) for work in works for cut in work.section.cuts]
    pays = is_for_two([work.section for work in works])
    # Neither pair of surfaces looks at the other.
    with SecondProcess([partial(work.thin_out, cut) for work, cut in thinnings], pays=pays) as second:
        for face in faces:
            for cut in (cut for cut in idle if cut.face is face):
                slants += _slants(cut, works, layout, faces)
            for work in works:
                for cut in (cut for cut in work.section.cuts if cut.face is face):
                    if progress is not None:
                        progress(f"running {bare_name(cut.program.name)}", done, count)
                    done += 1
                    slants += _slants(cut, works, layout, faces)
                    thinned = second.begin(thinnings.index((work, cut)), is_long=len(cut.path) >= _LONG_MOTIONS)
                    found, newly = work.run(cut, works, thinned)
                    if found:
                        crashes.append(Crashes(cut, tuple(found)))
                    released += newly
            for work, after in zip(works, stages, strict=True):
                stage = work.stage(face)
                if stage is not None:
                    after.append(stage)
    with at_once([cut for work in works for cut in work.section.cuts], pays=pays) as ask:
        asked = [ask(kerf_of, work.section, work.plain.now(), work.borders, work.off) for work in works]
    kerfs = tuple(one.result() for one in asked)
    return Carved(
        left=tuple(map(_left, works, kerfs)),
        kerfs=kerfs,
        stages=tuple(map(tuple, stages)),
        opened_by=tuple(work.opened_by for work in works),
        released=tuple(released),
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


def is_for_two(cut: Sequence[SectionCuts]) -> bool:
    """Return whether to cut sections, and to look into what is left, is enough work for two processes."""
    cells = sum(section.known.size for section in cut)
    return cells >= _CELLS_FOR_TWO or any(len(one.path) >= _LONG_MOTIONS for section in cut for one in section.cuts)


def _slants(cut: SectionCut, works: Sequence[Work], layout: Layout, faces: Sequence[SetupFace]) -> Iterator[Slant]:
    """Yield the traverses of a program through the sections beside the one that lies flat."""
    for bend in dict.fromkeys((None, layout.near, layout.far)):
        if bend != cut.face.bend:
            work = next((work for work in works if work.section.bend == bend), None)
            left = None if work is None else work.plain.now
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


def _left(work: Work, kerf: Kerf) -> RemainingStock:
    section = work.section
    return RemainingStock(
        name=section.name,
        bend=section.bend,
        setups=tuple(dict.fromkeys(cut.face.name for cut in section.cuts)),
        grid=section.grid,
        faces=work.plain.now(),
        thin=work.thin.now(),
        known=section.known,
        kerf=kerf.cells,
        part=kerf.part,
        lead=section.lead,
    )
