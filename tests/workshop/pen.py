"""Writes blocks: places and heights as words in the numbers of a program, and only what its habits say again."""

from dataclasses import dataclass, field

from tests.workshop.habits import Habits
from tests.workshop.placement import Placement, Point

SAFE_MM = 5.0
"""Height of traverses above the wood."""


@dataclass
class Pen:
    habits: Habits
    placement: Placement
    """Takes the blank's places to the program's numbers."""
    zero: float
    """What is added to heights: how high the wood is above Z zero."""
    lines: list[str] = field(default_factory=list)
    at: dict[str, float | None] = field(default_factory=lambda: dict.fromkeys("XYZ"))
    """What the program has said last, in its own unit."""
    here: tuple[Point, float] = ((0.0, 0.0), 0.0)
    """Where that is in the blank, exactly."""
    mode: str = ""
    relative: bool = False

    def up(self) -> None:
        self.go("G0", z=SAFE_MM)

    def absolute(self) -> None:
        if self.relative:
            self.line("G90")
            self.relative = False

    def go(self, code: str, place: Point | None = None, z: float | None = None, more: str = "") -> bool:
        """Write a move and tell whether there was anything to write."""
        wanted: dict[str, float] = {}
        if place is not None:
            wanted = dict(zip("XY", map(self.rounded, self.placement(place)), strict=True))
        if z is not None:
            wanted["Z"] = self.rounded(self.height(z))
        self.here = (place or self.here[0], self.here[1] if z is None else z)
        words = self.words(wanted, keep=code in ("G2", "G3"))
        self.at.update(wanted)
        if not words:
            return False
        said = "" if self.habits.modal and self.mode == code else code
        self.mode = code
        self.line(" ".join(f"{said} {' '.join(words)} {more}".split()))
        return True

    def words(self, wanted: dict[str, float], *, keep: bool) -> list[str]:
        known = {axis: value for axis in wanted if (value := self.at[axis]) is not None}
        if self.habits.incremental and len(known) == len(wanted):
            if not self.relative:
                self.line("G91")
                self.relative = True
            steps = {axis: round(value - known[axis], self.habits.decimals) for axis, value in wanted.items()}
            return [f"{axis}{self.number(step)}" for axis, step in steps.items() if step or (keep and axis != "Z")]
        self.absolute()
        all_said = keep or not self.habits.modal
        return [
            f"{axis}{self.number(value)}"
            for axis, value in wanted.items()
            if known.get(axis) != value or (all_said and (axis != "Z" or not keep))
        ]

    def rounded(self, mm: float) -> float:
        return round(mm * self.habits.mm, self.habits.decimals) + 0.0

    def number(self, value: float) -> str:
        text = f"{round(value, self.habits.decimals) + 0.0:.{self.habits.decimals}f}"
        return text.rstrip("0") if self.habits.modal else text

    def height(self, z: float) -> float:
        return z + self.zero

    def feed(self, mm_per_min: float) -> str:
        return f"F{round(mm_per_min * self.habits.mm, 2):g}"

    def line(self, words: str) -> None:
        if self.habits.numbered:
            words = f"N{10 * (len(self.lines) + 1)} {words}"
        self.lines.append(words.lower() if self.habits.lower_case and "(" not in words else words)
