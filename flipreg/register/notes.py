"""Remarks beside the register: tools, units, hole sizes, depth."""

import numpy as np

from flipreg.findings import Finding, Status
from flipreg.program.face import Face
from flipreg.program.tool_lengths import length_findings
from flipreg.program.tool_remarks import tool_remarks
from flipreg.register.placing.comparison import Comparison
from flipreg.units import length_text, limit_text, place_text

__all__ = ["notes"]


def notes(front: Face, back: Face, comparison: Comparison, thickness_mm: float | None) -> list[Finding]:
    """Return findings that decide nothing about register but belong in front of the person."""
    return [
        *_tools(comparison),
        *(remark for program in (*front, *back) for remark in tool_remarks(program)),
        *_units(front, back),
        *(finding for program in (*front, *back) for finding in program.findings),
        *length_findings((program.name, program.lengths) for program in (*front, *back)),
        *_hole_sizes(comparison),
        *([] if thickness_mm is None else [_thickness(comparison, thickness_mm)]),
    ]


def _tools(comparison: Comparison) -> list[Finding]:
    match = comparison.match
    if match is None or not match.outlines:
        return []
    if any(
        features.outlines[row].is_compensated
        for pair in match.outlines
        for features, row in ((comparison.faces.front, pair.front), (comparison.faces.back, pair.back))
    ):
        return [
            Finding(
                "tool",
                Status.WARN,
                "cutter compensation (G41, G42) is on at an outline: the programmed contour was taken as the edge, "
                "which is true only if the machine's tool table holds the tool's whole size",
            )
        ]
    if all(pair.tools_known for pair in match.outlines):
        return []
    missing = sorted(
        {
            features.names[features.outlines[row].program]
            for pair in match.outlines
            for features, row in ((comparison.faces.front, pair.front), (comparison.faces.back, pair.back))
            if features.outlines[row].edge_radius_mm is None
        }
    )
    return [
        Finding(
            "tool",
            Status.WARN,
            f"no tool diameter for {', '.join(missing)}: outlines were compared as the tool's centre goes, "
            "which is the edge only if both faces use tools of one diameter there",
        )
    ]


def _units(front: Face, back: Face) -> list[Finding]:
    inch = [program.name for program in (*front, *back) if program.inch]
    if not inch or len(inch) == len(front) + len(back):
        return []
    return [Finding("units", Status.WARN, f"units are mixed: {', '.join(inch)} in inches, the others in millimetres")]


def _hole_sizes(comparison: Comparison) -> list[Finding]:
    match = comparison.match
    if match is None or len(match.front_hole) == 0:
        return []
    # A counterbore makes one face's hole wider by design; what both have in common is the bore.
    ours = comparison.faces.front.holes.bore_mm[match.front_hole]
    theirs = comparison.faces.back.holes.bore_mm[match.back_hole]
    with np.errstate(invalid="ignore"):
        differ = np.flatnonzero(np.abs(ours - theirs) > max(0.1, comparison.faces.tolerance_mm))
    if len(differ) == 0:
        return []
    first = int(differ[0])
    at_mm = comparison.faces.front.holes.centre_mm[match.front_hole[first]].tolist()
    return [
        Finding(
            "holes",
            Status.WARN,
            f"{'a shared hole differs' if len(differ) == 1 else f'{len(differ)} shared holes differ'} in diameter, "
            f"{'' if len(differ) == 1 else 'the first '}at {place_text(at_mm, 2)}: "
            f"front {length_text(float(ours[first]))}, back {length_text(float(theirs[first]))}",
        )
    ]


def _thickness(comparison: Comparison, thickness_mm: float) -> Finding:
    """Say whether the cuts of both faces meet at shared outlines and holes."""
    match = comparison.match
    if match is None or (len(match.front_hole) == 0 and not match.outlines) or comparison.by_silhouette:
        return Finding(
            "thickness", Status.NOT_DETERMINED, "depths of both faces cannot be added: they share no outline or hole"
        )
    if not (comparison.faces.front.top_is_zero and comparison.faces.back.top_is_zero):
        return Finding(
            "thickness",
            Status.NOT_DETERMINED,
            "Z zero does not seem to be the top of the blank in all programs; depths need it there",
        )
    webs: list[tuple[float, str]] = []
    for pair in match.outlines:
        ours, theirs = comparison.faces.front.outlines[pair.front], comparison.faces.back.outlines[pair.back]
        at = ours.loop.points_mm[0].tolist()
        left = thickness_mm + ours.loop.floor_mm + theirs.loop.floor_mm
        webs.append((left, f"the outline at {place_text(at)}"))
    holes = comparison.faces.front.holes.take(match.front_hole)
    floors = holes.floor_mm + comparison.faces.back.holes.take(match.back_hole).floor_mm
    for left, at in zip(floors + thickness_mm, holes.centre_mm.tolist(), strict=True):
        webs.append((float(left), f"the hole at {place_text(at)}"))
    most, where = max(webs)
    if most > 0.001:
        return Finding(
            "thickness",
            Status.WARN,
            f"a web of {length_text(most)} of {limit_text(thickness_mm)} is left between the cuts at {where}",
        )
    return Finding(
        "thickness",
        Status.PASS,
        f"the cuts of both faces meet at everything that is shared, by at least {length_text(max(-most, 0.0))} "
        f"({limit_text(thickness_mm)} thick; tabs not counted)",
    )
