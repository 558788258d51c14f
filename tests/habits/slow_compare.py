"""Whether two readings say the same motions: the outsider's, and the columns of `flipreg.interpret`."""

import math
from decimal import Decimal

from flipreg.path import Path
from tests.habits.slow_places import Motion, Place

__all__ = ["against_path", "apart", "is_same_place"]

KINDS = ("traverse", "feed", "arc")
NEAR_MM = 1e-6
"""What floating point may lose of a place."""


def against_path(slow: list[Motion], path: Path) -> str | None:
    """Return what a path says otherwise than the outsider, or nothing."""
    if len(slow) != len(path):
        lines = path.line.tolist()
        for row, motion in enumerate(slow):
            if row >= len(lines) or motion.line != lines[row]:
                return f"motion {row}: line {motion.line}, the path has {lines[row : row + 1]}"
        return f"{len(slow)} motions, the path has {len(path)}"
    for row, motion in enumerate(slow):
        said = _of_path(path, row)
        for name, value in _expected(motion).items():
            if not _is_unsaid(slow, row, name) and not _is_near(value, said[name]):
                return f"{name}: {value} is expected of {motion}, the path has {said[name]}"
    return None


def _is_unsaid(slow: list[Motion], row: int, name: str) -> bool:
    """Whether the report gives the place no number: a peck backs off "a bit"."""
    return slow[row].is_unsaid if name == "end" else name == "start" and row > 0 and slow[row - 1].is_unsaid


def _expected(motion: Motion) -> dict[str, object]:
    nothing = (Decimal("NaN"),) * 3
    return {
        "line": motion.line,
        "kind": motion.kind,
        "start": tuple(_number(place) for place in motion.start),
        "end": tuple(_number(place) for place in motion.end),
        "centre": nothing if motion.centre is None else motion.centre,
        "sweep": motion.sweep_deg,
        "feed": Decimal("NaN") if motion.feed is None else motion.feed,
        "tool": motion.tool,
        "spindle": motion.spindle,
        "side": motion.side,
        "offset": motion.offset,
        "cycle": motion.cycle,
        "normal": motion.normal if motion.kind == "arc" else None,
    }


def _of_path(path: Path, row: int) -> dict[str, object]:
    kind = KINDS[int(path.kind[row])]
    return {
        "line": int(path.line[row]),
        "kind": kind,
        "start": tuple(path.start[row].tolist()),
        "end": tuple(path.end[row].tolist()),
        "centre": tuple(path.centre[row].tolist()),
        "sweep": float(path.sweep_deg[row]),
        "feed": float(path.feed_mm_per_min[row]),
        "tool": int(path.tool[row]),
        "spindle": float(path.spindle_rpm[row]),
        "side": int(path.compensation[row]),
        "offset": int(path.work_offset[row]),
        "cycle": int(path.cycle[row]),
        "normal": int(path.normal[row]) if kind == "arc" else None,
    }


def _number(place: Place) -> Decimal:
    return Decimal("NaN") if place.base else place.number


def _is_near(one: object, other: object) -> bool:
    if isinstance(one, tuple) and isinstance(other, tuple):
        return all(_is_near(a, b) for a, b in zip(one, other, strict=True))
    if isinstance(one, Decimal | float | int) and isinstance(other, float):
        if math.isnan(one):
            return math.isnan(other)
        return math.isclose(one, other, rel_tol=1e-9, abs_tol=NEAR_MM)
    return one == other


def apart(expected: list[Motion], found: list[Motion], *, within_mm: float = 0.0, has_lines: bool = True) -> str | None:
    """Return where two lists of motions say something else; nothing is unequal but places by less than `within_mm`."""
    if len(expected) != len(found):
        return f"{len(expected)} motions became {len(found)}"
    for row, (one, other) in enumerate(zip(expected, found, strict=True)):
        same = {
            "kind": (one.kind, one.cycle, one.is_unsaid) == (other.kind, other.cycle, other.is_unsaid),
            "modes": (one.feed, one.tool, one.spindle, one.side, one.offset)
            == (other.feed, other.tool, other.spindle, other.side, other.offset),
            "ends": all(map(is_same_place, one.start + one.end, other.start + other.end, [within_mm] * 6)),
            "turn": _turns_alike(one, other, within_mm),
            "line": one.line == other.line or not has_lines,
        }
        if not all(same.values()):
            wrong = ", ".join(name for name, is_so in same.items() if not is_so)
            return f"{wrong}: motion {row}, {one}, became {other}"
    return None


def is_same_place(one: Place, other: Place, within_mm: float = 0.0) -> bool:
    """Whether two coordinates are one, up to so many millimetres."""
    return one.base == other.base and abs(one.number - other.number) <= within_mm


def _turns_alike(one: Motion, other: Motion, within_mm: float) -> bool:
    """Whether two arcs turn about one point by one angle, within what their ends may be off, seen from the centre."""
    if one.centre is None or other.centre is None:
        return one.centre is other.centre
    radius = math.dist(
        [float(place.number) for axis, place in enumerate(one.start) if axis != one.normal],
        [float(value) for axis, value in enumerate(one.centre) if axis != one.normal],
    )
    return (
        one.normal == other.normal
        and all(abs(a - b) <= max(within_mm, NEAR_MM) for a, b in zip(one.centre, other.centre, strict=True))
        and abs(one.sweep_deg - other.sweep_deg) <= 1e-6 + math.degrees(4 * within_mm / radius)
    )
