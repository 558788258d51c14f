"""Reference marks: where a line drawn across the blank crosses the centre line (or runs beside it)."""

from dataclasses import dataclass
from enum import Enum
from math import isfinite

from flipreg.arguments import checks_fields
from flipreg.job.blank import BlankFace

__all__ = ["Carried", "Mark", "Square"]


class Square(Enum):
    """How a line on the other face was found from a hinge line; the value is the word of the job file."""

    STRAIGHT = "straight"
    """Carried round the edge with a square resting on the straight section."""
    BENT = "bent"
    """Carried round the edge with a square resting on the bent section."""
    RIDGE = "ridge"
    """Not carried at all: where the other face's own two planes meet."""


@checks_fields
@dataclass(frozen=True, slots=True)
class Carried:
    """That a mark was carried round the edge from a hinge mark on the other face.

    Attributes
    ----------
    from_mark : str
        The hinge mark: its line is the hinge of at least one setup's tilt, which says the angle.
    square : Square
        How it was carried.
    """

    from_mark: str
    square: Square


@checks_fields
@dataclass(frozen=True, slots=True)
class Mark:
    """A named reference mark.

    Attributes
    ----------
    name : str
        How the person calls it.
    faces : tuple of BlankFace
        The faces it is drawn on, front before back; at least one.
    along_mm : float or None
        Distance of its line from the near end, measured along the face it is drawn on (over a bend, with the tape
        on the wood). None if, and only if, it is carried.
    across_mm : float
        Its x in the blank frame: 0 on the centre line, positive towards the right edge of the front. On the back,
        seen from the back, a positive one lies to the left after a flip about Y.
    carried : Carried or None
        Where its line comes from, if not from a distance.

    Raises
    ------
    ValueError
        If it is on no face, both or neither of `along_mm` and `carried` are given, or a number is not finite.
    """

    name: str
    faces: tuple[BlankFace, ...]
    along_mm: float | None
    across_mm: float = 0.0
    carried: Carried | None = None

    def __post_init__(self) -> None:
        if not self.faces:
            raise ValueError(f"mark {self.name!r} is on no face")
        if (self.along_mm is None) == (self.carried is None):
            raise ValueError(f"mark {self.name!r} needs either a distance along the blank or where it is carried from")
        if not isfinite(self.across_mm) or (self.along_mm is not None and not isfinite(self.along_mm)):
            raise ValueError(f"mark {self.name!r} needs finite distances")
