"""The command `touch`: touched marks fitted to the plan; with `--apply`, the programs that fit the blank as it lies."""

import argparse
import os
from collections.abc import Sequence
from decimal import Decimal
from math import isfinite
from typing import TYPE_CHECKING, BinaryIO, TextIO

from flipreg.cli.command import Command
from flipreg.cli.exit_status import DONE, NOT_SHOWN
from flipreg.cli.opening import opened
from flipreg.cli.options import add_json
from flipreg.cli.output import write_into_folder, write_text
from flipreg.errors import UsageError
from flipreg.units import parse_lengths_mm, shown_in, with_unit

if TYPE_CHECKING:
    from flipreg.align.touch_report import TouchReport
    from flipreg.job.job import Job
    from flipreg.job.setup import Setup
    from flipreg.produce.produced import Produced

__all__ = ["COMMAND"]


def _add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("job", metavar="JOB.toml", help="the job file")
    parser.add_argument("--setup", required=True, metavar="NAME", help="the setup that lies on the table")
    parser.add_argument(
        "touches",
        nargs="+",
        metavar="MARK=X,Y",
        help="where the pointer found a mark, in the program's numbers and the job's unit",
    )
    parser.add_argument(
        "--apply", metavar="FOLDER", help="move all programs of the setup to where the blank lies, into this folder"
    )
    parser.add_argument(
        "--units",
        dest="bare",
        choices=("mm", "inch"),
        help="what touched positions without a unit are; the job's own unit if left out",
    )
    add_json(parser, "the report as one JSON object")


def _run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.align.planned import planned_marks
    from flipreg.align.touch import fit_touches, reading_mm
    from flipreg.job.file.read import read_job
    from flipreg.report.json.bench import touch_json
    from flipreg.report.touch import touch_text

    job = read_job(options.job)
    inch = job.inch if options.bare is None else options.bare == "inch"
    touched = {name: (float(x), float(y)) for name, (x, y) in _touches(options.touches, inch=inch).items()}
    setup = job.setup(options.setup)
    with shown_in(inch=job.inch):
        report = fit_touches(
            planned_marks(job, setup),
            touched,
            tolerance_mm=job.tolerance_mm,
            reference=setup.mark,
            cut_mm=_cut_mm(job, setup, options, stdin, stderr),
            reading_mm=reading_mm(job.budget),
        )
        text = touch_json(report, setup=setup.name) if options.json else touch_text(report, setup=setup.name)
    # Made before anything is said, so that nothing is written if one of them cannot be moved.
    moved = [] if options.apply is None else _moved(report, job, setup, options, stdin)
    write_text(text, stdout)
    if options.apply is None:
        return DONE if report.as_planned else NOT_SHOWN
    if not moved:
        stderr.write("nothing was written: these touches are not good enough to move programs by\n")
        return NOT_SHOWN
    status = write_into_folder(options.apply, [os.path.basename(one.file) for one in setup.programs], moved, stderr)
    return status if report.explained else NOT_SHOWN


def _touches(texts: Sequence[str], *, inch: bool) -> dict[str, tuple[Decimal, Decimal]]:
    """Return touched positions by mark; a name may hold blanks and equals signs."""
    touched: dict[str, tuple[Decimal, Decimal]] = {}
    for text in texts:
        name, equals, place = text.rpartition("=")
        name = name.strip()
        if not equals or not name:
            raise UsageError(f"{text!r} is no touched mark; expected MARK=X,Y such as throat=12.31,0.42")
        if name in touched:
            raise UsageError(f"mark {name!r} is given twice")
        x, y = (with_unit(length, inch=inch) for length in parse_lengths_mm(place, counts=(2,)))
        touched[name] = (x, y)
    return touched


def _cut_mm(
    job: "Job", setup: "Setup", options: argparse.Namespace, stdin: BinaryIO, stderr: TextIO
) -> list[tuple[float, float]]:
    """Return corners round all that a setup cuts, in its programs' numbers; round the blank where that is not known."""
    from flipreg.align.marks import blank_outlines_mm
    from flipreg.program.summary import summarise
    from flipreg.rs274.read.location import ProgramError, RefusedError

    corners: list[tuple[float, float]] = []
    for program in setup.programs:
        try:
            cutting = summarise(opened(program.file, options, stdin, job=job)).cutting
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


def _moved(
    report: "TouchReport", job: "Job", setup: "Setup", options: argparse.Namespace, stdin: BinaryIO
) -> "list[Produced]":
    """Return the setup's programs moved to where the blank lies; none where the touches do not allow it.

    Raises
    ------
    UsageError
        If a program would be written over itself, or over another one of the setup.
    """
    from flipreg.produce.produce import shift

    names = [os.path.basename(one.file) for one in setup.programs]
    for place, (one, name) in enumerate(zip(setup.programs, names, strict=True)):
        if os.path.realpath(os.path.join(options.apply, name)) == os.path.realpath(one.file):
            raise UsageError(f"{one.file} would be written over; --apply wants another folder than the programs'")
        if name in names[:place]:
            raise UsageError(f"two programs of setup {setup.name!r} are called {name}; give them names of their own")
    by = report.correction
    if by is None or not report.may_be_applied:
        return []
    return [
        shift(
            opened(one.file, options, stdin, job=job),
            by_mm=(*by.by_mm, Decimal(0)),
            turn_deg=by.turn_deg,
            about_mm=by.about_mm,
        )
        for one in setup.programs
    ]


COMMAND = Command("touch", "fit touched marks to the plan, and say what to do", _add_arguments, _run)
