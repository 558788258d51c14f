"""Parts to spoil: boards of our own, described in the blank frame, in millimetres, as seen from the front."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

__all__ = ["LENGTH", "NAMES", "THICKNESS", "WIDTH", "Part", "Ring", "part"]

Floats = NDArray[np.float64]

LENGTH, WIDTH, THICKNESS = 390.0, 220.0, 20.0


@dataclass(frozen=True)
class Ring:
    """A round cut: passes about one centre, each a radius of the tool's centre and a depth below the face."""

    centre: tuple[float, float]
    passes: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Part:
    """What is to be made; `drilled` and `bored` go through from both faces, rings and pockets belong to one face."""

    name: str
    outline: Floats
    drilled: tuple[tuple[float, float], ...] = ()
    bored: tuple[tuple[float, float, float], ...] = ()
    front_rings: tuple[Ring, ...] = ()
    back_rings: tuple[Ring, ...] = ()
    front_pockets: tuple[tuple[float, float, float, float, float], ...] = ()
    back_pockets: tuple[tuple[float, float, float, float, float], ...] = ()
    profile: bool = True
    ways: int = field(default=1)  # how many of the identity, both mirrors and the half turn map it to itself


def _ellipse(a: float, b: float, y: float, egg: float = 0.0) -> Floats:
    turn = np.linspace(0.0, 2 * np.pi, 49)[:-1]
    return np.stack((a * np.cos(turn) * (1 + egg * np.sin(turn)), y + b * np.sin(turn)), axis=1)


def _bowl(x: float, y: float, radius: float, depth: float) -> Ring:
    steps = np.arange(1, 1 + int(radius / 4))
    return Ring((x, y), tuple((float(radius - 4 * (k - 1)), float(depth * k / len(steps))) for k in steps))


# Middle of the board in the blank frame if mark A is 40 mm from the near end.
_Y = LENGTH / 2 - 40.0

_RECTANGLE = np.array([(-70.0, _Y - 120), (70.0, _Y - 120), (70.0, _Y + 120), (-70.0, _Y + 120)])
_BRACKET = np.array(
    [(-70.0, _Y - 120), (70.0, _Y - 120), (70.0, _Y - 40), (10.0, _Y + 20), (10.0, _Y + 120), (-70.0, _Y + 120)]
)
_TAPER = np.array([(-40.0, _Y - 120), (40.0, _Y - 120), (75.0, _Y + 120), (-75.0, _Y + 120)])
_SKEW = np.array([(-60.0, _Y - 110), (72.0, _Y - 118), (48.0, _Y + 95), (-35.0, _Y + 125)])

_PARTS = (
    Part("bracket", _BRACKET, drilled=((-50.0, _Y - 100), (50.0, _Y - 90), (-40.0, _Y + 100))),
    Part("skew", _SKEW),
    Part("skew and holes", _SKEW, drilled=((-20.0, _Y - 70), (30.0, _Y + 60)), bored=((5.0, _Y + 10, 3.5),)),
    Part("egg", _ellipse(70, 120, _Y, 0.25), drilled=((-20.0, _Y - 70), (35.0, _Y - 20), (-30.0, _Y + 60))),
    Part("taper", _TAPER, ways=2),
    Part("rectangle", _RECTANGLE, ways=4),
    Part("ellipse with holes", _ellipse(75, 125, _Y), drilled=((-30.0, _Y - 60), (30.0, _Y - 60)), ways=2),
    Part(
        "dish",
        _ellipse(75, 125, _Y, 0.2),
        drilled=((-40.0, _Y - 70), (45.0, _Y - 40)),
        front_rings=(_bowl(0.0, _Y, 30.0, 10.0),),
        back_rings=(Ring((0.0, _Y), ((22.0, 5.0), (16.0, 5.0), (10.0, 5.0), (4.0, 5.0))),),
    ),
    Part(
        "bowl and foot",
        _ellipse(75, 125, _Y, 0.2),
        drilled=((-40.0, _Y - 70), (45.0, _Y - 40)),
        front_rings=(_bowl(0.0, _Y, 34.0, 10.0),),
        back_rings=(Ring((0.0, _Y), tuple((float(radius), 5.0) for radius in range(34, 2, -4))),),
    ),
    Part(
        "pockets alike",
        _SKEW,
        drilled=((-20.0, _Y - 90), (30.0, _Y + 80)),
        front_pockets=((-35.0, _Y - 70, 45.0, _Y - 10, 6.0),),
        back_pockets=((-35.0, _Y, 45.0, _Y + 60, 6.0),),
    ),
    Part(
        "two recesses",
        _SKEW,
        drilled=((-20.0, _Y - 90), (30.0, _Y + 80)),
        front_rings=(Ring((-15.0, _Y - 40), ((9.0, 4.0), (4.0, 4.0))),),
        back_rings=(Ring((12.0, _Y + 50), ((9.0, 4.0), (4.0, 4.0))),),
    ),
    Part(
        "counterbored",
        _TAPER,
        drilled=((-20.0, _Y - 70), (40.0, _Y + 60), (-30.0, _Y + 20)),
        front_rings=(Ring((-20.0, _Y - 70), ((6.0, 5.0), (2.5, 5.0))),),
        back_rings=(Ring((40.0, _Y + 60), ((6.0, 5.0), (2.5, 5.0))),),
    ),
    Part(
        "pocketed",
        _BRACKET,
        drilled=((-50.0, _Y - 100), (55.0, _Y - 60)),
        front_pockets=((-50.0, _Y - 60, -10.0, _Y - 10, 6.0),),
        back_pockets=((-45.0, _Y + 30, -5.0, _Y + 80, 7.0),),
    ),
    Part(
        "holes only",
        _RECTANGLE,
        drilled=((-60.0, _Y - 110), (52.0, _Y - 95), (-40.0, _Y + 100), (20.0, _Y + 30)),
        bored=((30.0, _Y - 20, 4.0),),
        profile=False,
    ),
)

NAMES = tuple(part.name for part in _PARTS)


def part(name: str) -> Part:
    """Return the part of that name."""
    return _PARTS[NAMES.index(name)]
