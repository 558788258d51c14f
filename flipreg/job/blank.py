"""The blank: a board with a front and a back, and the edge that all lines are measured from.

Blank frame: X across the blank, Y along the centre line away from the near end, Z out of the front face. The origin
is on the front face where the first reference mark's line crosses the centre line, so wood is at z <= 0. Left
and right are those of somebody who looks at the front face with the near end towards them. The near end is
the end that all distances along the blank are measured from.
"""

from dataclasses import dataclass
from enum import Enum
from math import isfinite

from flipreg.arguments import checks_fields

__all__ = ["Blank", "BlankFace", "Edge", "Grain"]


class BlankFace(Enum):
    """One of the two faces of the blank; the value is the word of the job file."""

    FRONT = "front"
    BACK = "back"

    @property
    def other(self) -> "BlankFace":
        """The opposite face."""
        return BlankFace.BACK if self is BlankFace.FRONT else BlankFace.FRONT


class Edge(Enum):
    """The long edge that lines are measured from, as seen on the front with the near end towards you."""

    LEFT = "left"
    """The edge at the lowest x."""
    RIGHT = "right"
    """The edge at the highest x."""


class Grain(Enum):
    """How the growth rings lie in the board, where wood movement counts."""

    FLAT = "flat-sawn"
    """Rings about parallel to the faces: the width moves tangentially, the thickness radially."""
    QUARTER = "quarter-sawn"
    """Rings about square to the faces: the width moves radially, the thickness tangentially."""


@checks_fields
@dataclass(frozen=True, slots=True)
class Blank:
    """The board as planned and as measured.

    Attributes
    ----------
    length_mm : float
        Along Y, measured along the front face from the near end (over a bend with the tape on the wood).
    width_mm : float
        Across, along X.
    thickness_mm : float
        As planned, along Z.
    edge : Edge
        The edge that all lines across are measured from, on both faces.
    centre_line_mm : float
        Distance of the centre line from that edge, on both faces; between 0 and the width.
    measured_thickness_mm : float or None
        As measured with a caliper, None where it was not measured yet.
    species : str or None
        Wood, as in the table of wood movement; None where movement is not asked for.
    grain : Grain or None
        How the rings lie; None where it was not said.

    Raises
    ------
    ValueError
        If a size is not over 0, or the centre line is not on the blank.
    """

    length_mm: float
    width_mm: float
    thickness_mm: float
    edge: Edge
    centre_line_mm: float
    measured_thickness_mm: float | None = None
    species: str | None = None
    grain: Grain | None = None

    def __post_init__(self) -> None:
        sizes = [self.length_mm, self.width_mm, self.thickness_mm, self.actual_thickness_mm]
        if not all(isfinite(size) and size > 0.0 for size in sizes):
            raise ValueError(f"length, width and thickness of a blank are lengths over 0 mm, got {sizes}")
        if not 0.0 < self.centre_line_mm < self.width_mm:
            raise ValueError(
                f"the centre line lies on the blank, between 0 and {self.width_mm:g} mm, got {self.centre_line_mm:g}"
            )

    @property
    def actual_thickness_mm(self) -> float:
        """The measured thickness where there is one, else the planned one."""
        return self.thickness_mm if self.measured_thickness_mm is None else self.measured_thickness_mm

    @property
    def x_range_mm(self) -> tuple[float, float]:
        """Lowest and highest x of the blank: its left and its right edge in the blank frame."""
        if self.edge is Edge.LEFT:
            return -self.centre_line_mm, self.width_mm - self.centre_line_mm
        return self.centre_line_mm - self.width_mm, self.centre_line_mm

    def from_edge_mm(self, x_mm: float) -> float:
        """Return how far from the reference edge a line at x of the blank frame is drawn, on either face."""
        low, high = self.x_range_mm
        return x_mm - low if self.edge is Edge.LEFT else high - x_mm
