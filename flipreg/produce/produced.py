"""A proved program as a value: its text, what it was made from, and what a person has to know of it."""

from dataclasses import dataclass
from math import ceil

__all__ = ["Produced", "rounded_up"]

_NOISE = 1e-3
"""A billionth of a millimetre, in millionths: floating-point noise of an exact rewrite."""


@dataclass(frozen=True, slots=True)
class Produced:
    """A proved program.

    Attributes
    ----------
    parts : tuple of bytes
        Its text: what stands before the comment that says what was done, that comment, and the rest, cut anywhere; of
        a program that was left as it was, one part.
    source : str
        The program it was made from.
    largest_deviation_mm : float
        Largest distance of any motion of the new program from the moved motion of the old one.
    motions : int
        How many motions were compared.
    notes : tuple of str
        What a person has to know of the new program besides: machine positions that were kept, values that were
        worked out.
    direction_notes : tuple of str
        Those of the notes that say which closed contours a mirror has run the other way round.
    """

    parts: tuple[bytes, ...]
    source: str
    largest_deviation_mm: float
    motions: int
    notes: tuple[str, ...] = ()
    direction_notes: tuple[str, ...] = ()

    @property
    def deviation(self) -> str:
        """The largest deviation in millimetres with six decimals, rounded up."""
        return f"{rounded_up(self.largest_deviation_mm):.6f}"

    @property
    def without_header(self) -> tuple[bytes, ...]:
        """The text without the comment that says what was done, cut anywhere."""
        return self.parts[0] + b"".join(self.parts[2:3]), *self.parts[3:]

    @property
    def text(self) -> bytes:
        """The whole text."""
        return b"".join(self.parts)


def rounded_up(deviation_mm: float) -> float:
    """Return a deviation with six decimals that is not below it; noise of the arithmetic counts as none."""
    return ceil(deviation_mm * 1e6 - _NOISE) / 1e6
