"""Who writes a random program, and the lines that are written: each as the report wants it, and as this hand has it.

A mark (one character each, of a range that nothing else uses) stands before the word with which a habit begins; the
framing takes the marks out again and knows their columns then.
"""

import random
from dataclasses import dataclass, fields

__all__ = ["HABITS", "Hand", "Lines", "mark"]

HABITS = (
    "remark", "nested-comment", "open-comment", "program-number", "program-name", "program-mark", "long-line",
    "byte-order-mark", "end-bytes", "odd-blank", "open-percent", "closing-percent", "more-percents", "unread-text",
    "long-line-number", "late-slash", "said-twice", "arc-centres", "path-words", "mode-alone", "cancel-beside-motion",
    "home-beside-traverse", "later-of-two", "both-coolants", "many-m-codes", "unused-cancel", "idle-words",
    "whole-circle", "rounded-radii", "unequal-radii", "dwell-by-x", "own-length", "parked-beside-the-cutter",
    "passive-code",
)  # fmt: skip
_FIRST_MARK = 0xE000


def mark(habit: str) -> str:
    """Return the character that stands for a habit."""
    return chr(_FIRST_MARK + HABITS.index(habit))


@dataclass(frozen=True)
class Hand:
    """What the one who wrote a program is used to."""

    is_inch: bool
    has_numbers: bool
    has_long_numbers: bool
    packs_words: bool
    writes_small: bool
    has_tabs: bool
    has_odd_blanks: bool
    says_mode_alone: bool
    has_idle_words: bool
    has_whole_circles: bool
    rounds_arcs: bool
    has_later_of_two: bool
    has_dwell_by_x: bool
    has_length: bool
    has_own_length: bool
    has_path_words: bool
    has_machine_codes: bool
    has_loose_comments: bool
    parks_in_cut: bool
    has_absolute_centres: bool
    says_twice: bool
    has_steps: bool
    has_slashes: bool

    @classmethod
    def drawn(cls, rng: random.Random) -> "Hand":
        """Return a hand with each habit in one of three programs."""
        return cls(*(rng.random() < 1 / 3 for _ in fields(cls)))


class Lines:
    """The lines so far, twice, and what numbers look like."""

    def __init__(self, rng: random.Random, hand: Hand) -> None:
        self.rng = rng
        self.hand = hand
        self.plain: list[str] = []
        self.with_habits: list[str] = []
        self.loose_mm = 0.0
        """How far the two may be apart, because centres were rounded."""
        self.decimals = 4 if hand.is_inch else rng.choice([1, 2, 3, 4])
        self.look = rng.choice(["fixed", "short", "point", "bare", "signed"])

    def add(self, plain: str | None, with_habits: str | None = None) -> None:
        """Add a line; without a second form it is the same in both, and None is no line."""
        self.plain += [] if plain is None else plain.split("\n")
        self.with_habits += (plain or "").split("\n") if with_habits is None else with_habits.split("\n")

    def step(self, low: int, high: int) -> float:
        """Draw a length on the grid of the program: half millimetres or sixteenths of an inch."""
        return self.rng.randint(low, high) * (0.0625 if self.hand.is_inch else 0.5)

    def number(self, value: float) -> str:
        """Write a number in the look of the program."""
        text = f"{value:.{self.decimals}f}"
        if float(text) == 0:
            text = text.lstrip("-")
        if self.look != "fixed":
            text = text.rstrip("0").removesuffix(".")
        if self.look == "point" and "." not in text:
            text += "."
        if self.look == "bare" and text not in ("0", "-0"):
            text = text.replace("-0.", "-.") if text.startswith("-0.") else text.removeprefix("0")
        return "+" + text if self.look == "signed" and not text.startswith("-") else text

    def words(self, **values: float) -> str:
        """Write words: X and Y and whatever else is named."""
        return " ".join(f"{letter}{self.number(value)}" for letter, value in values.items())

    def feels_like(self, habit: bool, chance: float = 0.5) -> bool:  # noqa: FBT001 - the hand's own field
        """Draw whether a habit is shown here, which the hand may have."""
        return habit and self.rng.random() < chance
