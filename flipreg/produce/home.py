"""The start and the end of a program over its zero, at a safe height."""

from dataclasses import replace
from decimal import Decimal
from math import isnan

from flipreg.errors import UsageError
from flipreg.findings import Finding, Status
from flipreg.produce.header import headed
from flipreg.produce.other_visits import OtherVisits, became_zero
from flipreg.produce.produced import Produced
from flipreg.prove.added import ProvingAdded
from flipreg.prove.homed import ProvingHome
from flipreg.prove.read import Read
from flipreg.rewrite.shop.ending import Ending
from flipreg.rewrite.shop.home import HomeSurvey, survey_home, with_lines_added
from flipreg.rewrite.shop.way_from_zero import LowWay
from flipreg.rs274.interpret.habit_count import HabitCount
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.units import first_state
from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.program import Readable
from flipreg.units import plain

__all__ = ["home", "missing_from_home"]


def home(program: Readable, *, safe_z_mm: Decimal) -> Produced:
    r"""Let a program begin and end over program zero at a safe height; what it does between is left as it is.

    Parameters
    ----------
    program : Program or ProgramFile
        The program; read in pieces, never held whole.
    safe_z_mm : Decimal
        The height in the program's numbers, in millimetres. A program that begins or ends higher stays there.

    Returns
    -------
    Produced
        Its notes say what was added, and which way to zero or on from it is lower than the height.

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
    >>> from flipreg.rs274.read.program import parse
    >>> program = parse("G21 G90\nG0 X5 Y5\nZ2\nG1 Z-1 F300\nG0 Z2\nM2\n")
    >>> home(program, safe_z_mm=Decimal(10)).text.splitlines()[4:7]
    [b'G21 G90', b'G21 G90 G0 Z10', b'G0 X0 Y0']
    """
    _check_height(safe_z_mm)
    survey = survey_home(program, safe_z_mm)
    state = first_state(program)
    proving = ProvingAdded(program.source, state)
    at_home = ProvingHome(program.source, safe_z_mm, program.units)
    texts: list[bytes] = []
    head: Blocks | None = None
    motions, habits, again = 0, HabitCount(), OtherVisits(survey.stops)
    for blocks, text, added in with_lines_added(program, survey, safe_z_mm):
        modes, path, state = interpret_blocks(blocks, state)
        source = Read(blocks, modes, path)
        zeroed = survey.zeroed_in(blocks)
        made = proving.add(text, source, added, zeroed)
        at_home.add(source, made, added, zeroed)
        again.add(path)
        motions += len(path)
        habits.add(blocks.habits)
        habits.add(modes.habits)
        head = head or blocks
        texts.append(text)
    deviation = proving.finish()
    at_home.finish()
    assert head is not None
    notes = (*_notes(survey, safe_z_mm), *again.notes())
    done = _done(survey, safe_z_mm)
    produced = Produced((), program.source, deviation, motions, notes)
    with_header = headed(head, texts, produced, (done, *notes), in_inches=survey.in_inches)
    return replace(with_header, notes=(*with_header.notes, *habits.sentences()))


def missing_from_home(program: Readable, *, safe_z_mm: Decimal) -> tuple[Finding, ...]:
    r"""Return what a program lacks to begin and end over program zero at a safe height; nothing if it does.

    Findings of the code 'home', each with its line.

    Raises
    ------
    ProgramError, RefusedError, UsageError
        As `home`.

    Examples
    --------
    >>> from flipreg.rs274.read.program import parse
    >>> program = parse("G21 G90\nG0 Z15\nX0 Y0\nX5\nG1 Z-1 F300\nG0 Z15\nM2\n")
    >>> [(one.line, one.message) for one in missing_from_home(program, safe_z_mm=Decimal(10))]
    [(6, 'ends at X5 Y0 Z15, expected X0 Y0 at Z10 or higher')]
    """
    _check_height(safe_z_mm)
    survey = survey_home(program, safe_z_mm)
    missing: list[tuple[str, int]] = []
    unit = " mm" if survey.in_inches else ""
    expected = f"expected X0 Y0 at Z{plain(safe_z_mm)}{unit} or higher"
    if survey.starts_elsewhere:
        missing.append((f"does not start by going up and then over zero; {expected}", survey.start.first_line))
    if survey.end.low_line:
        missing.append((f"crosses to zero below Z{plain(safe_z_mm)}{unit}", survey.end.low_line))
    if survey.ends_elsewhere:
        missing.append((f"ends at {_end(survey.end)}{unit}, {expected}", survey.end.line))
    return tuple(Finding("home", Status.FAIL, says, program.source, line) for says, line in missing)


def _end(end: Ending) -> str:
    words = [
        f"{letter} not known" if isnan(value) else f"{letter}{value:g}"
        for letter, value in zip("XYZ", end.end_mm, strict=True)
    ]
    return " ".join([*words[:2], "a height of the machine" if end.is_up_by_machine else words[2]])


def _check_height(safe_z_mm: Decimal) -> None:
    if not safe_z_mm > 0:
        raise UsageError(f"a safe height is a Z over 0 mm, got {safe_z_mm}")


def _done(survey: HomeSurvey, safe_z_mm: Decimal) -> str:
    """Say where the program starts and ends now, and how high."""
    in_numbers, by_machine = f"at Z{plain(safe_z_mm)} or higher", "at a height of the machine"
    start = by_machine if survey.start.by_machine else in_numbers
    end = by_machine if survey.end.is_up_by_machine else in_numbers
    if survey.end.is_parked:
        return f"starts over program zero {start}"
    if start == end:
        return f"starts and ends over program zero {start}"
    return f"starts over program zero {start}, ends over it {end}"


def _notes(survey: HomeSurvey, safe_z_mm: Decimal) -> tuple[str, ...]:
    missing = [] if survey.start.is_home else ["start"]
    if not (survey.end.is_home or survey.end.is_parked):
        missing.append("end")
    notes = [f"added at the {' and at the '.join(missing)}"] if missing else []
    notes += became_zero(survey.stops)
    if not notes:
        notes.append("nothing added: it did so already")
    if survey.end.is_parked:
        notes.append("it ends at the machine's park position, where nothing was added")
    if survey.low_way is not None:
        notes.append(_low(survey.low_way, safe_z_mm))
    if survey.end.low_line:
        notes.append(
            f"its own way to zero, line {survey.end.low_line} of the source, crosses below Z{plain(safe_z_mm)} mm; see "
            "that nothing stands there, or raise it in the source"
        )
    return tuple(notes)


def _low(way: LowWay, safe_z_mm: Decimal) -> str:
    height = "at a height that nobody knows" if isnan(way.height_mm) else f"as low as Z{way.height_mm:.6g} mm"
    return (
        f"from zero to its first place it crosses {height}, as line {way.line} of the source says, and not at "
        f"Z{plain(safe_z_mm)} mm; see that nothing stands between"
    )
