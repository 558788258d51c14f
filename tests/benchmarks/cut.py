"""Measure height maps side by side with grey erosion, and outlines and the time of a job that touches little.

python tests/benchmarks/cut.py                      three rounds at 0.25 mm and at 0.1 mm
python tests/benchmarks/cut.py --rounds 1 --step 0.25

The blank is 900 x 350 mm and the cutter 6 mm. One million ball-nose moves follow a waved surface, 345,000 flat moves
clear level floors in waved rows; their passes go along X, or slanted by 30 degrees. The yardstick is
`scipy.ndimage.grey_erosion` with the same cutter on the same grid, single-threaded like everything here; making its map
of tips is not counted. At 0.1 mm it is run on a strip of the blank and scaled by the cells, for it takes minutes. Only
ratios of one run carry over to another machine: every round runs every measurement once, one after the other, in
seconds of processor time, and the table compares medians. Every map is made in a process of its own, so that its
peak memory is its own; the path's columns are in it.
"""

import argparse
import json
import resource
import statistics
import subprocess
import sys
from pathlib import Path as FilePath
from time import process_time

TOP = FilePath(__file__).parents[2]
sys.path.insert(0, str(TOP))

WIDTH_MM, HEIGHT_MM, CUTTER_MM = 900.0, 350.0, 6.0
BALL_MOVES, FLAT_MOVES = 1_000_000, 345_000
_EROSION_CELLS = 2_000_000
_WANTED = {
    (0.1, "ball"): "at least 10",
    (0.1, "flat"): "at least 20",
    (0.25, "ball"): "at least 1",
    (0.25, "flat"): "at least 2",
}


def map_seconds(shape: str, step_mm: float, moves: int, turn_deg: float) -> dict[str, float]:
    """Return processor seconds of one map and the peak memory of this process in MiB."""
    import numpy as np

    from flipreg.cut.grid import Grid
    from flipreg.cut.heightmap import height_map
    from flipreg.cut.tool import Cutter
    from tests.cut.bruteforce import polyline

    whole, spacing, stepover, wave = (BALL_MOVES, 0.63, 0.5, 0.0) if shape == "ball" else (FLAT_MOVES, 0.913, 1.0, 2.0)
    along = np.arange(0.0, WIDTH_MM + spacing / 2, spacing)
    rows = -(-(moves + 1) // len(along))
    row = np.arange(rows)[:, np.newaxis]
    x = np.where(row % 2 == 0, along, along[::-1])
    y = row * stepover % HEIGHT_MM + wave * np.sin(x / 20)
    z = 2.5 * np.sin(x / 31) * np.cos(y / 23) - 3.0 if shape == "ball" else -2.0 - row % 5 * 0.001 + 0 * x
    corners = np.stack([x, y, z], axis=-1).reshape(-1, 3)[: moves + 1]
    turn = np.radians(turn_deg)
    middle = np.array([WIDTH_MM / 2, HEIGHT_MM / 2])
    rotation = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    corners[:, :2] = (corners[:, :2] - middle) @ rotation + middle
    path = polyline(np.round(corners, 3))
    cutter = Cutter.ball(CUTTER_MM) if shape == "ball" else Cutter.flat(CUTTER_MM)
    grid = Grid.covering((0.0, 0.0), (WIDTH_MM, HEIGHT_MM), step_mm)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    begin = process_time()
    height_map(path, cutter, grid, top_mm=0.0)
    seconds = process_time() - begin
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {"seconds": seconds, "mib": peak, "before_mib": before, "share": moves / whole}


def erosion_seconds(shape: str, step_mm: float) -> dict[str, float]:
    """Return processor seconds of a grey erosion of the blank, scaled by the cells where only a strip is eroded."""
    import numpy as np
    from scipy.ndimage import grey_erosion

    columns, rows = round(WIDTH_MM / step_mm), round(HEIGHT_MM / step_mm)
    some = min(rows, max(1, _EROSION_CELLS // columns)) if step_mm < 0.2 else rows
    reach = int(CUTTER_MM / 2 / step_mm)
    away = np.hypot(*np.mgrid[-reach : reach + 1, -reach : reach + 1]) * step_mm
    inside = away <= CUTTER_MM / 2
    fall = np.where(inside, np.sqrt(np.maximum((CUTTER_MM / 2) ** 2 - away**2, 0.0)) - CUTTER_MM / 2, 0.0)
    tips = np.full((some, columns), 5.0)
    tips[::2] = -np.random.default_rng(0).random((len(tips[::2]), columns))
    begin = process_time()
    if shape == "ball":
        grey_erosion(tips, footprint=inside, structure=fall)
    else:
        grey_erosion(tips, footprint=inside)
    return {"seconds": (process_time() - begin) * rows / some, "scaled": float(some < rows)}


def outline_seconds(sort: str) -> dict[str, float]:
    """Return processor seconds of the outline of a path of 100,000 corners."""
    import numpy as np

    from flipreg.cut.outline import outline
    from tests.cut.bruteforce import polyline

    n = 100_000
    t = np.linspace(0.0, 2 * np.pi, 1000)
    if sort == "nested":
        size = 150.0 - 1.2 * np.arange(100)[:, np.newaxis]
        x, y = size * np.cos(t) + 0.3 * size * np.cos(3 * t), size * np.sin(t)
    elif sort == "raster":
        along = np.linspace(0.0, 300.0, 1000)
        row = np.arange(100)[:, np.newaxis]
        x, y = np.where(row % 2 == 0, along, along[::-1]), row * 2.0 + 0 * along
    else:
        u = np.linspace(0.0, 400 * np.pi, n)
        x, y = 0.3 * u + 8 * np.cos(u), 40 * np.sin(0.01 * u) + 8 * np.sin(u)
    path = polyline(np.column_stack([x.ravel(), y.ravel(), np.zeros(n)]))
    begin = process_time()
    outline(path, CUTTER_MM / 2, chord_mm=0.01)
    return {"seconds": process_time() - begin}


def _in_a_process(*arguments: object) -> dict[str, float]:
    command = [sys.executable, __file__, "--inside", *map(str, arguments)]
    result: dict[str, float] = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    return result


def _measure(steps: list[float], rounds: int) -> None:
    jobs: dict[str, tuple[object, ...]] = {}
    for step in steps:
        for shape, moves in (("ball", BALL_MOVES), ("flat", FLAT_MOVES)):
            jobs[f"{step} {shape} erosion"] = ("erosion", shape, step)
            jobs[f"{step} {shape} whole"] = ("map", shape, step, moves, 0.0)
            jobs[f"{step} {shape} slanted"] = ("map", shape, step, moves, 30.0)
            jobs[f"{step} {shape} quarter"] = ("map", shape, step, moves // 4, 0.0)
            jobs[f"{step} {shape} hundredth"] = ("map", shape, step, moves // 100, 0.0)
    for sort in ("nested", "raster", "looping"):
        jobs[f"outline {sort}"] = ("outline", sort)
    results: dict[str, list[dict[str, float]]] = {name: [] for name in jobs}
    for _ in range(rounds):
        for name, job in jobs.items():
            results[name].append(_in_a_process(*job))
    seconds = {name: statistics.median(r["seconds"] for r in runs) for name, runs in results.items()}
    memory = {name: max(r.get("mib", 0.0) for r in runs) for name, runs in results.items()}
    lines = ["| what | figure | wanted |", "|---|---|---|"]
    for step in steps:
        for shape in ("ball", "flat"):
            at = f"{step} {shape}"
            wanted = _WANTED.get((step, shape), "")
            scaled = " (erosion scaled)" if results[f"{at} erosion"][0]["scaled"] else ""
            for name in ("whole", "slanted"):
                ratio = seconds[f"{at} erosion"] / seconds[f"{at} {name}"]
                lines.append(
                    f"| {shape}, {step} mm, {name}: times as fast as erosion{scaled} | {ratio:.1f} | {wanted} |"
                )
            lines.append(f"| {shape}, {step} mm: memory, MiB | {memory[f'{at} whole']:.0f} | at most 450 |")
            lines.append(
                f"| {shape}, {step} mm: time for four times the moves | "
                f"{seconds[f'{at} whole'] / seconds[f'{at} quarter']:.2f} | at most 4.6 |"
            )
            share = 100 * seconds[f"{at} hundredth"] / seconds[f"{at} whole"]
            lines.append(f"| {shape}, {step} mm: a hundredth of the job, % of the whole | {share:.1f} | a few |")
            lines.append(f"| {shape}, {step} mm: seconds on this machine | {seconds[f'{at} whole']:.2f} | |")
    for sort in ("nested", "raster", "looping"):
        lines.append(f"| outline of 100,000 corners, {sort}, s | {seconds[f'outline {sort}']:.2f} | at most 0.5 |")
    sys.stdout.write("\n".join(lines) + "\n")


def _main() -> None:
    parser = argparse.ArgumentParser(description="Measure height maps and outlines.")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--step", type=float, action="append", help="step of the grid in mm; 0.25 and 0.1 if not given")
    parser.add_argument("--inside", nargs="+", help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    if arguments.inside is None:
        _measure(arguments.step or [0.25, 0.1], arguments.rounds)
        return
    stage, *rest = arguments.inside
    if stage == "map":
        result = map_seconds(rest[0], float(rest[1]), int(rest[2]), float(rest[3]))
    elif stage == "erosion":
        result = erosion_seconds(rest[0], float(rest[1]))
    else:
        result = outline_seconds(rest[0])
    sys.stdout.write(json.dumps(result))


if __name__ == "__main__":
    _main()
