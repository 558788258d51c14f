"""Every change of one word of a line that an edit has added, and of the lines themselves."""

import re
from collections.abc import Iterator

__all__ = ["changes"]

_WORD = re.compile(r"[A-Z][+-]?[0-9.]+")
_G = (
    *(0, 1, 2, 4, 10, 17, 18, 19, 20, 21, 28, 30, 38.2, 40, 41, 43, 49, 53, 54, 55, 56, 61, 64, 80, 81),
    *(90, 91, 90.1, 91.1, 92, 92.1, 93, 94, 98, 99),
)
_M = (0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 30, 48, 49, 60)
_MORE = (
    *("M8", "M7", "M9", "M3", "M4", "M5", "M49", "M48", "S1", "F1", "T2", "G91", "G90", "G20", "G21", "G55", "G43 H2"),
    *("G49", "G64", "G61", "X1", "Y1", "Z-5", "Z99", "G1", "G53", "G28", "G80", "G98", "G99", "M0", "M30", "(so)"),
    *("I1", "K1", "R1", "P1", "G64 P.1", "G61 I1", "G43", "G80 G1", "G0 G80", "G28 G0", "G4 X1", "M7 M8", "G2 I1"),
)

Lines = tuple[list[str], list[int]]


def changes(lines: list[str], added: list[int]) -> Iterator[tuple[str, list[str], list[int]]]:
    """Yield what was changed, the lines after it, and which of them are still said to be added."""
    for at in added:
        line = lines[at]
        if line.startswith("("):
            continue
        for new in _lines(line):
            yield f"{line} -> {new}", [*lines[:at], new, *lines[at + 1 :]], added
        yield f"{line} left out", [*lines[:at], *lines[at + 1 :]], [each - (each > at) for each in added if each != at]
        both = {at, *(each + (each >= at) for each in added)}
        yield f"{line} twice", [*lines[:at], line, *lines[at:]], sorted(both)
        for other in (at - 1, at + 1):
            if 0 <= other < len(lines):
                swapped = [*lines]
                swapped[at], swapped[other] = lines[other], lines[at]
                moved = added if other in added else sorted({*added, other} - {at})
                yield f"{line} swapped with {lines[other]}", swapped, moved


def _lines(line: str) -> Iterator[str]:
    yield f"/{line}"
    yield from (f"{line} {word}" for word in _MORE)
    for found in _WORD.finditer(line):
        before, word, after = line[: found.start()], found[0], line[found.end() :]
        letter, number = word[0], word[1:]
        yield before + after
        if letter in "GM":
            news = [f"{letter}{code:g}" for code in (_G if letter == "G" else _M)]
        else:
            value = float(number)
            news = [f"{letter}{new:g}" for new in (value + 0.5, value - 0.5, -value, value + 100, value - 50, 0.0)]
            news += [f"{other}{number}" for other in "XYZFSTHRK"]
        yield from (before + new + after for new in news if new != word)
