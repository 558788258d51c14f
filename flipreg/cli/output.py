"""What a command has made, written to where it is wanted, and said so."""

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING, BinaryIO, TextIO

from flipreg.cli.exit_status import DONE

if TYPE_CHECKING:
    from flipreg.drawing.paint import Drawing
    from flipreg.produce.produced import Produced

__all__ = ["write_drawing", "write_into_folder", "write_program", "write_text"]


def write_text(text: str, stdout: BinaryIO) -> None:
    """Write a report to standard output; bytes of a file's name that are no text stand there as escapes."""
    stdout.write(text.encode(errors="backslashreplace"))


def write_program(produced: "Produced", options: argparse.Namespace, stdout: BinaryIO, stderr: TextIO) -> int:
    """Write a new program to the file of `-o`, or to standard output; return the exit status."""
    if options.output is None or options.output == "-":
        stdout.writelines(produced.parts)
        stdout.flush()
        where = "standard output"
    else:
        from flipreg.cli.files import replace_file

        replace_file(options.output, produced.parts)
        where = options.output
    _say_written(where, produced, stderr)
    for note in produced.notes:
        stderr.write(f"{note}\n")
    return DONE


def write_into_folder(folder: str, names: Sequence[str], made: Sequence["Produced"], stderr: TextIO) -> int:
    """Write programs into a folder, all or none; return the exit status."""
    from flipreg.cli.files import write_into

    paths = write_into(folder, [(name, each.parts) for name, each in zip(names, made, strict=True)])
    for path, each in zip(paths, made, strict=True):
        _say_written(path, each, stderr)
        for note in each.notes:
            stderr.write(f"{path}: {note}\n")
    return DONE


def write_drawing(drawing: "Drawing", file: str, stderr: TextIO) -> None:
    """Write a drawing to a file."""
    from flipreg.cli.files import replace_file

    replace_file(file, [drawing.data])
    for note in drawing.notes:
        stderr.write(f"{file}: {note}\n")
    stderr.write(f"{file}: written; {drawing.pages} {'page' if drawing.pages == 1 else 'pages'}\n")


def _say_written(where: str, produced: "Produced", stderr: TextIO) -> None:
    motions = f"{produced.motions} motion{'' if produced.motions == 1 else 's'}"
    stderr.write(f"{where}: written; {motions} proved, largest deviation {produced.deviation} mm\n")
