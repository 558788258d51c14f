"""The command `hand`."""

import argparse
from pathlib import Path
from typing import BinaryIO, TextIO

from flipreg.cli.arguments import datum, line, positive
from flipreg.cli.columns import columns
from flipreg.cli.command import Command
from flipreg.cli.exit_status import NOT_SHOWN
from flipreg.cli.opening import add_reading, inch_option, opened, refuse_two_from_standard_input
from flipreg.cli.options import add_flip, add_json
from flipreg.cli.output import write_into_folder, write_text
from flipreg.errors import UsageError
from flipreg.units import shown_in

__all__ = ["COMMAND"]


def _add_arguments(parser: argparse.ArgumentParser) -> None:
    # Imported where it is used: every command loads this module, and few ask for tools.
    from flipreg.cli.tool_argument import add_tool

    parser.add_argument("--front", nargs="+", required=True, metavar="PROGRAM", help="programs of the front")
    parser.add_argument("--back", nargs="+", required=True, metavar="PROGRAM", help="programs of the back")
    add_flip(parser, required=True)
    parser.add_argument(
        "--across", type=line, required=True, metavar="x=C", help="mirror about the line x=C or y=C of the front"
    )
    parser.add_argument(
        "--tolerance", type=positive, required=True, metavar="T", help="largest deviation that is in register"
    )
    add_tool(parser)
    add_reading(parser, units_also="; and what the report is told in")
    parser.add_argument("--thickness", type=positive, metavar="T", help="thickness of the blank")
    parser.add_argument("--keep-climb", action="store_true", help="run closed contours the other way round")
    parser.add_argument("--into", required=True, metavar="FOLDER", help="write the programs here, under their names")
    add_json(parser, "the report of the check as one JSON object")


def _run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.cli.tool_argument import tools
    from flipreg.produce.hand import Across, FlippedJob, MillingDirection, other_hand
    from flipreg.produce.isometries import FlipAxis
    from flipreg.report.json.encoder import json_text
    from flipreg.report.json.faces import to_json
    from flipreg.report.text import to_text

    names = [*options.front, *options.back]
    targets = _targets(names, Path(options.into))
    programs = [opened(name, options, stdin) for name in names]
    plain, numbered = tools(options, len(programs))
    job = FlippedJob(
        tuple(programs[: len(options.front)]),
        tuple(programs[len(options.front) :]),
        FlipAxis(options.axis),
        datum(options),
        tuple(None if told is None else told.diameter_mm for told in plain),
        None if options.thickness is None else float(options.thickness),
        {number: told.diameter_mm for number, told in numbered.items()},
    )
    direction = MillingDirection.KEPT if options.keep_climb else MillingDirection.MIRRORED
    with shown_in(inch=inch_option(options)):
        hand = other_hand(job, Across(*options.across), tolerance_mm=float(options.tolerance), direction=direction)
    report = hand.report
    text = json_text(to_json(report)) if options.json else to_text(report, width=columns(stdout))
    write_text(text, stdout)
    if not report.in_register:
        stderr.write("the mirrored programs are not shown to be in register; nothing was written\n")
        return NOT_SHOWN
    return write_into_folder(options.into, [target.name for target in targets], [*hand.front, *hand.back], stderr)


def _targets(names: list[str], folder: Path) -> list[Path]:
    """Return where the programs go; two of one name, or one over its own source, can't be."""
    from flipreg.cli.files import is_same_file

    refuse_two_from_standard_input(names)
    targets = [folder / ("stdin.nc" if name == "-" else Path(name).name) for name in names]
    for target, name in zip(targets, names, strict=True):
        if targets.count(target) > 1:
            raise UsageError(f"two programs are named {target.name}; they would overwrite each other in {folder}")
        if name != "-" and is_same_file(target, name):
            raise UsageError(f"{target} would overwrite its own source; name another folder")
    return targets


COMMAND = Command(
    "hand", "make the programs of the mirrored part, a left-handed one of a right-handed", _add_arguments, _run
)
