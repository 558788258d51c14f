"""Measure how closely the check of two faces tells a shift that was planted, and how long it takes on large faces.

python tests/benchmarks/register.py accuracy --pairs 30
python tests/benchmarks/register.py time --rounds 3

Accuracy: random parts, the back off by a random shift and turn. Features are holes at random places, compared by the
check; rims are edges that both faces cut, whole contours by cutters of two widths, or the ends of ball-nose passes,
measured on maps of 0.25 mm. The error is the distance between what was found and what was planted, at the middle.
Time: whole processes on made programs, in turns with the awk line of `run.py` on the same front program; only the
ratios carry over to another machine.
"""

import argparse
import math
import os
import resource
import shutil
import statistics
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path as FilePath
from random import Random
from tempfile import TemporaryDirectory

TOP = FilePath(__file__).parents[2]
sys.path.insert(0, str(TOP))

Lines = list[str]

_ASKED = ("--tolerance", "0.1", "--tool", "6")


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure the check of two faces.")
    parser.add_argument("what", choices=("accuracy", "time"))
    parser.add_argument("--pairs", type=int, default=30, help="random pairs of each kind")
    parser.add_argument("--rounds", type=int, default=3, help="rounds of which the medians are told")
    asked = parser.parse_args()
    if asked.what == "accuracy":
        _accuracy(asked.pairs)
    else:
        _time(asked.rounds)


def _accuracy(pairs: int) -> None:
    kinds: dict[str, Callable[[Random], float | None]] = {
        "features": _features,
        "rims, contours": lambda random: _rim(random, is_carved=False),
        "rims, ball-nose passes up to 1.5 mm apart": lambda random: _rim(random, is_carved=True),
    }
    for name, measure in kinds.items():
        found = [measure(Random(seed)) for seed in range(pairs)]
        errors = sorted(error for error in found if error is not None)
        sys.stdout.write(
            f"{name}: median {statistics.median(errors):.4f} mm, worst {errors[-1]:.4f} mm, {len(errors)} of {pairs}\n"
        )


def _features(random: Random) -> float | None:
    """Return the error of the shift that the check finds in holes at random places."""
    from decimal import Decimal

    import numpy as np

    from flipreg.geometry.isometry import Isometry
    from flipreg.register.check import check
    from tests.register.boards import drilled

    size = np.array([random.uniform(150, 400), random.uniform(100, 250)])
    holes = np.round([[random.uniform(0, side) for side in size] for _ in range(random.randrange(4, 30))], 3)
    shift = np.array([random.uniform(-0.4, 0.4), random.uniform(-0.4, 0.4)])
    turn = math.radians(random.uniform(-0.05, 0.05))
    # What the check tells is the turn about the front's zero, and then the shift.
    spun = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    flip = Isometry.mirror_x(datum_mm=(Decimal(205), Decimal("3.7")))
    back = drilled(np.round(flip.apply(holes @ spun + shift), 3), name="back.nc")
    register = check([drilled(holes)], [back], flip=flip, tolerance_mm=0.1).register
    if register.dx_mm is None or register.dy_mm is None or register.rotation_deg is None:
        return None
    told = math.radians(register.rotation_deg)
    seen = np.array([[math.cos(told), math.sin(told)], [-math.sin(told), math.cos(told)]])
    middle = holes.mean(axis=0)
    off = middle @ seen + (register.dx_mm, register.dy_mm) - (middle @ spun + shift)
    return float(np.hypot(*off))


def _rim(random: Random, *, is_carved: bool) -> float | None:
    """Return the error of the shift that an edge shows which both faces cut."""
    from decimal import Decimal

    import numpy as np

    from flipreg.cut.tool import Cutter
    from flipreg.geometry.isometry import Isometry
    from flipreg.register.faces.placement import Placement
    from flipreg.register.wood.rim import rim
    from tests.register.carved import Floats, Height, ball_heights, raster
    from tests.register.shapes import Mill, offset_ring

    shift = random.uniform(-0.5, 0.5), random.uniform(-0.5, 0.5)
    long, wide = random.uniform(45, 60), random.uniform(25, 40)
    flip = Isometry.mirror_x(datum_mm=(Decimal(0), Decimal(0)))
    angle = np.linspace(0, 2 * np.pi, 181)[:-1]
    bulge = random.uniform(0.02, 0.08)
    reach = 1 + bulge * np.cos(3 * angle + random.uniform(0, 6))
    edge = np.column_stack([long * reach * np.cos(angle), wide * reach * np.sin(angle)])

    def contour(points: Floats, tool: float) -> tuple[object, Cutter]:
        return Mill().contour(np.round(offset_ring(points, tool / 2), 3), (10.5,)).path, Cutter.flat(tool)

    def carved(at: tuple[float, float], along: str, *, is_back: bool) -> tuple[object, Cutter]:
        def face(x: Floats, y: Floats) -> Floats:
            u, v = (-x if is_back else x) - at[0], y - at[1]
            r2 = (u / long) ** 2 + (v / wide) ** 2
            return np.where(r2 <= 1.0, -1.0 - 6.0 * np.minimum(r2, 1.0) ** 2, -14.0)

        tips: Height = ball_heights(face, 3.0)
        passes = raster(tips, 66.0, random.uniform(0.5, 1.5), along=along, phase=random.random(), every=0.5)
        return passes.path, Cutter.ball(6.0)

    if is_carved:
        front, back = carved((0.0, 0.0), "x", is_back=False), carved(shift, "y", is_back=True)
    else:
        widths = random.sample((3.0, 6.0, 8.0), 2)
        front, back = contour(edge, widths[0]), contour(flip.apply(edge + shift), widths[1])
    found = rim([front], [back], Placement.of(~flip), thickness_mm=20.0, step_mm=0.25)  # type: ignore[list-item]
    return None if found is None else math.hypot(found.dx_mm - shift[0], found.dy_mm - shift[1])


def _time(rounds: int) -> None:
    awk = shutil.which("mawk") or shutil.which("awk")
    if awk is None:
        raise SystemExit("no mawk or awk to compare with")
    from tests.benchmarks.run import NAIVE_MIRROR

    with TemporaryDirectory() as folder:
        for name, make in _PROGRAMS.items():
            files = []
            for side, sign in (("front", 1), ("back", -1)):
                files.append(FilePath(folder) / f"{side}.nc")
                text = "\n".join(["G21 G90", "G0 Z5", *make(Random(7), sign), "M30", ""])
                files[-1].write_text(text)
            for told in ([], ["--axis", "y", "--at", "0"]):
                check = [sys.executable, "-m", "flipreg", "check", *map(str, files), *_ASKED, *told]
                runs = [(_seconds([awk, NAIVE_MIRROR, str(files[0])]), _seconds(check)) for _ in range(rounds)]
                naive, took = (statistics.median(times) for times in zip(*runs, strict=True))
                words = "flip told" if told else "flip to be found"
                sys.stdout.write(f"{name}, {words}: {took:.1f} s, {took / naive:.0f} times the awk line\n")
                sys.stdout.flush()


def _seconds(command: list[str]) -> float:
    """Return the seconds of processor time that a command takes."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    environment = {**os.environ, "PYTHONPATH": str(TOP)}
    ran = subprocess.run(command, capture_output=True, check=False, env=environment, cwd=TOP)
    # Python itself ends with 1 where it breaks, and so does a check that shows no register.
    if ran.stderr or not ran.stdout:
        raise SystemExit(ran.stderr.decode())
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _drilled(points: list[tuple[float, float]], sign: int) -> Lines:
    return [line for x, y in points for line in (f"G0 X{sign * x:.3f} Y{y:.3f}", "G1 Z-20 F500", "G0 Z5")]


def _scattered(random: Random, sign: int) -> Lines:
    points = [(random.uniform(0, 2000), random.uniform(0, 2000)) for _ in range(100_000)]
    return _drilled(points, sign)


def _lattice(_random: Random, sign: int) -> Lines:
    return _drilled([(5.0 * i, 5.0 * j) for i in range(400) for j in range(250)], sign)


def _contours(random: Random, sign: int) -> Lines:
    lines: Lines = []
    for number in range(5_000):
        x, y, a, b = 20.0 * (number % 100), 20.0 * (number // 100), random.uniform(2, 8), random.uniform(1.5, 8)
        ring = [(sign * (x + a * math.cos(t * math.pi / 8)), y + b * math.sin(t * math.pi / 8)) for t in range(17)]
        lines += [f"G0 X{ring[0][0]:.3f} Y{ring[0][1]:.3f}", "G1 Z-11 F500"]
        lines += [f"G1 X{x:.3f} Y{y:.3f}" for x, y in ring[1:]] + ["G0 Z5"]
    return lines


def _dense(_random: Random, sign: int) -> Lines:
    lines = ["G0 X0 Y0", "G1 Z-1 F500"]
    for number in range(10_000):
        lines += [f"G1 X{sign * ((number + 1) % 2) * 100}", f"G1 Y{(number + 1) * 0.001:.3f}"]
    return lines


_PROGRAMS: dict[str, Callable[[Random, int], Lines]] = {
    "100,000 holes a face, at random": _scattered,
    "100,000 holes a face, on a lattice": _lattice,
    "5,000 contours a face in 95,000 blocks": _contours,
    "20,000 motions a face, lines 0.001 mm apart": _dense,
}


if __name__ == "__main__":
    main()
