"""A small job with programs: a pocket, two holes and a profile with tabs, cut from both faces."""

from pathlib import Path

from flipreg.job.file.read import read_job
from flipreg.job.job import Job

__all__ = ["write_board"]

_JOB = """name = "Small board"
units = "{units}"
tolerance = {tolerance}

[check]
grid = {grid}

[blank]
length = {length}
width = {width}
thickness = {thickness}
edge = "left"
centre_line = {centre}

[[marks]]
name = "A"
face = "both"
along = {along}

[[tools]]
name = "6 flat"
shape = "flat"
diameter = {six}

[[tools]]
name = "4 drill"
shape = "drill"
diameter = {four}
point_angle = 180

[[setups]]
name = "front"
up = "front"
mark = "A"
zero = [0, 0]
z_zero = "top"
programs = [
  {{ file = "front.nc", tool = "6 flat"{profile} }},
  {{ file = "holes.nc", tool = "4 drill" }},
]

[[setups]]
name = "back"
up = "back"
flip = "y"
mark = "A"
zero = [0, 0]
z_zero = "top"
programs = [
  {{ file = "back.nc", tool = "6 flat"{profile} }},
  {{ file = "holes-back.nc", tool = "4 drill" }},
]
"""

_MM = {
    **{"length": 100, "width": 80, "thickness": 20, "centre": 40, "along": 50, "six": 6, "four": 4},
    **{"tolerance": 0.1, "grid": 1},
}


def write_board(folder: Path, *, off_mm: float = 0.0, profile: bool = True, inch: bool = False) -> Job:
    """Write the job and its programs, the back off by a way along Y, and return the job as it is read.

    The part is 40 mm wide and 60 mm long, its middle on mark A, with holes at (-10, 20) and (10, -20) of the front.
    """
    unit = 25.4 if inch else 1.0
    sizes = {name: f"{value / unit:.8f}" for name, value in _MM.items()}
    units = "inch" if inch else "mm"
    (folder / "job.toml").write_text(_JOB.format(units=units, profile=", profile = true" if profile else "", **sizes))
    for name, side in (("front.nc", 1), ("back.nc", -1)):
        (folder / name).write_text(_profile(off_mm if side < 0 else 0.0))
    (folder / "holes.nc").write_text(_holes([(-10.0, 20.0), (10.0, -20.0)]))
    (folder / "holes-back.nc").write_text(_holes([(10.0, 20.0 + off_mm), (-10.0, -20.0 + off_mm)]))
    return read_job(str(folder / "job.toml"))


def _profile(off_mm: float) -> str:
    """Return a program that goes round the part at half depth, lifting over a tab in the middle of either long side."""
    low, high = off_mm - 33.0, off_mm + 33.0
    lines = ["G21 G90 G17 G94", "G0 Z20", f"G0 X-23 Y{low}", "G0 Z1"]
    for depth in (-6.0, -10.5):
        over = max(depth, -7.0)
        lines += [f"G1 Z{depth} F600"]
        for x, way in ((-23.0, 1.0), (23.0, -1.0)):
            lines += [f"X{x} Y{off_mm - 6 * way} F2000", f"Z{over}", f"Y{off_mm + 6 * way}", f"Z{depth}"]
            lines += [f"Y{high if way > 0 else low}", f"X{-x}"]
    return "\n".join([*lines, "G0 Z20", "G0 X0 Y0", "M2", ""])


def _holes(places: list[tuple[float, float]]) -> str:
    lines = ["G21 G90 G17 G94", "G0 Z20"]
    for x, y in places:
        lines += [f"G0 X{x} Y{y}", "G0 Z2", "G1 Z-11 F300", "G0 Z20"]
    return "\n".join([*lines, "G0 X0 Y0", "M2", ""])
