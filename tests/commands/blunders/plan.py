"""A plan: where program zero is in each setup, and the programs and the job file that follow from it.

A plan is written out twice: as programs, and as what the job file (or the command line) says of them.
A right job says what was made; a spoilt one was made from another plan than it tells.
"""

from dataclasses import dataclass, replace
from pathlib import Path as File

import numpy as np
import shapely

from tests.commands.blunders.part import LENGTH, THICKNESS, WIDTH, Floats, Part, Ring

__all__ = ["CUTTER", "DRILL", "Place", "Plan", "datum", "job_text", "points", "write_programs", "zero"]

CUTTER, DRILL = 6.0, 4.0


@dataclass(frozen=True)
class Place:
    """How one setup's program frame lies: `mirror` is None with the front up, else the flip axis."""

    mirror: str | None
    mark: str
    jog: tuple[float, float]
    quarters: int = 0
    z_zero: str = "top"
    unit: str = "mm"

    def axes(self) -> Floats:
        """Return the matrix (2, 2) from directions on the blank's front to the program's."""
        flip = {None: np.eye(2), "y": np.diag((-1.0, 1.0)), "x": np.diag((1.0, -1.0))}[self.mirror]
        quarter = np.array(((0.0, -1.0), (1.0, 0.0)))
        return np.asarray(np.linalg.matrix_power(quarter, self.quarters) @ flip)


@dataclass(frozen=True)
class Plan:
    """The part, its marks as (across, along from mark A), and both setups."""

    part: Part
    marks: dict[str, tuple[float, float]]
    front: Place
    back: Place
    centre_line: float = WIDTH / 2
    first_along: float = 40.0
    units: str = "mm"

    def with_back(self, **changes: object) -> "Plan":
        return replace(self, back=replace(self.back, **changes))  # type: ignore[arg-type]


def points(plan: Plan, place: Place, on_blank: Floats) -> Floats:
    """Return points (n, 2) of the blank frame in a setup's program frame."""
    axes = place.axes()
    mark = np.array(plan.marks[place.mark])
    return np.asarray((np.atleast_2d(on_blank) - mark) @ axes.T - np.array(place.jog))


def zero(plan: Plan, place: Place) -> Floats:
    """Return program zero (2,) in the blank frame."""
    return np.asarray(np.array(plan.marks[place.mark]) + place.axes().T @ np.array(place.jog))


def datum(plan: Plan) -> Floats:
    """Return the back's program zero (2,) in the front's numbers."""
    return np.asarray(points(plan, plan.front, zero(plan, plan.back))[0])


class _Writer:
    def __init__(self, plan: Plan, place: Place) -> None:
        self.plan, self.place = plan, place
        self.scale = 25.4 if place.unit == "inch" else 1.0
        self.lift = THICKNESS if place.z_zero == "spoilboard" else 0.0
        self.lines = ["G20" if place.unit == "inch" else "G21", "G17 G90", "M3 S12000", f"G0 Z{self.number(30.0)}"]

    def number(self, mm: float) -> str:
        return f"{mm / self.scale + 0.0:.5f}"

    def go(self, code: str, xy: Floats | None = None, depth: float | None = None) -> None:
        words = [code]
        if xy is not None:
            x, y = points(self.plan, self.place, xy)[0]
            words += [f"X{self.number(x)}", f"Y{self.number(y)}"]
        if depth is not None:
            words.append(f"Z{self.number(self.lift - depth)}")
        self.lines.append(" ".join(words) + (f" F{self.number(1200)}" if code == "G1" else ""))

    def over(self, xy: Floats) -> None:
        self.go("G0", depth=-10.0)
        self.go("G0", xy)

    def drill(self, x: float, y: float, depth: float) -> None:
        self.over(np.array((x, y)))
        self.go("G1", depth=depth)

    def circle(self, x: float, y: float, radius: float, depth: float) -> None:
        start = np.array((x + radius, y))
        self.go("G1", start)
        self.go("G1", depth=depth)
        centre, here = points(self.plan, self.place, np.array((x, y)))[0], points(self.plan, self.place, start)[0]
        i, j = centre - here
        code = "G2" if np.linalg.det(self.place.axes()) > 0 else "G3"
        at = f"X{self.number(here[0])} Y{self.number(here[1])}"
        self.lines.append(f"{code} {at} I{self.number(i)} J{self.number(j)} F{self.number(1200)}")

    def ring(self, ring: Ring) -> None:
        x, y = ring.centre
        self.over(np.array((x + ring.passes[0][0], y)))
        for radius, depth in ring.passes:
            self.circle(x, y, radius, depth)

    def pocket(self, x0: float, y0: float, x1: float, y1: float, depth: float) -> None:
        self.over(np.array((x0, y0)))
        self.go("G1", depth=depth)
        for k, y in enumerate(np.arange(y0, y1 + 1e-9, 4.0)):
            for x in (x0, x1) if k % 2 == 0 else (x1, x0):
                self.go("G1", np.array((x, y)))
        for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)):
            self.go("G1", np.array((x, y)))

    def contour(self, outline: Floats, depths: tuple[float, ...], tab_depth: float | None) -> None:
        ring = np.array(shapely.Polygon(outline).buffer(CUTTER / 2, join_style="mitre").exterior.coords)
        length = np.concatenate(((0.0,), np.cumsum(np.hypot(*np.diff(ring, axis=0).T))))
        self.over(ring[0])
        for depth in depths:
            self.go("G1", depth=depth)
            tabs = [] if tab_depth is None or depth <= tab_depth else [length[-1] * (k + 0.4) / 4 for k in range(4)]
            lifts = [(t - 8.0, tab_depth) for t in tabs] + [(t + 8.0, depth) for t in tabs]
            stops = sorted([(at, None) for at in length[1:]] + lifts, key=lambda stop: stop[0])
            for at, to in stops:
                self.go("G1", np.array([np.interp(at, length, ring[:, 0]), np.interp(at, length, ring[:, 1])]))
                if to is not None:
                    self.go("G1", depth=to)

    def text(self) -> str:
        self.go("G0", depth=-10.0)
        return "\n".join([*self.lines, "G0 X0 Y0", "M5", "M2", ""])


def _face(plan: Plan, place: Place, face: str) -> dict[str, str]:
    part = plan.part
    rings, pockets = (
        (part.front_rings, part.front_pockets) if face == "front" else (part.back_rings, part.back_pockets)
    )
    made = {}
    if part.drilled:
        holes = _Writer(plan, place)
        for x, y in part.drilled:
            holes.drill(x, y, 11.0)
        made["holes"] = holes.text()
    if rings or pockets or part.bored:
        inner = _Writer(plan, place)
        for ring in rings:
            inner.ring(ring)
        for pocket in pockets:
            inner.pocket(*pocket)
        for x, y, radius in part.bored:
            inner.ring(Ring((x, y), ((radius, 4.0), (radius, 8.0), (radius, 11.0))))
        made["inner"] = inner.text()
    if part.profile:
        profile = _Writer(plan, place)
        depths = (4.5, 9.0) if face == "front" else (6.0, 12.0)
        profile.contour(part.outline, depths, None if face == "front" else 8.0)
        made["profile"] = profile.text()
    return {f"{face}-{name}.nc": text for name, text in made.items()}


def write_programs(plan: Plan, folder: File) -> dict[str, list[File]]:
    """Write the programs of both faces and return their files, by face."""
    files: dict[str, list[File]] = {}
    for face, place in (("front", plan.front), ("back", plan.back)):
        files[face] = []
        for name, text in _face(plan, place, face).items():
            (folder / name).write_text(text)
            files[face].append(folder / name)
    return files


def job_text(plan: Plan, files: dict[str, list[File]]) -> str:
    """Return the job file for these programs as the plan tells it; numbers are in millimetres whatever `units` says."""
    lines = ['name = "board"', f'units = "{plan.units}"', "tolerance = 0.2", "", "[blank]"]
    lines += [f"length = {LENGTH}", f"width = {WIDTH}", f"thickness = {THICKNESS}", f"measured_thickness = {THICKNESS}"]
    lines += ['edge = "left"', f"centre_line = {plan.centre_line}"]
    for name, (across, along) in plan.marks.items():
        lines += ["", "[[marks]]", f'name = "{name}"', 'face = "both"']
        lines += [f"along = {plan.first_along + along}", f"across = {across}"]
    lines += ["", "[check]", "grid = 1.5"]
    lines += ["", "[[tools]]", 'name = "flat"', 'shape = "flat"', f"diameter = {CUTTER}", "plunge = true"]
    lines += ["", "[[tools]]", 'name = "drill"', 'shape = "drill"', f"diameter = {DRILL}"]
    for face, place in (("front", plan.front), ("back", plan.back)):
        lines += ["", "[[setups]]", f'name = "{face}"', f'up = "{face}"']
        lines += [f'flip = "{place.mirror}"'] if place.mirror else []
        lines += [f'mark = "{place.mark}"', f"zero = [{place.jog[0]}, {place.jog[1]}]", f'z_zero = "{place.z_zero}"']
        lines += [f"quarter_turns = {place.quarters}", "programs = ["]
        for file in files[face]:
            tool = "drill" if "holes" in file.name else "flat"
            may = ", profile = true" if "profile" in file.name else ""
            may += ", through = true" if "inner" in file.name and plan.part.bored else ""
            lines.append(f'  {{ file = "{file.name}", tool = "{tool}"{may} }},')
        lines.append("]")
    return "\n".join([*lines, ""])
