"""New programs from old ones: rewritten, then proved; the only public way to a new program.

A chunk of the source is read, interpreted and rewritten; the new text is read and interpreted again like any
program and compared with the moved source. Nothing leaves before the last chunk is proved.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal

import numpy as np

from flipreg.contours.count import ContourCount
from flipreg.errors import ProofError, UsageError
from flipreg.produce.header import first_line_end, header, unit_notes
from flipreg.produce.isometries import FlipAxis, flip_isometry, shift_isometry, work_offset
from flipreg.produce.old_zero import OldZero
from flipreg.produce.produced import Produced
from flipreg.prove import Claim, Expected, Proving, ProvingApart, Read
from flipreg.rewrite.isometry.aligned import is_exact
from flipreg.rewrite.isometry.rewriter import Rewriter
from flipreg.rewrite.text.alternatives import Alternatives
from flipreg.rewrite.text.decimal_places import FINE, USUAL, DecimalPlaces
from flipreg.rewrite.text.header import header_place
from flipreg.rs274.interpret.habit_count import HabitCount
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.legality import CallFoundError
from flipreg.rs274.interpret.units import InchWatch, UnitWatch, first_state
from flipreg.rs274.read.blocks import EXPRESSION, BlockFlag
from flipreg.rs274.read.lines import LargePages
from flipreg.rs274.read.location import RefusedError
from flipreg.rs274.read.program import Readable
from flipreg.rs274.read.scanner import scan_chunks
from flipreg.units import plain

__all__ = ["flip", "shift"]

_MOST_LINES = 6
"""Lines that a note names (chosen)."""

_ZERO = Decimal(0)

_FINER = f"rounded to {FINE.mm} decimals of a millimetre or {FINE.inch} of an inch: with fewer a motion would change"


def flip(
    program: Readable,
    *,
    axis: FlipAxis,
    datum_mm: tuple[Decimal, Decimal],
    offsets_mm: Mapping[str, tuple[Decimal, Decimal]] | None = None,
) -> Produced:
    """Make the program for the other face: mirrored about the flip axis, Z as it was.

    Parameters
    ----------
    program : Program or ProgramFile
        The program of one face.
    axis : FlipAxis
        The line the blank is turned over about.
    datum_mm : pair of Decimal
        The point of the blank, in the program's numbers, that is program zero for the other face. For the
        mirror line x = C that is (2 C, 0).
    offsets_mm : mapping from str to pair of Decimal, optional
        The datum in the numbers of other work offsets, by their name: `{"G55": (x, y)}`. Without it a program
        with a second work offset is refused.

    Returns
    -------
    Produced
        For axis Y each x becomes X - x and each y becomes y - Y; for axis X, x - X and Y - y. Arcs and the
        sides of cutter compensation are turned round, and so climb milling becomes conventional.

    Raises
    ------
    ProgramError
        If the program is not legal.
    RefusedError
        If it cannot be interpreted, or the result cannot be written.
    ProofError
        If the result does not do what it should; never written.

    Examples
    --------
    >>> from flipreg.rs274.read.program import parse
    >>> back = flip(parse("G21 G90 G1 X0.1 Y2 F600"), axis=FlipAxis.Y, datum_mm=(2 * Decimal("12.7"), Decimal(0)))
    >>> back.text.splitlines()[-1]
    b'G21 G90 G1 X25.3 Y2 F600'
    """
    x, y = datum_mm
    done = f"flipped about {axis.name}, program zero at X{plain(x)} Y{plain(y)} of the source"
    others = {work_offset(name): flip_isometry(axis, datum) for name, datum in (offsets_mm or {}).items()}
    return _produce(program, Expected(flip_isometry(axis, datum_mm), others), done)


def shift(  # noqa: PLR0913 - the command's options, one each
    program: Readable,
    *,
    by_mm: tuple[Decimal, Decimal, Decimal] = (_ZERO, _ZERO, _ZERO),
    turn_deg: float = 0.0,
    about_mm: tuple[Decimal, Decimal] = (_ZERO, _ZERO),
    offsets_mm: Mapping[str, tuple[Decimal, Decimal]] | None = None,
    chords_mm: float | None = None,
    spell_cycles: bool = False,
) -> Produced:
    """Move a program: turned about a point, then shifted.

    Parameters
    ----------
    program : Program or ProgramFile
        The program.
    by_mm : three Decimals
        The shift along X, Y and Z, in millimetres.
    turn_deg : float
        The turn before it, counter-clockwise positive; multiples of 90 are exact.
    about_mm : pair of Decimal
        The point to turn about, in the program's numbers.
    offsets_mm : mapping from str to pair of Decimal, optional
        The point to turn about in the numbers of other work offsets, by their name: `{"G55": (x, y)}`. Without it
        a turned program with a second work offset is refused.
    chords_mm : float, optional
        How far chords may stand off arcs outside the XY plane that cannot be turned; without it such arcs are
        refused.
    spell_cycles : bool
        Whether canned cycles outside the XY plane that cannot be turned are spelled out as moves; otherwise
        they are refused.

    Returns
    -------
    Produced
        Rotated numbers have at least four decimals in millimetres and five in inches.

    Raises
    ------
    ProgramError, RefusedError, ProofError
        As `flip`.

    Examples
    --------
    >>> from flipreg.rs274.read.program import parse
    >>> moved = shift(parse("G21 G90 G1 X1.5 Y2 F600"), by_mm=(Decimal("0.25"), Decimal(0), Decimal(0)))
    >>> moved.text.splitlines()[-1]
    b'G21 G90 G1 X1.75 Y2 F600'
    """
    turned = f"turned {turn_deg:g} degrees about X{plain(about_mm[0])} Y{plain(about_mm[1])}, " if turn_deg else ""
    done = f"{turned}moved by X{plain(by_mm[0])} Y{plain(by_mm[1])} Z{plain(by_mm[2])}"
    if chords_mm is not None and not chords_mm > 0:
        raise UsageError(f"a chord tolerance is a length over 0 mm, got {chords_mm}")
    allowed = Alternatives(chords_mm, spell_cycles)
    if chords_mm is not None:
        done += f", arcs that cannot be turned as chords within {chords_mm:g} mm"
    isometry = shift_isometry(by_mm=by_mm, turn_deg=turn_deg, about_mm=about_mm)
    others = {
        work_offset(name): shift_isometry(by_mm=by_mm, turn_deg=turn_deg, about_mm=about)
        for name, about in (offsets_mm or {}).items()
    }
    return _produce(program, Expected(isometry, others), done, allowed)


def _produce(
    program: Readable, expected: Expected, done: str, allowed: Alternatives = Alternatives()  # noqa: B008 - frozen
) -> Produced:
    try:
        return _produce_with(program, expected, done, allowed, USUAL)
    except (ProofError, RefusedError) as error:
        is_of_proof = isinstance(error, ProofError) or isinstance(error.__cause__, ProofError)
        if not is_of_proof or all(map(is_exact, (expected.isometry, *expected.others.values()))):
            raise
    # Rounding can make a full circle of a short arc, or take the radii of an arc too far apart: where one place is
    # named in both units, or two places are nearly one.
    return _produce_with(program, expected, done, allowed, FINE)


def _produce_with(
    program: Readable, expected: Expected, done: str, allowed: Alternatives, places: DecimalPlaces
) -> Produced:
    if not expected.isometry.is_axis_aligned:
        places = places._replace(most=_most_decimals(program))
    rewriter = Rewriter(expected.isometry, places=places, others=expected.others, allowed=allowed)
    try:
        return _produce_in_order(program, expected, rewriter, done, allowed)
    except CallFoundError:
        # Imported here: few programs have subprograms.
        from flipreg.produce.calls import rewritten_with_calls
        from flipreg.rs274.interpret.subprograms import executed

        rewriter = Rewriter(expected.isometry, places=places, others=expected.others, allowed=allowed)
        text, largest, motions, header_at = rewritten_with_calls(program, rewriter, expected, allowed)
        watch, inches, habits = UnitWatch(program.units), InchWatch(program.units), HabitCount()
        for step in executed(program):
            watch.add(step.blocks, step.modes, step.path, step.before)
            habits.add_step(step)
        for blocks in scan_chunks(program.pieces(), program.source):
            inches.add(blocks)
        notes = (*_notes(rewriter), *_unit_notes(watch, expected), *unit_notes(in_inches=inches.in_inches))
        proof = f"proved: {motions} motions read again, subprograms run where they are called"
        head = header(program.source, (done, *notes, proof), largest, line_end=first_line_end(text))
        notes = (*notes, *habits.sentences())
        return Produced((text[:header_at], head, text[header_at:]), program.source, largest, motions, notes)


def _produce_in_order(
    program: Readable, expected: Expected, rewriter: Rewriter, done: str, allowed: Alternatives
) -> Produced:
    parts: list[bytes] = []
    claims: list[Claim | None] = []
    motions, deleted = 0, None
    contours = ContourCount() if expected.isometry.determinant < 0 else None
    watch, inches, habits, old_zero = UnitWatch(program.units), InchWatch(program.units), HabitCount(), OldZero()
    here = Proving(program.source, expected, units=program.units, passive=program.dialect.passive)
    with ProvingApart(here, contours) as proving:
        for text, source, claim in _rewritten(program, rewriter, allowed, watch):
            proving.add(text, source, claim)
            claims.append(claim)
            motions += len(source.path)
            habits.add(source.blocks.habits)
            habits.add(source.modes.habits)
            inches.add(source.blocks)
            if contours is not None:
                old_zero.add(source.path)
            if deleted is None and (source.blocks.flags & BlockFlag.DELETE).any():
                deleted = source.blocks
            if not parts:
                at = header_place(source.blocks, text)
                parts = [text[:at], b"", text[at:]]
            else:
                parts.append(text)
        largest = proving.finish()
    notes = (*_notes(rewriter), *_unit_notes(watch, expected), *unit_notes(in_inches=inches.in_inches))
    proof = f"proved: {motions} motions read again"
    if deleted is not None:
        texts = [parts[0] + parts[2], *parts[3:]]
        # Imported here: few programs have such lines.
        from flipreg.produce.block_delete import proved_without

        other, stop = proved_without(program, expected, texts, claims, deleted)
        largest = max(largest, other)
        if stop is None:
            proof = f"{proof}, with block delete off and on"
        else:
            proof = f"{proof}, with block delete off"
            notes = (*notes, f"with block delete on the source itself is no program, and so is this one: {stop}")
    parts[1] = header(program.source, (done, *notes, proof), largest, line_end=first_line_end(parts[0] + parts[2]))
    directions = contours.notes() if contours is not None else ()
    notes = (*notes, *directions, *old_zero.notes(expected.isometry), *habits.sentences())
    return Produced(tuple(parts), program.source, largest, motions, notes, directions)


def _rewritten(
    program: Readable, rewriter: Rewriter, allowed: Alternatives, watch: UnitWatch
) -> Iterator[tuple[bytes, Read, Claim | None]]:
    """Yield each chunk's new text, its source, and what the rewriter says that it spelled out."""
    before = first_state(program)
    for blocks in scan_chunks(LargePages().before_each(program.pieces()), program.source):
        modes, path, after = interpret_blocks(blocks, before)
        watch.add(blocks, modes, path, before)
        new = rewriter.rewrite(blocks, modes, path, before=before, after=after)
        claim = Claim(new.spelled, new.added, allowed.chords_mm or 0.0) if new.spelled.size else None
        yield new.text, Read(blocks, modes, path), claim
        before = after


def _unit_notes(watch: UnitWatch, expected: Expected) -> tuple[str, ...]:
    """Say in which unit numbers before the first G20 or G21 were read, if a length was added to them."""
    isometries = (expected.isometry, *expected.others.values())
    enters = any(each.dx_mm or each.dy_mm or each.dz_mm for each in isometries)
    return (watch.note(),) if watch.line and enters else ()


def _notes(rewriter: Rewriter) -> tuple[str, ...]:
    notes = [_FINER] if rewriter.places.mm == FINE.mm else []
    for name, lines in sorted(rewriter.kept.items()):
        notes.append(f"{name} in {_places(lines)} of the source kept as it is: a machine position does not move")
    for name, lines in sorted(rewriter.led.items()):
        what = "the point on the way is moved, and the machine position that it leads to is not"
        notes.append(f"{name} in {_places(lines)} of the source: {what}")
    if rewriter.evaluated:
        notes.append("parameters and expressions in X, Y, I and J worked out: a turn couples the axes")
    return tuple(notes)


def _places(lines: list[int]) -> str:
    shown = ", ".join(map(str, lines[:_MOST_LINES]))
    more = f" and {len(lines) - _MOST_LINES} more" if len(lines) > _MOST_LINES else ""
    return f"line {shown}" if len(lines) == 1 else f"lines {shown}{more}"


def _most_decimals(program: Readable) -> int:
    """Return the most decimals that a coordinate of the program is written with."""
    most = 0
    for blocks in scan_chunks(program.pieces(), program.source):
        rows = np.concatenate([blocks.rows(letter) for letter in "XYIJ"])
        decimals = blocks.decimals[rows]
        most = max(most, int(decimals[decimals != EXPRESSION].max(initial=0)))
    return most
