"""The start and the end of a program over its zero, at a safe height."""

from decimal import Decimal

import numpy as np

from flipreg.errors import UsageError
from flipreg.path import Path
from flipreg.produce import Produced, headed
from flipreg.prove.added import ProvingAdded, check_home
from flipreg.prove.read import Read
from flipreg.rewrite.home import survey_home, with_lines_added
from flipreg.rs274.block import Blocks
from flipreg.rs274.interpret import interpret_blocks
from flipreg.rs274.location import Location, RefusedError
from flipreg.rs274.program import Readable
from flipreg.rs274.state import State

__all__ = ["home", "missing_from_home"]

_FEW = 64
"""Motions kept from both ends for the proof; the first place that is named whole is among the first few."""


def home(program: Readable, *, safe_z_mm: Decimal) -> Produced:
    r"""Let a program begin and end over program zero at a safe height; nothing between is touched.

    Parameters
    ----------
    program : Program or ProgramFile
        The program; read in pieces, never held whole.
    safe_z_mm : Decimal
        The height in the program's numbers, in millimetres. A program that begins or ends higher stays there.

    Returns
    -------
    Produced
        Its notes say what was added.

    Raises
    ------
    ProgramError
        If the program is not legal.
    RefusedError
        If it is not clear over which zero, or the lines to be added would change what is between.
    ProofError
        If the result does not do what it should; never written.
    UsageError
        If the height is not over 0.

    Examples
    --------
    >>> from flipreg.rs274.program import parse
    >>> program = parse("G21 G90\nG0 X5 Y5\nZ2\nG1 Z-1 F300\nG0 Z2\nM2\n")
    >>> home(program, safe_z_mm=Decimal(10)).text.splitlines()[4:7]
    [b'G21 G90', b'G21 G90 G0 Z10', b'G0 X0 Y0']
    """
    _check_height(safe_z_mm)
    survey = survey_home(program, safe_z_mm)
    if survey.low_line:
        height = f"Z{_plain(safe_z_mm)}"
        message = f"this traverse home crosses below {height}; raise it in the source, or ask for less height"
        raise RefusedError(message, Location(program.source, survey.low_line, 1, 2))
    proving, state = ProvingAdded(program.source), State()
    texts: list[bytes] = []
    chunks: list[Path] = []
    head: Blocks | None = None
    motions = count = 0
    for blocks, text, added in with_lines_added(program, survey, safe_z_mm):
        modes, path, state = interpret_blocks(blocks, state)
        made = proving.add(text, Read(blocks, modes, path), added)
        motions, count = motions + len(path), count + len(added)
        chunks = _both_ends([*chunks, made])
        head = head or blocks
        texts.append(text)
    deviation = proving.finish()
    check_home(program.source, Path.concatenate(chunks), float(safe_z_mm))
    assert head is not None
    notes = _notes(start_is_home=survey.start_is_home, end_is_home=survey.end_is_home)
    done = f"starts and ends over program zero at Z{_plain(safe_z_mm)} or higher"
    return headed(head, texts, Produced((), program.source, deviation, motions, notes), (done, *notes))


def missing_from_home(program: Readable, *, safe_z_mm: Decimal) -> tuple[str, ...]:
    r"""Return what a program lacks to begin and end over program zero at a safe height; nothing if it does.

    Raises
    ------
    ProgramError, RefusedError, UsageError
        As `home`.

    Examples
    --------
    >>> from flipreg.rs274.program import parse
    >>> program = parse("G21 G90\nG0 Z15\nX0 Y0\nX5\nG1 Z-1 F300\nG0 Z15\nM2\n")
    >>> missing_from_home(program, safe_z_mm=Decimal(10))
    ('line 6: ends at X5 Y0 Z15, expected X0 Y0 at Z10 or higher',)
    """
    _check_height(safe_z_mm)
    survey = survey_home(program, safe_z_mm)
    missing = []
    expected = f"expected X0 Y0 at Z{_plain(safe_z_mm)} or higher"
    if not survey.start_is_home:
        missing.append(f"line {survey.first_line}: does not start by going up and then over zero; {expected}")
    if survey.low_line:
        missing.append(f"line {survey.low_line}: crosses to zero below Z{_plain(safe_z_mm)}")
    elif not survey.end_is_home:
        x, y, z = (f"{value:g}" for value in survey.end_mm)
        missing.append(f"line {survey.last_line}: ends at X{x} Y{y} Z{z}, {expected}")
    return tuple(missing)


def _check_height(safe_z_mm: Decimal) -> None:
    if not safe_z_mm > 0:
        raise UsageError(f"a safe height is a Z over 0 mm, got {safe_z_mm}")


def _both_ends(chunks: list[Path]) -> list[Path]:
    """Return the first and the last motions."""
    path = Path.concatenate(chunks)
    if len(path) <= 2 * _FEW:
        return [path]
    return [path.take(np.r_[0:_FEW, len(path) - _FEW : len(path)])]


def _notes(*, start_is_home: bool, end_is_home: bool) -> tuple[str, ...]:
    missing = [what for what, there in (("start", start_is_home), ("end", end_is_home)) if not there]
    if not missing:
        return ("nothing added: it did so already",)
    return (f"added at the {' and at the '.join(missing)}",)


def _plain(value: Decimal) -> str:
    return f"{value.normalize() + 0:f}"
