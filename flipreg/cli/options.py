"""Options that several commands have: the flip, other work offsets, block delete, where the output goes."""

import argparse

from flipreg.cli.arguments import length, offset, point

__all__ = ["add_block_delete", "add_flip", "add_json", "add_offset", "add_output", "add_program"]


def add_program(parser: argparse.ArgumentParser) -> None:
    """Add the one program that a command works on."""
    parser.add_argument("program", metavar="PROGRAM", help="a file, or - for standard input")


def add_flip(parser: argparse.ArgumentParser, *, required: bool) -> None:
    """Add the options that say how the blank is turned over; `arguments.datum` reads them."""
    without = "" if required else "; what is not given of axis and place is found from what both faces share"
    parser.add_argument(
        "--axis",
        choices=("x", "y"),
        required=required,
        help=f"flip axis: y like turning a page, x end over end{without}",
    )
    where = parser.add_mutually_exclusive_group()
    where.add_argument("--at", type=length, metavar="C", help="the axis is the line x = C (axis y) or y = C (axis x)")
    where.add_argument(
        "--datum", type=point, metavar="X,Y", help="the point, in the front's numbers, that is zero for the back"
    )


def add_offset(parser: argparse.ArgumentParser, what: str) -> None:
    """Add the option that says a point in the numbers of other work offsets."""
    parser.add_argument(
        "--offset",
        type=offset,
        action="append",
        default=[],
        metavar="G55=X,Y",
        help=f"{what} in the numbers of another work offset; once for each",
    )


def add_block_delete(parser: argparse.ArgumentParser) -> None:
    """Add the machine's switch for lines that start with `/`."""
    parser.add_argument(
        "--block-delete",
        choices=("on", "off"),
        default="off",
        help="the machine's switch: on leaves lines that start with / out; default off",
    )


def add_json(parser: argparse.ArgumentParser, help_text: str) -> None:
    """Add the switch for a report as JSON."""
    parser.add_argument("--json", action="store_true", help=help_text)


def add_output(parser: argparse.ArgumentParser) -> None:
    """Add where a new program goes; `output.write_program` reads it."""
    parser.add_argument("-o", dest="output", metavar="FILE", help="write here, in one step, instead of standard output")
