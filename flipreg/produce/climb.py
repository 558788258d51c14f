"""The program for the other face with climb milling kept: mirrored, and its closed contours run the other way round."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal

from flipreg.contours.contour import contour_rows
from flipreg.contours.count import Tally, counted
from flipreg.contours.unturned import Unturned, Why, find_unturned
from flipreg.errors import ProofError
from flipreg.produce.header import headed, is_told_in_mm
from flipreg.produce.isometries import FlipAxis
from flipreg.produce.pieces import program_pieces
from flipreg.produce.produce import flip
from flipreg.produce.produced import Produced
from flipreg.produce.source_place import told_at_source
from flipreg.prove.turned_pieces import ProvingTurned
from flipreg.rewrite.climb.climb import CarriedFeed, turn_contours
from flipreg.rewrite.climb.runs import Chosen
from flipreg.rs274.interpret.units import first_state
from flipreg.rs274.interpret.whole import PieceReader, Whole
from flipreg.rs274.read.location import ProgramError, RefusedError
from flipreg.rs274.read.program import Readable
from flipreg.rs274.read.scanner import scan_chunks
from flipreg.units import plain

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
        As in `flip`.

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
    turning = _Turning(program)
    try:
        texts = list(turning.texts(b"".join(flipped.without_header)))
    except RefusedError as error:
        raise told_at_source(error, program) from None
    own = turning.told.notes()
    notes = (*(note for note in flipped.notes if note not in flipped.direction_notes), *own)
    largest = flipped.largest_deviation_mm + turning.proving.largest_mm
    produced = replace(flipped, parts=(), largest_deviation_mm=largest, notes=notes, direction_notes=own)
    x, y = datum_mm
    done = f"flipped about {axis.name}, program zero at X{plain(x)} Y{plain(y)} of the source, cutting direction kept"
    first = next(iter(scan_chunks(program.pieces(), program.source)))
    return headed(first, texts, produced, (done, *notes), in_inches=is_told_in_mm(flipped))


class _Turning:
    """Turns a mirrored program round, piece after piece, and proves each piece as it comes."""

    def __init__(self, program: Readable) -> None:
        self._name, self._before = program.source, first_state(program)
        self.told, self.proving = _Told(), ProvingTurned()

    def texts(self, text: bytes) -> Iterator[bytes]:
        """Yield the new text."""
        output, feed = PieceReader(self._name, self._before), CarriedFeed()
        for piece, is_last in program_pieces(text, PieceReader(self._name, self._before)):
            turned = turn_contours(piece, feed)
            feed = turned.feed
            try:
                made = output.read(turned.text + piece.tail, last=is_last)
            except ProgramError as error:
                raise ProofError("the output would not be legal", error) from None
            unturned = find_unturned(piece.path, *contour_rows(piece.path))
            runs = [(run.first, run.last) for run in turned.chosen.runs]
            self.proving.add(piece, made, runs, [(each.first_line, each.last_line) for each in unturned])
            self.told.add(piece, turned.chosen, unturned)
            yield turned.text + piece.tail


@dataclass(slots=True)
class _Told:
    """What is told of all pieces of a program, with the program's lines."""

    contours: int = 0
    runs: Tally = field(default_factory=Tally)
    ramps: Tally = field(default_factory=Tally)
    leads: Tally = field(default_factory=Tally)
    unturned: dict[Why, Tally] = field(default_factory=lambda: {why: Tally() for why in Why})

    def add(self, piece: Whole, chosen: Chosen, unturned: list[Unturned]) -> None:
        """Add what was done with a piece."""
        before = piece.blocks.first_line - 1
        self.contours += sum(run.contours for run in chosen.runs)
        runs = [(run.first, run.last) for run in chosen.runs]
        ramps = [(row, row) for row in chosen.ramps]
        for tally, rows in ((self.runs, runs), (self.ramps, ramps), (self.leads, chosen.leads)):
            for first, last in rows:
                tally.add(before + int(piece.path.line[first]), before + int(piece.path.line[last]))
        for each in unturned:
            self.unturned[each.why].add(before + each.first_line, before + each.last_line)

    def notes(self) -> tuple[str, ...]:
        """Say what was turned round, and what was not."""
        notes = ["no closed contour to run the other way round"]
        if self.contours:
            what = f"{counted(self.contours)} run the other way round: lines {self.runs}"
            notes = [f"{what}; all else runs as the mirror left it"]
        if self.ramps.count:
            notes.append(f"ramps that lead to a contour are not turned round: lines {self.ramps}")
        if self.leads.count:
            what = "leads that contours share, or that have none on the other side, stay as they are"
            notes.append(f"{what}: lines {self.leads}")
        for why, left in self.unturned.items():
            if left.count:
                what = f"{counted(left.count)} not turned round, climb to conventional or back"
                notes.append(f"{what}, because {why.value}: lines {left}")
        return tuple(notes)
