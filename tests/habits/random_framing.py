"""What surrounds the words of a random program: line numbers, blanks, percent lines, line ends, bytes of the file."""

import random
from collections.abc import Iterable

from tests.habits.random_hand import HABITS, Hand, mark

__all__ = ["framed"]

_MARKS = {mark(habit): habit for habit in HABITS}

_FIRST_TOO_FAR = 256
"""The column of the first character that is too much: the end of the line counts as one of the report's 256."""

Found = tuple[str, int, int]
"""A habit, and where it stands; line 0 where it is the whole file's."""


def framed(rng: random.Random, hand: Hand, lines: Iterable[str]) -> tuple[bytes, list[Found]]:
    """Return the text of a program, and the habits of its lines and of its frame."""
    written = [_spelled(rng, hand, line) for line in _numbered(rng, hand, lines)]
    written, of_file = _between_percents(rng, written)
    found: list[Found] = [(habit, 0, 0) for habit in of_file]
    plain = []
    for number, line in enumerate(written, start=1):
        kept = ""
        for character in line:
            if character in _MARKS:
                is_long = character == mark("long-line")
                found.append((_MARKS[character], number, _FIRST_TOO_FAR if is_long else len(kept) + 1))
            else:
                kept += character
        plain.append(kept)
    end = rng.choice(["\n", "\n", "\r\n", "\r"])
    text = end.join(plain) + end
    encoding = rng.choice(["latin-1", "utf-8"])
    if encoding == "utf-8" and rng.random() < 0.2:
        text = "\ufeff" + text
        found.append(("byte-order-mark", 0, 0))
    if rng.random() < 0.1:
        text += rng.choice(["\x1a", "\x00", "\x1a\x00\x00"])
        found.append(("end-bytes", 0, 0))
    return text.encode(encoding), found


def _numbered(rng: random.Random, hand: Hand, lines: Iterable[str]) -> Iterable[str]:
    """Yield the lines with their numbers; the slash of block delete may come after them."""
    number = 100_000 if hand.has_long_numbers else 10
    is_numbered = hand.has_long_numbers or hand.has_numbers
    before = mark("long-line-number") if hand.has_long_numbers else ""
    for line in lines:
        number += 10
        label = f"{before}N{number} "
        if line.strip("".join(_MARKS)).startswith("O"):
            yield line
        elif line.startswith("/"):
            is_late = rng.random() < 0.5
            has_label = is_late or is_numbered
            yield f"{label}{mark('late-slash')}{line}" if is_late else f"/{label if has_label else ''}{line[1:]}"
        else:
            yield label + line if is_numbered else line


def _spelled(rng: random.Random, hand: Hand, line: str) -> str:
    """Return a line as this hand spells it, with its blanks and in its case."""
    if any(character in line for character in "(;O"):
        return line
    if hand.packs_words:
        line = line.replace(" ", "")
    if hand.has_tabs:
        line = line.replace(" ", "\t", 1)
    if hand.has_odd_blanks and " " in line and rng.random() < 0.3:
        line = line.replace(" ", mark("odd-blank") + "\xa0", 1)
    return line.lower() if hand.writes_small else line


def _between_percents(rng: random.Random, lines: list[str]) -> tuple[list[str], list[str]]:
    """Return the lines with their percent lines, and the habits of them."""
    match rng.randint(0, 9):
        case 0 | 1:
            return ["%", *lines, "%"], []
        case 2:
            return [f"{mark('program-mark')}%TRAY", *lines, "%"], []
        case 3:
            return ["%", *lines], ["open-percent"]
        case 4:
            return [*lines, "%"], ["closing-percent"]
        case 5:
            return ["%", "%", *lines, "%", "%"], ["more-percents"]
        case 6:
            return ["%", *lines, "%", "(the other side)", "G0 X1 Z-5"], ["unread-text"]
        case _:
            return lines, []
