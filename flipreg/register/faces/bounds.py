"""Extents of both faces in one frame."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.register.faces.features import Features
from flipreg.register.faces.placement import Placement
from flipreg.units import length_text, shown_now

__all__ = ["Bounds", "Box", "bounds_finding", "bounds_of"]

Floats = NDArray[np.float64]

Box = tuple[float, float, float, float]
"""xmin, ymin, xmax, ymax in millimetres."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """Extents of the tool's centre in the blank frame (the front's program frame).

    Attributes
    ----------
    front_mm, back_mm : Box or None
        While cutting; None where nothing is cut, or where the back's place is not known.
    """

    front_mm: Box | None
    back_mm: Box | None


def bounds_of(front: Features, back: Features, placement: Placement | None) -> Bounds:
    """Return the extents of both faces; the back's only where `placement` says where it lies."""
    return Bounds(
        front_mm=_placed(front.cut_box_mm, Placement(np.eye(2), np.zeros(2))),
        back_mm=None if placement is None else _cut_placed(back, placement),
    )


def bounds_finding(bounds: Bounds, tolerance_mm: float) -> Finding:
    """Return whether the back's cutting stays within the front's extents."""
    ours, theirs = bounds.front_mm, bounds.back_mm
    if ours is None or theirs is None:
        return Finding(
            "bounds", Status.NOT_DETERMINED, "extents cannot be compared: a face cuts nothing, or no flip is known"
        )
    over = [ours[0] - theirs[0], ours[1] - theirs[1], theirs[2] - ours[2], theirs[3] - ours[3]]
    sides = ("left (X-)", "bottom (Y-)", "right (X+)", "top (Y+)")
    beyond = [
        f"{length_text(size)} at the {side}" for size, side in zip(over, sides, strict=True) if size > tolerance_mm
    ]
    sizes = f"front {_size(ours)}, back {_size(theirs)} {shown_now().name}, tool centres"
    if beyond:
        return Finding("bounds", Status.WARN, f"the back cuts beyond the front: {', '.join(beyond)} ({sizes})")
    return Finding("bounds", Status.PASS, f"the back cuts within the extents of the front ({sizes})")


def _size(box: Box) -> str:
    number = shown_now().number
    return f"{number(box[2] - box[0])} × {number(box[3] - box[1])}"


def _cut_placed(features: Features, placement: Placement) -> Box | None:
    """Return the box of the cut itself where the placement is turned, which a turned box would overstate."""
    if features.is_empty or np.abs(placement.matrix).max(axis=0).min() == 1.0:
        return _placed(features.cut_box_mm, placement)
    points = [placement.apply(cut.xyz_mm[:, :2]) for cut in features.cuts if len(cut.run)]
    points += [placement.apply(features.holes.centre_mm)] if len(features.holes) else []
    low = np.min([part.min(axis=0) for part in points], axis=0)
    high = np.max([part.max(axis=0) for part in points], axis=0)
    return _box(low, high)


def _placed(box: Floats, placement: Placement) -> Box | None:
    if np.isnan(box).any():
        return None
    corners = placement.apply(np.array([[box[0], box[1]], [box[2], box[1]], [box[2], box[3]], [box[0], box[3]]]))
    return _box(corners.min(axis=0), corners.max(axis=0))


def _box(low: Floats, high: Floats) -> Box:
    values = np.round(np.concatenate([low, high]), 6) + 0.0
    xmin, ymin, xmax, ymax = values.tolist()
    return xmin, ymin, xmax, ymax
