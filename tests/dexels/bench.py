"""What lies on the bench: the blank, the cutters, and the setups with the text of their programs.

The blank frame is that of the conventions page: X to the right of the front, Y away from the near end, Z out of the
front; the origin is on the front, where the first mark's line crosses the centre line.
Lengths are millimetres.
"""

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Blank:
    length: float
    width: float
    thickness: float
    measured: float | None
    edge: str
    centre_line: float
    mark_along: float

    @property
    def real(self) -> float:
        return self.thickness if self.measured is None else self.measured

    @property
    def box(self) -> tuple[float, float, float, float]:
        """The extents in the blank frame: low X, low Y, high X, high Y."""
        left = -self.centre_line if self.edge == "left" else self.centre_line - self.width
        return left, -self.mark_along, left + self.width, self.length - self.mark_along


@dataclass(frozen=True)
class Cutter:
    """A surface turned about the spindle; `angle` is a vee's included angle or a drill's point angle."""

    name: str
    shape: str
    diameter: float
    angle: float = 118.0
    plunge: bool = True
    flutes: float | None = None
    """How far up its cutting edges reach."""

    @property
    def radius(self) -> float:
        return self.diameter / 2

    def rise(self, away: Floats) -> Floats:
        """How far above the tip the surface is, so far from the axis; infinite outside of the cutter."""
        inside = np.minimum(away, self.radius)
        if self.shape == "flat":
            height = np.zeros_like(inside)
        elif self.shape == "ball":
            height = self.radius - np.sqrt(self.radius**2 - inside**2)
        else:
            height = inside / math.tan(math.radians(self.angle / 2))
        return np.where(away <= self.radius + 1e-9, height, np.inf)


@dataclass
class Program:
    file: str
    tools: dict[int, Cutter]
    """The cutter of each T number."""
    text: str
    profile: bool = False
    through: bool = False
    may_fall: list[tuple[float, float]] = field(default_factory=list)
    """What the job file permits: parting the part from the blank, openings in it, pieces at places of the program."""


@dataclass
class Setup:
    up: str
    flip: str
    zero: tuple[float, float]
    z_zero: str = "top"
    programs: list[Program] = field(default_factory=list)

    @property
    def mirrored(self) -> bool:
        return self.up == "back"

    def to_blank(self, points: Floats, thickness: float) -> Floats:
        """Take points (n, 3) of the program to the blank frame: jog, Z zero, flip, mark."""
        out = np.array(points, dtype=float)
        out[:, 0] += self.zero[0]
        out[:, 1] += self.zero[1]
        if self.z_zero == "spoilboard":
            out[:, 2] -= thickness
        if self.up == "back":
            across = 0 if self.flip == "y" else 1
            out[:, across] *= -1
            out[:, 2] = -thickness - out[:, 2]
        return out

    def to_program(self, x: float, y: float) -> tuple[float, float]:
        """Take a place of the blank frame to the program's numbers."""
        if self.up == "back":
            x, y = (-x, y) if self.flip == "y" else (x, -y)
        return x - self.zero[0], y - self.zero[1]


@dataclass
class Bench:
    blank: Blank
    setups: list[Setup]
