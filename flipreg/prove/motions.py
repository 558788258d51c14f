"""Motions compared with moved motions, column by column."""

import sys
from itertools import zip_longest

import numpy as np
from numpy.typing import NDArray

from flipreg.errors import ProofError
from flipreg.geometry.arc import arc_points, in_plane
from flipreg.path import Path
from flipreg.prove.expected import Expected
from flipreg.prove.read import Read
from flipreg.rs274.interpret.column import at

__all__ = ["compare_motions"]

Floats = NDArray[np.float64]

_Deviation = tuple[str, NDArray[np.intp] | None, Floats]
"""What was compared, the rows it was compared at (None: all), and how far each is off in millimetres."""

_SAME_NUMBER = 1e-9
"""Relative difference below which feeds and speeds are the same; floating-point noise, no more."""


def compare_motions(source: Read, expected: Expected, output: Read, tolerance_mm: float) -> float:
    """Return the largest deviation of the output's motions from the source's, moved.

    Raises
    ------
    ProofError
        At the first motion that differs by more than the tolerance, or in anything but its place.
    """
    if len(source.path) != len(output.path):
        raise ProofError(_motion_count(source, output))
    if not len(source.path):
        return 0.0
    try:
        moved = expected.moved(source.path)
    except ValueError as error:
        raise ProofError(f"{source.blocks.source}: {error}") from None
    for name in ("kind", "normal", "tool", "compensation", "work_offset", "cycle"):
        _same(source, name, getattr(moved, name), getattr(output.path, name))
    _same(source, "line", _block(source), _block(output))
    _same_numbers(source, "spindle_rpm", moved.spindle_rpm, output.path.spindle_rpm)
    if not source.modes.inverse_time.any():
        # Under G93 the feed is the length of the motion by its F, and the F words are compared as words.
        _same_numbers(source, "feed_mm_per_min", moved.feed_mm_per_min, output.path.feed_mm_per_min)
    deviations: list[_Deviation] = [
        _distance(source, "end", moved.end, output.path.end),
        _distance(source, "start", moved.start, output.path.start),
    ]
    arcs = np.flatnonzero(moved.is_arc)
    if arcs.size:
        deviations.append(_arc_deviation(source, moved, output.path, arcs))
    largest = 0.0
    for what, rows, deviation in deviations:
        worst = int(np.argmax(deviation))
        # Written so that a deviation that is no number is none that is allowed.
        if not deviation[worst] <= tolerance_mm:
            line = int(source.path.line[worst if rows is None else rows[worst]])
            raise ProofError(
                f"{source.blocks.source}:{line}: the {what} of this motion would be {deviation[worst]:.6f} mm "
                f"off in the output, allowed is {tolerance_mm} mm"
            )
        largest = max(largest, float(deviation[worst]))
    return largest


def _block(read: Read) -> NDArray[np.int64]:
    block: NDArray[np.int64] = read.path.line - read.blocks.first_line
    return block


def _motion_count(source: Read, output: Read) -> str:
    ours, theirs = _block(source).tolist(), _block(output).tolist()
    block = next(min(pair) for pair in zip_longest(ours, theirs, fillvalue=sys.maxsize) if pair[0] != pair[1])
    line = source.blocks.first_line + block
    return (
        f"{source.blocks.source}:{line}: the output has {len(theirs)} motions where the source has {len(ours)}"
    )


def _same(source: Read, name: str, ours: NDArray[np.generic], theirs: NDArray[np.generic]) -> None:
    if _is_constant(ours) and _is_constant(theirs):
        ours, theirs = ours[:1], theirs[:1]
    different = ours != theirs
    if different.any():
        raise _different(source, name, int(np.argmax(different)))


def _same_numbers(source: Read, name: str, ours: Floats, theirs: Floats) -> None:
    if _is_constant(ours) and _is_constant(theirs):
        ours, theirs = ours[:1], theirs[:1]
    different = ours != theirs
    if not different.any():
        return
    close = np.abs(ours - theirs) <= _SAME_NUMBER * np.maximum(np.abs(ours), 1.0)
    different &= ~(close | (np.isnan(ours) & np.isnan(theirs)))
    if different.any():
        raise _different(source, name, int(np.argmax(different)))


def _different(source: Read, name: str, row: int) -> ProofError:
    line = int(source.path.line[row])
    words = name.split("_mm")[0].replace("_", " ")
    return ProofError(f"{source.blocks.source}:{line}: the {words} of this motion would change")


def _is_constant(column: NDArray[np.generic]) -> bool:
    return column.strides == (0,) and len(column) > 0


def _distance(source: Read, what: str, ours: Floats, theirs: Floats) -> _Deviation:
    squared = _squared_distance(ours, theirs)
    if np.isnan(squared.max()):
        unknown, also = np.isnan(ours), np.isnan(theirs)
        differs = (unknown != also).any(axis=1)
        if differs.any():
            raise _different(source, what, int(np.argmax(differs)))
        squared = _squared_distance(np.where(unknown, 0.0, ours), np.where(unknown, 0.0, theirs))
    return what, None, np.sqrt(squared)


def _squared_distance(ours: Floats, theirs: Floats) -> Floats:
    """Return squared distances of points, column by column: a sum over rows of three is far slower."""
    total = np.zeros(len(ours))
    for axis in range(ours.shape[1]):
        step = ours[:, axis] - theirs[:, axis]
        step *= step
        total += step
    return total


def _arc_deviation(
    source: Read, moved: Path, output: Path, arcs: NDArray[np.intp]
) -> _Deviation:
    """Compare centres, and the points half way; ends and starts are compared already."""
    turned = np.sign(moved.sweep_deg[arcs]) != np.sign(output.sweep_deg[arcs])
    if turned.any():
        raise _different(source, "direction", int(arcs[int(np.argmax(turned))]))
    # Along the normal a centre has the start's coordinate, which is compared already and may be unknown.
    ours, theirs = (_in_plane(path, path.centre, arcs) for path in (moved, output))
    off = _squared_distance(ours, theirs)
    half, new_half = _half_way(moved, arcs, ours), _half_way(output, arcs, theirs)
    return "arc", arcs, np.sqrt(np.maximum(off, _squared_distance(half, new_half)))


def _half_way(path: Path, arcs: NDArray[np.intp], centre: Floats) -> Floats:
    return arc_points(_in_plane(path, path.start, arcs), centre, path.sweep_deg[arcs], np.full(len(arcs), 0.5))


def _in_plane(path: Path, points: Floats, arcs: NDArray[np.intp]) -> Floats:
    return in_plane(points.T.take(arcs, axis=1).T, at(path.normal, arcs))[:, :2]
