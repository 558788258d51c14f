"""Post the programs of the demo tray the way a drawing program would: each face from its own drawing.

The part is a walnut serving tray, 300 x 200 x 22 mm, with a dished hollow on the front, a shallow recess on
the back, a finger notch in the right edge and four holes for two grips. Everything is drawn once, in the
front's frame: X across the blank, Y along the centre line, Z up out of the face, millimetres, zero on
reference mark A. The back is the same drawing seen from the other side (turned like a page, x -> -x), drawn
and posted anew here. flipreg is not used, so that checking these programs with flipreg is a check.

Run it to write the programs next to this file: `python make_programs.py`. The output is always the same.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import sqrt
from pathlib import Path

__all__ = ["programs", "write"]

Point = tuple[float, float]

SAFE_Z = 15.0
"""Height of traverses above the face, mm."""
THICKNESS = 22.0
"""Thickness of the blank, mm."""
LEFT, RIGHT, NEAR, FAR = -100.0, 100.0, 20.0, 320.0
"""Edges of the finished tray in the front's frame, mm."""
CORNER, FAR_RIGHT_CORNER = 25.0, 40.0
"""Corner radii, mm. One corner differs, so that the tray fits its outline in one way only."""
NOTCH_Y, NOTCH_RADIUS, NOTCH_FILLET = 190.0, 63.0, 12.0
"""The finger notch in the right edge: centre along Y, radius, and the fillets that lead into it, mm."""
HOLES: tuple[Point, ...] = ((-60.0, 34.0), (36.0, 34.0), (52.0, 306.0), (-28.0, 306.0))
"""Screw holes of the two grips: 96 mm apart at the near end, 80 mm at the far end."""
TABS: tuple[Point, ...] = ((LEFT, 100.0), (LEFT, 250.0), (-20.0, FAR), (RIGHT, 90.0), (10.0, NEAR))
"""Middles of the tabs on the finished edge."""
TAB_LENGTH, TAB_TOP = 8.0, -8.0
"""Length of the tabs, and how deep each face cuts over them, mm."""
PROFILE_DEPTHS = (-3.0, -6.0, -9.0, -11.5)
"""Passes of the outside profile: half the thickness and 0.5 mm of overlap at the seam."""
HOLE_DEPTH = -12.0
"""Half the thickness and 1 mm of overlap."""
CUTTER_RADIUS = 3.0
"""Of the 6 mm flat end mill and of the 6 mm ball end mill, mm."""
OFF_CENTRE = 0.8
"""The planted mistake: half of the 1.6 mm by which the blank turned out wider than planned."""


@dataclass(frozen=True, slots=True)
class Line:
    """A straight cut."""

    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Arc:
    """An arc of less than half a turn, seen from above the face."""

    start: Point
    end: Point
    centre: Point
    clockwise: bool


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rounded rectangle given by its middle, half its sides and its corner radius, mm."""

    middle: Point
    half: Point
    corner: float

    def inset(self, by: float) -> "Rectangle":
        """Return the rectangle made smaller by the same distance all round."""
        half = (self.half[0] - by, self.half[1] - by)
        return replace(self, half=half, corner=max(self.corner - by, 0.0))

    def depth_inside(self, x: float, y: float) -> float:
        """Return the distance from a point inside to the edge."""
        over_x = abs(x - self.middle[0]) - self.half[0] + self.corner
        over_y = abs(y - self.middle[1]) - self.half[1] + self.corner
        outside = sqrt(max(over_x, 0.0) ** 2 + max(over_y, 0.0) ** 2)
        return self.corner - outside - min(max(over_x, over_y), 0.0)

    def reach(self, x: float) -> float:
        """Return how far the rectangle reaches from its middle along Y at a given X."""
        over_x = max(abs(x - self.middle[0]) - self.half[0] + self.corner, 0.0)
        return self.half[1] - self.corner + sqrt(max(self.corner**2 - over_x**2, 0.0))


HOLLOW = Rectangle((-6.0, 170.0), (76.0, 124.0), 18.0)
"""The rim line of the hollow on the front."""
COVE, DISH = 10.0, 1.0
"""Radius of the cove at the hollow's wall, and how much further the floor falls to the middle, mm."""
RECESS = Rectangle((-6.0, 170.0), (64.0, 112.0), 18.0)
"""The recess on the back, in the front's frame. What stays around it is the ring the tray stands on."""


class Post:
    """Collects the blocks of one program: writes only what a block needs, three decimals, millimetres."""

    def __init__(self, title: str, tool: str, *, spindle: int, percent: bool = False, step: int = 0) -> None:
        self._lines: list[str] = []
        self._percent = percent
        self._step = step
        self._add(f"({title})")
        self._add("(ZERO: MARK A ON THE CENTRE LINE, TOP OF THIS FACE, MILLIMETRES)")
        self._add("G21 G90 G17 G94")
        self._add("G54")
        self._add(tool)
        self._add(f"S{spindle} M3")
        self._add(f"G0 Z{SAFE_Z:.3f}")
        self._add("X0.000 Y0.000")

    def comment(self, text: str) -> None:
        """Write a comment on a line of its own."""
        self._add(f"({text})")

    def block(self, text: str) -> None:
        """Write a block as it is."""
        self._add(text)

    def rapid_over(self, point: Point) -> None:
        """Lift to the safe height and traverse to a point."""
        self._add(f"G0 Z{SAFE_Z:.3f}")
        self._add(f"X{_mm(point[0])} Y{_mm(point[1])}")

    def plunge(self, z: float, feed: int) -> None:
        """Traverse to just above the face, then feed down."""
        self._add("Z1.000")
        self._add(f"G1 Z{_mm(z)} F{feed}")

    def line(self, point: Point, feed: int | None = None) -> None:
        """Feed straight to a point."""
        self._add(f"G1 X{_mm(point[0])} Y{_mm(point[1])}" + (f" F{feed}" if feed else ""))

    def arc(self, arc: Arc, *, radius_format: bool = False) -> None:
        """Feed along an arc that starts where the tool is, in the centre or in the radius format."""
        code = "G2" if arc.clockwise else "G3"
        over = (arc.centre[0] - arc.start[0], arc.centre[1] - arc.start[1])
        radius = sqrt(over[0] ** 2 + over[1] ** 2)
        how = f"R{_mm(radius)}" if radius_format else f"I{_mm(over[0])} J{_mm(over[1])}"
        self._add(f"{code} X{_mm(arc.end[0])} Y{_mm(arc.end[1])} {how}")

    def text(self) -> str:
        """Return the program with its end: spindle up, back over program zero, spindle off."""
        self._add(f"G0 Z{SAFE_Z:.3f}")
        self._add("X0.000 Y0.000")
        self._add("M5")
        self._add("M30")
        lines = ["%", *self._lines, "%"] if self._percent else self._lines
        return "\n".join(lines) + "\n"

    def _add(self, block: str) -> None:
        number = f"N{self._step * (len(self._lines) + 1)} " if self._step else ""
        self._lines.append(number + block)


def programs() -> dict[str, str]:
    """Return every program's text by its path relative to this folder."""
    outline = tuple(_outline(CUTTER_RADIUS))
    back = tuple(_seen_from_the_back(outline))
    back_off = tuple(_seen_from_the_back(outline, zero_x=OFF_CENTRE))
    return {
        "front-rough.nc": _front_rough(),
        "front-finish.nc": _front_finish(),
        "front-profile.nc": _profile("TRAY FRONT: PROFILE", outline, TABS),
        "front-holes.nc": _front_holes(),
        "back-rough.nc": _back_rough(),
        "back-profile.nc": _back_profile("TRAY BACK: PROFILE", back),
        "back-holes.nc": _back_holes("TRAY BACK: HOLES", [_turned(hole) for hole in HOLES]),
        "mistake/back-profile.nc": _back_profile("TRAY BACK: PROFILE", back_off, zero_x=OFF_CENTRE),
        "mistake/back-holes.nc": _back_holes("TRAY BACK: HOLES", [_turned(h, OFF_CENTRE) for h in HOLES]),
        "mistake/not-mirrored/back-profile.nc": _profile("TRAY BACK: PROFILE", outline, TABS),
        "mistake/not-mirrored/back-holes.nc": _back_holes("TRAY BACK: HOLES", HOLES),
    }


def write(folder: Path) -> None:
    """Write every program under a folder."""
    for name, text in programs().items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode("ascii"))


def _outline(offset: float) -> Iterator[Line | Arc]:
    """Yield the tray's edge moved outwards by an offset, clockwise, starting in the middle of the left edge.

    The notch, its fillets and the line between their centres make a 3-4-5 triangle, so every end point is a
    short decimal: 60 mm across, 45 mm along, 75 mm from centre to centre.
    """
    left, right, near, far = LEFT - offset, RIGHT + offset, NEAR - offset, FAR + offset
    small, big, fillet = CORNER, FAR_RIGHT_CORNER, NOTCH_FILLET
    fillet_x, notch_x = RIGHT - fillet, RIGHT - fillet + 60.0
    reach = fillet + offset
    upper = (fillet_x + 0.8 * reach, NOTCH_Y + 45.0 - 0.6 * reach)
    lower = (upper[0], 2 * NOTCH_Y - upper[1])
    stops: tuple[tuple[Point, Point | None, bool], ...] = (
        ((left, FAR - small), None, True),
        ((LEFT + small, far), (LEFT + small, FAR - small), True),
        ((RIGHT - big, far), None, True),
        ((right, FAR - big), (RIGHT - big, FAR - big), True),
        ((right, NOTCH_Y + 45.0), None, True),
        (upper, (fillet_x, NOTCH_Y + 45.0), True),
        (lower, (notch_x, NOTCH_Y), False),
        ((right, NOTCH_Y - 45.0), (fillet_x, NOTCH_Y - 45.0), True),
        ((right, NEAR + small), None, True),
        ((RIGHT - small, near), (RIGHT - small, NEAR + small), True),
        ((LEFT + small, near), None, True),
        ((left, NEAR + small), (LEFT + small, NEAR + small), True),
        ((left, (NEAR + FAR) / 2), None, True),
    )
    at: Point = (left, (NEAR + FAR) / 2)
    for end, centre, clockwise in stops:
        yield Line(at, end) if centre is None else Arc(at, end, centre, clockwise)
        at = end


def _turned(point: Point, zero_x: float = 0.0) -> Point:
    """Return a point of the front's drawing in the back's, whose zero lies at zero_x in the front's."""
    return (zero_x - point[0], point[1])


def _seen_from_the_back(outline: Sequence[Line | Arc], zero_x: float = 0.0) -> Iterator[Line | Arc]:
    """Yield the outline as it looks from the other face, clockwise again: climb milling on both faces."""
    for part in reversed(outline):
        start, end = _turned(part.end, zero_x), _turned(part.start, zero_x)
        # Looking from behind and running backwards each turn an arc the other way, together they don't.
        yield Line(start, end) if isinstance(part, Line) else Arc(
            start, end, _turned(part.centre, zero_x), part.clockwise
        )


def _front_rough() -> str:
    post = Post("TRAY FRONT: ROUGH THE HOLLOW", "T1 M6 (6 MM FLAT END MILL)", spindle=18000, percent=True)
    allowance = 0.4
    top = 0.0
    for depth in (3.2, 6.4, 9.6):
        cove_edge = COVE - sqrt(max(COVE**2 - (depth + allowance) ** 2, 0.0))
        _clear(post, HOLLOW.inset(cove_edge + CUTTER_RADIUS), (top, -depth), radius_format=True)
        top = -depth
    return post.text()


def _back_rough() -> str:
    post = Post("TRAY BACK: RECESS", "T1 M6 (6 MM FLAT END MILL)", spindle=18000, percent=True)
    recess = replace(RECESS, middle=_turned(RECESS.middle))
    _clear(post, recess.inset(CUTTER_RADIUS), (0.0, -2.0), radius_format=False)
    return post.text()


def _clear(post: Post, outer: Rectangle, levels: tuple[float, float], *, radius_format: bool) -> None:
    """Clear a rounded rectangle from the inside out, counter-clockwise: climb milling in a pocket."""
    stepover = helix = 2.4
    top, depth = levels
    post.comment(f"LEVEL Z{_mm(depth)}")
    x, y = outer.middle
    post.rapid_over((x + helix, y))
    post.block(f"Z{_mm(top + 1.0)}")
    post.block(f"G1 Z{_mm(top)} F600")
    post.block(f"G3 X{_mm(x + helix)} Y{_mm(y)} Z{_mm(depth)} I{_mm(-helix)} J0.000")
    post.block(f"G3 X{_mm(x + helix)} Y{_mm(y)} I{_mm(-helix)} J0.000 F2400")
    loops = int(outer.half[0] / stepover)
    for loop in range(loops, -1, -1):
        _loop(post, outer.inset(loop * stepover), radius_format=radius_format)


def _loop(post: Post, ring: Rectangle, *, radius_format: bool) -> None:
    """Cut once round a rounded rectangle, counter-clockwise from the middle of its right side."""
    (x, y), (half_x, half_y), r = ring.middle, ring.half, ring.corner
    corners = ((1, 1), (-1, 1), (-1, -1), (1, -1))
    post.line((x + half_x, y))
    for side_x, side_y in corners:
        centre = (x + side_x * (half_x - r), y + side_y * (half_y - r))
        from_side = (centre[0] + side_x * r, centre[1])
        from_end = (centre[0], centre[1] + side_y * r)
        start, end = (from_side, from_end) if side_x == side_y else (from_end, from_side)
        post.line(start)
        if r > 0.0:
            post.arc(Arc(start, end, centre, clockwise=False), radius_format=radius_format)
    post.line((x + half_x, y))


def _front_finish() -> str:
    """Raster the hollow along the grain; the tip of the ball follows cove and dish."""
    post = Post("TRAY FRONT: FINISH THE HOLLOW", "T2 M6 (6 MM BALL END MILL)", spindle=18000)
    stepover = 1.4
    inner = HOLLOW.inset(CUTTER_RADIUS)
    passes = int(2 * inner.half[0] / stepover) + 1
    first_x = inner.middle[0] - stepover * (passes - 1) / 2
    forward = True
    for number in range(passes):
        x = first_x + number * stepover
        ys = _stations(inner.middle[1], inner.reach(x))
        points = [(y, _finished_z(x, y)) for y in (ys if forward else reversed(ys))]
        if number == 0:
            post.rapid_over((x, points[0][0]))
            post.plunge(points[0][1], 600)
            post.block("F2400")
        else:
            post.block(f"X{_mm(x)} Y{_mm(points[0][0])} Z{_mm(points[0][1])}")
        for y, z in points[1:]:
            post.block(f"Y{_mm(y)} Z{_mm(z)}")
        forward = not forward
    return post.text()


def _stations(middle: float, reach: float) -> list[float]:
    """Return where along a pass the height is taken: close together in the coves, wider on the floor."""
    steps: list[float] = []
    at = 0.0
    while at < reach:
        steps.append(at)
        at += 1.0 if at < 9.0 else 4.0
    half = [middle - reach + step for step in steps if step < reach]
    return [*half, middle, *(2 * middle - y for y in reversed(half))]


def _finished_z(x: float, y: float) -> float:
    """Return the height of the ball's tip in the finished hollow."""
    from_wall = min(max(HOLLOW.depth_inside(x, y), CUTTER_RADIUS), COVE)
    cove = sqrt(max((COVE - CUTTER_RADIUS) ** 2 - (COVE - from_wall) ** 2, 0.0))
    across = (x - HOLLOW.middle[0]) / HOLLOW.half[0]
    along = (y - HOLLOW.middle[1]) / HOLLOW.half[1]
    return -CUTTER_RADIUS - cove - DISH * (1 - across**2) * (1 - along**2)


def _back_profile(title: str, outline: Sequence[Line | Arc], zero_x: float = 0.0) -> str:
    return _profile(title, outline, [_turned(tab, zero_x) for tab in TABS], radius_format=True)


def _profile(
    title: str, outline: Sequence[Line | Arc], tabs: Iterable[Point], *, radius_format: bool = False
) -> str:
    """Cut round the outline in passes, each with an arc in from the waste and an arc out."""
    post = Post(title, "T1 M6 (6 MM FLAT END MILL)", spindle=18000)
    lead = 6.0
    first = outline[0]
    x, y = first.start
    along = 1.0 if first.end[1] > y else -1.0
    # Clockwise round the tray the waste is on the left hand.
    centre = (x - lead * along, y)
    before, after = (centre[0], y - lead * along), (centre[0], y + lead * along)
    tabs = tuple(tabs)
    for depth in PROFILE_DEPTHS:
        post.comment(f"PASS Z{_mm(depth)}")
        post.rapid_over(before)
        post.plunge(depth, 600)
        post.block("F2400")
        post.arc(Arc(before, first.start, centre, clockwise=False))
        for part in outline:
            if isinstance(part, Arc):
                post.arc(part, radius_format=radius_format)
            else:
                _cut_line(post, part, tabs if depth < TAB_TOP else (), depth)
        post.arc(Arc(first.start, after, centre, clockwise=False))
    return post.text()


def _cut_line(post: Post, line: Line, tabs: Iterable[Point], depth: float) -> None:
    """Cut along one straight edge, lifting the tool over the tabs on it."""
    axis = 0 if line.start[1] == line.end[1] else 1
    low, high = sorted((line.start[axis], line.end[axis]))
    towards = 1.0 if line.end[axis] == high else -1.0
    half = (TAB_LENGTH / 2 + CUTTER_RADIUS) * towards
    middles = [
        tab[axis]
        for tab in tabs
        if low < tab[axis] < high and abs(tab[1 - axis] - line.start[1 - axis]) < 2 * CUTTER_RADIUS
    ]
    for middle in sorted(middles, reverse=towards < 0):
        before, after = (
            (stop, line.start[1]) if axis == 0 else (line.start[0], stop)
            for stop in (middle - half, middle + half)
        )
        post.line(before)
        post.block(f"Z{_mm(TAB_TOP)}")
        post.line(after)
        post.block(f"Z{_mm(depth)} F600")
        post.block("F2400")
    post.line(line.end)


def _front_holes() -> str:
    post = Post("TRAY FRONT: HOLES", "T3 M6 (5 MM DRILL)", spindle=6000)
    post.comment("SPOT, THEN DRILL")
    _cycle(post, "G99 G81", HOLES, "Z-1.500 R2.000 F200")
    _cycle(post, "G98 G83", HOLES, f"Z{_mm(HOLE_DEPTH)} R2.000 Q4.000 F300")
    return post.text()


def _back_holes(title: str, holes: Sequence[Point]) -> str:
    post = Post(title, "T3 M6 (5 MM DRILL)", spindle=6000, step=10)
    _cycle(post, "G98 G83", holes, f"Z{_mm(HOLE_DEPTH)} R2.000 Q4.000 F300")
    return post.text()


def _cycle(post: Post, codes: str, holes: Sequence[Point], words: str) -> None:
    """Drill the holes in a run of one canned cycle."""
    first, *others = holes
    post.block(f"{codes} X{_mm(first[0])} Y{_mm(first[1])} {words}")
    for hole in others:
        post.block(f"X{_mm(hole[0])} Y{_mm(hole[1])}")
    post.block("G80")


def _mm(value: float) -> str:
    """Return a length with three decimals and no negative zero."""
    text = f"{value:.3f}"
    return "0.000" if text == "-0.000" else text


if __name__ == "__main__":
    write(Path(__file__).resolve().parent)
