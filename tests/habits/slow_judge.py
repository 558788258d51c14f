"""Whether each verb did to a program with habits what it should: judged by the outsider's reading of what was written.

A judge takes the text of a program, has a verb done to it by the public function, and returns what is wrong, or
nothing. A refusal comes out as the error that it is.
"""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import flipreg
from tests.habits.random_habits import PASSIVE
from tests.habits.slow_added import with_added
from tests.habits.slow_compare import apart
from tests.habits.slow_moved import PlaneMap, flipped, shifted, turned
from tests.habits.slow_places import Motion, known
from tests.habits.slow_reader import motions

__all__ = ["JUDGES"]

DATUM = (Decimal("203.2"), Decimal("25.4"))
SAFE_MM = Decimal("635")
"""Above all that the programs do: 25 inches."""
ROUNDED_MM = 0.0004
"""What a turn may round: 4 decimals of a millimetre or 5 of an inch, of a point that is named twice."""
TOOLS_MM = dict.fromkeys(range(1, 9), 6.0)

Judge = Callable[[bytes], str | None]


def _parsed(text: bytes) -> flipreg.Program:
    return flipreg.parse(text, source="habits.nc", passive=PASSIVE)


def _moved(text: bytes, made: flipreg.Produced, map_: PlaneMap, within_mm: float = 0.0) -> str | None:
    """Compare for both positions of the machine's switch."""
    for is_on in (False, True):
        expected = [map_.of(motion) for motion in motions(text, is_switch_on=is_on, passive=PASSIVE)]
        found = motions(made.text, is_switch_on=is_on, passive=PASSIVE)
        wrong = apart(expected, found, within_mm=within_mm, has_lines=False)
        if wrong is not None:
            return wrong
    return None


def flip_x(text: bytes) -> str | None:
    """The program flipped about X."""
    made = flipreg.flip(_parsed(text), axis=flipreg.FlipAxis.X, datum_mm=DATUM)
    return _moved(text, made, flipped("x", DATUM))


def flip_y(text: bytes) -> str | None:
    """The program flipped about Y."""
    made = flipreg.flip(_parsed(text), axis=flipreg.FlipAxis.Y, datum_mm=DATUM)
    return _moved(text, made, flipped("y", DATUM))


def shift(text: bytes) -> str | None:
    """The program moved by tenths of an inch, up too."""
    by = (Decimal("5.08"), Decimal("-2.54"), Decimal("0.508"))
    return _moved(text, flipreg.shift(_parsed(text), by_mm=by), shifted(*by))


def quarter_turn(text: bytes) -> str | None:
    """The program turned by 90 degrees."""
    return _moved(text, flipreg.shift(_parsed(text), turn_deg=90), turned(90))


def turn(text: bytes) -> str | None:
    """The program turned by no quarter."""
    return _moved(text, flipreg.shift(_parsed(text), turn_deg=-31.5), turned(-31.5), ROUNDED_MM)


def home(text: bytes) -> str | None:
    """The program over its zero at the start and at the end."""
    made = flipreg.home(_parsed(text), safe_z_mm=SAFE_MM)
    source = motions(text, passive=PASSIVE)
    return with_added(source, motions(made.text, passive=PASSIVE), SAFE_MM)


def join(text: bytes) -> str | None:
    """The program joined with itself."""
    made = flipreg.join([_parsed(text), _parsed(text)], safe_z_mm=SAFE_MM)
    source = motions(text, passive=PASSIVE)
    return with_added([*source, *source], motions(made.text, passive=PASSIVE), SAFE_MM)


def split(text: bytes) -> str | None:
    """The program as one for each tool."""
    parts = flipreg.split_tools(_parsed(text), safe_z_mm=SAFE_MM)
    found = [motion for part in parts for motion in motions(part.produced.text, passive=PASSIVE)]
    return with_added(motions(text, passive=PASSIVE), found, SAFE_MM)


def depth(text: bytes) -> str | None:
    """The lowest floor a hundredth of an inch higher."""
    source = motions(text, passive=PASSIVE)
    lowest = min(motion.end[2].number for motion in source if not motion.end[2].base)
    floor = lowest + Decimal("0.254")
    made = flipreg.depth(_parsed(text), floor_mm=floor, level_mm=lowest, step_down_mm=Decimal(100))
    return apart(_deepened(source, lowest, floor - lowest), motions(made.text, passive=PASSIVE), has_lines=False)


def _deepened(source: list[Motion], level: Decimal, by: Decimal) -> list[Motion]:
    """Return motions with another floor: what is at its level moves, and what slopes down to there keeps its slope."""
    made: list[Motion] = []
    moves_on = False
    for motion in reversed(source):
        heights = (motion.start[2], motion.end[2])
        starts, ends = (height == known(level) for height in heights)
        ends |= moves_on
        is_slope = motion.kind != "traverse" and heights[0] != heights[1] and _goes_across(motion)
        moves_on = is_slope and ends and not motion.cycle
        (start_x, start_y, start_z), (end_x, end_y, end_z) = motion.start, motion.end
        start_z = start_z.further(by) if starts or moves_on else start_z
        end_z = end_z.further(by) if ends else end_z
        centre = motion.centre and (*motion.centre[:2], start_z.number)
        made.append(replace(motion, start=(start_x, start_y, start_z), end=(end_x, end_y, end_z), centre=centre))
    return made[::-1]


def _goes_across(motion: Motion) -> bool:
    return motion.centre is not None or motion.start[:2] != motion.end[:2]


def hand(text: bytes) -> str | None:
    """The part of the other hand, of the program and its flip."""
    zero = (Decimal(0), Decimal(0))
    back = flipreg.flip(_parsed(text), axis=flipreg.FlipAxis.Y, datum_mm=zero).text
    job = flipreg.FlippedJob(
        front=(_parsed(text),),
        back=(_parsed(back),),
        axis=flipreg.FlipAxis.Y,
        datum_mm=zero,
        numbered_tools_mm=TOOLS_MM,
    )
    other = flipreg.other_hand(job, flipreg.Across("x", Decimal(0)), tolerance_mm=0.1)
    mirror = flipped("y", zero)
    for source, made in ((text, other.front[0]), (back, other.back[0])):
        wrong = _moved(source, made, mirror)
        if wrong is not None:
            return wrong
    return None


def check(text: bytes) -> str | None:
    """The register of the program and its flip, and of a flip that lies elsewhere."""
    zero = (Decimal(0), Decimal(0))
    back = flipreg.flip(_parsed(text), axis=flipreg.FlipAxis.Y, datum_mm=zero).text
    off = flipreg.shift(_parsed(back), by_mm=(Decimal("1.27"), Decimal(0), Decimal(0))).text
    plan = flipreg.flip_isometry(flipreg.FlipAxis.Y, zero)
    front, right, wrong = (flipreg.face_program(_parsed(each), tools_mm=TOOLS_MM) for each in (text, back, off))
    reports = [flipreg.check([front], [each], flip=plan, tolerance_mm=0.1) for each in (right, wrong)]
    if reports[0].in_register is False:
        return f"a flip is not in register: {reports[0].diagnosis}"
    if reports[1].in_register is True:
        return "a flip that lies 1.27 mm to the side is in register"
    return None


JUDGES: dict[str, Judge] = {
    each.__name__: each for each in (flip_x, flip_y, shift, quarter_turn, turn, home, join, split, depth, hand, check)
}
