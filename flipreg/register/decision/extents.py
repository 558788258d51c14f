"""Extents: where the middle of what each face cuts lies, per axis; the weakest evidence of register.

Two faces of one part cut about the same place, but a pocket here, a lead-in there and the tools make their extents
differ by millimetres. So extents that agree prove nothing. They contradict register where each face sticks out on
another side, by more than what sizes, tools and lead-ins explain, and cuts most of what there is.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.chords import Cut
from flipreg.register.faces.placement import Placement
from flipreg.register.wood.tip_surface import sampled

__all__ = ["AxisExtent", "Cutting", "extents"]

Floats = NDArray[np.float64]

Cutting = Sequence[tuple[Cut, float | None]]
"""The stretches of a face, each with the radius of its tool; None where that isn't known."""

_AXES: tuple[Literal["x", "y"], ...] = ("x", "y")
_OUTER_SHARE = 0.01
"""This share of the tool's way is left out at either end of an axis, for lead-ins and lead-outs (chosen)."""
_SLACK_MM, _SLACK_SHARE = 3.0, 0.03
"""What sticks out by less than this, or this share of the size, lead-ins and stepovers explain (chosen)."""
_LARGE_SHARE = 0.4
"""Two recesses may lie side by side by design: extents count only if each face cuts over this share of what both cut
together (chosen)."""
_UNKNOWN_RADIUS_MM = 10.0
"""A tool that wasn't named may be this wide, as a radius; millimetres (chosen)."""


@dataclass(frozen=True, slots=True)
class AxisExtent:
    """What both faces cut along one axis of the front's program frame, in millimetres.

    Attributes
    ----------
    axis : 'x' or 'y'
        The axis.
    front_mm, back_mm : (float, float)
        From where to where each face cuts, tools included where they are known.
    offset_mm : float
        Middle of the back less middle of the front.
    explained_mm : float
        An offset up to this is explained by different sizes, tools, lead-ins and stepovers.
    """

    axis: Literal["x", "y"]
    front_mm: tuple[float, float]
    back_mm: tuple[float, float]
    offset_mm: float
    explained_mm: float

    @property
    def contradicts(self) -> bool:
        """Whether the faces can't lie over one another like this; False says nothing."""
        (f0, f1), (b0, b1) = self.front_mm, self.back_mm
        is_large = min(f1 - f0, b1 - b0) >= _LARGE_SHARE * (max(f1, b1) - min(f0, b0))
        return is_large and abs(self.offset_mm) > self.explained_mm


def extents(front: Cutting, back: Cutting, placement: Placement) -> tuple[AxisExtent, ...]:
    """Return where both faces cut, along X and along Y.

    Parameters
    ----------
    front, back : sequence of (Cut, float or None)
        The stretches of each face in its own program frame, with the radius of the tool.
    placement : Placement
        Where the back lies in the front's frame.

    Returns
    -------
    tuple of AxisExtent
        X and Y; empty where a face cuts nothing across.
    """
    boxes = [_box(front, None), _box(back, placement)]
    if any(box is None for box in boxes):
        return ()
    unknown = any(radius is None for _, radius in (*front, *back))
    found = []
    for number, axis in enumerate(_AXES):
        (f0, f1), (b0, b1) = ((float(box[0, number]), float(box[1, number])) for box in boxes if box is not None)
        sizes = f1 - f0, b1 - b0
        explained = abs(sizes[0] - sizes[1]) / 2.0 + max(_SLACK_MM, _SLACK_SHARE * max(sizes))
        if unknown:
            explained += _UNKNOWN_RADIUS_MM
        offset = (b0 + b1 - f0 - f1) / 2.0
        found.append(AxisExtent(axis, (f0, f1), (b0, b1), offset, explained))
    return tuple(found)


def _box(face: Cutting, placement: Placement | None) -> Floats | None:
    """Return the lower and the upper corner of what a face cuts, shape (2, 2)."""
    lows: list[Floats] = []
    highs: list[Floats] = []
    for cut, radius in face:
        at = sampled(cut)[:, :2]
        if not len(at):
            continue
        if placement is not None:
            at = placement.apply(at)
        # Points lie evenly along the way, so that a share of them is a share of the way.
        low, high = np.quantile(at, [_OUTER_SHARE, 1.0 - _OUTER_SHARE], axis=0)
        lows.append(low - (radius or 0.0))
        highs.append(high + (radius or 0.0))
    return np.array([np.min(lows, axis=0), np.max(highs, axis=0)]) if lows else None
