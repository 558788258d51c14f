"""Register: whether what both faces show lies at the same place of the blank.

What a pass means: every outline and every hole that both faces share was compared at the given placement, the
outlines both ways from end to end, and nothing was further off than the tolerance. It says nothing about
features that only one face has, about depth, or about how well the blank is set up.

What is a proof: an outline cut from both faces, or at least two holes made from both. What is none: one hole, or
the bounding box of the cut. An irregular silhouette of the cut that agrees all round is taken as an outline; a
regular one (a rectangle of raster lines) is not, because any two rectangles of one size agree.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Status
from flipreg.geometry.fit import fit_rigid
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import Face
from flipreg.register.faces.features import face_features
from flipreg.register.faces.landmarks import LandmarkKind
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.agreement import NEAR_MM
from flipreg.register.placing.by_design import may_be_by_design
from flipreg.register.placing.coincidence import pull_of, refined
from flipreg.register.placing.evidence import Evidence, evidence_at
from flipreg.register.placing.gap import centred, even_gap, rolls_round_corners
from flipreg.register.placing.landing import Landing, landing_of
from flipreg.register.placing.match import Match, Shared, two_way
from flipreg.register.placing.matching import Faces
from flipreg.register.placing.open_end import may_end_in_air

__all__ = ["Register", "measured", "nothing_shared", "register"]

Floats = NDArray[np.float64]

_LEAST_FOR_TURN = 3
"""So many features show a shift and a turn of all; of two, one may be off itself (chosen)."""
_UNSEEN_TURN_MM = 0.003
"""A rotation that moves nothing further than this is rounding and reported as 0 (chosen)."""


@dataclass(frozen=True, slots=True)
class Register:
    """How the shared features of two faces lie to one another, in the blank frame (the front's program frame).

    Attributes
    ----------
    status : Status
        PASS, FAIL or NOT_DETERMINED.
    dx_mm, dy_mm, rotation_deg : float or None
        Where the back lies, less where it should: least squares over the shared features. The rotation
        is about the front's program zero, counter-clockwise positive, then the shift; None where nothing is shared.
    worst_mm : float or None
        The largest distance between the faces at any shared outline or hole, at the given placement.
    worst_at_mm : (float, float) or None
        Where it is.
    rms_left_mm : float or None
        What would remain if the back were moved by the offset and rotation: large where the faces differ in shape.
    evidence : str
        What was compared, or why nothing could be.
    outlines, holes : int
        How many are shared.
    program : str or None
        The back program with the worst point.
    line : int or None
        Its line.
    is_proof : bool
        Whether what is shared can show register, if it agrees.
    is_sure : bool
        Whether it can disprove register too: an outline that parts the wood, or two holes.
    may_be_by_design : bool
        Whether what lies far apart may be others of the same kind, as `flipreg.register.placing.by_design` has it.
    landing : Landing or None
        How far the whole part is displaced, with its uncertainty; None where nothing is shared.
    support : Evidence or None
        How much coincides, against chance; None where nothing is shared.
    """

    status: Status
    dx_mm: float | None
    dy_mm: float | None
    rotation_deg: float | None
    worst_mm: float | None
    worst_at_mm: tuple[float, float] | None
    rms_left_mm: float | None
    evidence: str
    outlines: int = 0
    holes: int = 0
    program: str | None = None
    line: int | None = None
    is_proof: bool = False
    is_sure: bool = False
    may_be_by_design: bool = False
    landing: Landing | None = None
    support: Evidence | None = None


def register(front: Face, back: Face, front_from_back: Isometry, tolerance_mm: float) -> Register:
    """Compare two faces at a placement of the back.

    Parameters
    ----------
    front, back : sequence of FaceProgram
        The programs of each face, each in its own program frame.
    front_from_back : Isometry
        Maps the back's program frame to the front's.
    tolerance_mm : float
        Largest deviation that is in register, in millimetres.

    Returns
    -------
    Register
        PASS only with proof and with the worst deviation within the tolerance.
    """
    faces = Faces.of(face_features(front), face_features(back), tolerance_mm)
    placement = Placement.of(front_from_back)
    match = refined(faces, placement)
    return nothing_shared() if match is None else measured(faces, match, placement)


def nothing_shared() -> Register:
    """Return the register of faces that share nothing: not determined."""
    return Register(
        Status.NOT_DETERMINED, None, None, None, None, None, None, "nothing that both faces share was found"
    )


def measured(faces: Faces, match: Match, placement: Placement, *, is_found: bool = False) -> Register:
    """Return how far the matched features are apart when the back lies at `placement`.

    `is_found` says that the placement was searched for, which asks for more evidence.
    """
    evidence = evidence_at(faces, match, placement if is_found else match.placement, is_told=not is_found)
    if not match.fixes_place and len(match.front_hole) == 0 and not evidence.beats_chance:
        return nothing_shared()
    pull = pull_of(faces, match, match.placement, most=2000)
    if len(pull.weight) == 0:
        return nothing_shared()
    planned, landed = pull.front_mm, placement.apply(pull.back_mm)
    # Where the match itself leaves a deviation, the point counts less: a misplaced hole is no shift of all.
    off = np.hypot(*(match.placement.apply(pull.back_mm) - planned).T)
    usual = max(0.02, 1.5 * float(np.median(off)))
    weight = pull.weight / (1.0 + (off / usual) ** 2)
    fit = fit_rigid(planned, landed, weights=weight)
    dx_mm, dy_mm, _ = fit.isometry.offset_mm.tolist()
    turn = fit.turn_deg
    if abs(np.radians(turn)) * faces.front.size_mm <= _UNSEEN_TURN_MM:
        turn, (dx_mm, dy_mm) = 0.0, fit.shift_mm
    landing = landing_of(faces, pull, weight, match.placement, placement, is_turned=turn != 0.0)
    if faces.is_round:
        # Everything is round about one point, and a turn about it changes nothing.
        landing = replace(landing, turn_deg=0.0, turn_uncertainty_deg=0.0)
    outlines, holes = len(match.outlines), len(match.front_hole)
    edges = tuple(pair for pair in match.outlines if _may_disprove(faces, pair, match, placement))
    through = replace(match, outlines=edges)
    is_sure = bool(through.outlines) or _holes_prove(faces, match, placement, is_found=is_found)
    if match.fixes_place or holes:
        worst, at, program, line = _worst(faces, match, placement)
    else:
        worst, at, program, line = _worst_mark(faces, match, placement, landing)
    proves = is_sure or any(faces.worth(pair) for pair in match.outlines) or _all_prove(evidence)
    status, is_open = Status.NOT_DETERMINED, False
    # An outline that agrees all round shows a turn as several features do.
    seen = max(len(match.front_mark), evidence.coincide)
    if max(worst, landing.part_mm) <= faces.tolerance_mm:
        is_shown = proves and landing.is_known(faces.tolerance_mm)
        status = Status.PASS if is_shown else Status.NOT_DETERMINED
    elif may_be_by_design(faces, match, evidence, placement):
        is_sure, is_open = False, True
    elif is_sure and _worst(faces, through, placement)[0] > faces.tolerance_mm:
        # The largest contours of both faces may be two recesses: how far apart they are disproves nothing.
        status = Status.FAIL
    elif (is_sure if match.fixes_place else evidence.is_plenty) and seen >= _LEAST_FOR_TURN:
        # A shift or a turn of all of it, seen by more features than a few that may be off themselves.
        is_out = landing.part_mm - 2.0 * landing.part_uncertainty_mm > faces.tolerance_mm
        status = Status.FAIL if is_out else Status.NOT_DETERMINED
    return Register(
        status=status,
        dx_mm=round(dx_mm, 6) + 0.0,
        dy_mm=round(dy_mm, 6) + 0.0,
        rotation_deg=round(turn, 7) + 0.0,
        worst_mm=worst,
        worst_at_mm=at,
        rms_left_mm=fit.rms_mm,
        evidence=_evidence(faces, match, evidence),
        outlines=outlines,
        holes=holes,
        program=program,
        line=line,
        is_proof=proves,
        is_sure=is_sure,
        may_be_by_design=is_open,
        landing=landing,
        support=evidence,
    )


def _may_disprove(faces: Faces, pair: Shared, match: Match, placement: Placement) -> bool:
    """Return whether outlines that lie apart can't be two edges, nor one that is open or cut by two untold tools."""
    if not pair.goes_through or may_end_in_air(faces, pair.front, pair.back):
        return False
    if pair.tools_known:
        return True
    limit = faces.tolerance_mm
    if not faces.front.outlines[pair.front].is_silhouette and rolls_round_corners(pair, placement, limit):
        return False
    # Where they lie one in the other evenly isn't quite where their points lie closest.
    return all(
        even_gap(pair, place, limit, over_mm=limit) is None
        for place in (match.placement, centred(pair, match.placement.matrix))
    )


def _all_prove(evidence: Evidence) -> bool:
    """Return whether so much coincides, of whatever kind, that the faces are of one part lying so."""
    return evidence.coincide >= _LEAST_FOR_TURN and evidence.beats_chance


def _holes_prove(faces: Faces, match: Match, placement: Placement, *, is_found: bool) -> bool:
    """Return whether shared holes can be no accident.

    Two holes that agree where they were said to be are enough. Where the place itself was searched for, any two
    holes of one distance would agree: then it takes three, and most of the holes of the face that has fewer.
    """
    ours = faces.front.holes.centre_mm[match.front_hole]
    theirs = faces.back.holes.centre_mm[match.back_hole]
    left = np.hypot(*(match.placement.apply(theirs) - ours).T)
    agreeing = int((left <= max(2.0 * faces.tolerance_mm, 0.1)).sum())
    if agreeing < 2:
        return False
    off = np.hypot(*(placement.apply(theirs) - ours).T)
    if not is_found and float(np.median(off)) <= NEAR_MM:
        return True
    return agreeing >= max(_LEAST_FOR_TURN, 0.6 * min(len(faces.front.holes), len(faces.back.holes)))


def _worst(
    faces: Faces, match: Match, placement: Placement
) -> tuple[float, tuple[float, float], str | None, int | None]:
    """Return the largest deviation, where it is on the front, and the program and line of the back."""
    worst, at, program, line = -1.0, np.zeros(2), None, None
    names = faces.back.names
    if len(match.front_hole):
        ours = faces.front.holes.centre_mm[match.front_hole]
        off = np.hypot(*(placement.apply(faces.back.holes.centre_mm[match.back_hole]) - ours).T)
        row = int(off.argmax())
        worst, at = float(off[row]), ours[row]
        hole = match.back_hole[row]
        program, line = names[int(faces.back.holes.program[hole])], int(faces.back.holes.line[hole])
    for pair in match.outlines:
        ours, theirs = pair.front_curve.samples_mm, pair.back_curve.samples_mm
        for off, points in zip(two_way(pair, placement, ours, theirs), (ours, placement.apply(theirs)), strict=True):
            if not np.isnan(off).all() and float(np.nanmax(off)) > worst:
                row = int(np.nanargmax(off))
                worst, at = float(off[row]), points[row]
                outline = faces.back.outlines[pair.back]
                program, line = names[outline.program], outline.line
    return worst, (float(at[0]), float(at[1])), program, line


def _worst_mark(
    faces: Faces, match: Match, placement: Placement, landing: Landing
) -> tuple[float, tuple[float, float], str | None, int | None]:
    """Return the same where features of other kinds are all there is: at the part's corner, or where one is off more.

    The middle of a contour depends on the tools that go round it; where a cut ends and where it turns doesn't.
    """
    both = faces.comparable
    rows = match.front_mark, match.back_mark
    is_point = both.front.kind[rows[0]] >= LandmarkKind.ARC
    ours, theirs = both.front.take(rows[0][is_point]), both.back.take(rows[1][is_point])
    off = np.hypot(*(placement.apply(theirs.centre_mm) - ours.centre_mm).T)
    row = int(off.argmax()) if len(off) else -1
    if row < 0 or float(off[row]) <= landing.part_mm:
        return landing.part_mm, landing.part_at_mm, None, None
    x_mm, y_mm = ours.centre_mm[row].tolist()
    return float(off[row]), (x_mm, y_mm), faces.back.names[theirs.program[row]], int(theirs.line[row])


def _evidence(faces: Faces, match: Match, evidence: Evidence) -> str:
    if not match.fixes_place and len(match.front_hole) == 0:
        return (
            f"{evidence.coincide} of {evidence.features} features of any kind; "
            f"chance would give {evidence.by_chance:z.1f}"
        )
    parts: list[str] = []
    by_silhouette = any(outline.is_silhouette for outline in faces.front.outlines)
    if match.outlines and by_silhouette:
        parts.append("the silhouette of the cut")
    elif match.outlines:
        parts.append(_count(len(match.outlines), "outline"))
    if len(match.front_hole):
        parts.append(_count(len(match.front_hole), "hole"))
    kinds = faces.comparable.front.kind[evidence.agreement.front]
    if (kinds == LandmarkKind.END).any():
        parts.append(f"{_count(int((kinds == LandmarkKind.END).sum()), 'end')} of slots")
    text = ", ".join(parts)
    if match.outlines and not all(pair.tools_known for pair in match.outlines):
        text += " (outlines as driven by the tool's centre: true only for tools of one diameter)"
    elif match.outlines and not by_silhouette:
        text += " (outlines after the tool radius)"
    spare = [
        f"{_count(count, 'hole')} of the {face}"
        for face, count in (
            ("front", len(faces.front.holes) - len(match.front_hole)),
            ("back", len(faces.back.holes) - len(match.back_hole)),
        )
        if count
    ]
    return text + (f"; not shared: {_joined(spare)}" if spare else "")


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" + ("" if number == 1 else "s")


def _joined(parts: Sequence[str]) -> str:
    return " and ".join(parts)
