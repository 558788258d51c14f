"""How a shop's programs differ: units, decimals, arcs, cycles, modes, headers, and what is said in comments."""

from dataclasses import dataclass
from random import Random
from typing import Literal


@dataclass(frozen=True, slots=True)
class Habits:
    inch: bool = False
    decimals: int = 3
    arcs: Literal["centre", "radius", "chords"] = "centre"
    incremental: bool = False
    modal: bool = True
    """Whether words that don't change are left out, and zeros at the end of numbers."""
    numbered: bool = False
    cycles: bool = True
    subprograms: bool = False
    comments: bool = True
    lower_case: bool = False
    long_header: bool = False
    unit_said: bool = True
    percent: bool = False
    goes_home: bool = True
    feed: int = 1200
    spoilboard_zero: bool = False
    """Whether Z zero is the spoilboard, and not the face that is up."""

    @property
    def mm(self) -> float:
        """Return what one millimetre is in the program's unit."""
        return 1 / 25.4 if self.inch else 1.0


def any_habits(rng: Random, like: Habits | None = None) -> Habits:
    """Return habits; those of the other face are mostly of the same unit and zero as the first face's."""
    inch = like.inch if like and rng.random() < 0.85 else rng.random() < 0.15
    spoilboard = like.spoilboard_zero if like and rng.random() < 0.8 else rng.random() < 0.15
    coarse = rng.random() < 0.1
    # The fewer decimals, the worse an arc's end fits its centre: programs with few have chords.
    decimals = (4 if inch else 3) + (-1 if coarse else rng.choice([0, 0, 0, 0, 0, 1]))
    return Habits(
        inch=inch,
        decimals=decimals,
        arcs="chords" if coarse else rng.choices(["centre", "radius", "chords"], [0.7, 0.15, 0.15])[0],  # type: ignore[arg-type]
        incremental=rng.random() < 0.07,
        modal=rng.random() < 0.6,
        numbered=rng.random() < 0.3,
        cycles=rng.random() < 0.7,
        subprograms=rng.random() < 0.08,
        comments=rng.random() < 0.7,
        lower_case=rng.random() < 0.05,
        long_header=rng.random() < 0.5,
        unit_said=inch or rng.random() < 0.93,
        percent=rng.random() < 0.2,
        goes_home=rng.random() < 0.5,
        feed=rng.choice([900, 1200, 2400]),
        spoilboard_zero=spoilboard,
    )
