"""Where a canned cycle leaves the point (NISTIR 6556, 3.5.16)."""

from collections.abc import Mapping
from decimal import Decimal

from flipreg.prove.machine.coordinate import Coordinate
from flipreg.prove.machine.machine import AXES, MachineState
from flipreg.units import INCH

__all__ = ["drilled"]

_STICKY = "RQPIJK"


def drilled(machine: MachineState, words: Mapping[str, Decimal], *, goes_on: bool) -> bool:
    """Carry out a block of a canned cycle.

    Parameters
    ----------
    machine : MachineState
        Changed: its place, and the words that hold for the next block.
    words : mapping from letter to Decimal
        The words of the block, as written.
    goes_on : bool
        Whether the block before was of the same cycle, whose words still hold.

    Returns
    -------
    bool
        Whether it depended on where the machine stood before the program.
    """
    w = 19 - machine.plane // 10
    deep = AXES[w]
    scale = INCH if machine.units == 200 else Decimal(1)
    said = {letter: value * (1 if letter == "P" else scale) for letter, value in words.items()}
    before = machine.cycle if goes_on else {}
    machine.cycle = {**before, **{letter: said[letter] for letter in (*_STICKY, deep) if letter in said}}
    here = machine.place[w]
    incremental = machine.distance == 910
    retract = Coordinate(machine.cycle["R"])
    level = here + retract if incremental else machine.zero(w) + retract
    times = int(words.get("L", Decimal(1)).to_integral_value())
    depended = here.depends_on_start
    for axis, letter in enumerate(AXES):
        if axis == w or letter not in said:
            depended |= axis != w and machine.place[axis].depends_on_start
        elif incremental:
            depended |= machine.place[axis].depends_on_start
            machine.place[axis] = machine.place[axis] + Coordinate(said[letter] * times)
        else:
            machine.place[axis] = machine.zero(axis) + Coordinate(said[letter])
    if machine.returns == 990:
        machine.place[w] = level
        return depended
    higher = here.over(level)
    if higher is None:
        machine.place[w] = machine.unknown("clear of a cycle", w)
    elif higher < 0:
        machine.place[w] = level
    return depended
