"""Contours turned round piece by piece: as if the program had been read at once, and refused at the source's lines."""

from decimal import Decimal
from random import Random

import pytest

import flipreg
from flipreg.prove.turned_pieces import ProvingTurned
from flipreg.rs274.interpret.units import first_state
from flipreg.rs274.interpret.whole import PieceReader, Whole
from tests.commands.test_keep_climb import LEADS, LIFTED
from tests.machine.shops import places
from tests.machine.trials import VERBS

ZERO = (Decimal(0), Decimal(0))
SEVERAL = "".join(
    f"G0 X{x} Y0\nZ2\nG1 Z{z} F300\nX{x + 9} F{600 + x}\nY9\nX{x}\nY0\nG0 Z5\n"
    for z in (-1, -2)
    for x in range(0, 90, 10)
)


def kept(text: str) -> tuple[bytes, tuple[str, ...]] | str:
    program = flipreg.parse(text, source="a.nc")
    try:
        made = flipreg.flip_keeping_climb(program, axis=flipreg.FlipAxis.Y, datum_mm=ZERO)
    except flipreg.RefusedError as error:
        return str(error)
    return made.text, made.notes


def random_program(seed: int) -> str:
    return next(iter(VERBS["keep-climb"](Random(f"keep-climb {seed}"), places(seed)).sources.values()))


@pytest.fixture
def pieces(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Take pieces of some lines, and count them."""
    found: list[int] = []
    read = PieceReader.read

    def counted(reader: PieceReader, text: bytes, *, last: bool) -> Whole:
        found.append(len(text))
        return read(reader, text, last=last)

    monkeypatch.setattr("flipreg.produce.pieces._LEAST_BYTES", 300)
    monkeypatch.setattr(PieceReader, "read", counted)
    return found


PROGRAMS = [
    f"G21 G90 G17\nG0 Z5\n{SEVERAL}M2\n",
    f"%\nG21 G90 G17\nG0 Z5\n{SEVERAL}M2\n%\nleft over\n",
    # A contour in pieces at the end of a piece; leads; a refusal in a piece that isn't the first.
    f"G21 G90 G17\nG0 Z5\n{SEVERAL}{LIFTED.replace('M2', '')}{SEVERAL}M2\n",
    f"G21 G90 G17\nG0 Z5\n{LEADS.replace('M2', '') * 6}M2\n",
    f"G21 G90 G17\nG0 Z5\n{SEVERAL}G0 X0 Y0\nZ2\nG1 Z-3 F300\nX[30]\nY20\nX0\nY0\nG0 Z5\nM2\n",
]


@pytest.mark.parametrize("text", PROGRAMS)
def test_a_program_in_pieces_becomes_what_it_becomes_at_once(text: str, pieces: list[int]) -> None:
    made = kept(text)
    assert len(pieces) > 4
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("flipreg.produce.pieces._LEAST_BYTES", 1 << 20)
        assert made == kept(text)


def test_random_programs_in_pieces_become_what_they_become_at_once(pieces: list[int]) -> None:
    texts = [*map(random_program, range(12))]
    made = [*map(kept, texts)]
    assert len(pieces) > 60
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("flipreg.produce.pieces._LEAST_BYTES", 1 << 20)
        assert made == [*map(kept, texts)]


def test_a_refusal_shows_the_sources_line_and_points_at_its_word() -> None:
    text = "G21 G90\nG0 X5 Y0 Z5\nG1 Z-1 F90\nX100\nX100 Y20 S900\nX5\nY0\nG0 Z5\nM2\n"
    said = "S900 inside of a contour that has to be run the other way round"
    assert kept(text) == f"a.nc:5:10: {said}\n  X100 Y20 S900\n           ^^^^"
    text = text.replace(" S900", "").replace("M2", "").replace("X100\n", "G91 X95\nG90\n")
    said = "this contour is in increments (G91); it can't be run the other way round"
    assert kept(text) == f"a.nc:4:1: {said}\n  G91 X95\n  ^^^^^^^"


HEAD = "G21 G90 G17\nG0 Z5\nX0 Y0\nG1 Z-1 F90\n"


@pytest.mark.parametrize(
    ("first", "second", "message"),
    [
        ("X9\nY9\n", "X0\nY0\nG0 Z5\nM2\n", "a.nc:7: a contour may go on from the piece of the program before"),
        ("X9\nY9\nG0 Z5\n", "X8 Y9\nG1 Z-1\nX0\nY0\nG0 Z5\nM2\n", "a.nc:8: a contour may go on from the piece"),
        ("X9\nY9\nG0 Z5\n", "X8 Y9\nG1 Z-2\nX0\nY0\nG0 Z5\nM2\n", ""),
    ],
)
def test_the_proof_stops_a_piece_that_a_contour_may_go_on_from(first: str, second: str, message: str) -> None:
    before = first_state(flipreg.parse(HEAD, source="a.nc"))
    one, other = PieceReader("a.nc", before), PieceReader("a.nc", before)
    proving = ProvingTurned()
    begin = (HEAD + first).encode()
    proving.add(one.read(begin, last=False), other.read(begin, last=False), [], [])
    mine, made = (reader.read(second.encode(), last=True) for reader in (one, other))
    if not message:
        proving.add(mine, made, [], [])
        return
    with pytest.raises(flipreg.ProofError, match=message):
        proving.add(mine, made, [], [])
