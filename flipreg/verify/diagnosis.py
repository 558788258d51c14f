"""Which usual mistake would explain that two faces are not in register.

Each mistake is tried as a correction: it is named only if the faces are in register with it. Where several are, all are
named, because what both faces share cannot tell between them.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flipreg.verify.case import Case
from flipreg.verify.features import Features
from flipreg.verify.finding import Status
from flipreg.verify.gap import even_gap, gap_words, largest_pair
from flipreg.verify.match import Faces, Match
from flipreg.verify.placement import Placement
from flipreg.verify.register import measured
from flipreg.verify.search import ORIENTATIONS, Fit, choose, fits

__all__ = ["Diagnosis", "Mistake", "diagnose"]

Floats = NDArray[np.float64]

INCH_MM = 25.4


@dataclass(frozen=True, slots=True)
class Mistake:
    """One mistake that explains what is seen.

    Attributes
    ----------
    code : str
        'offset', 'rotation', 'not mirrored', 'other axis', 'flip line', 'wrong end', 'units', 'tool'.
    sentence : str
        What it is and what to do about it.
    is_small : bool
        A plain small shift or turn, which needs no further explanation.
    """

    code: str
    sentence: str
    is_small: bool = False


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """The mistakes that would explain the register of two faces, none or several."""

    mistakes: tuple[Mistake, ...]

    @property
    def sentence(self) -> str | None:
        """All of it as text for the person, None where no mistake is known."""
        if not self.mistakes:
            return None
        if len(self.mistakes) == 1:
            return self.mistakes[0].sentence
        listed = " ".join(f"({index}) {m.sentence}" for index, m in enumerate(self.mistakes, start=1))
        return f"Several mistakes would explain it, because the shared features are symmetric: {listed}"


def diagnose(case: Case) -> Diagnosis:
    """Return the mistakes that would bring the faces into register."""
    mistakes: list[Mistake] = []
    own = next((fit for fit in case.found if fit.orientation == case.orientation), None)
    best = max((fit.match.score for fit in case.found), default=0.0)
    if own is not None and own.register.status is Status.PASS and _is_enough(own, best):
        mistakes += _offset(case, own)
    elif case.match is not None:
        mistakes += _rotation(case, case.match, best)
    if not any(mistake.is_small for mistake in mistakes):
        mistakes += [
            _other_way(case, fit)
            for fit in case.found
            if fit.orientation != case.orientation and fit.register.status is Status.PASS and _is_enough(fit, best)
        ]
    if not mistakes:
        mistakes += _units(case) or _tool(case)
    if not mistakes and case.match is not None:
        mistakes += _odd_one(case, case.match)
    return Diagnosis(tuple(mistakes))


def _is_enough(fit: Fit, best: float) -> bool:
    """Whether a fit explains nearly as much as the best one; half of the holes would be no explanation."""
    return fit.match.score >= 0.8 * best


def _offset(case: Case, own: Fit) -> list[Mistake]:
    """Name a pure shift, and what usually makes one of that size."""
    if case.placement is None:
        return []
    dx_mm, dy_mm = (case.placement.offset_mm - own.placement.offset_mm).tolist()
    if max(abs(dx_mm), abs(dy_mm)) <= 1e-4:
        return []
    size = case.faces.front.size_mm
    small = float(np.hypot(dx_mm, dy_mm)) <= max(10.0, 0.05 * size)
    reading = f"The back sits {shift_words(dx_mm, dy_mm)}"
    x_mm, y_mm = own.datum_mm
    cure = (
        f"put the back's program zero at X {x_mm:g} Y {y_mm:g} of the front's numbers, "
        f"or shift the back program {_in_its_numbers(own, -dx_mm, -dy_mm)}"
    )
    code, reason = _reason_of_shift(case, dx_mm, dy_mm) if not small else ("offset", "")
    return [Mistake(code, f"{reading}{reason}: {cure}.", small)]


def _in_its_numbers(fit: Fit, dx_mm: float, dy_mm: float) -> str:
    """Say a shift of the front's frame as a shift of the back program's own numbers."""
    own = fit.placement.matrix.T @ np.array([dx_mm, dy_mm])
    x_mm, y_mm = (np.round(own, 4) + 0.0).tolist()
    return f"by X {x_mm:g} Y {y_mm:g}"


def _reason_of_shift(case: Case, dx_mm: float, dy_mm: float) -> tuple[str, str]:
    """Return code and words for a large shift across or along the flip axis."""
    axis = case.orientation.axis if case.orientation is not None else "none"
    if axis == "none":
        return "offset", ""
    low, high = case.faces.front.cut_box_mm[:2], case.faces.front.cut_box_mm[2:]
    across = 0 if axis == "y" else 1
    shift = np.array([dx_mm, dy_mm])
    room = np.maximum(2.0, 0.03 * (high - low))
    whole = [abs(abs(shift[i]) - c) <= room[i] for i in (0, 1) for c in (high[i] - low[i], abs(high[i] + low[i]))]
    is_whole = (whole[0] or whole[1], whole[2] or whole[3])
    still = np.abs(shift) <= room
    name = "XY"[across]
    if is_whole[across] and still[1 - across]:
        half = abs(shift[across]) / 2
        return "flip line", f", as if the flip line were wrong by half the blank ({name} {half:g})"
    if is_whole[1 - across] and still[across]:
        return "wrong end", ", the length of the part: as if zero had been taken at the wrong end"
    if abs(abs(shift[across]) - (high - low)[across] / 2) <= room[across] and still[1 - across]:
        return "flip line", f", half the part: the flip line is wrong by {abs(shift[across]) / 2:g} mm in {name}"
    return "offset", ""


def _rotation(case: Case, match: Match, best: float) -> list[Mistake]:
    """Name a turn with a shift."""
    turned = measured(case.faces, match, match.placement)
    angle = case.register.rotation_deg
    if turned.status is not Status.PASS or not angle or match.score < 0.8 * best:
        return []
    dx_mm, dy_mm = case.register.dx_mm or 0.0, case.register.dy_mm or 0.0
    way = "counter-clockwise" if angle > 0 else "clockwise"
    shift = "" if np.hypot(dx_mm, dy_mm) < 0.005 else f" about the front's zero and sits {shift_words(dx_mm, dy_mm)}"
    return [
        Mistake(
            "rotation",
            f"The back is turned {abs(angle):.3f}° {way}{shift}, seen from the front: turn the blank back by that "
            "or shift the back program by the same turn.",
            abs(angle) < 5.0,
        )
    ]


def _other_way(case: Case, fit: Fit) -> Mistake:
    """Name a back that fits when it is taken the other way round."""
    x_mm, y_mm = fit.datum_mm
    datum = f"X {x_mm:g} Y {y_mm:g}"
    wanted = case.orientation
    if fit.orientation.axis == "none":
        how = ", turned by half a turn," if fit.orientation.is_turned else ""
        return Mistake(
            "not mirrored",
            f"The back is not mirrored: its numbers{how} match the front's as they stand "
            f"(its zero at {datum} of the front). Make the back program by flipping, then check again.",
        )
    axis = fit.orientation.axis
    asked = "" if wanted is None or wanted.axis == "none" else f", not about {wanted.axis.upper()}"
    return Mistake(
        "other axis",
        f"The back is mirrored about the other axis, which is the same as turned by 180°: it fits "
        f"{fit.orientation.words}{asked}, with its zero at {datum} of the front. Flip the blank about {axis.upper()}, "
        "or make the back program again for the axis you use.",
    )


def _units(case: Case) -> list[Mistake]:
    """Try the back 25.4 times larger and smaller, if the sizes of the faces are that far apart."""
    ours, theirs = case.faces.front.size_mm, case.faces.back.size_mm
    if ours <= 0.0 or theirs <= 0.0:
        return []
    for factor, words in (
        (INCH_MM, "the back's numbers are inches but are read as millimetres"),
        (1.0 / INCH_MM, "the back's numbers are millimetres but are read as inches"),
    ):
        if not 0.5 <= theirs * factor / ours <= 2.0:
            continue
        faces = Faces(case.faces.front, _scaled(case.faces.back, factor), case.faces.tolerance_mm)
        best = choose(fits(faces)).best
        if best is not None and best.register.status is Status.PASS:
            return [
                Mistake(
                    "units",
                    f"Wrong unit: {words}. With the right one they fit, {best.orientation.words}. "
                    "Check the unit word (G20 inch, G21 mm) at the start of the back program.",
                )
            ]
    return []


def _tool(case: Case) -> list[Mistake]:
    """Look for an outline that runs beside its partner at an even distance."""
    pair = largest_pair(case.faces)
    if pair is None:
        return []
    places = [] if case.placement is None else [case.placement]
    places += [] if case.match is None else [case.match.placement]
    places += [fit.placement for fit in case.found]
    ways = ORIENTATIONS if case.orientation is None else (case.orientation,)
    for matrix in (way.matrix for way in ways):
        places.append(Placement(matrix, pair.front_curve.centroid_mm - matrix @ pair.back_curve.centroid_mm))
    for placement in places:
        gap = even_gap(pair, placement, case.faces.tolerance_mm)
        if gap is None or abs(gap) <= case.faces.tolerance_mm:
            continue
        where = "outside" if gap > 0 else "inside"
        ours = case.faces.front.outlines[pair.front].edge_radius_mm
        theirs = case.faces.back.outlines[pair.back].edge_radius_mm
        words = gap_words(gap, ours, theirs)
        reason = words or (
            "check the tool diameter and the allowance of that program"
            if pair.tools_known
            else "if the tools differ by that, name their diameters; else the tool radius is wrong in one program"
        )
        return [Mistake("tool", f"The back's outline runs {abs(gap):.2f} mm {where} the front's all round: {reason}.")]
    return []


def _odd_one(case: Case, match: Match) -> list[Mistake]:
    """Say what is off where the rest agrees."""
    faces, limit = case.faces, case.faces.tolerance_mm
    if len(match.front_hole) < 2:
        return []
    ours = faces.front.holes.centre_mm[match.front_hole]
    off = np.hypot(*(match.placement.apply(faces.back.holes.centre_mm[match.back_hole]) - ours).T)
    bad = np.flatnonzero(off > limit)
    if 0 < len(bad) <= len(off) // 2:
        at = ours[bad[0]]
        line = int(faces.back.holes.line[match.back_hole[bad[0]]])
        rest = "one hole is" if len(bad) == 1 else f"{len(bad)} holes are"
        return [
            Mistake(
                "hole",
                f"Most of it agrees, but {rest} off by up to {float(off.max()):.2f} mm, the first at "
                f"X {at[0]:g} Y {at[1]:g} (line {line} of the back): one hole is misplaced in one of the programs.",
            )
        ]
    return []


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
            ),
        )
        for outline in features.outlines
    )
    return replace(features, holes=holes, outlines=outlines, cut_box_mm=features.cut_box_mm * factor)


def shift_words(dx_mm: float, dy_mm: float) -> str:
    """Say a shift of the back, seen on the front: '0.40 mm to the right along X and 0.30 mm ...'."""
    parts: list[str] = []
    if abs(dx_mm) >= 0.0005:
        parts.append(f"{_length(dx_mm)} to the {'right' if dx_mm > 0 else 'left'} along X")
    if abs(dy_mm) >= 0.0005:
        parts.append(f"{_length(dy_mm)} {'up' if dy_mm > 0 else 'down'} along Y")
    return " and ".join(parts) + ", seen from the front" if parts else "where it should"


def _length(value_mm: float) -> str:
    return f"{abs(value_mm):.2f} mm" if abs(value_mm) >= 0.01 else f"{abs(value_mm):.4f} mm"
