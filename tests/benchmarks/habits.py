"""What habits cost: a program with one on every line against the same program without, in turns.

Run by hand: `python tests/benchmarks/habits.py [BLOCKS]`. The figure is the best time with habits over that without.
"""

import sys
import time
from collections.abc import Callable
from decimal import Decimal

import flipreg

ROUNDS = 7


def plain(line: int) -> str:
    """Return a block without habits."""
    return f"N{line % 90000 + 1} G1 X{line % 977}.125 Y{line % 389}.5 F{900 + line % 7}"


HABITS: dict[str, tuple[Callable[[int], str], Callable[[int], str]]] = {
    "line numbers above 99999": (lambda line: plain(line).replace("N", "N9", 1), plain),
    "G64 P Q": (lambda line: f"{plain(line)} G64 P0.005 Q0.005", lambda line: f"{plain(line)} G64 G94 M9"),
    "G1 F": (
        lambda line: f"G1 F{900 + line % 7}\nX{line % 977}.125 Y{line % 389}.5",
        lambda line: f"G94 F{900 + line % 7}\nX{line % 977}.125 Y{line % 389}.5",
    ),
    "I J on straight moves": (
        lambda line: f"{plain(line)} I0 J0",
        lambda line: f"{plain(line)} S{line % 9} M9",
    ),
}
"""Each habit on every line, and a program of as many words without it."""

WORK: dict[str, Callable[[flipreg.Program], object]] = {
    "read": flipreg.interpret,
    "flip": lambda program: flipreg.flip(program, axis=flipreg.FlipAxis.Y, datum_mm=(Decimal(50), Decimal(0))),
}


def program(block: Callable[[int], str], blocks: int) -> flipreg.Program:
    """Return a program of so many blocks."""
    body = "\n".join(map(block, range(blocks)))
    return flipreg.parse(f"G21 G90 G17\nG0 X0 Y0 Z0\nG1 F900\n{body}\nM2\n")


def main() -> None:
    """Print the table."""
    blocks = int(sys.argv[1]) if len(sys.argv) > 1 else 200_000
    for name, pair in HABITS.items():
        programs = [program(block, blocks) for block in pair]
        for what, work in WORK.items():
            best = [1e9, 1e9]
            for _ in range(ROUNDS):
                for which in (0, 1):
                    began = time.perf_counter()
                    work(programs[which])
                    best[which] = min(best[which], time.perf_counter() - began)
            sys.stdout.write(f"{name:28} {what:5} {best[0]:.3f} s / {best[1]:.3f} s = {best[0] / best[1]:.2f}\n")


if __name__ == "__main__":
    main()
