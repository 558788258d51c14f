"""Feed bytes to the reader, and programs to flip and shift: nothing but a FlipregError may come out.

python tests/fuzz/fuzz_programs.py -runs=100000 -seed=1 FOLDER tests/fuzz/corpus

Coverage-guided, by atheris, which is not among the test requirements. What libFuzzer finds new goes into FOLDER; the
corpus beside this file stays as it is. The first byte of an input says what is done with the rest: read, flip, shift,
turn, edit. Whatever is written has to be read again, and flipping twice has to give the motions back. A warning, as of
numpy, is a fault like any other: it would reach a person.
"""

import sys
import warnings
from decimal import Decimal

import atheris  # type: ignore[import-not-found,import-untyped,unused-ignore]

with atheris.instrument_imports(include=["flipreg"]):
    import numpy as np

    import flipreg
    from flipreg.rs274.interpret import unrolled, walk
    from flipreg.rs274.read import grammar as grammar

__all__ = ["one_input"]

warnings.simplefilter("error")

_USED = (grammar, unrolled, walk)
"""Modules that are imported on first use: their code has to be instrumented before."""

_CLOSE_MM = 1e-6

_LONGEST = 20_000


def one_input(data: bytes) -> None:
    """Do what the first byte says with the rest."""
    if not data or len(data) > _LONGEST:
        return
    try:
        program = flipreg.parse(data[1:], source="fuzz")
        path = flipreg.interpret(program)
        _ACTIONS[data[0] % len(_ACTIONS)](program, path)
    except flipreg.FlipregError as error:
        if not str(error):
            raise AssertionError("an error without a message") from error


def _look(program: flipreg.Program, path: flipreg.Path) -> None:
    del path
    flipreg.bounds(program)
    flipreg.interpret(flipreg.parse(program.text, source="fuzz", strict=True))


def _flip(program: flipreg.Program, path: flipreg.Path) -> None:
    datum = (Decimal("25.4"), Decimal("-1.5"))
    back = flipreg.flip(program, axis=flipreg.FlipAxis.Y, datum_mm=datum)
    there = flipreg.flip(flipreg.parse(back.text), axis=flipreg.FlipAxis.Y, datum_mm=(Decimal("25.4"), Decimal("1.5")))
    again = flipreg.interpret(flipreg.parse(there.text))
    if len(again) != len(path):
        raise AssertionError(f"{len(again)} motions instead of {len(path)} after two flips")
    off = np.abs(again.end - path.end)
    # Offsets that have no end in inches are rounded, once for each flip.
    largest = np.nanmax(off, initial=0.0)
    if largest > _CLOSE_MM + 1e-3:
        raise AssertionError(f"{largest} mm off after two flips")


def _shift(program: flipreg.Program, path: flipreg.Path) -> None:
    del path
    flipreg.shift(program, by_mm=(Decimal("1.25"), Decimal("-3"), Decimal("0.5")), turn_deg=90)


def _turn(program: flipreg.Program, path: flipreg.Path) -> None:
    del path
    flipreg.shift(program, turn_deg=12.5, about_mm=(Decimal(3), Decimal(4)), chords_mm=0.05, spell_cycles=True)


def _edit(program: flipreg.Program, path: flipreg.Path) -> None:
    del path
    for edit in (
        lambda: flipreg.home(program, safe_z_mm=Decimal(50)),
        lambda: flipreg.join([program, program]),
        lambda: flipreg.split_tools(program),
        lambda: flipreg.depth(program, floor_mm=flipreg.floor_of(program) + Decimal("0.5")),
    ):
        try:
            edit()
        except flipreg.FlipregError as error:
            if not str(error):
                raise AssertionError("an error without a message") from error


_ACTIONS = (_look, _flip, _shift, _turn, _edit)


def _main() -> None:
    atheris.Setup(sys.argv, one_input)
    atheris.Fuzz()


if __name__ == "__main__":
    _main()
