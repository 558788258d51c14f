"""What can be wrong with the places a job names on its blank: marks and stations off it, hinges in the wrong order.

Distances along are those of a tape on the face in question, so that over a bend each face has a length of its own.
"""

from collections.abc import Iterator

from flipreg.job.bend import FaceLine
from flipreg.job.blank import BlankFace
from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.job.mark import Mark
from flipreg.job.parts import unit_hint
from flipreg.job.problem import KeyPath, Problem
from flipreg.units import Shown

__all__ = ["blank_rules"]

_LARGEST_MM = 10_000.0
"""No board is as long or as wide as this (chosen)."""

_NOISE_MM = 1e-6
"""What is drawn on an edge counts as on the blank: converting its unit may have moved it by this much."""


def blank_rules(job: Job) -> Iterator[Problem]:
    """Yield every place of a job that its blank does not have, with its key path."""
    for key, size_mm, how in (("length", job.blank.length_mm, "long"), ("width", job.blank.width_mm, "wide")):
        if size_mm > _LARGEST_MM:
            message = f"no board is {Shown(job.inch).plain(size_mm)} {how}: is this number in another unit?"
            yield Problem(("blank", key), message)
    layout = Layout.of(job)
    misplaced = list(_hinges(layout))
    yield from misplaced
    for index, mark in enumerate(job.marks):
        path: KeyPath = ("marks", index)
        if mark.name.startswith("-"):
            message = f"a mark {mark.name!r} would be taken for an option of a command: let it begin otherwise"
            yield Problem((*path, "name"), message)
        yield from _beside(job, (*path, "across"), f"mark {mark.name!r}", mark.across_mm)
        if not misplaced:
            yield from _beyond(layout, path, mark)
    for index, station in enumerate(job.stations):
        path, named = ("stations", index), f"station {station.name!r}"
        yield from _beside(job, (*path, "across"), named, station.across_mm)
        yield from _off_the_end(job, (*path, "along"), named, station.along_mm, job.blank.length_mm, "blank")


def _hinges(layout: Layout) -> Iterator[Problem]:
    """Find a straight section that is not there, and a first mark that is not on it."""
    (_, low_mm, _, high_mm) = layout.section_box_mm(None)
    if layout.near is not None and layout.far is not None and low_mm >= high_mm:
        yield Problem(("marks",), "the hinge of the near section lies beyond the hinge of the far one")
        return
    near, far = layout.near, layout.far
    starts = near is not None and near.corner(BlankFace.FRONT)[0] > _NOISE_MM
    ends = far is not None and far.corner(BlankFace.FRONT)[0] < -_NOISE_MM
    if starts or ends:
        message = "the first mark is on a bent section; put a mark on the straight section first"
        yield Problem(("marks", 0, "along"), message)


def _beyond(layout: Layout, path: KeyPath, mark: Mark) -> Iterator[Problem]:
    """Find a mark beyond the far end, by the tape on each face it is drawn on."""
    if mark.along_mm is None:
        return
    far_end_mm = layout.y_range_mm[1]
    for face in mark.faces:
        # The end is square to its section, so that it has one y on both faces there.
        end_mm = layout.along_mm(FaceLine(face, layout.far, far_end_mm))
        which = "blank" if face is BlankFace.FRONT else "blank's back"
        found = list(_off_the_end(layout.job, (*path, "along"), f"mark {mark.name!r}", mark.along_mm, end_mm, which))
        if found:
            yield found[0]
            return


def _off_the_end(
    job: Job, path: KeyPath, named: str, along_mm: float, end_mm: float, which: str
) -> Iterator[Problem]:
    if along_mm > end_mm + _NOISE_MM:
        along, end = map(Shown(job.inch).bare, (along_mm, end_mm))
        hint = unit_hint(along_mm, end_mm, inch=job.inch)
        yield Problem(path, f"{named} is off the blank: {along} from the near end, and the {which} is {end} long{hint}")


def _beside(job: Job, path: KeyPath, named: str, across_mm: float) -> Iterator[Problem]:
    low_mm, high_mm = job.blank.x_range_mm
    if not low_mm - _NOISE_MM <= across_mm <= high_mm + _NOISE_MM:
        across, low, high = map(Shown(job.inch).bare, (across_mm, low_mm, high_mm))
        message = f"{named} is off the blank: {across} beside the centre line, and the edges are at {low} and {high}"
        yield Problem(path, message + unit_hint(across_mm, job.blank.width_mm, inch=job.inch))
