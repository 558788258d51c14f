"""Time stages of the library inside one process; `run.py` starts this once a measurement.

python tests/benchmarks/inside.py scan PROGRAM
python tests/benchmarks/inside.py rewrite PROGRAM

Standard output is one JSON object of seconds. Imports and the first use of the grammar come before the clock
starts. Nothing is kept between chunks, as in the command.
"""

import argparse
import json
import sys
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from time import perf_counter

__all__ = ["rewrite_seconds", "scan_seconds"]

_PIECE_BYTES = 256 * 1024
_WARM_UP = b"G21 G90 (warm)\nG1 X[1+1] F100\nM30\n"


def scan_seconds(program: Path) -> dict[str, float]:
    """Return seconds to scan a program to columns, reading the file included."""
    from flipreg.rs274.read.scanner import scan_chunks

    for _ in scan_chunks([_WARM_UP], "warm-up"):
        pass
    begin = perf_counter()
    blocks = sum(len(chunk) for chunk in scan_chunks(_pieces(program), program.name))
    return {"scan": perf_counter() - begin, "blocks": blocks}


def rewrite_seconds(program: Path) -> dict[str, float]:
    """Return seconds in the rewriter alone for a flip about x = 0, and those of the stages before it.

    `rewrite` is the sum over chunks of what it takes from columns to text; `scan` and `interpret` are what it
    takes to make those columns.
    """
    from flipreg.geometry.isometry import Isometry
    from flipreg.rewrite.isometry.rewriter import Rewriter
    from flipreg.rs274.interpret.interpret import interpret_blocks
    from flipreg.rs274.interpret.state import State
    from flipreg.rs274.read.scanner import scan_chunks

    flip = Isometry.mirror_x(datum_mm=(Decimal(0), Decimal(0)))
    seconds = {"scan": 0.0, "interpret": 0.0, "rewrite": 0.0, "bytes": 0.0}
    warm = next(iter(scan_chunks([_WARM_UP], "warm-up")))
    interpret_blocks(warm, State())
    rewriter, state = Rewriter(flip), State()
    chunks = scan_chunks(_pieces(program), program.name)
    while True:
        marks = [perf_counter()]
        blocks = next(chunks, None)
        if blocks is None:
            return seconds
        marks.append(perf_counter())
        modes, path, after = interpret_blocks(blocks, state)
        marks.append(perf_counter())
        new = rewriter.rewrite(blocks, modes, path, before=state, after=after)
        marks.append(perf_counter())
        state = after
        seconds["bytes"] += len(new.text)
        for stage, begin, end in zip(("scan", "interpret", "rewrite"), marks, marks[1:], strict=False):
            seconds[stage] += end - begin


def _pieces(program: Path) -> Iterator[bytes]:
    with program.open("rb") as file:
        yield from iter(lambda: file.read(_PIECE_BYTES), b"")


def _main() -> None:
    parser = argparse.ArgumentParser(description="Time stages of the library inside one process.")
    parser.add_argument("stage", choices=["scan", "rewrite"])
    parser.add_argument("program", type=Path)
    arguments = parser.parse_args()
    measure = {"scan": scan_seconds, "rewrite": rewrite_seconds}[arguments.stage]
    sys.stdout.write(json.dumps(measure(arguments.program)) + "\n")


if __name__ == "__main__":
    _main()
