"""Random programs as posts and hands write them: heads, tools, operations, states between them, and endings."""

from dataclasses import dataclass, field
from random import Random

from tests.machine.operations import OPERATIONS, Pen

__all__ = ["ALL", "Written", "write"]

# What a program may hold besides plain cutting; a verb that has to refuse one of them is tried without it as well.
ALL = frozenset(
    {"tools", "offsets", "axis_offsets", "lengths", "coolant", "overrides", "path", "compensation", "dwell", "probe"}
    | {"increments", "machine", "cycles", "deletable", "inches", "stops"}
)


@dataclass
class Written:
    """A program, and what its writer knows of it: the height it travels at, in its own unit, and its unit."""

    text: str
    safe: float
    inches: bool
    floors: list[float] = field(default_factory=list)


def write(
    random: Random, holds: frozenset[str] = ALL, *, floor: float | None = None, several: bool = False
) -> Written:
    """Return a program; `floor` asks for one that cuts in passes down to there, `several` for several tools."""
    inches = "inches" in holds and random.random() < 0.15
    pen = Pen(random, inches, holds)
    pen.safe = pen.scaled(random.choice([5, 10, 15, 25]))
    pen.measured = random.choice([0.0, 0.0, 0.5, 1.0])
    pen.offset = random.choice(["G54", "G54", "G54", "G55"]) if "offsets" in holds else "G54"
    tools = (random.choice([2, 2, 3]) if several else random.choice([1, 1, 1, 2, 3])) if "tools" in holds else 1
    numbers = random.sample(range(1, 8), tools)
    style = random.choice(["post", "post", "reference", "plain", "hobby", "bare"])
    if tools > 1 and style in {"hobby", "bare"}:
        style = "plain"
    if style in {"post", "reference"} and not {"machine", "lengths"} <= holds:
        style = "plain"
    _opening(pen, style)
    for position, tool in enumerate(numbers):
        _tool(pen, style, tool, first=position == 0)
        for _ in range(random.choice([1, 1, 2])):
            _between(pen)
            if floor is None:
                OPERATIONS[random.choice(_known(pen))](pen)
            else:
                pen.floor = floor
                OPERATIONS[random.choice(["pocket", "profile", "tabs", "slot"])](pen)
        if position < len(numbers) - 1:
            _put_away(pen, style)
    _ending(pen, style)
    return Written(_dressed(pen), pen.safe, inches, sorted(set(pen.floors)))


def _known(pen: Pen) -> list[str]:
    names = ["pocket", "profile", "tabs", "slot", "ramp"]
    if "cycles" in pen.holds:
        names += ["drill", "drill"]
    if "compensation" in pen.holds:
        names.append("compensated")
    if "increments" in pen.holds:
        names.append("steps")
    if "probe" in pen.holds and pen.random.random() < 0.4:
        names.append("probe")
    return names


def _opening(pen: Pen, style: str) -> None:
    unit = "G20" if pen.inches else "G21"
    modes = {"post": "G90 G17 G94 G40", "reference": "G90 G80 G40 G49", "plain": "G90 G17", "hobby": "G90", "bare": ""}
    if style == "reference" and pen.random.random() < 0.5:
        modes[style] = "G90 G80 G40"
    if pen.chance(0.5):
        pen.say("(PART OF A TRAY)")
    if pen.chance(0.03):
        unit = "" if not pen.inches else unit
    if pen.chance(0.3):
        pen.say(unit)
        pen.say(modes[style])
    else:
        pen.say(f"{unit} {modes[style]}".strip())
    if "axis_offsets" in pen.holds and pen.chance(0.05):
        pen.say("G92.1")


def _tool(pen: Pen, style: str, tool: int, *, first: bool) -> None:
    pen.tool = tool
    offset = pen.offset if pen.chance(0.93) or "offsets" not in pen.holds else pen.random.choice(["G54", "G56"])
    speed = f"S{pen.random.choice([9000, 12000, 18000])} M{pen.random.choice([3, 3, 3, 4])}"
    x, y = pen.spot()
    if style == "post":
        if first and pen.chance(0.9):
            pen.say("G53 G0 Z0")
        pen.say(f"T{tool} M6")
        pen.say(offset)
        pen.say(speed)
        _coolant(pen)
        if pen.chance(0.5):
            pen.say(f"G0 {pen.xy(x, y)}")
            pen.say(pen.shuffled("G43", pen.z(pen.safe), f"H{tool}"))
        else:
            pen.say(f"G0 G43 H{tool} {pen.z(pen.safe)}" if pen.chance(0.5) else f"G43 {pen.z(pen.safe)} H{tool}")
            pen.say(pen.xy(x, y))
    elif style == "reference":
        if first:
            pen.say("G28 G91 Z0" if pen.chance(0.6) else "G91 G28 Z0")
            pen.say("G90")
        pen.say(f"T{tool} M6")
        pen.say(f"G90 {offset}" if pen.chance(0.5) else offset)
        pen.say(speed)
        pen.say(f"G43 H{tool}")
        _coolant(pen)
        pen.say(f"G0 {pen.z(pen.safe)}")
        pen.say(pen.xy(x, y))
    else:
        named = style == "plain" and (pen.chance(0.8) or not first)
        if named:
            pen.say(f"T{tool} M6" if pen.chance(0.7) else f"M6 T{tool}")
            if "offsets" in pen.holds and pen.chance(0.4):
                pen.say(offset)
        if style == "plain" and named and "lengths" in pen.holds and pen.chance(pen.measured):
            pen.say(f"G43 H{tool}")
        if style != "bare" and pen.chance(0.9):
            pen.say(speed)
        _coolant(pen)
        if style == "bare" and pen.chance(0.5):
            pen.say(f"G0 {pen.xy(x, y)}")
            pen.say(pen.z(pen.safe))
        elif pen.chance(0.1):
            pen.say(f"G0 {pen.xy(x, y)} {pen.z(pen.safe)}")
        else:
            pen.say(f"G0 {pen.z(pen.safe)}")
            pen.say(pen.xy(x, y))


def _coolant(pen: Pen) -> None:
    if "coolant" in pen.holds and pen.chance(0.35):
        pen.say(pen.random.choice(["M7", "M8", "M8"]))
        if pen.chance(0.25):
            pen.say(pen.random.choice(["M7", "M8"]))


def _between(pen: Pen) -> None:
    """Say what posts and hands say between operations, with the tool up."""
    random = pen.random
    if "overrides" in pen.holds and pen.chance(0.12):
        pen.say(random.choice(["M49", "M48"]))
    if "path" in pen.holds and pen.chance(0.15):
        pen.say(random.choice(["G61", "G64", "G64", "G61.1"]))
    if "dwell" in pen.holds and pen.chance(0.1):
        pen.say("G4 P0.5")
    if "stops" in pen.holds and pen.chance(0.05):
        pen.say(random.choice(["M0", "M1 (LOOK)"]))
    if "coolant" in pen.holds and pen.chance(0.1):
        pen.say(random.choice(["M7", "M8", "M9"]))
    if "offsets" in pen.holds and pen.chance(0.02):
        pen.say(random.choice(["G54", "G55", "G58"]))
        pen.say(f"G0 {pen.z(pen.safe)}")
    if "axis_offsets" in pen.holds and pen.chance(0.03):
        x, y = pen.spot()
        pen.say(f"G0 {pen.xy(x, y)}")
        pen.say(random.choice(["G92 X0 Y0", "G92 X5", f"G92 {pen.z(pen.safe)}", "G92.1", "G92.2"]))
    if "lengths" in pen.holds and pen.chance(0.05):
        if pen.chance(0.5):
            pen.say("G49")
        pen.say(f"G43 H{pen.tool}")
        pen.say(f"G0 {pen.z(pen.safe)}")


def _put_away(pen: Pen, style: str) -> None:
    """Stop one tool before the next is taken."""
    if pen.chance(0.8):
        pen.say("M5")
    if "coolant" in pen.holds and pen.chance(0.5):
        pen.say("M9")
    if style == "post":
        if pen.chance(0.3):
            pen.say("G49")
        pen.say("G53 G0 Z0")
    elif style == "reference":
        pen.say("G28 G91 Z0" if pen.chance(0.5) else "G91 G28 Z0")
        if pen.chance(0.7):
            pen.say("G90")
        if not pen.lines[-1].startswith("G90"):
            pen.say("G90 (POSITIONS)")
        if pen.chance(0.3):
            pen.say("G49")
    elif pen.chance(0.2) and "lengths" in pen.holds:
        pen.say("G49")


def _ending(pen: Pen, style: str) -> None:
    random = pen.random
    if pen.chance(0.15):
        pen.say(f"G0 {pen.z(pen.safe)}")
        pen.say("X0 Y0")
    if {"lengths", "machine"} <= pen.holds:
        choice = random.choice(["G49 M5", "reference", "machine", "late", "none", "none"])
    else:
        choice = random.choice(["none", "off"])
    if choice == "G49 M5":
        pen.say("G49")
        pen.say("M5")
    elif choice == "reference":
        pen.say("M5")
        pen.say("G91 G28 Z0")
        pen.say("G90")
    elif choice == "machine":
        pen.say("G53 G0 Z0")
        pen.say("M5")
    elif choice == "late":
        pen.say("M5")
        pen.say("M9")
        pen.say("G49 G53 G0 Z0")
    elif choice == "off":
        pen.say("M5")
        pen.say("M9")
    last = random.choice(["M30", "M30", "M2", "M2", "M30 (END)", ""])
    if style in {"post", "reference"} and not last:
        last = "M30"
    if last:
        pen.say(last)


def _dressed(pen: Pen) -> str:
    """Return the lines with block numbers, percent signs and line ends of some kind."""
    lines = [line for line in pen.lines if line]
    if "deletable" in pen.holds and pen.chance(0.05):
        at = pen.random.randrange(len(lines))
        lines[at] = "/" + lines[at]
    if pen.chance(0.3):
        lines = [line if line.startswith(("(", "/")) else f"N{10 * n} {line}" for n, line in enumerate(lines, 1)]
    if pen.chance(0.2):
        lines = ["%", *lines, "%"]
    end = "\r\n" if pen.chance(0.2) else "\n"
    return end.join(lines) + ("" if pen.chance(0.05) else end)
