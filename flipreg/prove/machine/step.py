"""One block carried out by the proof's machine, in the order of execution of NISTIR 6556, 3.8."""

from dataclasses import dataclass, field
from decimal import Decimal

from flipreg.prove.machine.coordinate import REFERENCE, ZERO, Coordinate
from flipreg.prove.machine.drill import drilled
from flipreg.prove.machine.line import Line
from flipreg.prove.machine.machine import AXES, LENGTH_OF_TOOL, CoordinateSystem, MachineState, Place
from flipreg.units import INCH

__all__ = ["Deed", "Move", "step"]

_MODES = {
    **dict.fromkeys((170, 180, 190), "plane"),
    **dict.fromkeys((200, 210), "units"),
    **dict.fromkeys((900, 910), "distance"),
    **dict.fromkeys((901, 911), "centres"),
    **dict.fromkeys((930, 940), "feed_mode"),
    **dict.fromkeys((980, 990), "returns"),
    **dict.fromkeys((540, 550, 560, 570, 580, 590, 591, 592, 593), "offset"),
    **dict.fromkeys((0, 10, 20, 30, 382, *range(800, 900, 10)), "motion"),
}
_WAIT, _DATA, _HOMES, _MACHINE = 40, 100, (280, 300), 530
_AXIS_OFFSET, _RESET, _RESET_KEEPING, _RESTORE = 920, 921, 922, 923
_PATH = (610, 611, 640)
_CUTTER, _OFF = (400, 410, 420), 400
_LENGTH_ON, _LENGTH_OFF = 430, 490
_PROBE, _NO_MOTION = 382, 800
_PLAIN, _ARCS = (0, 10, 20, 30), (20, 30)
_OTHERS_AXES = {_DATA, *_HOMES, _AXIS_OFFSET}
"""Codes that use the axis words of their block themselves."""
_CENTRES = {170: "IJ", 180: "IK", 190: "JK"}
_STOPS, _ENDS = (0, 1, 60), (2, 30)


@dataclass(frozen=True, slots=True)
class Move:
    """One motion.

    Attributes
    ----------
    is_fed, is_straight : bool
        It cuts; it leads straight from its start to its end, by no more than it says: the point was no radius off.
    start, end : three coordinates
        In the machine's frame.
    is_of_machine : bool
        It was commanded by G28, G30 or G53.
    """

    is_fed: bool
    is_straight: bool
    start: Place
    end: Place
    is_of_machine: bool = False

    def goes(self, axis: int) -> bool:
        """Return whether it may lead along an axis."""
        return self.start[axis] != self.end[axis] or not self.is_straight


@dataclass(slots=True)
class Deed:
    """What one block did.

    Attributes
    ----------
    moves : list of Move
        Its motions in order; a canned cycle is one that is fed.
    acts : list of str
        What it did besides moving and setting: a stop, a dwell, a tool change, a probe, an end, a cycle, data.
    depended_on_start : bool
        A step, a cut or a cycle began at a place that depends on where the machine stood before the program.
    frame : CoordinateSystem or None
        What numbers meant in its motions; None without one.
    """

    moves: list[Move] = field(default_factory=list)
    acts: list[str] = field(default_factory=list)
    depended_on_start: bool = False
    frame: CoordinateSystem | None = None


def step(machine: MachineState, line: Line) -> Deed:
    """Carry out one block that was read as legal; the machine changes."""
    deed = Deed()
    if machine.ended:
        return deed
    motion_before = machine.motion
    for code in line.g:
        if code in _MODES:
            setattr(machine, _MODES[code], code)
    _cancel(machine, line)
    _technology(machine, line, deed)
    _compensations(machine, line)
    codes = set(line.g)
    if codes & set(_HOMES):
        _go_home(machine, line, deed, 280 if 280 in codes else 300)
    elif _DATA in codes:
        _set_origin(machine, line)
        deed.acts.append("data")
    elif codes & {_AXIS_OFFSET, _RESET, _RESET_KEEPING, _RESTORE}:
        _set_axis_offset(machine, line, codes)
        # G92.1 to G92.3 leave the axis words of their block to its motion.
        if _AXIS_OFFSET not in codes:
            _move(machine, line, deed, motion_before)
    else:
        _move(machine, line, deed, motion_before)
    if deed.moves:
        deed.frame = machine.frame()
    for code in line.m:
        if code in _STOPS:
            deed.acts.append(f"M{code}")
        elif code in _ENDS:
            _end(machine)
            deed.acts.append("end")
    return deed


def _cancel(machine: MachineState, line: Line) -> None:
    """Let G80 beside a motion code end a cycle: the motion is made, and without one no motion stays in force."""
    beside = [code for code in line.g if code in _PLAIN]
    if _NO_MOTION in line.g and beside:
        moves = any(letter in line.words for letter in AXES) and not set(line.g) & _OTHERS_AXES
        machine.motion = beside[-1] if moves else _NO_MOTION


def _technology(machine: MachineState, line: Line, deed: Deed) -> None:
    if "F" in line.words and machine.feed_mode == 940:
        machine.feed_mm = _mm(machine, line.words["F"])
    if "S" in line.words:
        machine.speed = line.words["S"]
    if "T" in line.words:
        machine.selected = int(line.words["T"].to_integral_value())
    if 6 in line.m:
        machine.tool, machine.turning = machine.selected, 5
        deed.acts.append("change")
    for code in line.m:
        if code in (3, 4, 5):
            machine.turning = code
        elif code == 7:
            machine.mist = True
        elif code == 8:
            machine.flood = True
        elif code == 9:
            machine.mist = machine.flood = False
        elif code in (48, 49):
            machine.overrides = code == 48
        elif code in (98, 99):
            deed.acts.append(f"M{code}")
    if _WAIT in line.g:
        deed.acts.append("dwell")


def _compensations(machine: MachineState, line: Line) -> None:
    for code in line.g:
        if code in _CUTTER:
            machine.cutter = (code, line.words.get("D") if code != _OFF else None)
        elif code == _LENGTH_ON:
            machine.length = _length(machine, line)
        elif code == _LENGTH_OFF:
            machine.length = ZERO
        elif code in _PATH:
            machine.path = (code, _path_words(machine, line))


def _path_words(machine: MachineState, line: Line) -> tuple[tuple[str, Decimal], ...]:
    # I, J, K and R of an arc or a cycle are its own. Which of the words is a length depends on the machine.
    is_theirs = machine.motion is not None and machine.motion not in (0, 10, _NO_MOTION)
    letters = "PQL" if is_theirs and (set(line.words) & {*AXES} or set(line.g) & {*_ARCS}) else "PQLRIJK"
    return tuple(sorted((letter, _mm(machine, value)) for letter, value in line.words.items() if letter in letters))


def _length(machine: MachineState, line: Line) -> Coordinate:
    if "H" in line.words:
        return Coordinate.of(f"length offset H{line.words['H'].normalize():f}")
    # Without H it is the one of the tool in the spindle.
    return Coordinate.of(f"{LENGTH_OF_TOOL}{'the tool at start' if machine.tool is None else f'T{machine.tool}'}")


def _mm(machine: MachineState, value: Decimal) -> Decimal:
    return value * INCH if machine.units == 200 else value


def _target(machine: MachineState, line: Line, deed: Deed) -> dict[int, Coordinate]:
    """Return where the axis words lead."""
    found = {}
    for axis, letter in enumerate(AXES):
        if letter not in line.words:
            continue
        number = Coordinate(_mm(machine, line.words[letter]))
        if machine.distance == 910:
            deed.depended_on_start |= machine.place[axis].depends_on_start
            found[axis] = machine.place[axis] + number
        else:
            found[axis] = machine.zero(axis) + number
    return found


def _go(
    machine: MachineState, deed: Deed, end: dict[int, Coordinate], *, is_fed: bool, is_of_machine: bool = False
) -> None:
    start = machine.where()
    for axis, coordinate in end.items():
        machine.place[axis] = coordinate
    compensated = machine.cutter[0] != _OFF
    straight = not (machine.radius_off or compensated)
    machine.radius_off = frozenset((0, 1)) if compensated else machine.radius_off - set(end)
    deed.depended_on_start |= is_fed and any(coordinate.depends_on_start for coordinate in start)
    deed.moves.append(Move(is_fed, straight, start, machine.where(), is_of_machine))


def _go_home(machine: MachineState, line: Line, deed: Deed, code: int) -> None:
    # A step to the place between leads on to the reference position, so that nothing depends on where it began.
    between = _target(machine, line, Deed())
    if between:
        _go(machine, deed, between, is_fed=False, is_of_machine=True)
    home = {axis: Coordinate.of(f"{REFERENCE}G{code // 10} {AXES[axis]}") for axis in between or (0, 1, 2)}
    _go(machine, deed, home, is_fed=False, is_of_machine=True)


def _set_origin(machine: MachineState, line: Line) -> None:
    system = int(line.words["P"].to_integral_value())
    offset = 530 + 10 * system if system <= 6 else 584 + system
    for axis, letter in enumerate(AXES):
        if letter in line.words:
            machine.origins[offset, axis] = Coordinate(_mm(machine, line.words[letter]))


def _set_axis_offset(machine: MachineState, line: Line, codes: set[int]) -> None:
    if _AXIS_OFFSET in codes:
        for axis, letter in enumerate(AXES):
            if letter in line.words:
                number = Coordinate(_mm(machine, line.words[letter]))
                zero = machine.zero(axis) - machine.axis_offset[axis]
                machine.axis_offset[axis] = machine.place[axis] - number - zero
        machine.stored = [*machine.axis_offset]
    elif _RESTORE in codes:
        machine.axis_offset = [*machine.stored]
    else:
        machine.axis_offset = [ZERO] * 3
        if _RESET in codes:
            machine.stored = [ZERO] * 3


def _move(machine: MachineState, line: Line, deed: Deed, motion_before: int | None) -> None:
    if _WAIT in line.g and "P" not in line.words:
        # Its X is the seconds.
        return
    if not any(letter in line.words for letter in AXES):
        if _is_circle(machine, line):
            _go(machine, deed, {}, is_fed=True)
        return
    motion = machine.motion
    if _MACHINE in line.g:
        end = {a: Coordinate(_mm(machine, line.words[c])) for a, c in enumerate(AXES) if c in line.words}
        _go(machine, deed, end, is_fed=motion != 0, is_of_machine=True)
    elif motion == _PROBE:
        deed.acts.append("probe")
        end = {axis: machine.unknown("probe", axis) for axis, letter in enumerate(AXES) if letter in line.words}
        _target(machine, line, deed)
        _go(machine, deed, end, is_fed=True)
    elif motion is not None and motion > _NO_MOTION:
        deed.acts.append("cycle")
        start, straight = machine.where(), not machine.radius_off
        words = {letter: value for letter, value in line.words.items() if letter in "XYZRQPIJKL"}
        goes_on = motion == motion_before
        deed.depended_on_start |= drilled(machine, words, goes_on=goes_on)
        machine.radius_off -= {axis for axis, letter in enumerate(AXES) if letter in words}
        deed.moves.append(Move(is_fed=True, is_straight=straight, start=start, end=machine.where()))
    else:
        _go(machine, deed, _target(machine, line, deed), is_fed=motion != 0)


def _is_circle(machine: MachineState, line: Line) -> bool:
    """Return whether a block without axis words is a full circle: it names a centre in its plane."""
    if machine.motion not in _ARCS or not any(letter in line.words for letter in _CENTRES[machine.plane]):
        return False
    codes = set(line.g)
    # Beside path control such words are no centre, unless the block says that it is an arc.
    return _MACHINE not in codes and _WAIT not in codes and (not codes & set(_PATH) or bool(codes & set(_ARCS)))


def _end(machine: MachineState) -> None:
    """Reset what an end resets (3.6.1)."""
    machine.ended = True
    machine.axis_offset = [ZERO] * 3
    machine.offset, machine.plane, machine.distance, machine.feed_mode = 540, 170, 900, 940
    machine.overrides, machine.cutter, machine.turning = True, (_OFF, None), 5
    machine.motion, machine.mist, machine.flood = 10, False, False
