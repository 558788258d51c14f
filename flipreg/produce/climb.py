"""The program for the other face with climb milling kept: mirrored, and its closed contours run the other way round."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from flipreg.contour import contour_rows
from flipreg.contour_count import Tally, counted
from flipreg.errors import ProofError
from flipreg.produce.header import headed
from flipreg.produce.isometries import FlipAxis
from flipreg.produce.produce import flip
from flipreg.produce.produced import Produced
from flipreg.prove.climb import prove_turned
from flipreg.rewrite.climb import Turned, turn_contours
from flipreg.rs274.interpret.whole import read_again, read_whole
from flipreg.rs274.read.location import ProgramError
from flipreg.rs274.read.program import Program, Readable
from flipreg.units import plain
from flipreg.unturned import Unturned, Why, find_unturned

__all__ = ["flip_keeping_climb"]



def flip_keeping_climb(
    program: Readable,
    *,
    axis: FlipAxis,
    datum_mm: tuple[Decimal, Decimal],
    offsets_mm: Mapping[str, tuple[Decimal, Decimal]] | None = None,
) -> Produced:
    r"""Make the program for the other face, and keep the cutting direction of closed contours.

    A mirror turns climb milling into conventional. Each closed contour is run the other way round, so that it climbs
    again if it did: the same points at the same depth and feed, in opposite order. A lead-in and a lead-out at the
    level of their contour change places; other leads, links between contours and ramps stay as they are.

    Parameters
    ----------
    program, axis, datum_mm, offsets_mm
        As in `flip`; the program is held in memory.

    Returns
    -------
    Produced
        Its notes say how many contours were turned round, and which ramps and contours still run as the mirror left
        them: those that are lifted from in between, and those at a height that is not known.

    Raises
    ------
    ProgramError, ProofError
        As `flip`.
    RefusedError
        As `flip`, and where a contour can't be turned round: cutter compensation, words tied to their order, numbers
        that are not plain; with the line of the source.

    Examples
    --------
    >>> from flipreg.rs274.read.program import parse
    >>> front = parse("G21 G90\nG0 X0 Y0 Z5\nG1 Z-1 F300\nX9\nY9\nX0 Y0\nG0 Z5\nM2\n")
    >>> back = flip_keeping_climb(front, axis=FlipAxis.Y, datum_mm=(Decimal(0), Decimal(0)))
    >>> back.text.splitlines()[-5:-2]
    [b'G1 X-9 Y9', b'G1 X-9 Y0', b'G1 X0 Y0']
    """
    flipped = flip(program, axis=axis, datum_mm=datum_mm, offsets_mm=offsets_mm)
    text = flipped.parts[0] + b"".join(flipped.parts[2:])
    source = read_whole(Program(text, program.source, program.units, program.dialect))
    turned = turn_contours(source)
    try:
        output = read_again(turned.text + source.tail, source)
    except ProgramError as error:
        raise ProofError("the output would not be legal", error) from None
    unturned = find_unturned(source.path, *contour_rows(source.path))
    left = [(each.first_line, each.last_line) for each in unturned]
    deviation = prove_turned(source, output, [(run.first, run.last) for run in turned.chosen.runs], left)
    own = _notes(turned, unturned, source.path.line.tolist())
    notes = (*(note for note in flipped.notes if note not in flipped.direction_notes), *own)
    largest = flipped.largest_deviation_mm + deviation
    produced = replace(flipped, parts=(), largest_deviation_mm=largest, notes=notes, direction_notes=own)
    x, y = datum_mm
    done = f"flipped about {axis.name}, program zero at X{plain(x)} Y{plain(y)} of the source, cutting direction kept"
    return headed(source.blocks, [turned.text + source.tail], produced, (done, *notes), program.units)


def _notes(turned: Turned, unturned: list[Unturned], lines: list[int]) -> tuple[str, ...]:
    chosen = turned.chosen
    count = sum(run.contours for run in chosen.runs)
    notes = ["no closed contour to run the other way round"]
    if count:
        where = _tally([(lines[run.first], lines[run.last]) for run in chosen.runs])
        notes = [f"{counted(count)} run the other way round: lines {where}; all else runs as the mirror left it"]
    if chosen.ramps:
        ramps = _tally([(lines[row], lines[row]) for row in chosen.ramps])
        notes.append(f"ramps that lead to a contour are not turned round: lines {ramps}")
    if chosen.leads:
        leads = _tally([(lines[first], lines[last]) for first, last in chosen.leads])
        notes.append(f"leads that contours share, or that have none on the other side, stay as they are: lines {leads}")
    for why in Why:
        left = _tally([(each.first_line, each.last_line) for each in unturned if each.why is why])
        if left.count:
            what = f"{counted(left.count)} not turned round, climb to conventional or back"
            notes.append(f"{what}, because {why.value}: lines {left}")
    return tuple(notes)


def _tally(lines: list[tuple[int, int]]) -> Tally:
    tally = Tally()
    for first, last in lines:
        tally.add(first, last)
    return tally
