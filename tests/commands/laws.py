"""The laws a produced program is held to: its motions are those of its source, mirrored or moved, point by point.

Nothing of the package is used but reading, interpreting and the public functions under test.
"""

from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

import flipreg
from flipreg.path import Path
from tests.motions import sampled

__all__ = [
    "EXACT",
    "ROUNDED",
    "assert_is_flip",
    "assert_is_shift",
    "assert_same_points",
    "flipped",
    "mirrored",
    "moved",
    "rounded",
    "shifted",
]

Floats = NDArray[np.float64]

EXACT = 1e-9
"""Millimetres: mirrors, shifts and quarter turns of written numbers are exact in decimals; only the doubles of both
sides differ."""

ROUNDED = {"G21": 2.5e-4, "G20": 6e-4}
"""Millimetres: words of a turned program may be rounded to 4 decimals of a millimetre or 5 of an inch, so a point may
be off by 0.00007 or 0.00018 mm, and the centre of a radius-format arc here by up to three times that."""

_KEPT = ("kind", "spindle_rpm", "tool", "work_offset", "cycle")


def flipped(text: str, axis: flipreg.FlipAxis, datum_mm: tuple[str, str]) -> bytes:
    """Return the flipped text."""
    x_mm, y_mm = map(Decimal, datum_mm)
    return flipreg.flip(flipreg.parse(text, source="front.ngc"), axis=axis, datum_mm=(x_mm, y_mm)).text


def mirrored(points: Floats, axis: flipreg.FlipAxis, datum_mm: tuple[str, str]) -> Floats:
    """Return points mirrored by the rule of the outside contract: front = (X - x, Y + y) or (X + x, Y - y)."""
    x_mm, y_mm = map(float, datum_mm)
    out = points.copy()
    if axis is flipreg.FlipAxis.Y:
        out[..., 0] = x_mm - points[..., 0]
        out[..., 1] = points[..., 1] - y_mm
    else:
        out[..., 0] = points[..., 0] - x_mm
        out[..., 1] = y_mm - points[..., 1]
    return out


def assert_same_points(expected: Floats, actual: Floats, within: float) -> None:
    assert actual.shape == expected.shape
    assert np.isnan(expected).tolist() == np.isnan(actual).tolist()
    known = ~np.isnan(expected)
    assert np.abs(expected - actual)[known].max() <= within


def assert_is_flip(before: Path, after: Path, axis: flipreg.FlipAxis, datum_mm: tuple[str, str], within: float) -> None:
    """Hold every motion, at points all along it, to the mirror of its source."""
    assert len(before) == len(after) > 0
    assert_same_points(mirrored(sampled(before), axis, datum_mm), sampled(after), within)
    assert_same_points(mirrored(before.end, axis, datum_mm), after.end, within)
    for name in _KEPT:
        np.testing.assert_array_equal(getattr(before, name), getattr(after, name), err_msg=name)
    np.testing.assert_allclose(before.feed_mm_per_min, after.feed_mm_per_min, rtol=1e-6)
    assert (-before.compensation).tolist() == after.compensation.tolist()


def shifted(
    text: str,
    by_mm: tuple[str, str, str] = ("0", "0", "0"),
    turn_deg: float = 0.0,
    about_mm: tuple[str, str] = ("0", "0"),
) -> flipreg.Produced:
    """Return the shifted program."""
    dx_mm, dy_mm, dz_mm = map(Decimal, by_mm)
    x_mm, y_mm = map(Decimal, about_mm)
    return flipreg.shift(
        flipreg.parse(text, source="front.ngc"),
        by_mm=(dx_mm, dy_mm, dz_mm),
        turn_deg=turn_deg,
        about_mm=(x_mm, y_mm),
    )


def moved(points: Floats, by_mm: tuple[str, str, str], turn_deg: float, about_mm: tuple[str, str]) -> Floats:
    """Return points turned about a point, counter-clockwise, and then moved."""
    pivot = np.array([*map(float, about_mm), 0.0])
    out = points - pivot
    turn = np.exp(1j * np.radians(turn_deg))
    plane = (out[..., 0] + 1j * out[..., 1]) * turn
    if turn_deg % 360:
        out[..., 0], out[..., 1] = plane.real, plane.imag
    result: Floats = out + pivot + np.array([*map(float, by_mm)])
    return result


def assert_is_shift(before: Path, after: Path, expected: Floats, within: float) -> None:
    """Hold every motion, at points all along it, to where its source should have gone."""
    assert len(before) == len(after) > 0
    actual = sampled(after)
    assert np.isnan(expected).tolist() == np.isnan(actual).tolist()
    assert np.nanmax(np.abs(expected - actual)) <= within
    for name in (*_KEPT, "compensation"):
        np.testing.assert_array_equal(getattr(before, name), getattr(after, name), err_msg=name)
    np.testing.assert_allclose(before.feed_mm_per_min, after.feed_mm_per_min, rtol=1e-3)


def rounded(text: str) -> float:
    """Return how far a turned program's motions may be off by rounding, in millimetres."""
    return ROUNDED["G20" if "G20" in text else "G21"]
