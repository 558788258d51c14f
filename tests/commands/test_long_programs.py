"""A long program is rewritten as a short one is: nothing happens at the seams of the parts it is read in."""

from collections.abc import Callable
from decimal import Decimal

import pytest

import flipreg
from flipreg.rs274.read import lines as lines_module
from tests.motions import motions

HEAD = "G21 G17 G94 T1 M6 M3 S900 F300\nG0 X0 Y0 Z5\n"

# A round leaves nothing behind: it starts with a position in every axis and states every mode it needs. Its length
# is odd in bytes, so that it shares no factor with the size of a part and a seam falls somewhere else in each.
ROUND = (
    "N10 G90 G0 X1.5 Y-2 Z5 (down, X1 up)\nG1 Z-1 F300; X2\nG91 X.25\nY1.5\n\nG2 X3 Y9 I3 J4\nX1.25 R7.5\n"
    "G90 X5 Y5 R20\ng03 x 7.000 i 1.0\nG42 D1 G1 X10 Y10\nX12.5\nG40 G0 Z5\nG18 G2 X13.5 I.5\nG17\n"
    "G99 G81 X1 Y1 Z-1 R1\nX2\nG80\nG91 G1 X-.1 Y.1 Z-.1\nG90\n"
)

TAIL = "M2\n"


def flip(text: str) -> bytes:
    return flipreg.flip(flipreg.parse(text), axis=flipreg.FlipAxis.Y, datum_mm=(Decimal("25.4"), Decimal("0.05"))).text


def shift(text: str) -> bytes:
    return flipreg.shift(
        flipreg.parse(text),
        by_mm=(Decimal("1.25"), Decimal(-3), Decimal("0.5")),
        turn_deg=90.0,
        about_mm=(Decimal(1), Decimal(2)),
    ).text


def turn(text: str) -> bytes:
    zero = Decimal(0)
    return flipreg.shift(
        flipreg.parse(text), by_mm=(zero, zero, zero), turn_deg=17.0, about_mm=(Decimal(1), Decimal(2))
    ).text


def rounds(body: str, count: int, line_end: str) -> str:
    return (HEAD + body * count + TAIL).replace("\n", line_end)


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"], ids=["LF", "CRLF", "CR"])
@pytest.mark.parametrize("rewritten", [flip, shift, turn])
def test_every_round_of_a_long_program_is_written_as_the_first(
    rewritten: Callable[[str], bytes], line_end: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lines_module, "CHUNK_BYTES", 1024)
    # A turn by 17 degrees cannot carry the arc outside the XY plane.
    body = ROUND.replace("G18 G2 X13.5 I.5\n", "") if rewritten is turn else ROUND
    once, twice = (rewritten(rounds(body, count, line_end)) for count in (1, 2))
    end = line_end.encode()
    lines = body.count("\n")
    first = once.split(end)[-lines - 2 : -2]
    assert twice.split(end)[-lines - 2 : -2] == first
    count = 40
    found = rewritten(rounds(body, count, line_end)).split(end)
    assert found[-2:] == [b"M2", b""]
    found = found[-lines * count - 2 : -2]
    different = [index for index in range(count) if found[index * lines : (index + 1) * lines] != first]
    assert different == []


def test_every_round_of_a_long_program_moves_as_the_first() -> None:
    path = motions(rounds(ROUND, 6000, "\r\n"))
    once = motions(rounds(ROUND, 1, "\r\n"))
    per_round = len(once) - 1
    assert len(path) == 1 + 6000 * per_round
    for name in ("end", "centre", "sweep_deg", "normal", "kind", "cycle", "compensation", "tool", "feed_mm_per_min"):
        column, expected = getattr(path, name)[1:], getattr(once, name)[1:]
        rows = column.reshape(6000, per_round, -1)
        same = (rows == expected.reshape(1, per_round, -1)) | (rows != rows)
        assert same.all(), name
    assert path.line[-1] == once.line[-1] + 5999 * ROUND.count("\n")
