"""Write a made-up program of any length, the same bytes every time.

python tests/benchmarks/programs.py finishing --blocks 1000000 --output front.ngc
python tests/benchmarks/programs.py finishing --blocks 1000000 --face back --output back.ngc
python tests/benchmarks/programs.py arcs --blocks 100000 --output arcs.ngc
python tests/benchmarks/programs.py habits --blocks 1000000 --output habits.ngc
python tests/benchmarks/programs.py no-habits --blocks 1000000 --output no-habits.ngc

`finishing` follows a waved surface of 300 x 200 mm row by row: three decimals, G0 links, feeds, a comment in 7 of
100 blocks; then the outline in half depth and four holes. The back is the other face of the same board for a
flip about the line x = 0: another surface, the same outline and holes. `arcs` clears round pockets with arcs in
centre format and a helix into each. `habits` has one on every line - a line number of more than five digits, `G64` with
P and Q, a motion code without axis words - and `no-habits` has as many words of the same letters without. Nothing
but the standard library, so that a benchmark's parent stays small.
"""

import argparse
import math
from collections.abc import Iterator
from itertools import chain, islice
from pathlib import Path

__all__ = ["arc_program", "finishing_program", "habit_program"]

_WIDTH_UM, _LENGTH_UM = 300_000, 200_000
_STEP_UM, _STEPOVER_UM = 137, 211
_TOOL_RADIUS_UM = 3_000
_HOLES_UM = ((20_000, 20_000), (280_000, 20_000), (280_000, 180_000), (20_000, 180_000))
_POCKET_RADII_UM = range(2_000, 9_000, 500)

_HEAD = ("%", "(a made-up program to measure with)", "G21 G17 G90", "G54", "T1 M6", "S16000 M3", "G0 Z5.000")
_TAIL = ("G0 Z20.000", "M5", "M30", "%")


def finishing_program(blocks: int, *, face: str) -> Iterator[str]:
    """Return the lines of a finishing program with exactly so many blocks, for the `front` or `back` face."""
    side = {"front": 1, "back": -1}[face]
    shared = [*_outline(side), *_holes(side)]
    return _of_length(blocks, _surface(side), shared)


def arc_program(blocks: int) -> Iterator[str]:
    """Return the lines of a program of arcs and helices with exactly so many blocks."""
    return _of_length(blocks, _pockets(), ["G0 Z5.000"])


def habit_program(blocks: int, *, has_habits: bool) -> Iterator[str]:
    """Return the lines of a program of straight moves with exactly so many blocks, each with a habit or none."""
    return _of_length(blocks, _straight(has_habits), ["G0 Z5.000"])


def _of_length(blocks: int, body: Iterator[str], after: list[str]) -> Iterator[str]:
    room = blocks - len(_HEAD) - len(after) - len(_TAIL)
    if room < 1:
        raise ValueError(f"at least {blocks - room + 1} blocks are needed, got {blocks}")
    return chain(_HEAD, islice(body, room), after, _TAIL)


def _surface(side: int) -> Iterator[str]:
    """Yield rows along X over a waved surface, to and fro, over and over."""
    number = 0
    for row in _forever():
        y = row * _STEPOVER_UM % _LENGTH_UM
        columns = range(0, _WIDTH_UM, _STEP_UM)
        for place, x in enumerate(columns if row % 2 == 0 else reversed(columns)):
            number += 1
            height = 2500 * math.sin(x / 31_000 + 0.4 * side) * math.cos(y / 23_000) - 3000
            point = f"X{_mm(side * x)} Y{_mm(y)}"
            depth = _mm(round(height))
            if place == 0:
                yield f"(row {row} at Y{_mm(y)})"
                yield "G0 Z5.000"
                yield f"G0 {point}"
                yield f"G1 Z{depth} F600"
            elif place == 1:
                yield f"G1 {point} Z{depth} F2400"
            elif number * 7 % 100 < 7:
                yield f"G1 {point} Z{depth} (step {place})"
            else:
                yield f"G1 {point} Z{depth}"


def _straight(has_habits: bool) -> Iterator[str]:  # noqa: FBT001
    for number in _forever():
        point, feed = f"X{number % 977}.125 Y{number % 389}.5", f"F{900 + number % 7}"
        if number % 3 == 0:
            label = f"N{100_000 + number}" if has_habits else f"N{number % 90_000 + 1}"
            yield f"{label} G1 {point} {feed}"
        elif number % 3 == 1:
            yield f"G1 {point} " + ("G64 P0.005 Q0.005" if has_habits else "G64 M9 G94")
        else:
            yield f"{'G1' if has_habits else 'G94'} {feed}"


def _outline(side: int) -> Iterator[str]:
    """Yield the board's outline in two steps down to half its thickness, the tool outside it."""
    low, right, top = -_TOOL_RADIUS_UM, _WIDTH_UM + _TOOL_RADIUS_UM, _LENGTH_UM + _TOOL_RADIUS_UM
    corners = ((right, low), (right, top), (low, top), (low, low))
    yield "(outline)"
    yield "G0 Z5.000"
    yield f"G0 X{_mm(side * low)} Y{_mm(low)}"
    for depth in (-5_500, -11_000):
        yield f"G1 Z{_mm(depth)} F300"
        for place, (x, y) in enumerate(corners):
            yield f"G1 X{_mm(side * x)} Y{_mm(y)}" + (" F1800" if place == 0 else "")
    yield "G0 Z5.000"


def _holes(side: int) -> Iterator[str]:
    for x, y in _HOLES_UM:
        yield f"G0 X{_mm(side * x)} Y{_mm(y)}"
        yield "G1 Z-12.000 F200"
        yield "G0 Z5.000"


def _pockets() -> Iterator[str]:
    """Yield round pockets: a helix down, then rings outwards in quarter arcs, every other ring the other way.

    Ends are rounded to a micrometre, so the two radii of an arc differ by at most 1.5 µm: less than the 2 µm that
    the standard allows.
    """
    for pocket in _forever():
        x, y = pocket * 20_011 % _WIDTH_UM, pocket * 7_013 % _LENGTH_UM
        yield f"(pocket {pocket})"
        yield "G0 Z5.000"
        at = (x + _POCKET_RADII_UM[0], y)
        yield f"G0 X{_mm(at[0])} Y{_mm(at[1])}"
        yield "G1 Z0.000 F600"
        for depth in (-1_500, -3_000):
            yield f"G3 {_to(at, at, (x, y))} Z{_mm(depth)}"
        for ring, radius in enumerate(_POCKET_RADII_UM):
            turn = 1 if ring % 2 == 0 else -1
            begin = 0.31 * ring
            start = (round(x + radius * math.cos(begin)), round(y + radius * math.sin(begin)))
            yield f"G1 X{_mm(start[0])} Y{_mm(start[1])} F1200"
            at = start
            for quarter in (1, 2, 3, 4):
                angle = begin + turn * quarter * math.pi / 2
                end = (round(x + radius * math.cos(angle)), round(y + radius * math.sin(angle)))
                end = start if quarter == 4 else end
                yield f"{'G3' if turn > 0 else 'G2'} {_to(end, at, (x, y))}"
                at = end


def _to(end: tuple[int, int], start: tuple[int, int], centre: tuple[int, int]) -> str:
    i, j = centre[0] - start[0], centre[1] - start[1]
    return f"X{_mm(end[0])} Y{_mm(end[1])} I{_mm(i)} J{_mm(j)}"


def _mm(micrometres: int) -> str:
    return f"{micrometres / 1000:.3f}"


def _forever() -> Iterator[int]:
    number = 0
    while True:
        yield number
        number += 1


def _main() -> None:
    parser = argparse.ArgumentParser(description="Write a made-up program to measure with.")
    parser.add_argument("sort", choices=["finishing", "arcs", "habits", "no-habits"])
    parser.add_argument("--blocks", type=int, required=True, help="lines of the program")
    parser.add_argument("--face", choices=["front", "back"], default="front", help="of a finishing program")
    parser.add_argument("--output", type=Path, required=True, help="file to write")
    arguments = parser.parse_args()
    if arguments.sort == "arcs":
        lines = arc_program(arguments.blocks)
    elif arguments.sort == "finishing":
        lines = finishing_program(arguments.blocks, face=arguments.face)
    else:
        lines = habit_program(arguments.blocks, has_habits=arguments.sort == "habits")
    with arguments.output.open("w", encoding="ascii", newline="\n") as file:
        file.writelines(f"{line}\n" for line in lines)


if __name__ == "__main__":
    _main()
