"""The commands of the bench: marks, touch, budget. Read the job, call the library, write, return.

Streams and exit statuses are those of the command line.
"""

import argparse
from collections.abc import Callable, Sequence
from decimal import Decimal
from math import isfinite
from typing import TYPE_CHECKING, BinaryIO, TextIO

from flipreg.cli.exit_status import DONE, NOT_SHOWN
from flipreg.errors import UsageError
from flipreg.units import parse_lengths_mm

if TYPE_CHECKING:
    from flipreg.align.touch_report import TouchReport
    from flipreg.job.job import Job
    from flipreg.job.setup import Setup
    from flipreg.produce.produce import Produced
    from flipreg.progress import Progress
    from flipreg.rs274.read.program import Readable

__all__ = ["budget", "marks", "touch"]

Write = Callable[["Produced"], int]


def touch(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO, *, write: Write) -> int:
    """Fit touched marks to the plan; with `--apply`, write the program that fits the blank as it lies.

    Parameters
    ----------
    options : Namespace
        job, setup, touches, apply, output, json.
    stdin, stdout, stderr : streams
        Those of the command line.
    write : callable
        Writes a new program to where it is wanted and returns the exit status.
    """
    from flipreg.align.planned import planned_marks
    from flipreg.align.touch import fit_touches, reading_mm
    from flipreg.cli.opening import opened
    from flipreg.job.file.read import read_job
    from flipreg.report.touch import touch_json, touch_text
    from flipreg.rs274.read.program import Units

    if options.output is not None and options.apply is None:
        raise UsageError("-o is for the program that --apply makes; give --apply PROGRAM as well")
    on_stdout = options.apply is not None and options.output in (None, "-")
    if options.json and on_stdout:
        raise UsageError("the report and the program can't both go to standard output; give -o FILE for the program")
    touched = {name: (float(x), float(y)) for name, (x, y) in _touches(options.touches).items()}
    job = read_job(options.job)
    setup = job.setup(options.setup)
    report = fit_touches(
        planned_marks(job, setup),
        touched,
        tolerance_mm=job.tolerance_mm,
        reference=setup.mark,
        cut_mm=_cut_mm(job, setup, stdin, options.progress, stderr),
        reading_mm=reading_mm(job.budget),
    )
    # Made before anything is said, so that nothing is written for a program that cannot be moved.
    produced = None
    if options.apply is not None:
        units = Units.INCH if job.inch else Units.MM
        produced = _moved(report, opened(options.apply, options, stdin, units=units, passive=job.passive))
    text = touch_json(report, setup=setup.name) if options.json else touch_text(report, setup=setup.name)
    if on_stdout:
        stderr.write(text)
    else:
        stdout.write(text.encode())
    if options.apply is None:
        return DONE if report.as_planned else NOT_SHOWN
    if produced is None:
        stderr.write("nothing was written: these touches are not good enough to move a program by\n")
        return NOT_SHOWN
    status = write(produced)
    return status if report.explained else NOT_SHOWN


def marks(options: argparse.Namespace, _: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    """Say what to draw on the blank; with `-o`, draw it."""
    from flipreg.align.marks import marking_sheet
    from flipreg.job.file.read import read_job
    from flipreg.report.marks import marks_json, marks_text

    if options.true_scale and options.output is None:
        raise UsageError("--true-scale is for a drawing; give -o FILE.pdf")
    sheet = marking_sheet(read_job(options.job))
    if options.output is not None:
        from flipreg.cli.files import replace_file
        from flipreg.drawing.sheet import draw_sheet, draw_true_scale

        drawing = draw_true_scale(sheet, options.output) if options.true_scale else draw_sheet(sheet, options.output)
        replace_file(options.output, [drawing.data])
        for note in drawing.notes:
            stderr.write(f"{options.output}: {note}\n")
        stderr.write(f"{options.output}: written; {drawing.pages} {'page' if drawing.pages == 1 else 'pages'}\n")
    if options.json or options.output is None:
        stdout.write((marks_json(sheet) if options.json else marks_text(sheet)).encode())
    return DONE


def budget(options: argparse.Namespace, _: BinaryIO, stdout: BinaryIO, __: TextIO) -> int:
    """Say how far the faces can end up apart."""
    from flipreg.align.job_budget import job_budget
    from flipreg.job.file.read import read_job, with_lines
    from flipreg.job.problem import JobFileError
    from flipreg.report.budget import budget_json, budget_text

    job = read_job(options.job)
    try:
        report = job_budget(job)
    except JobFileError as error:
        raise with_lines(error) from None
    stdout.write((budget_json(report) if options.json else budget_text(report)).encode())
    return DONE if report.within else NOT_SHOWN


def _touches(texts: Sequence[str]) -> dict[str, tuple[Decimal, Decimal]]:
    """Return touched positions by mark; a name may hold blanks and equals signs."""
    touched: dict[str, tuple[Decimal, Decimal]] = {}
    for text in texts:
        name, equals, place = text.rpartition("=")
        name = name.strip()
        if not equals or not name:
            raise UsageError(f"{text!r} is no touched mark; expected MARK=X,Y such as throat=12.31,0.42")
        if name in touched:
            raise UsageError(f"mark {name!r} is given twice")
        x, y = parse_lengths_mm(place, counts=(2,))
        touched[name] = (x, y)
    return touched


def _cut_mm(
    job: "Job", setup: "Setup", stdin: BinaryIO, progress: "Progress | None", stderr: TextIO
) -> list[tuple[float, float]]:
    """Return corners round all that a setup cuts, in its programs' numbers; round the blank where that is not known."""
    from flipreg.align.marks import blank_outlines_mm
    from flipreg.cli.files import open_program
    from flipreg.program.summary import summarise
    from flipreg.rs274.read.location import ProgramError, RefusedError
    from flipreg.rs274.read.program import Units

    units = Units.INCH if job.inch else Units.MM
    corners: list[tuple[float, float]] = []
    for program in setup.programs:
        try:
            cutting = summarise(open_program(program.file, stdin, progress=progress, units=units)).cutting
        except (ProgramError, RefusedError) as error:
            stderr.write(f"{error}\n")
            cutting = None
        known = cutting is not None and all(map(isfinite, (*cutting.low_mm[:2], *cutting.high_mm[:2])))
        if cutting is None or not known:
            stderr.write(f"{program.file}: what it cuts is not known, so that the whole blank is looked at\n")
            return [corner for outline in blank_outlines_mm(job, setup) for corner in outline]
        corners += [(x, y) for x in (cutting.low_mm[0], cutting.high_mm[0])
                    for y in (cutting.low_mm[1], cutting.high_mm[1])]  # fmt: skip
    return corners


def _moved(report: "TouchReport", program: "Readable") -> "Produced | None":
    """Return the program moved to where the blank lies; None where the touches do not allow it."""
    from flipreg.produce.produce import shift

    by = report.correction
    if by is None or not report.may_be_applied:
        return None
    return shift(program, by_mm=(*by.by_mm, Decimal(0)), turn_deg=by.turn_deg, about_mm=by.about_mm)
