"""How a section of the blank lies on a page: seen from the front, at a scale, with its Y up or to the right."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["PageBox", "View", "ratio_text"]

Floats = NDArray[np.float64]

PageBox = tuple[float, float, float, float]
"""xmin, ymin, xmax, ymax."""


@dataclass(frozen=True, slots=True)
class View:
    """Maps the frame of a section to a page.

    Attributes
    ----------
    box_mm : PageBox
        The part of the section that is shown.
    scale : float
        Millimetres of paper for one of wood.
    low : (float, float)
        Lower left corner of it on the page.
    is_upright : bool
        Whether Y runs up and X to the right; else Y runs to the right and X down: both as seen from the front.
    """

    box_mm: PageBox
    scale: float
    low: tuple[float, float]
    is_upright: bool

    @property
    def size(self) -> tuple[float, float]:
        """Width and height on the page."""
        x0, y0, x1, y1 = self.box_mm
        across, along = (x1 - x0) * self.scale, (y1 - y0) * self.scale
        return (across, along) if self.is_upright else (along, across)

    @property
    def page_box(self) -> PageBox:
        """What it covers of the page."""
        (x, y), (width, height) = self.low, self.size
        return x, y, x + width, y + height

    def apply(self, points_mm: Floats) -> Floats:
        """Return where points of the section, shape (n, 2), are on the page."""
        x0, y0, x1, _ = self.box_mm
        x, y = points_mm[:, 0], points_mm[:, 1]
        right, up = (x - x0, y - y0) if self.is_upright else (y - y0, x1 - x)
        return np.stack([self.low[0] + self.scale * right, self.low[1] + self.scale * up], axis=1)

    def places_mm(self, points: Floats) -> Floats:
        """Return which places of the section points of the page, shape (n, 2), show: the inverse of `apply`."""
        x0, y0, x1, _ = self.box_mm
        right, up = (points - np.array(self.low)).T / self.scale
        x, y = (x0 + right, y0 + up) if self.is_upright else (x1 - up, y0 + right)
        return np.stack([x, y], axis=1)

    def point(self, at_mm: tuple[float, float]) -> tuple[float, float]:
        """Return where a point of the section is on the page."""
        x, y = self.apply(np.array([at_mm], dtype=np.float64))[0].tolist()
        return x, y


def ratio_text(scale: float) -> str:
    """Return a scale, millimetres of paper for one of wood, as drawings say it: `1 : 2.5`."""
    return f"1 : {1 / scale:z.1f}" if scale <= 1.0 else f"{scale:z.1f} : 1"
