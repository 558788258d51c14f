"""The lower surface of a cutter that is swept along a straight motion, exactly.

A motion is looked at in its own plane coordinates: `u` along it in XY from its lower end, `w` across it. With the
cutter's tip at `t` along the motion a point sees the profile at the distance r = hypot(w, u - t), so what
the whole motion leaves there is the least of

    f(t) = z + slope · t + profile(hypot(w, u - t)),   0 <= t <= length.

Every profile here is convex and grows with r, so f is convex: its least value is at the point where it stops
falling, or at the end of the motion that is nearest to it. That point lies at t = u - lag, and the lag has a closed
form for all cutters but the bull nose, for which Newton's method takes two or three steps.
"""

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.tool import Cutter

__all__ = ["RIM_SHARE", "lag", "lower_surface", "rise"]

Floats = NDArray[np.float64]
Reals = NDArray[np.floating]
"""Single or double precision: what goes in comes out."""

RIM_SHARE = 1e-6
"""Share of the squared radius by which a point may lie outside the rim and still count as cut: half a nanometre per
millimetre of radius. Without it, a centre exactly on the rim would be cut or not by float noise."""

_STEPS = 3
"""Steps of Newton's method for the bull nose; of 2,000,000 random cutters, slopes and places, all heights were within
1e-6 mm."""
_NARROW, _NARROW_STEPS = 0.5, 2
"""Where the tip is narrower than this share of the corner so many steps are enough: heights within 2e-6 mm. Balls that
are grown have such tips."""
_FLATTEST = 1e6
"""Lag per distance across, past which a cone's contact is beyond any rim."""
_TINY = 1e-30
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
    return np.where(outside, np.inf, z_mm + slope * t + rise(room, w * w + x * x, cutter))


def rise(room_mm2: Reals, square_mm2: Reals, cutter: Cutter) -> Reals:
    """Return how high the profile is above the tip, in the precision given.

    The distance from the axis comes as r² and as what is left to the rim, R² - r², 0 or more: near the tip the one has
    kept its digits, near the rim the other.
    """
    if cutter.is_flat:
        return np.zeros_like(room_mm2)
    if cutter.is_ball:
        return np.asarray(cutter.radius_mm - np.sqrt(room_mm2))
    r = np.sqrt(square_mm2)
    beyond = np.maximum(r - cutter.tip_radius_mm, 0.0)
    if cutter.slope > 0.0:
        return np.asarray(cutter.slope * beyond)
    # What is left of the corner comes from the room at the rim: c² - (r - tip)² would lose its digits there.
    corner = cutter.corner_radius_mm
    left = np.minimum(room_mm2 / (cutter.radius_mm + r), corner)
    return np.asarray(corner - np.sqrt(left * (corner + beyond)))


def lag(w_mm: Reals, slope: Reals, cutter: Cutter) -> Reals:
    """Return how far behind a point the tip is when it leaves its lowest mark there, in millimetres, 0 or more.

    On a level motion that is 0; on a rising one, the point is cut by the cutter's front and the tip is still lower. In
    the precision given.
    """
    w, slope = np.asarray(w_mm), np.asarray(slope)
    rises = slope > 0.0
    if not (cutter.is_flat or cutter.is_ball or cutter.slope > 0.0):
        return np.where(rises, _bull_lag(w, slope, cutter), 0.0).astype(w.dtype)
    to_rim = np.sqrt(np.maximum(cutter.radius_mm**2 - w * w, 0.0))
    if cutter.is_flat:
        return np.where(rises, to_rim, 0.0)
    if cutter.is_ball:
        return np.asarray(to_rim * (slope / np.sqrt(1.0 + slope * slope)))
    # In double precision, for the difference of nearly equal slopes.
    steeper = cutter.slope**2 - slope.astype(np.float64) ** 2
    leans = np.where(steeper > 0.0, slope / np.sqrt(np.where(steeper > 0.0, steeper, 1.0)), np.inf)
    contact = np.abs(w) * np.minimum(leans, _FLATTEST).astype(w.dtype)
    from_tip = np.sqrt(np.maximum(cutter.tip_radius_mm**2 - w * w, 0.0))
    np.maximum(contact, from_tip, out=contact)
    np.minimum(contact, to_rim, out=contact)
    # Where the motion is steeper than the cone, the rim comes last, straight ahead too.
    return np.where(rises, np.where(steeper > 0.0, contact, to_rim), 0.0).astype(w.dtype)


def _bull_lag(w: Reals, slope: Reals, cutter: Cutter) -> Reals:
    """Return the lag of a bull nose.

    At the contact, b beyond the tip, the profile rises by b / sqrt(c² - b²) and the lag is sqrt(r² - w²) with r =
    tip + b. Where f is level, rise · lag = slope · r, which is b · sqrt(1 + slope² - w²/r²) = slope · c. Newton's
    method begins with the contact of a ball as large as the corner, as far beyond the tip: for a narrow tip that is
    nearly it. The height is least there, so that an error in the lag shows in it as its square.
    """
    tip, corner = cutter.tip_radius_mm, cutter.corner_radius_mm
    square, one_and = w * w, 1.0 + slope * slope
    least = np.abs(w, out=np.empty(np.broadcast_shapes(w.shape, slope.shape), w.dtype))
    least -= w.dtype.type(tip)
    np.clip(least, 0.0, corner, out=least)
    b = least * least
    b += (w.dtype.type(corner**2) - b) * (slope * slope / one_and)
    np.sqrt(b, out=b)
    r, share, root, slant = np.empty_like(b), np.empty_like(b), np.empty_like(b), slope * corner
    for _ in range(_NARROW_STEPS if tip < _NARROW * corner else _STEPS):
        np.add(b, tip, out=r)
        np.divide(square, r, out=share)
        share /= r
        np.subtract(one_and, share, out=root)
        np.maximum(root, _TINY, out=root)
        np.sqrt(root, out=root)
        # (b · root - slope · c) / (root + b · share / (r · root)) is the step.
        share *= b
        r *= root
        share /= r
        share += root
        root *= b
        root -= slant
        root /= share
        b -= root
        np.clip(b, least, corner, out=b)
    np.add(b, tip, out=r)
    r *= r
    r -= square
    np.maximum(r, 0.0, out=r)
    np.sqrt(r, out=r)
    return r
