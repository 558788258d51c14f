"""Remarks beside the register: tools, units, hole sizes, depth."""

import numpy as np

from flipreg.findings import Finding, Status
from flipreg.program.face import Face
from flipreg.program.tool_remarks import tool_remarks
from flipreg.register.comparison import Case

__all__ = ["notes"]


def notes(front: Face, back: Face, case: Case, thickness_mm: float | None) -> list[Finding]:
    """Return findings that decide nothing about register but belong in front of the person."""
    return [
        *_tools(case),
        *(remark for program in (*front, *back) for remark in tool_remarks(program)),
        *_units(front, back),
        *(finding for program in (*front, *back) for finding in program.findings),
        *_hole_sizes(case),
        *([] if thickness_mm is None else [_thickness(case, thickness_mm)]),
    ]


def _tools(case: Case) -> list[Finding]:
    match = case.match
    if match is None or not match.outlines:
        return []
    if any(
        case.faces.front.outlines[pair.front].is_compensated or case.faces.back.outlines[pair.back].is_compensated
        for pair in match.outlines
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
            for features, row in ((case.faces.front, pair.front), (case.faces.back, pair.back))
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


def _hole_sizes(case: Case) -> list[Finding]:
    match = case.match
    if match is None or len(match.front_hole) == 0:
        return []
    # A counterbore makes one face's hole wider by design; what both have in common is the bore.
    ours = case.faces.front.holes.bore_mm[match.front_hole]
    theirs = case.faces.back.holes.bore_mm[match.back_hole]
    with np.errstate(invalid="ignore"):
        differ = np.flatnonzero(np.abs(ours - theirs) > max(0.1, case.faces.tolerance_mm))
    if len(differ) == 0:
        return []
    first = int(differ[0])
    x_mm, y_mm = case.faces.front.holes.centre_mm[match.front_hole[first]].tolist()
    return [
        Finding(
            "holes",
            Status.WARN,
            f"{'a shared hole differs' if len(differ) == 1 else f'{len(differ)} shared holes differ'} in diameter, "
            f"{'' if len(differ) == 1 else 'the first '}at X {x_mm:z.2f} Y {y_mm:z.2f}: "
            f"front {float(ours[first]):z.2f} mm, back {float(theirs[first]):z.2f} mm",
        )
    ]


def _thickness(case: Case, thickness_mm: float) -> Finding:
    """Say whether the cuts of both faces meet at shared outlines and holes."""
    match = case.match
    if match is None or (len(match.front_hole) == 0 and not match.outlines) or case.by_silhouette:
        return Finding(
            "thickness", Status.NOT_DETERMINED, "depths of both faces cannot be added: they share no outline or hole"
        )
    if not (case.faces.front.top_is_zero and case.faces.back.top_is_zero):
        return Finding(
            "thickness",
            Status.NOT_DETERMINED,
            "Z zero does not seem to be the top of the blank in all programs; depths need it there",
        )
    webs: list[tuple[float, str]] = []
    for pair in match.outlines:
        ours, theirs = case.faces.front.outlines[pair.front], case.faces.back.outlines[pair.back]
        at = ours.loop.points_mm[0]
        left = thickness_mm + ours.loop.floor_mm + theirs.loop.floor_mm
        webs.append((left, f"the outline at X {at[0]:z.1f} Y {at[1]:z.1f}"))
    floors = case.faces.front.holes.floor_mm[match.front_hole] + case.faces.back.holes.floor_mm[match.back_hole]
    for left, at in zip(floors + thickness_mm, case.faces.front.holes.centre_mm[match.front_hole], strict=True):
        webs.append((float(left), f"the hole at X {at[0]:z.1f} Y {at[1]:z.1f}"))
    most, where = max(webs)
    if most > 0.001:
        return Finding(
            "thickness",
            Status.WARN,
            f"a web of {most:z.2f} mm of {thickness_mm:g} mm is left between the cuts at {where}",
        )
    return Finding(
        "thickness",
        Status.PASS,
        f"the cuts of both faces meet at everything that is shared, by at least {max(-most, 0.0):z.2f} mm "
        f"({thickness_mm:g} mm thick; tabs not counted)",
    )
