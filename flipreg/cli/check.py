"""The command `check`, of two faces and of a whole job."""

import argparse
from typing import BinaryIO, TextIO

from flipreg.cli.arguments import datum, positive
from flipreg.cli.checked import checked_job
from flipreg.cli.columns import columns
from flipreg.cli.command import Command
from flipreg.cli.exit_status import DONE, NOT_SHOWN
from flipreg.cli.opening import add_reading, inch_option, opened, refuse_two_from_standard_input
from flipreg.cli.options import add_block_delete, add_flip, add_json
from flipreg.cli.output import write_drawing, write_text
from flipreg.errors import UsageError
from flipreg.units import shown_in

__all__ = ["COMMAND"]


def _add_arguments(parser: argparse.ArgumentParser) -> None:
    # Imported where it is used: every command loads this module, and few ask for tools.
    from flipreg.cli.tool_argument import add_tool

    parser.add_argument(
        "programs", nargs="*", metavar="PROGRAM", help="FRONT and BACK, one of them may be -; or one JOB.toml"
    )
    parser.add_argument("--front", nargs="+", metavar="PROGRAM", help="programs of the front")
    parser.add_argument("--back", nargs="+", metavar="PROGRAM", help="programs of the back")
    add_flip(parser, required=False)
    parser.add_argument(
        "--tolerance", type=positive, metavar="T", help="largest deviation that is in register; needed without a job"
    )
    add_tool(parser)
    add_block_delete(parser)
    add_reading(parser, units_also="; and what the report of two faces is told in")
    parser.add_argument("--thickness", type=positive, metavar="T", help="thickness of the blank")
    add_json(parser, "the report as one JSON object")
    parser.add_argument("--full", action="store_true", help="of a job, every remark whole, and all tables")
    parser.add_argument(
        "--picture", metavar="FILE", help="draw what was found as well: FILE.png, FILE.svg or FILE.pdf"
    )


def _run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    if len(options.programs) == 1 and options.programs[0].endswith(".toml"):
        return _check_job(options, stdout, stderr)
    from flipreg.cli.tool_argument import tools
    from flipreg.produce.isometries import FlipAxis, flip_isometry
    from flipreg.program.face_program import face_program
    from flipreg.register.check import check as compare
    from flipreg.report.json.encoder import json_text
    from flipreg.report.json.faces import to_json
    from flipreg.report.text import to_text
    from flipreg.rs274.interpret.state import BlockDelete

    if options.full:
        raise UsageError("--full has the tables of a job; give one JOB.toml")
    front, back = _faces(options)
    if options.picture is not None:
        from flipreg.drawing.paint import file_format

        file_format(options.picture)
    if options.tolerance is None:
        raise UsageError("say with --tolerance T which deviation is still in register")
    if options.axis is None and (options.at, options.datum) != (None, None):
        raise UsageError("--at and --datum say where the flip axis lies; give --axis x or --axis y with them")
    refuse_two_from_standard_input([*front, *back])
    plain, numbered = tools(options, len(front) + len(back))
    programs = [
        face_program(
            opened(name, options, stdin),
            tool_diameter_mm=None if told is None else told.diameter_mm,
            tools_mm={number: one.diameter_mm for number, one in numbered.items()},
            tool=None if told is None else told.tool,
            tools={number: one.tool for number, one in numbered.items() if one.tool is not None},
            block_delete=BlockDelete(options.block_delete),
        )
        for name, told in zip((*front, *back), plain, strict=True)
    ]
    flip = None
    if (options.at, options.datum) != (None, None):
        flip = flip_isometry(FlipAxis(options.axis), datum(options))
    if options.progress is not None:
        options.progress("comparing", 0, 0)
    with shown_in(inch=inch_option(options)):
        report = compare(
            programs[: len(front)],
            programs[len(front) :],
            flip=flip,
            axis=options.axis,
            tolerance_mm=float(options.tolerance),
            thickness_mm=None if options.thickness is None else float(options.thickness),
        )
    if options.picture is not None:
        from flipreg.drawing.two_faces import draw_two_faces

        if options.progress is not None:
            options.progress("drawing", 0, 0)
        drawing = draw_two_faces(programs[: len(front)], programs[len(front) :], report, options.picture)
        write_drawing(drawing, options.picture, stderr)
    text = json_text(to_json(report)) if options.json else to_text(report, width=columns(stdout))
    write_text(text, stdout)
    return DONE if report.passes else NOT_SHOWN


def _check_job(options: argparse.Namespace, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.job.file.read import read_job
    from flipreg.report.job import job_text
    from flipreg.report.json.encoder import json_text
    from flipreg.report.json.job import job_json

    given = {"--front": options.front, "--back": options.back, "--axis": options.axis, "--at": options.at}
    given |= {"--datum": options.datum, "--tolerance": options.tolerance, "--tool": options.tool or None}
    given |= {"--thickness": options.thickness}
    said = [name for name, value in given.items() if value is not None]
    if said:
        raise UsageError(f"{', '.join(said)}: the job file says that; leave it out")
    if options.picture is not None:
        from flipreg.drawing.paint import file_format

        file_format(options.picture)
    job = read_job(options.programs[0])
    report = checked_job(job, options)
    width = columns(stdout)
    shown = json_text(job_json(report)) if options.json else job_text(report, width=width, full=options.full)
    if options.picture is not None:
        from flipreg.drawing.picture import draw_check

        if options.progress is not None:
            options.progress("drawing", 0, 0)
        drawing = draw_check(job, report, options.picture)
        write_drawing(drawing, options.picture, stderr)
    write_text(shown, stdout)
    return DONE if report.passes else NOT_SHOWN


def _faces(options: argparse.Namespace) -> tuple[list[str], list[str]]:
    if options.front or options.back:
        if options.programs:
            raise UsageError("give either FRONT BACK, or --front ... --back ..., not both")
        if not (options.front and options.back):
            raise UsageError("--front and --back go together: name the programs of both faces")
        return options.front, options.back
    if any(name.endswith(".toml") for name in options.programs):
        raise UsageError("a job file is checked alone: flipreg check JOB.toml")
    if len(options.programs) != 2:
        raise UsageError(f"expected two programs, FRONT and BACK, got {len(options.programs)}")
    return options.programs[:1], options.programs[1:]


COMMAND = Command(
    "check", "say whether a front and a back, or all setups of a job, are in register", _add_arguments, _run
)
