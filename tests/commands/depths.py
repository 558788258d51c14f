"""Programs with floors, and what is cut where in them: laws for a change of depth, without the package's own passes."""

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path
from tests.commands.command import run
from tests.motions import motions

__all__ = [
    "BY_HELIX",
    "DRILLED",
    "POCKET",
    "RASTER",
    "TABBED",
    "deepened",
    "flat_levels",
    "lowest",
    "points_at",
    "refused",
]

POCKET = """\
%
(POCKET)
N10 G21 G90 G17
N20 T1 M6
N30 S18000 M3
N40 G0 Z15
N50 X0 Y0
(LEVEL 1)
N60 G1 Z-5 F600
N70 F2400
N80 X50
N90 Y20
N100 G3 X40 Y30 I-10
N110 G1 X0
N120 Y0
N130 G0 Z15
(LEVEL 2)
N140 X0 Y0
N150 G1 Z-10 F600
N160 F2400
N170 X50
N180 Y20
N190 G3 X40 Y30 I-10
N200 G1 X0
N210 Y0
N220 G0 Z15
(LEVEL 3)
N230 X0 Y0
N240 G1 Z-16 F600 (floor)
N250 F2400
N260 X50
N270 Y20
N280 G3 X40 Y30 I-10
N290 G1 X0
N300 Y0
N310 G0 Z15
N320 M5
N330 M30
%
"""
"""Three passes, straight down, step-downs 5, 5 and 6."""

BY_HELIX = """\
G21 G90 G17
G0 Z15.000
X10.000 Y0.000
Z1.000
G1 Z0.000 F600
G3 X10.000 Y0.000 Z-3.000 I-2.000 J0.000
G3 X10.000 Y0.000 I-10.000 J0.000 F2400
G0 Z15.000
X10.000 Y0.000
Z-2.000
G1 Z-3.000 F600
G3 X10.000 Y0.000 Z-6.000 I-2.000 J0.000
G3 X10.000 Y0.000 I-10.000 J0.000 F2400
G0 Z15.000
X10.000 Y0.000
Z-5.000
G1 Z-6.000 F600
G3 X10.000 Y0.000 Z-9.000 I-2.000 J0.000
G3 X10.000 Y0.000 I-10.000 J0.000 F2400
G0 Z15.000
M2
"""
"""A round pocket; each level is reached by a helix that drops 3 mm, with the traverse 1 mm above the one before."""

TABBED = """\
G21 G90 G17
G0 Z10
G0 X0 Y0
G1 Z-3 F300
G1 X40 F900
Y20
X0
Y0
G1 Z-6 F300
G1 X15 F900
Z-4.5
X25
Z-6 F300
X40 F900
Y20
X0
Y0
G0 Z10
M2
"""
"""A profile without a lift between its two passes; the second rises over a tab."""

RASTER = """\
G20 G90 G17
G0 Z.5
G0 X0 Y0
G1 Z-.1 F20
X2 F60
G0 Z.5
G0 X0 Y.2
G1 Z-.1 F20
X2 F60
G0 Z.5
G0 X0 Y0
G1 Z-.2 F20
X2 F60
G0 Z.5
G0 X0 Y.2
G1 Z-.2 F20
X2 F60
G0 Z.5
M2
"""
"""Two lines, each lifted from, in inches, at two levels."""

DRILLED = """\
G21 G90 G17
G0 X0 Y0 Z15
G99 G81 X0 Y0 Z-1.5 R2 F200
X20
G80
G98 G83 X0 Y0 Z-12 R2 Q4 F300
X20
X40 Y5
G80
G0 Z15
M2
"""
"""Holes spotted and drilled."""


def flat_levels(text: str | bytes) -> list[float]:
    """Return the heights of level cuts in the order they are first reached."""
    levels: list[float] = []
    for z in _flat(motions(text)).round(6).tolist():
        if z not in levels:
            levels.append(z)
    return levels


def lowest(text: str | bytes) -> float:
    """Return the lowest Z of all motion."""
    return float(np.nanmin(motions(text).end[:, 2]))


def points_at(text: str | bytes, z_mm: float) -> list[tuple[float, float]]:
    """Return where level cuts at a height end, in order."""
    path = motions(text)
    rows = path.is_cut & (np.abs(path.end[:, 2] - z_mm) < 1e-4) & (np.abs(path.start[:, 2] - z_mm) < 1e-4)
    return [(x, y) for x, y, _ in path.end[rows].round(4).tolist()]


def _flat(path: Path) -> NDArray[np.float64]:
    across = (np.abs(path.end[:, :2] - path.start[:, :2]) > 1e-9).any(axis=1) | path.is_arc
    rows = path.is_cut & across & (path.start[:, 2] == path.end[:, 2])
    levels: NDArray[np.float64] = path.end[rows, 2]
    return levels


def deepened(text: str, *options: str) -> bytes:
    """Return what `depth` makes of a program on standard input."""
    status, out, err = run(["depth", "-", *options], text.encode())
    assert (status, err.split(";")[0]) == (0, "standard output: written")
    return out


def refused(text: str, *options: str) -> str:
    """Return why `depth` refuses a program on standard input, which writes nothing."""
    status, out, err = run(["depth", "-", *options], text.encode())
    assert (status, out) == (2, b"")
    return err
