"""The codes that the outsider knows, by modal group (Table 4 of the report), and a block's words sorted by them."""

from collections.abc import Collection
from dataclasses import dataclass, field
from decimal import Decimal

from tests.habits.slow_lines import Block, Unreadable

__all__ = ["OFFSETS", "Sorted", "sort_words"]

_GROUPS = {
    "motion": "0 1 2 3 81 82 83 84 85 86 88 89",
    "end of cycle": "80",
    "plane": "17 18 19",
    "distance": "90 91",
    "centres": "90.1 91.1",
    "rate": "93 94",
    "unit": "20 21",
    "side": "40 41 42",
    "length": "43 49",
    "return": "98 99",
    "offset": "54 55 56 57 58 59 59.1 59.2 59.3",
    "path": "61 61.1 64",
    "once": "4 28 30 53 92 92.1 92.2",
    "cancel": "15 50 69",
}
_GROUP = {Decimal(code): group for group, codes in _GROUPS.items() for code in codes.split()}
_LATER_HOLDS = ("side", "length", "return", "path", "cancel")
"""Groups of which a block may have two codes, of which the later one holds."""
_M_CODES = [Decimal(code) for code in ["0", "1", "2", "30", "60", "3", "4", "5", "6", "7", "8", "9", "48", "49"]]

OFFSETS = [Decimal(code) for code in _GROUPS["offset"].split()]
"""The codes of the work offsets; the first is offset 1."""


@dataclass
class Sorted:
    """A block's codes by group, its M codes in order, and the values of its other letters."""

    codes: dict[str, Decimal] = field(default_factory=dict)
    m_codes: list[Decimal] = field(default_factory=list)
    values: dict[str, Decimal] = field(default_factory=dict)


def sort_words(block: Block, passive: Collection[tuple[str, Decimal]]) -> Sorted:
    """Return the words of a block by what they are for."""
    found = Sorted()
    for word in block.words:
        if word.letter == "M" and word.value in _M_CODES:
            found.m_codes.append(word.value)
        elif word.letter == "G" and word.value in _GROUP:
            group = _GROUP[word.value]
            if group not in _LATER_HOLDS and found.codes.get(group, word.value) != word.value:
                raise Unreadable(block.line, f"two codes of the group {group}")
            found.codes[group] = word.value
        elif word.letter in "GM":
            if (word.letter, word.value) not in passive:
                raise Unreadable(block.line, f"no code {word.letter}{word.value}")
        elif found.values.setdefault(word.letter, word.value) != word.value:
            raise Unreadable(block.line, f"two values of {word.letter}")
    return found
