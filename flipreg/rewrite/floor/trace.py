"""Where a pass goes across, whatever its heights: two passes with one trace take each other's place."""

import numpy as np

from flipreg.rewrite.floor.passes import Pass
from flipreg.rs274.interpret.whole import Whole

__all__ = ["Trace", "backwards", "trace_of"]

Trace = tuple[tuple[float, ...], ...]
"""Motions in millimetres and degrees: x0, y0, x1, y1, and for an arc the centre's X and Y and the sweep."""


def trace_of(whole: Whole, each: Pass) -> Trace:
    """Return where a pass cuts across, straight motions in one line joined, so that lifts over tabs don't matter."""
    path = whole.path
    trace: list[tuple[float, ...]] = []
    for row in range(each.cut, each.last + 1):
        (x0, y0), (x1, y1) = path.start[row, :2].round(6).tolist(), path.end[row, :2].round(6).tolist()
        if path.is_arc[row]:
            cx, cy = path.centre[row, :2].round(4).tolist()
            sweep = round(float(path.sweep_deg[row]), 4)
            if trace and len(trace[-1]) == 7 and trace[-1][4:6] == (cx, cy) and trace[-1][6] * sweep > 0:
                old = trace.pop()
                trace.append((*old[:2], x1, y1, cx, cy, round(old[6] + sweep, 3)))
            else:
                trace.append((x0, y0, x1, y1, cx, cy, sweep))
        elif path.is_cut[row] and (x0, y0) != (x1, y1):
            if trace and len(trace[-1]) == 4 and _in_line(trace[-1], (x1, y1)):
                trace.append((*trace.pop()[:2], x1, y1))
            else:
                trace.append((x0, y0, x1, y1))
    return tuple(trace)


def backwards(trace: Trace) -> Trace:
    """Return the same way from its end to its start."""
    back = []
    for x0, y0, x1, y1, *arc in reversed(trace):
        back.append((x1, y1, x0, y0, *arc[:2], *(-sweep for sweep in arc[2:])))
    return tuple(back)


def _in_line(segment: tuple[float, ...], point: tuple[float, float]) -> bool:
    x0, y0, x1, y1 = segment
    (ux, uy), (vx, vy) = (x1 - x0, y1 - y0), (point[0] - x1, point[1] - y1)
    across = abs(ux * vy - uy * vx)
    return ux * vx + uy * vy > 0 and across <= 1e-3 * max(1.0, float(np.hypot(ux, uy)))
