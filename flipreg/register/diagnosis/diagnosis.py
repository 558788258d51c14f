"""Which usual mistake would explain that two faces are not in register.

Each mistake is a hypothesis: a correction of where the back lies, or of the programs. It is tried against the same
evidence that the verdict rests on, and named only if the faces are in register with it. Where several are, all are
named, because what both faces share cannot tell between them. The words, and what is to be changed for it, come from
an `Advice`: they differ between two programs and two setups of a job, the hypotheses don't.
"""

from dataclasses import replace

import numpy as np

from flipreg.findings import Status
from flipreg.register.decision.contrary_evidence import contrary_evidence
from flipreg.register.decision.left_over import left_over
from flipreg.register.decision.mistake import Mistake, Way
from flipreg.register.decision.unit_evidence import agrees_then, is_seen, read_in, unit_doubts
from flipreg.register.diagnosis.advice import Advice
from flipreg.register.diagnosis.two_zeros import TWO_ZEROS, doubted, two_zeros
from flipreg.register.faces.number import place
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.agreement import NEAR_MM
from flipreg.register.placing.by_design import may_be_others
from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.deviation import measured
from flipreg.register.placing.evidence import Evidence, is_clearly_less, outweighs
from flipreg.register.placing.gap import centred, even_gap, gap_words, largest_pair
from flipreg.register.placing.judge import Judged
from flipreg.register.placing.match import Match, Shared
from flipreg.register.placing.other_units import OtherUnit, other_units
from flipreg.register.placing.search import ORIENTATIONS, Fit
from flipreg.units import length_text

__all__ = ["diagnose"]

_LEAST_AGREEING = 2
"""So many features that agree as it was told show that not all of the back is turned (chosen)."""
_LEAST_DEEP, _MOST_DEEP = 0.1, 2.0
"""What cuts through wood, or most of it, is between these shares of its thickness deep (chosen)."""
_SAME_MM = 1.0
"""Placements closer than this are one, in millimetres (chosen)."""


def diagnose(judged: Judged, advice: Advice) -> tuple[Mistake, ...]:
    """Return the mistakes that would bring the faces into register; none or several.

    Parameters
    ----------
    judged : Judged
        Two faces whose register was not shown.
    advice : Advice
        Says how to mend each.
    """
    comparison = judged.comparison
    if comparison.is_ambiguous:
        return ()
    units = _units(judged, advice)
    if units:
        return tuple(units)
    mistakes = _places(comparison, advice) or _tool(comparison)
    if not mistakes and comparison.match is not None:
        mistakes = _odd_one(comparison, comparison.match)
        if not mistakes and comparison.placement is not None and _is_near(comparison):
            mistakes = doubted(left_over(comparison, comparison.placement))
    return tuple(mistakes or doubted(contrary_evidence(comparison)))


def _places(comparison: Comparison, advice: Advice) -> list[Mistake]:
    """Return the mistakes that put the back elsewhere, or lay it another way round."""
    mistakes: list[Mistake] = []
    own = _own(comparison)
    best = max((fit.evidence for fit in comparison.found), key=lambda evidence: evidence.coincide, default=None)
    if own is not None and best is not None and is_clearly_less(own.evidence, best) and not own.register.is_sure:
        own = None
    if own is not None and own.register.is_sure and comparison.is_found and own.orientation.axis == "none":
        return [advice.way_round(comparison, own.placement)]
    ways = [fit for fit in comparison.passing if fit.orientation != comparison.orientation and fit.is_evident]
    # Rows of slots in one face that cross those of the other are no quarter turn.
    ways = [
        fit
        for fit in ways
        if not (fit.orientation.is_quarter and may_be_others(fit.faces, fit.match, fit.evidence))
    ]
    if own is not None and not comparison.is_coarse:
        # What is known to a millimetre or so is no zero that could be set.
        # Other zeros of the way round that was told explain nothing where another one explains more.
        if not any(outweighs(fit.evidence, own.evidence) for fit in ways):
            mistakes += two_zeros(comparison, own)
            if not mistakes and _would_be_in_register(comparison, own):
                mistakes = _zero(comparison, own, advice)
    elif own is None and comparison.match is not None:
        mistakes += _turn(comparison, comparison.match, advice)
    is_symmetric = comparison.by_silhouette and len(comparison.passing) > 1
    if not any(mistake.is_small for mistake in mistakes) and not is_symmetric:
        if _is_near(comparison):
            # What coincides as it was told comes first; one that is misplaced is no other way round.
            ways = [fit for fit in ways if outweighs(fit.evidence, comparison.evidence)]
        if comparison.is_found and comparison.axis is None:
            # Where no axis was told there is no other one.
            ways = [fit for fit in ways if fit.orientation.axis == "none" or fit.orientation.is_quarter]
        # Numbers that are the front's as they stand are a mirror that was forgotten, before any shift across the board.
        same = [fit for fit in ways if _has_the_fronts_numbers(fit)]
        others = [fit for fit in ways if fit not in same]
        first, last = (
            [advice.way_round(comparison, fit.placement) for fit in some if _would_be_in_register(comparison, fit)]
            for some in (same, others)
        )
        mistakes = [*first, *mistakes, *last]
    return list({mistake.sentence: mistake for mistake in mistakes}.values())


def _would_be_in_register(comparison: Comparison, fit: Fit) -> bool:
    """Return whether nothing would speak against a way round if it were the one that was told."""
    there = replace(
        comparison,
        placement=fit.placement,
        orientation=fit.orientation,
        match=fit.match,
        register=fit.register,
        evidence=fit.evidence,
        others=(),
        is_found=False,
    )
    return not contrary_evidence(there)


def _has_the_fronts_numbers(fit: Fit) -> bool:
    way = fit.orientation
    is_unmoved = way.axis == "none" and not (way.is_turned or way.is_quarter)
    return is_unmoved and float(np.abs(fit.placement.offset_mm).max()) <= _SAME_MM


def _is_near(comparison: Comparison) -> bool:
    """Return whether much coincides where the back was told to be, or nearly there."""
    landing, evidence = comparison.register.landing, comparison.evidence
    return landing is not None and evidence is not None and evidence.beats_chance and landing.part_mm <= NEAR_MM


def _own(comparison: Comparison) -> Fit | None:
    """Return the fit of the way round that was told, the one near what corresponds there before all others."""
    same = [fit for fit in comparison.found if fit.orientation == comparison.orientation and fit.is_passing]
    match = comparison.match
    if match is not None:
        for fit in same:
            if float(np.abs(fit.placement.offset_mm - match.placement.offset_mm).max()) <= _SAME_MM:
                return fit
    return next((fit for fit in same if fit in comparison.passing), None)


def _zero(comparison: Comparison, own: Fit, advice: Advice) -> list[Mistake]:
    """Name a pure shift, if there is one."""
    told = comparison.placement
    if told is None or float(np.abs(told.offset_mm - own.placement.offset_mm).max()) <= 1e-4:
        return []
    return advice.zero(comparison, own.placement)


def _turn(comparison: Comparison, match: Match, advice: Advice) -> list[Mistake]:
    """Name a turn with a shift."""
    told = comparison.evidence
    if comparison.placement is None or not comparison.register.rotation_deg or told is None:
        return []
    if any(outweighs(fit.evidence, told) or is_clearly_less(told, fit.evidence) for fit in comparison.found):
        return []
    there = measured(comparison.faces, match, match.placement)
    if there.status is not Status.PASS or _some_agree(comparison, comparison.placement, match):
        return []
    moved = replace(comparison, placement=match.placement, register=there, others=(), is_found=False)
    # Single holes that are left over may be off besides.
    against = (one for one in contrary_evidence(moved) if one.check != "holes" or one.status is Status.FAIL)
    if any(against):
        return []
    return [advice.turn(comparison, match.placement)]


def _some_agree(comparison: Comparison, told: Placement, match: Match) -> bool:
    """Return whether features that a turn would take away from their like agree as it was told."""
    both = comparison.faces.comparable
    ours, theirs, _ = both.pairs(told, min(both.gate_mm, comparison.faces.misplaced_mm))
    own = ~(np.isin(ours, match.front_mark) | np.isin(theirs, match.back_mark))
    return len(np.unique(both.front_places[ours[own]])) >= _LEAST_AGREEING


def _units(judged: Judged, advice: Advice) -> list[Mistake]:
    """Try programs of one face in the other unit: where the back is said to be, then elsewhere."""
    comparison = judged.comparison
    zeros = judged.question.zeros
    others = other_units(judged.front, judged.back, zeros, judged.question.largest_mm)
    tried = [(other, read_in(judged, other)) for other in others]
    # Either of two faces may be changed to the unit of the other; with the right one it cuts into the wood.
    tried = [entry for entry in tried if _cuts_the_wood(*entry)] or tried
    agreeing = [(other, again) for other, again in tried if agrees_then(judged, again)]
    if agreeing:
        first, seen = agreeing[0]
        # More programs of the face are in that unit, if as much coincides with them.
        most = _count(seen.comparison.evidence)
        before = tried[: tried.index(agreeing[0])]
        wider = (
            one
            for one, there in before
            if set(one.names) > set(first.names) and _count(there.comparison.evidence) >= most
        )
        return [_wrong_unit(next(wider, first), advice)]
    most = max((fit.evidence.coincide for fit in comparison.found), default=0)
    for other, again in sorted(tried, key=lambda entry: (entry[0].is_written, -_best(entry[1].comparison))):
        # A unit that leaves other programs of the face in one of their own was not it.
        if _best(again.comparison) <= most or unit_doubts(again):
            continue
        # Silhouettes that fit several ways round, or to a millimetre, tell the unit and not which way the back lies.
        if again.comparison.is_ambiguous or again.comparison.is_vague:
            return [_wrong_unit(other, advice)]
        second = _places(again.comparison, advice)
        if not second and _count(again.comparison.evidence) > most:
            return [_wrong_unit(other, advice)]
        # Nor was it if the programs of a face then have two zeros.
        if second and not any(mistake.code == TWO_ZEROS for mistake in second):
            return [_both(_wrong_unit(other, advice), mistake) for mistake in second]
    # Nothing that is shared shows it; a program as large as no other, in a unit as no other, may be meant so.
    asked = [other for other, _ in tried if other.is_plain and not is_seen(comparison, other, zeros)]
    # Where that tells nothing either, one face is far too large, or the other one far too small.
    either = [one for one in asked if one.is_front is not asked[0].is_front][:1]
    return [replace(_wrong_unit(other, advice), is_certain=False) for other in (*asked[:1], *either)]


def _cuts_the_wood(other: OtherUnit, again: Judged) -> bool:
    """Return whether programs, read in another unit, cut about as deep as wood of the thickness that was told."""
    faces = again.comparison.faces
    deepest_mm = (faces.front if other.is_front else faces.back).deepest_mm
    thickness_mm = faces.meeting.thickness_mm
    if thickness_mm is None or deepest_mm == 0.0:
        return True
    return _LEAST_DEEP * thickness_mm <= deepest_mm <= _MOST_DEEP * thickness_mm


def _best(comparison: Comparison) -> int:
    """Return how much coincides at most in a way round that fits."""
    return max((fit.evidence.coincide for fit in comparison.passing), default=0)


def _count(evidence: Evidence | None) -> int:
    return 0 if evidence is None else evidence.coincide


def _wrong_unit(other: OtherUnit, advice: Advice) -> Mistake:
    names = ", ".join(other.names)
    read, written = ("millimetres", "inches") if other.unit == "inch" else ("inches", "millimetres")
    size = "small" if other.unit == "inch" else "large"
    return Mistake(
        "units",
        f"wrong unit: the numbers of {names} are {written} but are read as {read} (25.4 times too {size})",
        (advice.unit(other),),
        is_certain=True,
    )


def _both(first: Mistake, second: Mistake) -> Mistake:
    """Return two mistakes made at once."""
    one = first.ways[0]
    return replace(
        second,
        code=f"{first.code} + {second.code}",
        reason=f"two mistakes at once: {first.reason}, and {second.reason}",
        ways=tuple(
            Way(f"{one.words}, and {way.words}", (*one.changes, *way.changes) if way.changes else ())
            for way in second.ways
        ),
        is_certain=True,
    )


def _tool(comparison: Comparison) -> list[Mistake]:
    """Look for an outline that runs beside its partner at an even distance."""
    pair = largest_pair(comparison.faces)
    if pair is None:
        return []
    for placement in _centred_places(comparison, pair):
        limit = comparison.faces.tolerance_mm
        gap = even_gap(pair, placement, limit, over_mm=limit)
        if gap is None:
            continue
        ours = comparison.faces.front.outlines[pair.front].edge_radius_mm
        theirs = comparison.faces.back.outlines[pair.back].edge_radius_mm
        words = gap_words(gap, ours, theirs)
        is_edge = pair.goes_through and not comparison.faces.is_rebated(pair.front, pair.back)
        if pair.tools_known and not is_edge:
            # It may be a lip, or rings of a carving, which are no reason to doubt a tool.
            continue
        where = "outside" if gap > 0 else "inside"
        cure = (
            "check the tool diameter and the allowance the program was made with"
            if pair.tools_known
            else "name the tool diameters; if the tools are alike, one program was made for another tool"
        )
        return [
            Mistake(
                "tool",
                f"the back's outline runs {length_text(abs(gap))} {where} the front's all round"
                + (f", {words}" if words else ""),
                (Way(cure),),
                is_certain=words is not None and is_edge,
            )
        ]
    return []


def _centred_places(comparison: Comparison, pair: Shared) -> list[Placement]:
    """Return placements where the largest outlines may lie one in the other."""
    places = [] if comparison.placement is None else [comparison.placement]
    places += [] if comparison.match is None else [comparison.match.placement]
    places += [fit.placement for fit in comparison.found]
    ways = ORIENTATIONS if comparison.orientation is None else (comparison.orientation,)
    return places + [centred(pair, way.matrix) for way in ways]


def _odd_one(comparison: Comparison, match: Match) -> list[Mistake]:
    """Say which holes are off where the rest agrees."""
    faces, limit = comparison.faces, comparison.faces.tolerance_mm
    if len(match.front_hole) + 4 * len(match.outlines) < 3 or len(match.front_hole) == 0:
        return []
    ours = faces.front.holes.centre_mm[match.front_hole]
    off = np.hypot(*(match.placement.apply(faces.back.holes.centre_mm[match.back_hole]) - ours).T)
    bad = np.flatnonzero(off > limit)
    if not 0 < len(bad) <= (len(off) - 1 if match.outlines else len(off) // 2):
        return []
    hole = match.back_hole[bad[0]]
    line = int(faces.back.holes.line[hole])
    file = faces.back.names[int(faces.back.holes.program[hole])]
    rest = "one hole is" if len(bad) == 1 else f"{len(bad)} holes are"
    return [
        Mistake(
            "hole",
            f"most of it agrees, but {rest} off by up to {length_text(float(off.max()))}, "
            f"at {place(ours[bad[0]].tolist())} ({file} line {line})",
            (Way("one of the programs has the hole in a wrong place; compare both with the plan"),),
        )
    ]
