"""The canned cycles G81 to G89 as lists of single motions, in program coordinates and millimetres."""

from collections.abc import Iterator
from dataclasses import dataclass

from tests.machine.state import Point

__all__ = ["Step", "cycle"]

_LETTERS = "XYZ"


@dataclass(frozen=True)
class Step:
    """A motion to a place (rapid, feed), a dwell, or a change of the spindle."""

    kind: str
    to: Point = (0.0, 0.0, 0.0)
    seconds: float = 0.0


def cycle(
    code: str,
    axes: tuple[int, int, int],
    words: dict[str, float],
    at: tuple[float, ...],
    *,
    scale: float,
    steps: bool,
    to_r: bool,
    repeats: int,
) -> Iterator[Step]:
    """Yield what one line of a cycle does; `axes` are the two of the plane and the one that is drilled along."""
    first, second, depth = axes
    here = [at[0], at[1], at[2]]
    before = here[depth]
    level = words["R"] * scale + (before if steps else 0.0)
    bottom = words[_LETTERS[depth]] * scale + (level if steps else 0.0)
    clear = level if to_r else max(level, before)

    def go(kind: str, axis: int, value: float) -> Iterator[Step]:
        if abs(here[axis] - value) > 1e-12:
            here[axis] = value
            yield Step(kind, (here[0], here[1], here[2]))

    if here[depth] < level:
        yield from go("rapid", depth, level)
    for _ in range(repeats):
        moved = False
        for axis in (first, second):
            value = words.get(_LETTERS[axis])
            if value is not None:
                here[axis] = here[axis] + value * scale if steps else value * scale
                moved = True
        if moved:
            yield Step("rapid", (here[0], here[1], here[2]))
        yield from go("rapid", depth, level)
        hole = (here[first], here[second])
        if code == "G83":
            yield from _pecks(here, depth, level, bottom, clear, words["Q"] * scale)
        elif code == "G87":
            yield from _back_bore(here, axes, hole, (bottom, clear), words, scale, steps=steps)
        else:
            yield from go("feed", depth, bottom)
            if code in {"G82", "G86", "G88", "G89"}:
                yield Step("dwell", seconds=words.get("P", 0.0))
            if code in {"G84", "G86", "G88"}:
                yield Step("spindle")
            yield from go("feed" if code in {"G84", "G85", "G89"} else "rapid", depth, clear)


def _pecks(here: list[float], depth: int, level: float, bottom: float, clear: float, peck: float) -> Iterator[Step]:
    reached = level
    while True:
        reached = max(bottom, reached - peck)
        here[depth] = reached
        yield Step("feed", (here[0], here[1], here[2]))
        here[depth] = clear
        yield Step("rapid", (here[0], here[1], here[2]))
        if reached <= bottom:
            return
        here[depth] = reached + 0.1  # the report gives no number for "just above"
        yield Step("rapid", (here[0], here[1], here[2]))


def _back_bore(
    here: list[float],
    axes: tuple[int, int, int],
    hole: tuple[float, float],
    levels: tuple[float, float],
    words: dict[str, float],
    scale: float,
    *,
    steps: bool,
) -> Iterator[Step]:
    first, second, depth = axes
    bottom, clear = levels
    letters = "IJK"
    aside = (words.get(letters[first], 0.0) * scale, words.get(letters[second], 0.0) * scale)
    counter = words[letters[depth]] * scale + (bottom if steps else 0.0)

    def at(kind: str, shift: tuple[float, float], height: float) -> Step:
        here[first], here[second], here[depth] = hole[0] + shift[0], hole[1] + shift[1], height
        return Step(kind, (here[0], here[1], here[2]))

    top = here[depth]
    yield at("rapid", aside, top)
    yield Step("spindle")
    yield at("rapid", aside, bottom)
    yield at("rapid", (0.0, 0.0), bottom)
    yield Step("spindle")
    yield at("feed", (0.0, 0.0), counter)
    yield at("feed", (0.0, 0.0), bottom)
    yield Step("spindle")
    yield at("rapid", aside, bottom)
    yield at("rapid", aside, clear)
    yield at("rapid", (0.0, 0.0), clear)
    yield Step("spindle")
