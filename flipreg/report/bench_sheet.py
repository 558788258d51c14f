"""The bench sheet as values: the verdict, the files it holds for, and what a person does in each setup, in order.

Texts are in the job's unit, as they stand on paper. What can't be told is written as not determined, never left out.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from flipreg.align.marking_sheet import MarkingSheet, SetupSheet
from flipreg.align.marks import marking_sheet
from flipreg.findings import Status
from flipreg.job.clamp import Clamp
from flipreg.job.job import Job
from flipreg.job_check.report import JobReport
from flipreg.names import bare_name
from flipreg.program.duration import Duration, together
from flipreg.program.face import FaceProgram
from flipreg.program.setup_face import SetupFace
from flipreg.register.faces.datum import offset_names
from flipreg.report.figures import key_figures
from flipreg.report.marks import bare_length, signed
from flipreg.report.remark import remark_text
from flipreg.report.times import clock_text
from flipreg.report.verdict import verdict_words, what_to_do
from flipreg.stock.sections.remaining import RemainingStock, Thickness
from flipreg.units import Shown

__all__ = ["BenchSetup", "BenchSheet", "FilePrint", "RunRow", "bench_sheet"]

_UNKNOWN = "not determined"


@dataclass(frozen=True, slots=True)
class FilePrint:
    """What tells a file from a changed one.

    Attributes
    ----------
    bytes : int
        Its size.
    sha256 : str
        Its SHA-256 in hexadecimal digits; sheets show the first ten.
    """

    bytes: int
    sha256: str

    @property
    def words(self) -> tuple[str, str]:
        """Its size and the start of its hash, as they stand on paper."""
        return f"{self.bytes}", self.sha256[:10]


@dataclass(frozen=True, slots=True)
class RunRow:
    """A program, or the stretch of it that one tool cuts, in the order they run.

    Attributes
    ----------
    number : int or None
        Of the program in its setup, from 1; None where the program goes on with its next tool.
    file : str
        The program's name without folders.
    from_line : int
        Line of its first motion.
    tool : str
        Name of the tool.
    bite, depth, time : str
        Deepest bite, lowest cut below the face that is up, and time of the whole program.
    """

    number: int | None
    file: str
    from_line: int
    tool: str
    bite: str
    depth: str
    time: str


@dataclass(frozen=True, slots=True, eq=False)
class BenchSetup:
    """One setup.

    Attributes
    ----------
    sheet : SetupSheet
        How the blank is laid and found.
    face : SetupFace
        The setup with its programs.
    clamps : tuple of (Clamp, str)
        What stands on the table, with the words for it.
    marks : tuple of (str, str, str)
        Each mark on the face that is up, and what X and Y read with the pointer over it; the reference mark first.
    jog : (str, str)
        From the reference mark to program zero, X and Y.
    offsets : tuple of str
        The work offsets that its programs cut in.
    runs : tuple of RunRow
        What runs, in order.
    time : str
        Of all programs together.
    """

    sheet: SetupSheet
    face: SetupFace
    clamps: tuple[tuple[Clamp, str], ...]
    marks: tuple[tuple[str, str, str], ...]
    jog: tuple[str, str]
    offsets: tuple[str, ...]
    runs: tuple[RunRow, ...]
    time: str


@dataclass(frozen=True, slots=True, eq=False)
class BenchSheet:
    """Everything that goes to the machine on paper.

    Attributes
    ----------
    marking : MarkingSheet
        What is drawn on the blank.
    source : str
        The job file.
    checked_on : str
        When it was checked.
    passes : bool
        Whether the check passed; if not, every page says NOT CHECKED.
    verdict : tuple of str
        The check's verdict, in paragraphs.
    to_do : str or None
        What to do about a job that doesn't pass.
    remarks : tuple of (int, Status, str)
        The numbered remarks of the report.
    figures : tuple of (str, str)
        The key figures of the report.
    setups : tuple of BenchSetup
        In the order they are cut.
    files : tuple of (str, FilePrint)
        The job file and every program once, by their paths.
    left : tuple of RemainingStock
        What is left of each section of the blank.
    stations : tuple of Thickness
        The finished thickness where the job asks for it.
    """

    marking: MarkingSheet
    source: str
    checked_on: str
    passes: bool
    verdict: tuple[str, ...]
    to_do: str | None
    remarks: tuple[tuple[int, Status, str], ...]
    figures: tuple[tuple[str, str], ...]
    setups: tuple[BenchSetup, ...]
    files: tuple[tuple[str, FilePrint], ...]
    left: tuple[RemainingStock, ...]
    stations: tuple[Thickness, ...]


def bench_sheet(job: Job, report: JobReport, *, files: Mapping[str, FilePrint], checked_on: str) -> BenchSheet:
    """Return the bench sheet of a job and its check.

    Parameters
    ----------
    job : Job
        The job.
    report : JobReport
        Of its check.
    files : mapping from str to FilePrint
        The job file and the programs as they were checked, by their paths.
    checked_on : str
        When, in words.

    Raises
    ------
    JobFileError
        If parts of the job contradict each other.
    """
    marking = marking_sheet(job)
    setups = zip(marking.setups, report.faces, strict=True)
    return BenchSheet(
        marking=marking,
        source=report.source,
        checked_on=checked_on,
        passes=report.passes,
        verdict=tuple(verdict_words(report)),
        to_do=None if report.passes else what_to_do(report),
        remarks=tuple((number, one.status, remark_text(one)) for number, one in enumerate(report.remarks, 1)),
        figures=tuple(key_figures(report)),
        setups=tuple(_setup(sheet, face, report) for sheet, face in setups),
        files=tuple(files.items()),
        left=report.left,
        stations=report.stations,
    )


def _setup(sheet: SetupSheet, face: SetupFace, report: JobReport) -> BenchSetup:
    shown = Shown(report.inch)
    times = [one.programs for one in report.times if one.setup == face.name]
    durations = [program.duration for program in times[0]] if times else []
    reference = next(jog for jog in sheet.jogs if jog.is_reference)
    return BenchSetup(
        sheet=sheet,
        face=face,
        clamps=tuple((clamp, _clamp_text(clamp, shown)) for clamp in face.setup.clamps),
        # With the pointer over a mark the readout shows the way back from zero.
        marks=tuple((jog.mark, *_pair((0.0 - jog.by_mm[0], 0.0 - jog.by_mm[1]), report)) for jog in sheet.jogs),
        jog=_pair(reference.by_mm, report),
        offsets=offset_names(face.programs),
        runs=tuple(_runs(face, report, durations)),
        time=_time(together(durations)) if durations else _UNKNOWN,
    )


def _pair(by_mm: tuple[float, float], report: JobReport) -> tuple[str, str]:
    x, y = (signed(bare_length(part, inch=report.inch)) for part in by_mm)
    return x, y


def _runs(face: SetupFace, report: JobReport, durations: list[Duration]) -> Iterator[RunRow]:
    shown = Shown(report.inch)
    for place, (program, tools) in enumerate(zip(face.programs, face.tools, strict=True)):
        whole = _time(durations[place]) if durations else _UNKNOWN
        for stretch, (part, tool) in enumerate(zip(program.by_tool(), tools, strict=True)):
            yield RunRow(
                number=None if stretch else place + 1,
                file=bare_name(program.name),
                from_line=int(part.path.line[0]) if len(part.path) else 1,
                tool=tool.name,
                bite=_bite(report, face.name, program.name, tool.name, shown),
                depth=_depth(part, shown),
                time="" if stretch else whole,
            )


def _bite(report: JobReport, setup: str, program: str, tool: str, shown: Shown) -> str:
    """Return the deepest bite of a program with a tool, of all its stretches with it; what was not measured is open."""
    found = [
        one.bite
        for one in report.bitten
        if (one.cut.face.name, one.cut.program.name, one.cut.tool.name) == (setup, program, tool)
    ]
    if not found or not report.wood_is_known:
        return _UNKNOWN
    deepest = max((bite.depth_mm for bite in found if bite is not None), default=None)
    return "nothing" if deepest is None else shown.length(deepest, 1)


def _depth(part: FaceProgram, shown: Shown) -> str:
    """Return how far below the face that is up a program cuts at its lowest; Z zero is on that face here."""
    path = part.path
    if not np.isfinite(path.end[path.is_cut, 2]).all() or not (path.work_offset == path.work_offset[:1]).all():
        return _UNKNOWN
    low_mm, _ = path.bounds_mm()
    deep_mm = -float(low_mm[path.is_cut, 2].min(initial=0.0))
    return shown.length(deep_mm) if deep_mm > 0.0 else "nothing"


def _time(duration: Duration) -> str:
    return clock_text(duration.estimate_s) if not duration.unknown else _UNKNOWN


def _clamp_text(clamp: Clamp, shown: Shown) -> str:
    x, y = (f"{shown.number(low)} to {shown.number(high)}" for low, high in (clamp.x_mm, clamp.y_mm))
    return f"{clamp.name}: X {x}, Y {y}, top at Z {shown.number(clamp.top_mm)}"
