"""The placement of a back program in which most of what both faces show coincides."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.near import apart, thinned
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.match import Match, Shared
from flipreg.register.placing.matching import OUTLINE_WEIGHT, Faces
from flipreg.register.placing.vote import piled_up

__all__ = ["Pull", "best_matches", "hole_votes", "pull_of", "refined"]

Floats = NDArray[np.float64]

_VOTERS = 400
"""Holes a face that vote for a shift (chosen), to bound the number of differences."""
_PEAKS = 6
"""Shifts that are tried of those that holes through both faces vote for, most votes first (chosen): the right one, and
room for those that a pattern of holes gives a pitch or two beside it."""
_OUTLINE_TRIES = 12
"""Pairs of outlines whose centres are laid on one another, largest first (chosen): mostly the first is the profile."""
_BALLOTS = 12
"""Shifts that are tried of those that features of any kind vote for, most votes first (chosen): more than of holes, for
engraved letters and pads outvote what goes through."""
_THROUGH = 3
"""So many holes through both faces are looked at before all that is engraved (chosen)."""
_LEAST_TO_TURN = 4
"""Features without an outline or two holes through that may turn the back (chosen)."""
_POINTS, _ROUNDS, _STILL = 240, 25, 1e-5
"""Points of each outline, most rounds of least squares by which a placement is settled, and the step, as a share of the
tolerance, below which it is (chosen)."""
_ROUGH_POINTS, _ROUGH_ROUNDS, _ROUGH_STILL = 80, 8, 0.1
"""The same for the first look, which has only to come within reach of the closer one (chosen)."""
_LOOSE = 5.0
"""How many times further apart features may lie before the placement is settled (chosen)."""
_REFINED = 4
"""Placements that are settled for one way round, best first look first (chosen)."""
_PROMISING = 0.4
"""So much of the most that coincides at first look is enough to settle a placement (chosen): what explains less never
answers for what explains the most."""
_LOOKED_AT = 400
"""Holes and features of the back by which placements are looked at and settled (chosen)."""
_PROBES, _NEIGHBOURS = 24, 9
"""Features by which it is seen how a pattern repeats, and places next to them (chosen)."""
_SAME_STEP = 0.4
"""A pattern repeats by a step that so many share, of those that the most common one is seen at (chosen)."""
_KEPT = 2
"""Where there are more, placements of a way round that are held against all of them (chosen): two show a pitch."""
_ONE_LOOK_MM = 0.01
"""Placements closer together are looked at once (chosen): far within what may lie apart at a first look."""
_ONE_PLACE_MM = 0.5
"""Placements that begin closer together settle at one (chosen)."""


class Pull:
    """Pairs of points that ought to coincide, with what each can say.

    Attributes
    ----------
    front_mm, back_mm : float64, shape (n, 2)
        The places, each in its own frame.
    along : float64, shape (n, 2)
        Direction in the front's frame in which the pair says nothing, because an outline may slide along
        itself; zero for holes.
    weight : float64, shape (n,)
        How much a pair counts.
    """

    __slots__ = ("along", "back_mm", "front_mm", "weight")

    def __init__(self, front_mm: Floats, back_mm: Floats, along: Floats, weight: Floats) -> None:
        self.front_mm, self.back_mm, self.along, self.weight = front_mm, back_mm, along, weight


def best_matches(faces: Faces, matrices: Sequence[Floats]) -> list[list[Match]]:
    """Return the matches in which most coincides with the back turned as each matrix says: at most a few for each.

    Parameters
    ----------
    faces : Faces
        What is compared.
    matrices : arrays, shape (2, 2)
        Orientations of the back in the front's frame; small turns away from them are found too.
    """
    few = faces.thinned(_LOOKED_AT)
    looks = [_first_looks(faces, few, matrix) for matrix in matrices]
    most = max((count for tries in looks for _, count, _ in tries), default=0)
    settled = [_settled_of(few, tries, most) for tries in looks]
    if few is faces:
        return settled
    return _held_against_all(faces, few, [[*way, *_a_pitch_off(few, way)] for way in settled])


def _a_pitch_off(faces: Faces, settled: Sequence[Match]) -> list[Match]:
    """Return matches a pitch away from the best one: among very many features votes may miss them."""
    if not settled:
        return []
    both = faces.comparable
    best = max(settled, key=lambda match: len(match.front_mark)).placement
    at = best.apply(thinned(both.back.centre_mm, _PROBES))
    steps: list[Floats] = []
    for place in at:
        off = both.front.centre_mm - place
        steps.append(off[np.argpartition(np.hypot(*off.T), min(_NEIGHBOURS, len(off) - 1))[:_NEIGHBOURS]])
    cell = 4.0 * both.gate_mm
    shifts = piled_up(np.concatenate(steps), cell, most=_NEIGHBOURS, share=_SAME_STEP)
    return [faces.match(best.shifted(shift)) for shift in shifts if float(np.hypot(*shift)) > cell]


def _held_against_all(faces: Faces, few: Faces, settled: Sequence[Sequence[Match]]) -> list[list[Match]]:
    """Return the matches of all features where most of a few features coincide, or most holes."""
    counts = [[(len(match.front_mark), _holes(few, match)) for match in way] for way in settled]
    best = np.max([(0, 0), *(count for way in counts for count in way)], axis=0)
    found: list[list[Match]] = []
    for way, of_way in zip(counts, settled, strict=True):
        order = sorted(range(len(of_way)), key=lambda row: way[row], reverse=True)
        kept = [row for row in order if any(np.array(way[row]) >= np.maximum(1, _PROMISING * best))]
        found.append([faces.match(of_way[row].placement) for row in kept[:_KEPT]])
    return found


def _holes(faces: Faces, match: Match) -> int:
    """Return how many holes coincide."""
    ours = faces.front.holes.centre_mm[match.front_hole]
    theirs = match.placement.apply(faces.back.holes.centre_mm[match.back_hole])
    return int((np.hypot(*(theirs - ours).T) <= faces.comparable.gate_mm).sum())


def _first_looks(faces: Faces, few: Faces, matrix: Floats) -> list[tuple[bool, int, Placement]]:
    """Return placements worth a try, most promising first: whether holes through meet there, and how much does."""
    offsets = _candidates(faces, matrix)
    offsets = offsets[apart(offsets, _ONE_LOOK_MM)]
    holes, counts = few.looks(matrix, offsets, loose=_LOOSE)
    tries = [
        (through >= _THROUGH, count, Placement(matrix, offset))
        for through, count, offset in zip(holes.tolist(), counts.tolist(), offsets, strict=True)
    ]
    return sorted(tries, key=lambda look: look[:2], reverse=True)


def _settled_of(faces: Faces, tries: Sequence[tuple[bool, int, Placement]], most: int) -> list[Match]:
    begun: list[Floats] = []
    found: list[Match] = []
    for goes_through, count, placement in tries:
        is_known = any(float(np.abs(placement.offset_mm - one).max()) <= _ONE_PLACE_MM for one in begun)
        if is_known or not (goes_through or count >= _PROMISING * most):
            continue
        begun.append(placement.offset_mm)
        match = refined(faces, placement)
        if match is not None:
            found.append(match)
        if len(begun) == _REFINED:
            break
    return found


def refined(faces: Faces, placement: Placement) -> Match | None:
    """Return the match after least squares has moved the back onto the front, None if nothing matches.

    Points that disagree with the rest count little, so that one misplaced hole does not drag the others along.
    """
    few = faces.thinned(_LOOKED_AT)
    rough, close = (_LOOSE, _ROUGH_POINTS, _ROUGH_ROUNDS, _ROUGH_STILL), (1.0, _POINTS, _ROUNDS, _STILL)
    for loose, points, rounds, still in (rough, close):
        match = few.pulling(placement, loose=loose)
        if match.is_empty:
            return None
        placement = _settled(few, match, points, rounds, still * faces.tolerance_mm)
    match = faces.match(placement)
    return None if match.is_empty else match


def pull_of(faces: Faces, match: Match, placement: Placement, most: int = _POINTS) -> Pull:
    """Return the pairs of points that the matched features give at a placement, of each outline and of holes `most`."""
    if not match.fixes_place and len(match.front_mark):
        ours, theirs = faces.comparable.front.centre_mm, faces.comparable.back.centre_mm
        count = len(match.front_mark)
        return Pull(ours[match.front_mark], theirs[match.back_mark], np.zeros((count, 2)), np.ones(count))
    our_hole, their_hole = thinned(match.front_hole, most), thinned(match.back_hole, most)
    front, back = [faces.front.holes.centre_mm[our_hole]], [faces.back.holes.centre_mm[their_hole]]
    along, weight = [np.zeros((len(our_hole), 2))], [np.ones(len(our_hole))]
    for pair in match.outlines:
        ours, theirs, direction = _edge_pairs(pair, placement, most)
        front.append(ours)
        back.append(theirs)
        along.append(direction)
        weight.append(np.full(len(ours), OUTLINE_WEIGHT / max(1, len(ours))))
    return Pull(np.concatenate(front), np.concatenate(back), np.concatenate(along), np.concatenate(weight))


def _edge_pairs(pair: Shared, placement: Placement, most: int) -> tuple[Floats, Floats, Floats]:
    """Return nearest places of two outlines, both ways: front's, back's, direction in the front's frame."""
    theirs = thinned(pair.back_curve.samples_mm, most)
    foot, direction, known = pair.front_curve.nearest(placement.apply(theirs))
    ours = thinned(pair.front_curve.samples_mm, most)
    back_foot, back_direction, back_known = pair.back_curve.nearest(placement.undo(ours))
    return (
        np.concatenate([foot[known], ours[back_known]]),
        np.concatenate([theirs[known], back_foot[back_known]]),
        np.concatenate([direction[known], back_direction[back_known] @ placement.matrix.T]),
    )


def _settled(faces: Faces, match: Match, points: int, rounds: int, still_mm: float) -> Placement:
    placement = match.placement
    for _ in range(rounds):
        pull = pull_of(faces, match, placement, points)
        if len(pull.weight) == 0:
            return placement
        there = placement.apply(pull.back_mm)
        turn, about, shift = _step(pull, there, may_turn=_can_turn(match))
        placement = placement.moved(turn, about, shift)
        if abs(turn) * max(1.0, faces.front.size_mm) + float(np.abs(shift).max()) < still_mm:
            break
    return placement


def _can_turn(match: Match) -> bool:
    return match.fixes_place or len(match.front_mark) >= _LEAST_TO_TURN


def _step(pull: Pull, there: Floats, *, may_turn: bool) -> tuple[float, Floats, Floats]:
    """Return the small turn (radians), the point it is about, and the shift that bring `there` closer."""
    gap = pull.front_mm - there
    edge = np.abs(pull.along).sum(axis=1) > 0
    normal = np.column_stack([-pull.along[:, 1], pull.along[:, 0]])
    away = (gap * normal).sum(axis=1)
    off = np.where(edge, np.abs(away), np.hypot(gap[:, 0], gap[:, 1]))
    usual = max(0.02, 1.5 * float(np.median(off)))
    weight = np.sqrt(pull.weight / (1.0 + (off / usual) ** 2))
    about = pull.weight @ there / pull.weight.sum()
    arm = there - about
    size = max(1e-9, float(np.sqrt((arm**2).sum(axis=1).mean())))
    spun = np.column_stack([-arm[:, 1], arm[:, 0]]) * (may_turn / size)
    # An edge says something along its normal, a point along X and along Y.
    point, zero = ~edge, np.zeros(int(np.count_nonzero(~edge)))
    ways = (
        np.column_stack([normal[edge], (spun[edge] * normal[edge]).sum(axis=1)]),
        np.column_stack([zero + 1.0, zero, spun[point, 0]]),
        np.column_stack([zero, zero + 1.0, spun[point, 1]]),
    )
    heavy = np.concatenate([weight[edge], weight[point], weight[point]])
    rows, right = np.concatenate(ways), np.concatenate([away[edge], gap[point, 0], gap[point, 1]])
    # The cut-off keeps what the features do not fix (a circle's turn) where it is.
    solution = np.linalg.lstsq(rows * heavy[:, np.newaxis], right * heavy, rcond=0.01)[0]
    return float(np.clip(solution[2] / size, -0.2, 0.2)), about, solution[:2]


def _candidates(faces: Faces, matrix: Floats) -> Floats:
    """Return shifts worth a try, shape (n, 2): those that features vote for, and where outlines' centres coincide."""
    tries = [ballot.placement.offset_mm for ballot in faces.ballots(matrix)[:_BALLOTS]]
    # Where much is engraved, holes through the blank are outvoted, although they say more.
    theirs = faces.back.holes.centre_mm @ matrix.T
    tries += list(hole_votes(faces.front.holes.centre_mm, theirs, faces.tolerance_mm)[:_PEAKS])
    if len(faces.front.holes) and len(faces.back.holes):
        # A large lattice fits after so many shifts that votes miss the one that leaves nothing over.
        tries.append(_middle(faces.front.holes.centre_mm) - _middle(theirs))
    pairs = sorted(faces.outline_pairs(), key=lambda pair: -pair.front_curve.area_mm2)
    for pair in pairs[:_OUTLINE_TRIES]:
        tries.append(pair.front_curve.centroid_mm - matrix @ pair.back_curve.centroid_mm)
    return np.array(tries).reshape(-1, 2)


def _middle(points: Floats) -> Floats:
    return np.asarray((points.min(axis=0) + points.max(axis=0)) / 2.0)


def hole_votes(ours: Floats, theirs: Floats, tolerance_mm: float) -> Floats:
    """Return the shifts that bring most of the points `theirs` onto points `ours`, most votes first, shape (k, 2).

    Both of shape (n, 2), in millimetres in one frame.
    """
    ours, theirs = thinned(ours, _VOTERS), thinned(theirs, _VOTERS)
    if len(ours) < 2 or len(theirs) < 2:
        return np.empty((0, 2))
    shift = (ours[:, np.newaxis] - theirs).reshape(-1, 2)
    return piled_up(shift, max(1.0, 4.0 * tolerance_mm), most=_PEAKS, least=2.0)
