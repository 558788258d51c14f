"""Whether the back's cutting lies within what the front cuts: all that can be said where nothing is shared."""

import numpy as np
import shapely
from numpy.typing import NDArray

from flipreg.register.faces.features import Features
from flipreg.register.placing.comparison import Comparison

__all__ = ["containment"]

Floats = NDArray[np.float64]

_MOST_POINTS = 20_000
"""Points of the back's cutting that are looked for in the front (chosen), to bound the time."""


def containment(comparison: Comparison) -> str:
    """Say whether the back's cutting lies inside the front's outline, where nothing else can be said."""
    front, back, placement = comparison.faces.front, comparison.faces.back, comparison.placement
    if front.is_empty or back.is_empty:
        return f"the {'front' if front.is_empty else 'back'} cuts nothing"
    if placement is None:
        return "register needs an outline or two holes that both faces cut, or the flip axis and datum"
    profile = next((outline for outline in front.outlines if not outline.is_silhouette), None)
    points = placement.apply(_cut_points(back))
    if profile is None:
        low, high = front.cut_box_mm[:2], front.cut_box_mm[2:]
        inside = ((points >= low - 1e-6) & (points <= high + 1e-6)).all(axis=1)
        what = "extents"
    else:
        corners = np.concatenate([profile.loop.points_mm, profile.loop.points_mm[:1]])
        polygon = shapely.make_valid(shapely.Polygon(corners)).buffer(comparison.faces.tolerance_mm)
        shapely.prepare(polygon)
        inside = shapely.contains_xy(polygon, points)
        what = "outline"
    if inside.all():
        return f"the back's cutting lies inside the front's {what}, which proves nothing; it needs two shared holes"
    share = 100.0 * float(np.mean(~inside))
    return f"{max(share, 0.1):z.1f} % of the back's cutting lies outside the front's {what}"


def _cut_points(features: Features) -> Floats:
    points = [cut.xyz_mm[:, :2] for cut in features.cuts if len(cut.run)]
    blind = [] if features.blind is None else [features.blind.centre_mm]
    joined = np.concatenate([*points, features.holes.centre_mm, *blind])
    return joined[:: max(1, len(joined) // _MOST_POINTS)]
