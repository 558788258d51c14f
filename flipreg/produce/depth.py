"""One floor of a program at another depth, proved."""

from dataclasses import replace
from decimal import Decimal

from flipreg.errors import ProofError, UsageError
from flipreg.produce.header import headed
from flipreg.produce.produced import Produced
from flipreg.prove.levels import AskedFloor, prove_floor
from flipreg.prove.stretches import Claimed
from flipreg.rewrite.floor.depth import Stretch, change_floor
from flipreg.rewrite.floor.depth_plan import DepthPlan
from flipreg.rewrite.floor.floors import FloorChange, named_floor
from flipreg.rs274.interpret.habit_count import habits_of
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.units import InchWatch, UnitWatch, first_state
from flipreg.rs274.interpret.whole import Whole, read_again, read_whole
from flipreg.rs274.read.location import ProgramError
from flipreg.rs274.read.program import Readable, Units
from flipreg.rs274.read.scanner import scan_chunks
from flipreg.units import plain

__all__ = ["depth", "floor_from_proud", "floor_from_thickness", "floor_of", "move_floor"]

_ZERO = Decimal(0)

_MOST_LISTED = 10
"""Levels that a message names (chosen), so that a comment stays one that a control can show."""


def depth(
    program: Readable,
    *,
    floor_mm: Decimal,
    level_mm: Decimal | None = None,
    step_down_mm: Decimal | None = None,
    top_mm: Decimal = _ZERO,
) -> Produced:
    r"""Move the floor of a pocket, a slot, a profile or drilled holes to another depth.

    Passes above the new floor stay. From the last of them to the floor the passes are spaced evenly, as few as the
    step-down allows; the floor's own pass is repeated for those in between. Passes at or below the new floor are
    left out. XY, feeds, tools and comments stay as they are, and so do the angles of ramps and helices.

    Parameters
    ----------
    program : Program or ProgramFile
        The program; all of it is held in memory.
    floor_mm : Decimal
        Where the floor shall be, as a Z of the program, in millimetres.
    level_mm : Decimal, optional
        Where the floor that is meant is now; needed if the program has several.
    step_down_mm : Decimal, optional
        The largest step-down of passes that are new or moved, in millimetres; by default the largest that the
        program takes for this floor.
    top_mm : Decimal
        The surface of the wood; what is fed above it is no pass.

    Returns
    -------
    Produced
        Its notes give the levels.

    Raises
    ------
    ProgramError
        If the program is not legal.
    RefusedError
        If the change would cross another level, a ramp would change its angle, or anything had to be guessed; with
        the line.
    ProofError
        If the result does not do what it should; never written.
    UsageError
        If the step-down is no length over 0.

    Examples
    --------
    >>> from flipreg.rs274.read.program import parse
    >>> slot = parse("G21 G90\nG0 X0 Y0 Z5\nG1 Z-2 F300\nX9\nG0 Z5\nM2\n")
    >>> depth(slot, floor_mm=Decimal("-1.62")).text.splitlines()[-4:-2]
    [b'G1 Z-1.62 F300', b'X9']
    """
    return move_floor(
        read_whole(program), FloorChange(floor_mm, level_mm, step_down_mm, top_mm), _unit_note(program)
    )


def _unit_note(program: Readable) -> tuple[str, ...]:
    """Say in which unit a program's numbers are taken, if neither it nor anybody else says it."""
    watch, state = UnitWatch(program.units), first_state(program)
    for blocks in scan_chunks(program.pieces(), program.source):
        modes, path, after = interpret_blocks(blocks, state)
        watch.add(blocks, modes, path, state)
        state = after
    return (watch.note(),) if watch.line else ()


def move_floor(source: Whole, change: FloorChange, why: tuple[str, ...] = ()) -> Produced:
    """Make a program with one floor moved, prove it, and say in it what was done and why; see `depth`."""
    if change.step_down_mm is not None and not change.step_down_mm > 0:
        raise UsageError(f"a step-down is a length over 0 mm, got {change.step_down_mm}")
    # Comments give the floor without trailing zeros, however it was worked out.
    change = replace(change, floor_mm=change.floor_mm.normalize())
    stretches, plan = change_floor(source, change)
    if plan.changes_nothing:
        text = source.blocks.text + source.tail
        note = f"nothing to change: the floor is at Z{plain(plan.was_mm)}; the program is as it was, byte for byte"
        return Produced((text,), source.blocks.source, 0.0, len(source.path), (*why, note, *habits_of(source)))
    text = b"".join(stretch.text for stretch in stretches) + source.tail
    output = _read_output(text, source)
    asked = AskedFloor(
        float(change.floor_mm),
        float(plan.was_mm),
        float(change.top_mm),
        None if change.step_down_mm is None else float(change.step_down_mm),
    )
    deviation = prove_floor(source, output, _claims(stretches), asked)
    notes = (*why, *_notes(plan, sum(stretch.is_way for stretch in stretches)))
    done = f"floor moved from Z{plain(plan.was_mm)} to Z{plain(change.floor_mm)}"
    produced = Produced((), source.blocks.source, deviation, len(output.path), notes)
    inches = InchWatch(Units.INCH if source.before.inch else None)
    inches.add(source.blocks)
    made = headed(source.blocks, [text], produced, (done, *notes), in_inches=inches.in_inches)
    return replace(made, notes=(*made.notes, *habits_of(source)))


def floor_of(program: Readable, *, level_mm: Decimal | None = None, top_mm: Decimal = _ZERO) -> Decimal:
    r"""Return the floor of a program that is meant, in millimetres; its only one if no level is named.

    Raises
    ------
    ProgramError, RefusedError
        If the program is not legal, has no such floor, or has several and none is named.

    Examples
    --------
    >>> from flipreg.rs274.read.program import parse
    >>> floor_of(parse("G21 G90\nG0 X0 Y0 Z5\nG1 Z-2 F300\nX9\nG0 Z5\nM2\n"))
    Decimal('-2')
    """
    return named_floor(read_whole(program), level_mm, top_mm)


def floor_from_thickness(level_mm: Decimal, *, measured_mm: Decimal, planned_mm: Decimal) -> Decimal:
    """Return the floor for a part that turned out thicker or thinner than planned.

    A pocket is as deep as the part that lies in it is thick, less how far the part has to stand proud. What it
    stands proud stays as planned, so the floor goes down by as much as the part is thicker.

    Examples
    --------
    >>> floor_from_thickness(Decimal("-16"), measured_mm=Decimal("15.62"), planned_mm=Decimal("16"))
    Decimal('-15.62')
    """
    return level_mm + planned_mm - measured_mm


def floor_from_proud(top_mm: Decimal, *, measured_mm: Decimal, proud_mm: Decimal) -> Decimal:
    """Return the floor that leaves a part of a measured thickness standing proud by so much.

    Examples
    --------
    >>> floor_from_proud(Decimal("0"), measured_mm=Decimal("15.62"), proud_mm=Decimal("0.5"))
    Decimal('-15.12')
    """
    return top_mm - (measured_mm - proud_mm)


def _read_output(text: bytes, source: Whole) -> Whole:
    try:
        return read_again(text, source)
    except ProgramError as error:
        raise ProofError("the output would not be legal", error) from None


def _claims(stretches: list[Stretch]) -> list[Claimed]:
    """Return the stretches by the lines they take in the output."""
    claims, first = [], 1
    for stretch in stretches:
        last = first + _line_count(stretch.text) - 1
        level = None if stretch.level_mm is None else float(stretch.level_mm)
        claims.append(Claimed(first, last, stretch.first, stretch.last, level, stretch.dropped))
        first = last + 1
    return claims


def _line_count(text: bytes) -> int:
    """Return how many lines a text has, with whatever line ends."""
    ends = text.count(b"\n") + text.count(b"\r") - text.count(b"\r\n")
    return ends + (bool(text) and not text.endswith((b"\n", b"\r")))


def _notes(plan: DepthPlan, ways: int) -> tuple[str, ...]:
    notes = []
    if plan.moves:
        levels = _listed([f"Z{plain(level)}" for level in plan.levels_mm])
        notes.append(f"levels now {levels}; step-down at most {plain(plan.step_down_mm)} mm below those that stay")
    if plan.fresh:
        line, level = plan.fresh[0]
        more = _more(len(plan.fresh) - 1)
        notes.append(f"line {line} cuts where no pass above it did: its pass begins at Z{plain(level)}{more}")
    if ways:
        what = f"a way was put before {ways} {'pass' if ways == 1 else 'passes'}"
        notes.append(f"{what}: up to the height of a traverse of its own, and across there if it starts elsewhere")
    if plan.dropped:
        count = len(plan.dropped)
        notes.append(f"{count} {'pass' if count == 1 else 'passes'} left out: at or below the floor")
    if plan.holes:
        count = len(plan.holes)
        notes.append(f"{count} {'hole' if count == 1 else 'holes'} with the new bottom")
    if plan.staying:
        what = f"line {plan.staying[0]} goes down to Z{plain(plan.was_mm)} too, in no pass and no hole, and stays"
        notes.append(f"{what}{_more(len(plan.staying) - 1)}")
    return tuple(notes)


def _more(count: int) -> str:
    return f" (and so on for {count} more)" if count else ""


def _listed(levels: list[str]) -> str:
    if len(levels) <= _MOST_LISTED:
        return ", ".join(levels)
    left_out = len(levels) - _MOST_LISTED
    return f"{', '.join(levels[: _MOST_LISTED - 2])}, {left_out} more, {', '.join(levels[-2:])}"
