"""Short programs walked by the proof's machine."""

from decimal import Decimal

from flipreg.prove.machine.coordinate import Coordinate
from flipreg.prove.machine.line import Line, Lines
from flipreg.prove.machine.machine import MachineState
from flipreg.prove.machine.step import Deed, step
from tests.prove.reads import read

__all__ = ["at", "line", "lines", "walked"]


def lines(text: str) -> Lines:
    """Return the blocks of a program."""
    made = read(text)
    return Lines(made.blocks, made.modes.values)


def line(text: str) -> Line:
    """Return one block; it need not be legal by itself."""
    g, m, words = [], [], {}
    for word in text.lstrip("/").split():
        if word[0] == "G":
            g.append(round(float(word[1:]) * 10))
        elif word[0] == "M":
            m.append(int(word[1:]))
        elif word[0] != "(":
            words[word[0]] = Decimal(word[1:])
    return Line(7, tuple(g), tuple(m), words, text.startswith("/"), "(" in text)


def walked(*texts: str, machine: MachineState | None = None) -> tuple[MachineState, Deed]:
    """Return the machine after some blocks, and what the last one did."""
    machine = machine or MachineState()
    deed = Deed()
    for text in texts:
        deed = step(machine, line(text))
    return machine, deed


def at(number: float | str, *symbols: str) -> Coordinate:
    """Return the sum of a number and of symbols."""
    total = Coordinate(Decimal(str(number)))
    for symbol in symbols:
        total = total + Coordinate.of(symbol)
    return total
