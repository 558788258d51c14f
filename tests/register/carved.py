"""Carved faces whose symmetry is known by how they are made: heights as functions of the place, passes over them."""

from collections.abc import Callable
from math import cos, radians, sin

import numpy as np
from numpy.typing import NDArray

from flipreg.program.face import FaceProgram
from flipreg.register.faces.chords import Cut, wood_top
from tests.register.shapes import Mill

Floats = NDArray[np.float64]
Height = Callable[[Floats, Floats], Floats]
"""Z of the tool's point over places (u along, v across) of the part's own frame; NaN where it isn't cut."""


def neck(u: Floats, v: Floats) -> Floats:
    """A round back, 400 long, narrowing from 56 to 44, with a heel."""
    half = 28.0 - 6.0 * (u + 200.0) / 400.0
    z = -22.0 + 20.0 * np.sqrt(np.maximum(1.0 - (v / half) ** 2, 0.0)) - 0.008 * (u + 200.0)
    return np.where((np.abs(v) <= half) & (np.abs(u) <= 200.0), z, np.nan)


def paddle(u: Floats, v: Floats) -> Floats:
    """A blade with a rib, an oval whose thickness falls off to the rim and to one end."""
    r2 = (u / 150.0) ** 2 + (v / 75.0) ** 2
    z = -1.0 - 9.0 * r2 - 3e-7 * (u + 150.0) ** 3 - 2.5 * (1.0 - np.exp(-((v / 12.0) ** 2)))
    return np.where(r2 <= 1.0, z, np.nan)


def dish(u: Floats, v: Floats) -> Floats:
    """A tray's hollow: a flat floor with coved sides, symmetric about both axes."""
    inside = np.minimum(140.0 - np.abs(u), 90.0 - np.abs(v))
    z = -12.0 + 0.06 * np.maximum(15.0 - inside, 0.0) ** 2 * 0.8
    return np.where(inside >= 0.0, np.minimum(z, -0.2), np.nan)


def bowl(u: Floats, v: Floats) -> Floats:
    """Round: it mirrors in any line through its middle."""
    r = np.hypot(u, v)
    return np.where(r <= 80.0, -25.0 * (1.0 - (r / 80.0) ** 2) - 0.5, np.nan)


def board(u: Floats, v: Floats) -> Floats:
    """Planed flat."""
    return np.where((np.abs(u) <= 150.0) & (np.abs(v) <= 60.0), -2.0 + 0.0 * u, np.nan)


def scroll(u: Floats, v: Floats) -> Floats:
    """Carved all over, and nowhere symmetric."""
    z = -8.0 + 2.5 * np.sin(u / 31.0 + 0.5) + 2.0 * np.sin(v / 17.0 + u / 90.0) + 1.5 * np.cos((u + 2 * v) / 23.0)
    return np.where((np.abs(u) <= 150.0) & (np.abs(v) <= 60.0), z, np.nan)


def lopsided(u: Floats, v: Floats) -> Floats:
    """A neck with one shoulder 1.2 mm fuller than the other."""
    return neck(u, v) + 1.2 * np.exp(-(((v - 13.0) / 6.0) ** 2))


class Placed:
    """A shape put somewhere: its u axis at a turn against X, its middle at a place."""

    def __init__(self, height: Height, at: tuple[float, float] = (0.0, 0.0), turn_deg: float = 0.0) -> None:
        self.height, self.at, self.turn_deg = height, at, turn_deg

    def __call__(self, x: Floats, y: Floats) -> Floats:
        c, s = cos(radians(self.turn_deg)), sin(radians(self.turn_deg))
        dx, dy = x - self.at[0], y - self.at[1]
        return self.height(c * dx + s * dy, -s * dx + c * dy)


def raster(
    shape: Height,
    reach: float,
    stepover: float,
    *,
    along: str = "x",
    phase: float = 0.3,
    every: float = 1.0,
    above: float = 0.0,
    name: str = "carve.nc",
) -> FaceProgram:
    """Return passes to and fro over a shape, rounded to three decimals as programs are."""
    mill = Mill()
    for number, across in enumerate(np.arange(-reach + phase * stepover, reach, stepover).tolist()):
        s = np.arange(-reach, reach, every) + 0.37 * every * (number % 2)
        if number % 2:
            s = s[::-1]
        x, y = (s, np.full(len(s), across)) if along == "x" else (np.full(len(s), across), s)
        z = shape(x, y) + above
        cut = np.isfinite(z) & (z < 0.0)
        for run in np.split(np.flatnonzero(cut), np.flatnonzero(np.diff(np.flatnonzero(cut)) > 1) + 1):
            if len(run) > 2:
                mill.lines(np.round(np.stack([x[run], y[run], z[run]], axis=1), 3))
    return mill.program(name, None)


def spiral(shape: Height, reach: float, stepover: float, *, every: float = 1.0) -> FaceProgram:
    """Return one long spiral from the middle of a shape outwards."""
    mill = Mill()
    turns = reach / stepover
    angle = 2 * np.pi * np.sqrt(np.linspace(0.0, turns**2, int(np.pi * stepover * turns**2 / every)))
    r = stepover * angle / (2 * np.pi)
    x, y = r * np.cos(angle), r * np.sin(angle)
    z = shape(x, y)
    cut = np.flatnonzero(np.isfinite(z) & (z < 0.0))
    for run in np.split(cut, np.flatnonzero(np.diff(cut) > 1) + 1):
        if len(run) > 2:
            mill.lines(np.asarray(np.round(np.stack([x[run], y[run], z[run]], axis=1), 3), np.float64))
    return mill.program("spiral.nc", None)


def cuts_of(*programs: FaceProgram) -> list[Cut]:
    return [Cut.of(program.path, wood_top(program.path)) for program in programs]


def ball_heights(target: Callable[[Floats, Floats], Floats], radius: float) -> Height:
    """Return where the tip of a ball nose is when it rests on a surface, by brute force on a grid of offsets."""
    step = 0.3
    n = int(radius / step)
    dx, dy = (step * o.ravel() for o in np.meshgrid(np.arange(-n, n + 1), np.arange(-n, n + 1)))
    inside = np.hypot(dx, dy) <= radius
    dx, dy = dx[inside], dy[inside]
    lift = radius - np.sqrt(radius**2 - dx**2 - dy**2)

    def tip(x: Floats, y: Floats) -> Floats:
        return np.asarray((target(x[:, np.newaxis] + dx, y[:, np.newaxis] + dy) - lift).max(axis=1))

    return tip


def domed(u: Floats, v: Floats) -> Floats:
    """One half of an oval part, 120 by 70, domed to its rim, and past the parting height beside it; nearly all cut."""
    r2 = (u / 60.0) ** 2 + (v / 35.0) ** 2
    return np.where(r2 <= 1.0, -1.0 - 6.0 * np.minimum(r2, 1.0) ** 2, -11.0)
