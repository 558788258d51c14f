"""Programs built by hand as columns of motions: what a reader would make of real ones."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.isometry import Isometry
from flipreg.path import Kind, Path
from flipreg.program.face import FaceProgram

Floats = NDArray[np.float64]

NOWHERE = (np.nan, np.nan, np.nan)


@dataclass
class Mill:
    """Drives a tool about and writes down the motions."""

    points: list[tuple[float, float, float]] = field(default_factory=lambda: [NOWHERE])
    kinds: list[int] = field(default_factory=list)
    centres: list[tuple[float, float, float]] = field(default_factory=list)
    sweeps: list[float] = field(default_factory=list)
    cycles: list[int] = field(default_factory=list)

    def rapid(self, x: float | None = None, y: float | None = None, z: float | None = None) -> "Mill":
        return self._go(Kind.RAPID, x, y, z)

    def feed(self, x: float | None = None, y: float | None = None, z: float | None = None) -> "Mill":
        return self._go(Kind.LINE, x, y, z)

    def arc(self, x: float, y: float, centre: tuple[float, float], sweep: float, z: float | None = None) -> "Mill":
        here = self.points[-1]
        return self._go(Kind.ARC, x, y, z, (centre[0], centre[1], here[2]), sweep)

    def _go(
        self,
        kind: Kind,
        x: float | None,
        y: float | None,
        z: float | None,
        centre: tuple[float, float, float] = NOWHERE,
        sweep: float = 0.0,
        cycle: int = 0,
    ) -> "Mill":
        here = self.points[-1]
        there = tuple(h if t is None else t for h, t in zip(here, (x, y, z), strict=True))
        self.points.append(there)  # type: ignore[arg-type]
        self.kinds.append(kind)
        self.centres.append(centre)
        self.sweeps.append(sweep)
        self.cycles.append(cycle)
        return self

    def drill(self, x: float, y: float, depth: float = 10.0, *, cycle: bool = False) -> "Mill":
        self.rapid(x, y, 5.0)
        number = 81 if cycle else 0
        self._go(Kind.LINE, x, y, -depth, cycle=number)
        return self._go(Kind.RAPID, x, y, 5.0, cycle=number)

    def bore(self, x: float, y: float, radius: float, depth: float = 10.0, turns: int = 4) -> "Mill":
        self.rapid(x + radius, y, 5.0).feed(z=0.0)
        for turn in range(turns):
            self.arc(x + radius, y, (x, y), 360.0, z=-depth * (turn + 1) / turns)
        self.arc(x + radius, y, (x, y), 360.0)
        return self.feed(x, y).rapid(z=5.0)

    def contour(
        self,
        ring: Floats,
        depths: tuple[float, ...] = (11.0,),
        *,
        tabs: float = 0.0,
        lead: float = 0.0,
        hop: bool = False,
    ) -> "Mill":
        """Go round a ring (n, 2) once a depth; `tabs` lifts in the middle of long sides, `lead` comes from outside."""
        start = ring[0]
        for depth in depths:
            outside = start - lead * np.array([1.0, 1.0])
            self.rapid(outside[0], outside[1], 5.0).feed(z=-depth).feed(*start)
            for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
                length = float(np.hypot(*(b - a)))
                if tabs and length > 40.0 and depth == depths[-1]:
                    along = (b - a) / length
                    first, last = (a + b) / 2 - along * tabs / 2, (a + b) / 2 + along * tabs / 2
                    self.feed(*first)
                    if hop:
                        self.rapid(z=5.0).rapid(*last).feed(z=-depth)
                    else:
                        self.feed(z=-depth + 3).feed(*last).feed(z=-depth)
                self.feed(*b)
            self.feed(*outside).rapid(z=5.0)
        return self

    def lines(self, points: Floats) -> "Mill":
        """Feed through points (n, 3), reached from above."""
        self.rapid(points[0, 0], points[0, 1], 5.0)
        for point in points:
            self.feed(*point)
        return self.rapid(z=5.0)

    @property
    def path(self) -> Path:
        points = np.array(self.points)
        n = len(self.kinds)
        return (
            path_of(
                points,
                np.array(self.kinds, np.uint8),
                np.array(self.centres),
                np.array(self.sweeps),
                np.array(self.cycles),
            )
            if n
            else Path.empty()
        )

    def program(self, name: str = "front.nc", tool: float | None = 6.0, *, inch: bool = False) -> FaceProgram:
        return FaceProgram(self.path, name, tool, inch)


def path_of(
    points: Floats,
    kinds: NDArray[np.uint8],
    centres: Floats | None = None,
    sweeps: Floats | None = None,
    cycles: NDArray[np.int64] | None = None,
) -> Path:
    n = len(points) - 1
    return Path(
        kind=kinds.astype(np.uint8),
        start=points[:-1],
        end=points[1:],
        centre=np.full((n, 3), np.nan) if centres is None else centres,
        normal=np.full(n, 2, np.uint8),
        sweep_deg=np.zeros(n) if sweeps is None else sweeps,
        feed_mm_per_min=np.full(n, 1000.0),
        spindle_rpm=np.full(n, 18000.0),
        tool=np.ones(n, np.int32),
        compensation=np.zeros(n, np.int8),
        work_offset=np.ones(n, np.uint8),
        cycle=np.zeros(n, np.uint8) if cycles is None else cycles.astype(np.uint8),
        line=np.arange(1, n + 1),
    )


def scaled(program: FaceProgram, factor: float) -> FaceProgram:
    """Return the program with every coordinate multiplied: inches read as millimetres, or the reverse."""
    p = program.path
    path = Path(
        p.kind,
        p.start * factor,
        p.end * factor,
        p.centre * factor,
        p.normal,
        p.sweep_deg,
        p.feed_mm_per_min,
        p.spindle_rpm,
        p.tool,
        p.compensation,
        p.work_offset,
        p.cycle,
        p.line,
    )
    return FaceProgram(path, program.name, program.tool_diameter_mm, program.inch)


def ring(*corners: tuple[float, float]) -> Floats:
    return np.array(corners, float)


def offset_ring(corners: Floats, distance: float, **how: object) -> Floats:
    """Return the ring offset outwards, as a drawing program would make a tool path of it."""
    import shapely

    polygon = shapely.Polygon(corners).buffer(distance, quad_segs=128, **how)  # type: ignore[arg-type]
    return shapely.get_coordinates(polygon.exterior)[:-1]


def rounded(width: float, height: float, radius: float, x: float = 0.0, y: float = 0.0) -> Floats:
    import shapely

    box = shapely.box(x + radius, y + radius, x + width - radius, y + height - radius)
    return shapely.get_coordinates(box.buffer(radius, quad_segs=32).exterior)[:-1]


STILL = Isometry()

PADDLE = ring((0, 0), (120, -8), (200, 20), (210, 60), (150, 75), (140, 112), (60, 100), (15, 70), (-5, 30))
"""An outline without any symmetry, 215 x 120 mm, our own."""

PADDLE_HOLES = ((20.0, 20.0), (180.0, 35.0), (70.0, 80.0), (120.0, 30.0))

PAGE = Isometry.mirror_x(datum_mm=(Decimal(205), Decimal(0)))
"""The paddle turned over like a page: front numbers to back numbers."""

TRAY = rounded(300, 200, 15)
TRAY_HOLES = ((20.0, 20.0), (280.0, 20.0), (280.0, 180.0), (20.0, 180.0))


def shift(dx: str, dy: str) -> Isometry:
    return Isometry.translation(Decimal(dx), Decimal(dy))


def paddle(
    moved: Isometry = STILL,
    *,
    tool: float | None = 6.0,
    path_radius: float | None = None,
    depths: tuple[float, ...] = (5.0, 11.0),
    holes: Sequence[tuple[float, float]] = PADDLE_HOLES,
    bored: bool = False,
    tabs: float = 0.0,
    hop: bool = False,
    lead: float = 0.0,
) -> list[FaceProgram]:
    """Return profile and holes of the paddle, its drawing moved: the identity for the front, a flip for the back."""
    radius = (tool or 0.0) / 2 if path_radius is None else path_radius
    outline = moved.apply(offset_ring(PADDLE, radius) if radius else PADDLE)
    programs = [Mill().contour(outline, depths, tabs=tabs, hop=hop, lead=lead).program("profile.nc", tool)]
    if holes:
        mill = Mill()
        for x, y in moved.apply(np.array(holes)):
            if bored:
                mill.bore(x, y, 1.0)
            else:
                mill.drill(x, y)
        programs.append(mill.program("holes.nc", 3.0 if bored else 5.0))
    return programs


def tray(moved: Isometry = STILL, *, holes: Sequence[tuple[float, float]] = ()) -> list[FaceProgram]:
    """Return the profile of a symmetric tray, with holes where they are named."""
    mill = Mill().contour(moved.apply(offset_ring(TRAY, 3.0)))
    for x, y in moved.apply(np.array(holes).reshape(-1, 2)):
        mill.drill(x, y)
    return [mill.program("tray.nc", 6.0)]


def carving(
    outline: Floats, moved: Isometry = STILL, *, step: float = 1.0, phase: float = 0.0, spacing: float = 2.0
) -> list[FaceProgram]:
    """Return rows of short lines within an outline, to and fro, up and down: no closed contour anywhere."""
    import shapely

    polygon = shapely.Polygon(outline)
    xmin, ymin, xmax, ymax = polygon.bounds
    mill = Mill()
    backwards = False
    for y in np.arange(ymin + phase + 0.01, ymax, step):
        row = shapely.LineString([(xmin - 1, y), (xmax + 1, y)])
        for part in shapely.get_parts(polygon.intersection(row)):
            ends = shapely.get_coordinates(part)
            count = max(2, int(abs(ends[-1, 0] - ends[0, 0]) / spacing) + 1)
            x = np.linspace(ends[0, 0], ends[-1, 0], count)
            x = x[::-1] if backwards else x
            backwards = not backwards
            depth = -3.0 - np.sin(x / 15) * np.cos(y / 12)
            points = moved.apply(np.column_stack([x, np.full(count, y), depth]))
            mill.lines(np.round(points, 3))
    return [mill.program("carving.nc", 6.0)]
