"""Which usual mistake would explain that two faces are not in register.

Each mistake is tried as a correction: it is named only if the faces are in register with it. Where several are, all are
named, because what both faces share cannot tell between them.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flipreg.verify.align import best_match
from flipreg.verify.case import Case
from flipreg.verify.doubt import left_over
from flipreg.verify.features import Features
from flipreg.verify.finding import Status
from flipreg.verify.gap import centred, even_gap, gap_words, largest_pair
from flipreg.verify.match import Faces, Match, Shared
from flipreg.verify.mistake import Mistake, correction_words, shift_words
from flipreg.verify.placement import Placement
from flipreg.verify.register import measured
from flipreg.verify.search import ORIENTATIONS, Fit, choose, fits, unturned

__all__ = ["diagnose"]

Floats = NDArray[np.float64]

INCH_MM = 25.4


def diagnose(case: Case) -> tuple[Mistake, ...]:
    """Return the mistakes that would bring the faces into register; none or several.

    Parameters
    ----------
    case : Case
        Two faces whose register was not shown.
    """
    mistakes: list[Mistake] = []
    own = next((fit for fit in case.passing if fit.orientation == case.orientation), None)
    if own is not None and case.is_found and own.orientation.axis == "none":
        return (_other_way(case, own),)
    if own is not None:
        mistakes += _two_zeros(case, own) or _offset(case, own)
    elif case.match is not None:
        mistakes += _rotation(case, case.match)
    if not any(mistake.is_small for mistake in mistakes):
        mistakes += [_other_way(case, fit) for fit in case.passing if fit.orientation != case.orientation]
    if not mistakes:
        mistakes += _units(case) or _quarter(case) or _tool(case)
    if not mistakes and case.match is not None:
        mistakes += _odd_one(case, case.match)
    return tuple(mistakes)


def _two_zeros(case: Case, own: Fit) -> list[Mistake]:
    """Name programs of the back that do not share one zero: no shift of the whole back would help."""
    there = replace(case, placement=own.placement, match=own.match, register=own.register)
    for finding in left_over(there, own.placement):
        if finding.status is Status.FAIL:
            return [
                Mistake(
                    "two zeros",
                    f"not all of the back shares one zero: {finding.message}",
                    "compare the zero of each program of the back with the plan; a shift of all of them does not help",
                    is_small=True,
                )
            ]
    return []


def _offset(case: Case, own: Fit) -> list[Mistake]:
    """Name a pure shift, and what usually makes one of that size."""
    if case.placement is None:
        return []
    dx_mm, dy_mm = (case.placement.offset_mm - own.placement.offset_mm).tolist()
    if max(abs(dx_mm), abs(dy_mm)) <= 1e-4:
        return []
    small = float(np.hypot(dx_mm, dy_mm)) <= max(10.0, 0.05 * case.faces.front.size_mm)
    code, why = ("offset", "") if small else _reason_of_shift(case, dx_mm, dy_mm)
    x_mm, y_mm = own.datum_mm
    return [
        Mistake(
            code,
            f"the back sits {shift_words(dx_mm, dy_mm)}, seen from the front{why}",
            f"put the back's program zero at X {x_mm:g} Y {y_mm:g} of the front's numbers, "
            f"or {correction_words(case.placement, own.placement)}",
            is_small=small,
        )
    ]


def _reason_of_shift(case: Case, dx_mm: float, dy_mm: float) -> tuple[str, str]:
    """Return code and words for a large shift across or along the flip axis."""
    if case.orientation is None or case.orientation.axis == "none":
        return "offset", ""
    across = 0 if case.orientation.axis == "y" else 1
    shift = np.abs([dx_mm, dy_mm])
    low, high = case.faces.front.cut_box_mm[:2], case.faces.front.cut_box_mm[2:]
    tools = [2 * radius for radius in case.faces.front.radius_mm if radius is not None]
    # Zero in a corner of the blank or of the part: the size of the blank, of the cut, or of the part itself.
    sizes = [high - low, np.abs(high + low), *(high - low - tool for tool in tools)]
    room = np.maximum(2.0, 0.02 * (high - low))
    still = shift <= room
    is_whole = [any(abs(shift[i] - size[i]) <= room[i] for size in sizes) for i in (0, 1)]
    is_half = [any(abs(shift[i] - size[i] / 2) <= room[i] for size in sizes) for i in (0, 1)]
    along = 1 - across
    if still[along] and (is_whole[across] or is_half[across]):
        line = f"the flip line is wrong by {shift[across] / 2:g} mm in {'XY'[across]}"
        part = "half the blank" if is_whole[across] else "a quarter of the blank"
        return "flip line", f", as if {line}, {part}"
    if still[across] and is_whole[along]:
        return "wrong end", ", the length of the part, as if zero had been taken at the wrong end"
    if is_whole[across] and is_whole[along]:
        return "wrong end", ", as if zero had been taken at the opposite corner"
    return "offset", ""


def _rotation(case: Case, match: Match) -> list[Mistake]:
    """Name a turn with a shift."""
    angle = case.register.rotation_deg
    best = max((fit.match.score for fit in case.found), default=0.0)
    if case.placement is None or not angle or match.score < 0.8 * best:
        return []
    if measured(case.faces, match, match.placement).status is not Status.PASS:
        return []
    way = "counter-clockwise" if angle > 0 else "clockwise"
    dx_mm, dy_mm = case.register.dx_mm or 0.0, case.register.dy_mm or 0.0
    shift = "" if np.hypot(dx_mm, dy_mm) < 0.005 else f" and sits {shift_words(dx_mm, dy_mm)}"
    return [
        Mistake(
            "rotation",
            f"the back is turned {abs(angle):.3f}° {way} about the front's zero{shift}, seen from the front",
            f"{correction_words(case.placement, match.placement)}, or turn the blank on the table to match",
            is_small=abs(angle) < 5.0,
        )
    ]


def _other_way(case: Case, fit: Fit) -> Mistake:
    """Name a back that fits when it is taken the other way round."""
    x_mm, y_mm = fit.datum_mm
    datum = f"X {x_mm:g} Y {y_mm:g}"
    if fit.orientation.axis == "none":
        turned = ", after half a turn," if fit.orientation.is_turned else ""
        return Mistake(
            "not mirrored",
            f"the back is not mirrored: its numbers{turned} match the front's (its zero at {datum} of the front)",
            "make the back program by flipping it, then check again",
        )
    wanted = case.orientation
    asked = "" if wanted is None or wanted.axis == "none" else f", not about {wanted.axis.upper()}"
    return Mistake(
        "other axis",
        f"the back is mirrored about the other axis, which is the same as turned by 180°: it fits "
        f"{fit.orientation.words}{asked}, with its zero at {datum} of the front",
        f"flip the blank about {fit.orientation.axis.upper()}, or make the back program again for the axis you use",
    )


def _quarter(case: Case) -> list[Mistake]:
    """Try the back turned by a quarter turn on the table, mirrored and not."""
    if case.faces.front.is_empty or case.by_silhouette:
        return []
    for way in ORIENTATIONS:
        matrix = np.array([[0.0, -1.0], [1.0, 0.0]]) @ way.matrix
        match = best_match(case.faces, matrix)
        if match is None:
            continue
        placement = unturned(case.faces, match, matrix)
        if measured(case.faces, match, placement, is_found=True).status is not Status.PASS:
            continue
        if way.axis == "none":
            what, cure = " and not mirrored", "make the back program by flipping the front, and do not turn it"
        else:
            what, cure = "", "make the back program again without the quarter turn, or turn it by 90° or −90°"
        return [Mistake("quarter turn", f"the back is turned by a quarter turn{what}", cure, is_certain=True)]
    return []


def _units(case: Case) -> list[Mistake]:
    """Try the back 25.4 times larger and smaller, if the sizes of the faces are that far apart."""
    ours, theirs = case.faces.front.size_mm, case.faces.back.size_mm
    if ours <= 0.0 or theirs <= 0.0:
        return []
    for factor, words in (
        (INCH_MM, "the back's numbers are inches but are read as millimetres (it is 25.4 times too small)"),
        (1.0 / INCH_MM, "the back's numbers are millimetres but are read as inches (it is 25.4 times too large)"),
    ):
        if not 0.5 <= theirs * factor / ours <= 2.0:
            continue
        faces = Faces(case.faces.front, _scaled(case.faces.back, factor), case.faces.tolerance_mm)
        best = choose(fits(faces)).best
        if best is not None and best.register.status is Status.PASS:
            return [
                Mistake(
                    "units",
                    f"wrong unit: {words}; with the right one it fits, {best.orientation.words}",
                    "check the unit word (G20 inch, G21 mm) of both programs: one of them is wrong",
                    is_certain=True,
                )
            ]
    return []


def _tool(case: Case) -> list[Mistake]:
    """Look for an outline that runs beside its partner at an even distance."""
    pair = largest_pair(case.faces)
    if pair is None:
        return []
    for placement in _places(case, pair):
        gap = even_gap(pair, placement, case.faces.tolerance_mm)
        if gap is None or abs(gap) <= case.faces.tolerance_mm:
            continue
        ours = case.faces.front.outlines[pair.front].edge_radius_mm
        theirs = case.faces.back.outlines[pair.back].edge_radius_mm
        words = gap_words(gap, ours, theirs)
        where = "outside" if gap > 0 else "inside"
        cure = (
            "check the tool diameter and the allowance the program was made with"
            if pair.tools_known
            else "name the tool diameters; if the tools are alike, one program was made for another tool"
        )
        return [
            Mistake(
                "tool",
                f"the back's outline runs {abs(gap):.2f} mm {where} the front's all round"
                + (f": {words}" if words else ""),
                cure,
                is_certain=words is not None,
            )
        ]
    return []


def _places(case: Case, pair: Shared) -> list[Placement]:
    """Return placements where the largest outlines may lie one in the other."""
    places = [] if case.placement is None else [case.placement]
    places += [] if case.match is None else [case.match.placement]
    places += [fit.placement for fit in case.found]
    ways = ORIENTATIONS if case.orientation is None else (case.orientation,)
    return places + [centred(pair, way.matrix) for way in ways]


def _odd_one(case: Case, match: Match) -> list[Mistake]:
    """Say which holes are off where the rest agrees."""
    faces, limit = case.faces, case.faces.tolerance_mm
    if len(match.front_hole) + 4 * len(match.outlines) < 3 or len(match.front_hole) == 0:
        return []
    ours = faces.front.holes.centre_mm[match.front_hole]
    off = np.hypot(*(match.placement.apply(faces.back.holes.centre_mm[match.back_hole]) - ours).T)
    bad = np.flatnonzero(off > limit)
    if not 0 < len(bad) <= (len(off) - 1 if match.outlines else len(off) // 2):
        return []
    x_mm, y_mm = ours[bad[0]].tolist()
    line = int(faces.back.holes.line[match.back_hole[bad[0]]])
    rest = "one hole is" if len(bad) == 1 else f"{len(bad)} holes are"
    return [
        Mistake(
            "hole",
            f"most of it agrees, but {rest} off by up to {float(off.max()):.2f} mm, "
            f"at X {x_mm:g} Y {y_mm:g} (line {line} of the back)",
            "one of the programs has the hole in a wrong place; compare both with the plan",
        )
    ]


def _scaled(features: Features, factor: float) -> Features:
    """Return features with all lengths multiplied, as if the program's unit were another."""
    holes = replace(features.holes, centre_mm=features.holes.centre_mm * factor)
    outlines = tuple(
        replace(
            outline,
            loop=replace(
                outline.loop,
                points_mm=outline.loop.points_mm * factor,
                area_mm2=outline.loop.area_mm2 * factor**2,
                length_mm=outline.loop.length_mm * factor,
                box_mm=outline.loop.box_mm * factor,
                stretch_box_mm=outline.loop.stretch_box_mm * factor,
            ),
        )
        for outline in features.outlines
    )
    return replace(features, holes=holes, outlines=outlines, cut_box_mm=features.cut_box_mm * factor)
