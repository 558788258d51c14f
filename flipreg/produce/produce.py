"""New programs from old ones: rewritten, then proved; the only public way to a new program.

A chunk of the source is read, interpreted and rewritten; the new text is read and interpreted again like any
program and compared with the moved source. Nothing leaves before the last chunk is proved.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import Enum
from math import ceil

import numpy as np

from flipreg.contour_count import ContourCount, counted
from flipreg.errors import ProofError, UsageError
from flipreg.geometry.isometry import Isometry
from flipreg.prove import Claim, Expected, Proving, ProvingApart, Read
from flipreg.rewrite.aligned import is_exact
from flipreg.rewrite.alternatives import Alternatives
from flipreg.rewrite.decimal_places import FINE, USUAL, DecimalPlaces
from flipreg.rewrite.header import header_place
from flipreg.rewrite.rewriter import Rewriter
from flipreg.rs274.code_groups import WORK_OFFSETS
from flipreg.rs274.interpret.habit_count import HabitCount
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.legality import CallFoundError
from flipreg.rs274.interpret.state import BlockDelete, State
from flipreg.rs274.interpret.units import UnitWatch, first_state
from flipreg.rs274.read.blocks import EXPRESSION, BlockFlag, Blocks
from flipreg.rs274.read.location import ProgramError, RefusedError
from flipreg.rs274.read.program import Readable
from flipreg.rs274.read.scanner import scan_chunks

__all__ = ["FlipAxis", "Produced", "flip", "flip_isometry", "headed", "shift", "shift_isometry"]

_NOISE = 1e-3
"""A billionth of a millimetre, in millionths: floating-point noise of an exact rewrite."""

_FIRST_LINE_END = re.compile(rb"\r\n|\n|\r")

_LONGEST_NAME = 80
"""Characters of a source's name in the header (chosen), so that what was done still fits the line."""

_MOST_LINES = 6
"""Lines that a note names (chosen)."""

_ZERO = Decimal(0)

_FINER = f"rounded to {FINE.mm} decimals of a millimetre or {FINE.inch} of an inch: with fewer a motion would change"


class FlipAxis(Enum):
    """The line in the plane of the blank that it is turned over about."""

    X = "x"
    """End over end: y becomes -y."""
    Y = "y"
    """Like turning a page: x becomes -x."""


@dataclass(frozen=True, slots=True)
class Produced:
    """A proved program.

    Attributes
    ----------
    parts : tuple of bytes
        Its text, cut anywhere; the first lines are a comment that says what was done.
    source : str
        The program it was made from.
    largest_deviation_mm : float
        Largest distance of any motion of the new program from the moved motion of the old one.
    motions : int
        How many motions were compared.
    notes : tuple of str
        What a person has to know of the new program besides: machine positions that were kept, values that were
        worked out.
    direction_notes : tuple of str
        Those of the notes that say which closed contours a mirror has run the other way round.
    """

    parts: tuple[bytes, ...]
    source: str
    largest_deviation_mm: float
    motions: int
    notes: tuple[str, ...] = ()
    direction_notes: tuple[str, ...] = ()

    @property
    def deviation(self) -> str:
        """The largest deviation in millimetres with six decimals, rounded up."""
        return f"{_rounded_up(self.largest_deviation_mm):.6f}"

    @property
    def text(self) -> bytes:
        """The whole text."""
        return b"".join(self.parts)


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
    done = f"flipped about {axis.name}, program zero at X{_plain(x)} Y{_plain(y)} of the source"
    others = {_work_offset(name): flip_isometry(axis, datum) for name, datum in (offsets_mm or {}).items()}
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
    turned = f"turned {turn_deg:g} degrees about X{_plain(about_mm[0])} Y{_plain(about_mm[1])}, " if turn_deg else ""
    done = f"{turned}moved by X{_plain(by_mm[0])} Y{_plain(by_mm[1])} Z{_plain(by_mm[2])}"
    if chords_mm is not None and not chords_mm > 0:
        raise UsageError(f"a chord tolerance is a length over 0 mm, got {chords_mm}")
    allowed = Alternatives(chords_mm, spell_cycles)
    if chords_mm is not None:
        done += f", arcs that cannot be turned as chords within {chords_mm:g} mm"
    isometry = shift_isometry(by_mm=by_mm, turn_deg=turn_deg, about_mm=about_mm)
    others = {
        _work_offset(name): shift_isometry(by_mm=by_mm, turn_deg=turn_deg, about_mm=about)
        for name, about in (offsets_mm or {}).items()
    }
    return _produce(program, Expected(isometry, others), done, allowed)


def flip_isometry(axis: FlipAxis, datum_mm: tuple[Decimal, Decimal]) -> Isometry:
    """Return the isometry that maps a face's program to the other face's; see `flip`."""
    mirror = Isometry.mirror_x if axis is FlipAxis.Y else Isometry.mirror_y
    try:
        return mirror(datum_mm=datum_mm)
    except ValueError as error:
        raise UsageError(str(error)) from None


def shift_isometry(
    *, by_mm: tuple[Decimal, Decimal, Decimal], turn_deg: float, about_mm: tuple[Decimal, Decimal]
) -> Isometry:
    """Return the isometry of a turn and a shift; see `shift`."""
    try:
        return Isometry.translation(*by_mm) @ Isometry.rotation(turn_deg, about_mm=about_mm)
    except ValueError as error:
        raise UsageError(str(error)) from None


def _work_offset(name: str) -> int:
    """Return the number of a work offset, 1 for G54 to 9 for G59.3."""
    try:
        return WORK_OFFSETS.index(name.upper()) + 1
    except ValueError:
        raise UsageError(f"{name!r} is no work offset; expected one of {', '.join(WORK_OFFSETS)}") from None


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
        places = replace(places, most=_most_decimals(program))
    rewriter = Rewriter(expected.isometry, places=places, others=expected.others, allowed=allowed)
    try:
        return _produce_in_order(program, expected, rewriter, done, allowed)
    except CallFoundError:
        # Imported here: few programs have subprograms.
        from flipreg.produce.calls import rewritten_with_calls
        from flipreg.rs274.interpret.subprograms import run

        rewriter = Rewriter(expected.isometry, places=places, others=expected.others, allowed=allowed)
        text, largest, motions, header_at = rewritten_with_calls(program, rewriter, expected, allowed)
        watch, habits = UnitWatch(program.units), HabitCount()
        for step in run(program):
            watch.add(step.blocks, step.modes, step.path, step.before)
            habits.add_step(step)
        notes = (*_notes(rewriter), *_unit_notes(watch, expected))
        proof = f"proved: {motions} motions read again, subprograms run where they are called"
        header = _header(program.source, (done, *notes, proof), largest, line_end=_line_end(text))
        notes = (*notes, *habits.sentences())
        return Produced((text[:header_at], header, text[header_at:]), program.source, largest, motions, notes)


def _produce_in_order(
    program: Readable, expected: Expected, rewriter: Rewriter, done: str, allowed: Alternatives
) -> Produced:
    parts: list[bytes] = []
    claims: list[Claim | None] = []
    motions, deleted = 0, None
    contours = ContourCount() if expected.isometry.determinant < 0 else None
    watch, habits = UnitWatch(program.units), HabitCount()
    here = Proving(program.source, expected, units=program.units, passive=program.dialect.passive)
    with ProvingApart(here) as proving:
        for text, source, claim in _rewritten(program, rewriter, allowed, watch):
            proving.add(text, source, claim)
            claims.append(claim)
            motions += len(source.path)
            habits.add(source.blocks.habits)
            habits.add(source.modes.habits)
            if contours is not None:
                contours.add(source.path)
            if deleted is None and (source.blocks.flags & BlockFlag.DELETE).any():
                deleted = source.blocks
            if not parts:
                at = header_place(source.blocks, text)
                parts = [text[:at], b"", text[at:]]
            else:
                parts.append(text)
        largest = proving.finish()
    notes, proof = (*_notes(rewriter), *_unit_notes(watch, expected)), f"proved: {motions} motions read again"
    if deleted is not None:
        texts = [parts[0] + parts[2], *parts[3:]]
        other, stop = _with_lines_deleted(program, expected, texts, claims, deleted)
        largest = max(largest, other)
        if stop is None:
            proof = f"{proof}, with block delete off and on"
        else:
            proof = f"{proof}, with block delete off"
            notes = (*notes, f"with block delete on the source itself is no program, and so is this one: {stop}")
    parts[1] = _header(program.source, (done, *notes, proof), largest, line_end=_line_end(parts[0] + parts[2]))
    directions = () if contours is None else _direction_notes(contours)
    notes = (*notes, *directions, *habits.sentences())
    return Produced(tuple(parts), program.source, largest, motions, notes, directions)


def _direction_notes(contours: ContourCount) -> tuple[str, ...]:
    """Say which closed contours a mirror has run the other way round."""
    contours.finish()
    notes = []
    changed = "changed direction, climb to conventional or back"
    if contours.turnable.count:
        notes.append(f"{counted(contours.turnable.count)} {changed}: lines {contours.turnable}; --keep-climb keeps it")
    for why, tally in contours.unturned.items():
        if tally.count:
            what = f"{counted(tally.count)} {changed}, and --keep-climb can't keep it"
            notes.append(f"{what}, because {why.value}: lines {tally}")
    return tuple(notes)


def _rewritten(
    program: Readable, rewriter: Rewriter, allowed: Alternatives, watch: UnitWatch
) -> Iterator[tuple[bytes, Read, Claim | None]]:
    """Yield each chunk's new text, its source, and what the rewriter says that it spelled out."""
    before = first_state(program)
    for blocks in scan_chunks(program.pieces(), program.source):
        modes, path, after = interpret_blocks(blocks, before)
        watch.add(blocks, modes, path, before)
        new = rewriter.rewrite(blocks, modes, path, before=before, after=after)
        claim = Claim(new.spelled, new.added, allowed.chords_mm or 0.0) if new.spelled.size else None
        yield new.text, Read(blocks, modes, path), claim
        before = after


def _with_lines_deleted(
    program: Readable, expected: Expected, texts: list[bytes], claims: list[Claim | None], first: Blocks
) -> tuple[float, str | None]:
    """Return the largest deviation with the machine's block-delete switch on: both programs without their `/` lines.

    And where the source itself is not legal then, and why; None if it is.

    Raises
    ------
    RefusedError
        If the result holds with the switch off only.
    """
    proving = Proving(
        program.source,
        expected,
        block_delete=BlockDelete.ON,
        units=program.units,
        passive=program.dialect.passive,
    )
    state = first_state(program, State(block_delete=BlockDelete.ON))
    chunks = scan_chunks(program.pieces(), program.source)
    for blocks, text, claim in zip(chunks, texts, claims, strict=True):
        try:
            modes, path, state = interpret_blocks(blocks, state)
        except ProgramError as error:
            # Up to here the machine may run; here it stops.
            return proving.largest_mm, f"line {error.location.line}: {error.message}"
        try:
            proving.add(text, Read(blocks, modes, path), claim)
        except ProofError as error:
            # Imported here: few programs have such lines.
            from flipreg.produce.block_delete import deleted_refusal

            raise deleted_refusal(first, error) from error
    return proving.finish(), None


def _unit_notes(watch: UnitWatch, expected: Expected) -> tuple[str, ...]:
    """Say in which unit numbers were taken that no unit stands before, if a length was added to them."""
    isometries = (expected.isometry, *expected.others.values())
    enters = any(each.dx_mm or each.dy_mm or each.dz_mm for each in isometries)
    return (watch.note(),) if watch.line and enters else ()


def _notes(rewriter: Rewriter) -> tuple[str, ...]:
    notes = [_FINER] if rewriter.places.mm == FINE.mm else []
    for name, lines in sorted(rewriter.kept.items()):
        shown = ", ".join(map(str, lines[:_MOST_LINES]))
        more = f" and {len(lines) - _MOST_LINES} more" if len(lines) > _MOST_LINES else ""
        places = f"line {shown}" if len(lines) == 1 else f"lines {shown}{more}"
        notes.append(f"{name} in {places} of the source kept as it is: a machine position does not move")
    if rewriter.evaluated:
        notes.append("parameters and expressions in X, Y, I and J worked out: a turn couples the axes")
    return tuple(notes)


def _most_decimals(program: Readable) -> int:
    """Return the most decimals that a coordinate of the program is written with."""
    most = 0
    for blocks in scan_chunks(program.pieces(), program.source):
        rows = np.concatenate([blocks.rows(letter) for letter in "XYIJ"])
        decimals = blocks.decimals[rows]
        most = max(most, int(decimals[decimals != EXPRESSION].max(initial=0)))
    return most


def headed(blocks: Blocks, texts: list[bytes], produced: Produced, done: tuple[str, ...]) -> Produced:
    """Return a proved program with the comment that says what was done, after its leading percent and O lines.

    Parameters
    ----------
    blocks : Blocks
        The first chunk of the source.
    texts : list of bytes
        The new program, the part made of the first chunk first.
    produced : Produced
        All but its parts is taken over.
    done : tuple of str
        What was done, a comment each.
    """
    at = header_place(blocks, texts[0])
    lines = (*done, f"proved: {produced.motions} motions read again")
    header = _header(produced.source, lines, produced.largest_deviation_mm, line_end=_line_end(texts[0]))
    return replace(produced, parts=(texts[0][:at], header, texts[0][at:], *texts[1:]))


def _line_end(text: bytes) -> bytes:
    """Return the end of the first line, LF where no line has one."""
    first = _FIRST_LINE_END.search(text)
    return first[0] if first else b"\n"


def _header(source: str, done: tuple[str, ...], largest_mm: float, *, line_end: bytes) -> bytes:
    lines = (
        f"made by flipreg from {_file_name(source)}: {done[0]}",
        *done[1:-1],
        f"{done[-1]}, largest deviation {_rounded_up(largest_mm):.6f} mm",
        "try this program above the work first; the machine maker's manual comes first",
    )
    return b"".join(b"(" + _comment(line) + b")" + line_end for line in lines)


def _rounded_up(deviation_mm: float) -> float:
    """Return a deviation with six decimals that is not below it; noise of the arithmetic counts as none."""
    return ceil(deviation_mm * 1e6 - _NOISE) / 1e6


def _file_name(source: str) -> str:
    """Return the name without its folders: where a program lay says nothing at the machine."""
    name = source.replace("\\", "/").rsplit("/", 1)[-1]
    if len(name) <= _LONGEST_NAME:
        return name
    kept = (_LONGEST_NAME - 3) // 2
    return f"{name[:kept]}...{name[-kept:]}"


def _comment(text: str) -> bytes:
    """Return a text as the inside of a comment: printable ASCII, no brackets, within the report's 256."""
    clean = text.replace("(", "[").replace(")", "]").encode("ascii", "replace")
    return bytes(char if 32 <= char < 127 else 63 for char in clean)[:250]


def _plain(value: Decimal) -> str:
    return f"{value.normalize() + _ZERO:f}"
