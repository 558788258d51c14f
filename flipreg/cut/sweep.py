"""The lower surface of a cutter that is swept along a straight motion, exactly.

A motion is looked at in its own plane coordinates: `u` along it in XY from its lower end, `w` across it. With the
cutter's tip at `t` along the motion a point sees the profile at the distance r = hypot(w, u - t), so what
the whole motion leaves there is the least of

    f(t) = z + slope · t + profile(hypot(w, u - t)),   0 <= t <= length.

Every profile here is convex and grows with r, so f is convex: its least value is at the point where it stops
falling, or at the end of the motion that is nearest to it. That point lies at t = u - lag, and the lag has a closed
form for all cutters but the bull nose, for which Newton's method takes four steps.
"""

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.tool import Cutter

__all__ = ["RIM_SHARE", "lag", "lower_surface"]

Floats = NDArray[np.float64]

RIM_SHARE = 1e-6
"""Share of the squared radius by which a point may lie outside the rim and still count as cut: half a nanometre per
millimetre of radius. Without it, a centre exactly on the rim would be cut or not by float noise."""

_STEPS = 4
"""Steps of Newton's method for the bull nose; 400,000 random cutters, slopes and places were within 1e-8 mm."""
_TINY = 1e-300
"""Keeps a quotient finite where the motion is level and the point on the rim; such a lag is not used."""


def lower_surface(
    u_mm: Floats, w_mm: Floats, *, length_mm: Floats, slope: Floats, z_mm: Floats, cutter: Cutter
) -> Floats:
    """Return the lowest points that a cutter reaches on its way along straight motions.

    Parameters
    ----------
    u_mm, w_mm : array, any shape
        Points along and across the motion, in millimetres from its lower end.
    length_mm, slope, z_mm : array that broadcasts against them
        Length of the motion in XY in millimetres, its rise over run (0 or more: motions are looked at from their
        lower end), and Z of the tip at the lower end.
    cutter : Cutter
        The profile.

    Returns
    -------
    array
        Z in millimetres; infinite where the cutter does not come.
    """
    u, w = np.asarray(u_mm), np.asarray(w_mm)
    behind = lag(w, slope, cutter)
    t = np.minimum(np.maximum(u - behind, 0.0), length_mm)
    x = u - t
    radius = cutter.radius_mm
    # (R - w)(R + w) keeps the digits that R² - w² loses near the rim, where the ball is steepest.
    room = (radius - np.abs(w)) * (radius + np.abs(w)) - x * x
    outside = room < -RIM_SHARE * radius**2
    np.maximum(room, 0.0, out=room)
    if cutter.is_flat:
        rise: Floats = np.zeros_like(room)
    elif cutter.is_ball:
        rise = radius - np.sqrt(room)
    else:
        beyond = np.maximum(np.sqrt(radius**2 - room) - cutter.tip_radius_mm, 0.0)
        if cutter.slope > 0.0:
            rise = cutter.slope * beyond
        else:
            # The rest of the corner from the room at the rim: c² - (r - tip)² loses its digits there.
            corner = cutter.corner_radius_mm
            left = np.minimum(room / (radius + np.sqrt(radius**2 - room)), corner)
            rise = corner - np.sqrt(left * (corner + beyond))
    return np.where(outside, np.inf, z_mm + slope * t + rise)


def lag(w_mm: Floats, slope: Floats, cutter: Cutter) -> Floats:
    """Return how far behind a point the tip is when it leaves its lowest mark there, in millimetres, 0 or more.

    On a level motion that is 0; on a rising one, the point is cut by the cutter's front and the tip is still lower.
    """
    w = np.asarray(w_mm)
    to_rim = np.sqrt(np.maximum(cutter.radius_mm**2 - w * w, 0.0))
    rises = np.asarray(slope) > 0.0
    if cutter.is_flat:
        return np.where(rises, to_rim, 0.0)
    if cutter.is_ball:
        return np.asarray(to_rim * (slope / np.sqrt(1.0 + slope * slope)))
    from_tip = np.sqrt(np.maximum(cutter.tip_radius_mm**2 - w * w, 0.0))
    if cutter.slope > 0.0:
        steeper = cutter.slope**2 - slope * slope
        contact = np.where(steeper > 0.0, slope * np.abs(w) / np.sqrt(np.where(steeper > 0.0, steeper, 1.0)), np.inf)
        return np.where(rises, np.minimum(np.maximum(contact, from_tip), to_rim), 0.0)
    return np.where(rises, _bull_lag(w, slope, cutter), 0.0)


def _bull_lag(w: Floats, slope: Floats, cutter: Cutter) -> Floats:
    """Return the lag of a bull nose.

    At the contact, b beyond the tip, the profile rises by b / sqrt(c² - b²) and the lag is sqrt(r² - w²) with r =
    tip + b. Where f is level, rise · lag = slope · r, which is b · sqrt(1 + slope² - w²/r²) = slope · c. Newton's
    method from the solution for w = 0 never leaves the bracket far and needs four steps.
    """
    tip, corner = cutter.tip_radius_mm, cutter.corner_radius_mm
    square, one_and = w * w, 1.0 + slope * slope
    least = np.clip(np.abs(w) - tip, 0.0, corner)
    b = np.maximum(least, corner * slope / np.sqrt(one_and))
    for _ in range(_STEPS):
        r = tip + b
        share = square / (r * r)
        root = np.sqrt(np.maximum(one_and - share, _TINY))
        b -= (b * root - slope * corner) / (root + b * share / (r * root))
        np.clip(b, least, corner, out=b)
    r = tip + b
    return np.sqrt(np.maximum(r * r - square, 0.0))
