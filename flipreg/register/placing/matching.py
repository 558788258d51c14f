"""Which holes and outlines of two faces are the same, for a given placement of the back."""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.curve import Curve
from flipreg.register.faces.edge import edge_depth_mm
from flipreg.register.faces.features import Features
from flipreg.register.faces.landmarks import LandmarkKind, Landmarks
from flipreg.register.faces.near import SortedPoints
from flipreg.register.faces.notches import with_notches_of_one_width
from flipreg.register.faces.outline import Outline, Side, alike
from flipreg.register.faces.placement import Placement
from flipreg.register.faces.through import Meeting, both_deep, levels
from flipreg.register.placing.agreement import Comparable
from flipreg.register.placing.match import Match, Shared, quick_distances
from flipreg.register.placing.vote import Ballot, candidates

__all__ = ["Faces"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

OUTLINE_GATE_MM = 1.0
"""Outlines are the same edge if half of each runs within this of the other, in millimetres (chosen)."""
_GATE_MM = (0.2, 0.3)
"""Features coincide within twice the tolerance, but at least and at most this, in millimetres (chosen):
once the back lies where it belongs, features of one part are closer together than that."""
_LEAST_OFF_MM = 0.05
"""Features that are off by no more coincide even where the tolerance is less, in millimetres (chosen)."""
_LEAST_KNOWN = 16
"""Fewer samples that can be compared show nothing of an outline (chosen)."""
_SHAPE_WORTH = 3
"""What a profile tells besides its place: size, direction and hand."""
_AS_DEEP = 0.9
"""Openings are as deep as this share of the deepest cuts of both faces together (chosen)."""
_REBATE = 0.75
"""Less deep than this share of what the other face cuts there an outline may be a rebate's (chosen)."""
OUTLINE_WEIGHT = 6.0
"""How many holes an outline is worth when the back is laid on the front (chosen)."""


@dataclass(slots=True, eq=False)
class Faces:
    """Two faces to be compared, with the curves of their outlines made once.

    Attributes
    ----------
    front, back : Features
        Each in its own program frame.
    tolerance_mm : float
        What counts as agreement.
    meeting : Meeting
        When cuts of both faces go through together, so that they may be one hole.
    wider_mm : float
        By how much tools that nobody told are taken to differ, as `flipreg.register.faces.notches` has it.
    """

    front: Features
    back: Features
    tolerance_mm: float
    meeting: Meeting = field(default_factory=Meeting)
    wider_mm: float = 0.0
    _curves: dict[tuple[int, int, float, float], Curve] = field(default_factory=dict)
    _pairs: list[Shared] | None = None
    _middles: tuple[Floats, Floats, Floats] | None = None
    _grids: dict[tuple[str, float], SortedPoints] = field(default_factory=dict)
    _comparable: Comparable | None = None
    _deepest_mm: float | None = None
    _few: dict[int, "Faces"] = field(default_factory=dict)
    _ballots: dict[bytes, list[Ballot]] = field(default_factory=dict)

    @classmethod
    def of(
        cls, front: Features, back: Features, tolerance_mm: float, *, thickness_mm: float | None = None
    ) -> "Faces":
        """Return two faces with the holes that may be one in both: blind ones are left out."""
        deepest = max(front.deepest_mm, back.deepest_mm)
        meeting = Meeting.of(thickness_mm, deepest, min(front.top_mm, back.top_mm), edge_depth_mm(front, back))
        ours, theirs, wider_mm = with_notches_of_one_width(front.marks, back.marks)
        one = replace(front.that_may_meet(back, meeting), marks=ours)
        return cls(one, replace(back.that_may_meet(front, meeting), marks=theirs), tolerance_mm, meeting, wider_mm)

    def thinned(self, most: int) -> "Faces":
        """Return the same with no more than about so many holes, and features of each kind, of the back."""
        if len(self.back.holes) <= most and len(self.back.marks) <= most:
            return self
        if most not in self._few:
            outlines, few = self.outline_pairs(), self.back.thinned(most)
            self._few[most] = Faces(
                self.front, few, self.tolerance_mm, self.meeting, self.wider_mm, _curves=self._curves, _pairs=outlines
            )
        return self._few[most]

    @property
    def softness_mm(self) -> float:
        """Distance at which a feature counts half in a score."""
        return max(2.0 * self.tolerance_mm, 0.1)

    @property
    def misplaced_mm(self) -> float:
        """What is further from its like is misplaced, where the rest agrees."""
        return max(self.tolerance_mm, _LEAST_OFF_MM)

    @property
    def comparable(self) -> Comparable:
        """All features of both faces, ready to be laid on one another."""
        if self._comparable is None:
            gate = float(np.clip(self.softness_mm, *_GATE_MM))
            box = self.front.cut_box_mm
            self._comparable = Comparable(self.front.landmarks(), self.back.landmarks(), gate, box[2:] - box[:2])
        return self._comparable

    def ballots(self, matrix: Floats) -> list[Ballot]:
        """Return the shifts that most features vote for, with the back turned as `matrix` says, most first."""
        key = matrix.tobytes()
        if key not in self._ballots:
            self._ballots[key] = candidates(self.comparable, matrix)
        return self._ballots[key]

    def outline_pairs(self) -> list[Shared]:
        """Return all pairs of outlines alike in size, wherever they lie."""
        if self._pairs is None:
            pairs = [
                self.pair(i, j)
                for i, front in enumerate(self.front.outlines)
                for j, back in enumerate(self.back.outlines)
                if alike(front, back) and self._may_be_one(i, j)
            ]
            # Small contours lie near one another by chance; only those of one shape are worth comparing.
            large = 0.25 * min(self.front.size_mm, self.back.size_mm)
            self._pairs = [
                pair for pair in pairs if pair.is_one_shape or self.front.outlines[pair.front].loop.size_mm >= large
            ]
        return self._pairs

    def match(self, placement: Placement, *, loose: float = 1.0) -> Match:
        """Return what corresponds when the back lies at `placement`.

        `loose` widens how far apart features may lie: for a first look at a placement that is not settled.
        """
        return self._with_marks(self._holes_and_outlines(placement, loose), loose)

    def pulling(self, placement: Placement, *, loose: float) -> Match:
        """Return of what corresponds what moves the back: features of other kinds only where they alone can."""
        match = self._holes_and_outlines(placement, loose)
        return match if match.fixes_place else self._with_marks(match, loose)

    def _holes_and_outlines(self, placement: Placement, loose: float) -> Match:
        _, front_hole, back_hole = self._hole_pairs(placement.matrix, placement.offset_mm[np.newaxis], loose)
        none = np.empty(0, np.intp)
        return Match(placement, front_hole, back_hole, self._outlines_at(placement, loose), none, none)

    def _with_marks(self, match: Match, loose: float) -> Match:
        front_mark, back_mark, _ = self.comparable.pairs(match.placement, self.comparable.gate_mm * loose)
        return replace(match, front_mark=front_mark, back_mark=back_mark)

    def looks(self, matrix: Floats, offsets_mm: Floats, *, loose: float) -> tuple[Rows, Rows]:
        """Return how many holes, and how much of all, corresponds at several shifts, as `match` would: shapes (m,)."""
        count = len(offsets_mm)
        holes = np.bincount(self._hole_pairs(matrix, offsets_mm, loose)[0], minlength=count)
        marks = self.comparable.counts(matrix, offsets_mm, self.comparable.gate_mm * loose)
        places = [Placement(matrix, offset) for offset in offsets_mm]
        worth = [sum(map(self.worth, self._outlines_at(place, loose))) for place in places]
        return holes, marks + np.array(worth, np.intp)

    def _outlines_at(self, placement: Placement, loose: float) -> tuple[Shared, ...]:
        """Return the pairs of outlines that are one edge at a placement, each outline once."""
        ranked: list[tuple[float, float, Shared]] = []
        for pair in self._near_pairs(placement):
            off = quick_distances(pair, placement)
            if len(off) < _LEAST_KNOWN:
                continue
            middle = float(np.median(off))
            if middle <= loose * max(OUTLINE_GATE_MM, 2.0 * self.tolerance_mm):
                agreement = float(np.mean(1.0 / (1.0 + (off / self.softness_mm) ** 2)))
                ranked.append((-agreement, middle, pair))
        ranked.sort(key=lambda entry: entry[:2])
        chosen: list[Shared] = []
        for _, _, pair in ranked:
            if all(pair.front != other.front and pair.back != other.back for other in chosen):
                chosen.append(pair)
        return tuple(chosen)

    def _near_pairs(self, placement: Placement) -> list[Shared]:
        """Return the pairs of outlines whose middles lie close together."""
        pairs = self.outline_pairs()
        if self._middles is None:
            ours = np.array([pair.front_curve.centroid_mm for pair in pairs]).reshape(-1, 2)
            theirs = np.array([pair.back_curve.centroid_mm for pair in pairs]).reshape(-1, 2)
            self._middles = ours, theirs, 3.0 + 0.03 * np.array([pair.front_curve.length_mm for pair in pairs])
        ours, theirs, reach = self._middles
        near = np.hypot(*(placement.apply(theirs) - ours).T) <= reach
        return [pairs[row] for row in near.nonzero()[0].tolist()]

    def worth(self, pair: Shared) -> int:
        """Return how many features a pair of outlines that agree all round counts for, besides its place.

        A profile tells its size, its direction and its hand. A recess may have its like by design, and counts as what
        it is: one feature.
        """
        sides = self.front.outlines[pair.front].side, self.back.outlines[pair.back].side
        is_profile = pair.front == pair.back == 0 and sides == (Side.INSIDE, Side.INSIDE)
        return _SHAPE_WORTH if pair.goes_through or is_profile else 0

    def box_mm(self, placement: Placement) -> Floats:
        """Return xmin, ymin, xmax, ymax of the part when the back lies at a placement; NaN without a cut."""
        ours, theirs = self.front.part_box_mm, self.back.part_box_mm
        back = placement.apply(np.array([(x, y) for x in theirs[::2] for y in theirs[1::2]]))
        low = np.fmin(ours[:2], np.fmin.reduce(back))
        return np.concatenate([low, np.fmax(ours[2:], np.fmax.reduce(back))])

    @property
    def is_round(self) -> bool:
        """Whether all that both faces show is round about one point of each: then a turn changes nothing."""
        return self.front.is_round and self.back.is_round

    @property
    def most_worth(self) -> int:
        """How many features the outlines of the faces count for besides their places, if all of them agree."""
        told = [pair for pair in self.outline_pairs() if self.worth(pair)]
        return _SHAPE_WORTH * min(len({pair.front for pair in told}), len({pair.back for pair in told}))

    def _hole_pairs(self, matrix: Floats, offsets_mm: Floats, loose: float) -> tuple[Rows, Rows, Rows]:
        """Return mutually nearest holes that at least touch one another, at each of several shifts, shape (m, 2).

        The first array has the number of the shift.
        """
        ours, count = self.front.holes.centre_mm, len(self.back.holes)
        if len(ours) == 0 or count == 0:
            none = np.empty(0, np.intp)
            return none, none, none
        theirs = (self.back.holes.centre_mm @ matrix.T + offsets_mm[:, np.newaxis]).reshape(-1, 2)
        # Isometries keep distances, so each face's grid serves in its own frame for every placement.
        found = self._grid("front", loose).nearest(theirs)
        row = np.flatnonzero(found >= 0)
        there = (ours[found[row]] - offsets_mm[row // count]) @ matrix
        row = row[self._grid("back", loose).nearest(there) == row % count]
        which, back, front = row // count, row % count, found[row]
        distance = np.hypot(*(theirs[row] - ours[front]).T)
        reach = self.front.holes.reach_mm()[front] + self.back.holes.reach_mm()[back]
        with np.errstate(invalid="ignore"):
            ours_wide, theirs_wide = self.front.holes.diameter_mm[front], self.back.holes.diameter_mm[back]
            unlike = np.abs(ours_wide - theirs_wide) > np.maximum(0.3, 0.15 * ours_wide)
        # How wide a tool that nobody told plunges is not known, and no reason to take a bore nearby for the same hole.
        unlike |= np.isnan(ours_wide) != np.isnan(theirs_wide)
        # A counterbore over a hole is the same place; a small hole beside a large one is another hole.
        reach = np.where(unlike, np.minimum(reach, 0.5 + 2.0 * self.tolerance_mm), reach)
        ours_cut, theirs_cut = self.front.holes.take(front), self.back.holes.take(back)
        cuts = ours_cut.depth_mm, ours_cut.height_mm, theirs_cut.depth_mm, theirs_cut.height_mm
        # Holes that fall short of each other show register where they agree, and may be two where they don't; so does
        # a mark scratched into one face near a hole through the other.
        is_deep = self.meeting.meet(*cuts) & both_deep(*cuts)
        reach = np.where(is_deep, reach, np.minimum(reach, self.softness_mm))
        touching = (distance <= loose * reach) & self.meeting.may_meet(*cuts)
        return which[touching], front[touching], back[touching]

    def _may_be_one(self, i: int, j: int) -> bool:
        """Whether two contours can be one edge: together they go through, or each is the largest of its face.

        A part may be sawn out where its profiles leave a web; passes of a bowl and of a recess are no edge of both.
        """
        return i == j == 0 or self._go_through(i, j)

    def meet(self, i: int, j: int, meeting: Meeting) -> bool:
        """Return whether outline `i` of the front and `j` of the back may go through together, by how deep they are."""
        return bool(meeting.may_meet(*self._levels(i, j)).all())

    def is_rebated(self, i: int, j: int) -> bool:
        """Return whether outline `i` of the front or `j` of the back may be a rebate along what the other cuts through.

        An edge that both faces cut is cut about as deep from either.
        """
        levels_mm = self._levels(i, j)
        alone = [bool(self.meeting.go_through_alone(*levels_mm[row : row + 2]).all()) for row in (0, 2)]
        shallow, deep = sorted((float(levels_mm[0][0]), float(levels_mm[2][0])))
        return alone[0] != alone[1] or shallow < _REBATE * deep

    def marks_meet(self, ours: Landmarks, theirs: Landmarks, meeting: Meeting) -> NDArray[np.bool_]:
        """Return which features of the front may go through with that of the back in the same row, shape (n,)."""
        found = list[Floats]()
        for marks, side in ((ours, self.front), (theirs, self.back)):
            tops_mm = np.array(side.tops_mm)[np.array(side.of_program, np.intp)[marks.program]]
            found += levels(marks.floor_mm, tops_mm).values()
        return meeting.may_meet(*found)

    def are_blind(self, front: Rows, back: Rows) -> bool:
        """Return whether none of these pairs of features can go through wood that is known to be so thick.

        Where its thickness isn't known, what is cut no deeper than a tool goes below it is an engraving, but for holes.
        """
        if len(front) == 0:
            return False
        marks = self.comparable.front.take(front), self.comparable.back.take(back)
        if not self.meeting.shows_thickness:
            is_hole = (marks[0].kind == LandmarkKind.HOLE) | (marks[1].kind == LandmarkKind.HOLE)
            return self.meeting.surely_mm <= 0.0 and not is_hole.any()
        return self.meeting.thickness_mm is not None and not self.marks_meet(*marks, self.meeting).any()

    def _levels(self, i: int, j: int) -> list[Floats]:
        """Return depth and height of an outline of the front, and of one of the back, as `levels` gives them."""
        ours, theirs = self.front.outlines[i], self.back.outlines[j]
        return [
            *self.front.levels_mm(ours.program, ours.loop.floor_mm),
            *self.back.levels_mm(theirs.program, theirs.loop.floor_mm),
        ]

    def _go_through(self, i: int, j: int) -> bool:
        ours, theirs = self.front.outlines[i], self.back.outlines[j]
        if ours.is_silhouette:
            return True
        found = self._levels(i, j)
        may = bool(self.meeting.may_meet(*found).all())
        if not self.meeting.shows_thickness and Side.OUTSIDE in (ours.side, theirs.side):
            # Where only a least thickness of the wood is known, a shallow recess would pass for an opening: only the
            # deepest may be one.
            may &= bool((found[0] + found[2] >= _AS_DEEP * self._both_deepest_mm()).all())
        return may

    def _both_deepest_mm(self) -> float:
        if self._deepest_mm is None:
            self._deepest_mm = self.front.deepest_mm + self.back.deepest_mm
        return self._deepest_mm

    def _grid(self, face: str, loose: float) -> SortedPoints:
        """Return the holes of a face in a grid in which all that may touch are neighbours."""
        if (face, loose) not in self._grids:
            reach = sum(float(features.holes.reach_mm().max(initial=0.5)) for features in (self.front, self.back))
            holes = self.front.holes if face == "front" else self.back.holes
            self._grids[face, loose] = SortedPoints(holes.centre_mm, loose * reach)
        return self._grids[face, loose]

    def pair(self, i: int, j: int) -> Shared:
        """Return outline `i` of the front and `j` of the back as a pair, alike or not."""
        front, back = self.front.outlines[i], self.back.outlines[j]
        ours, theirs = front.edge_radius_mm, back.edge_radius_mm
        known = ours is not None and theirs is not None
        front_radius, back_radius = (ours or 0.0, theirs or 0.0) if known else (0.0, 0.0)
        widest = max(front_radius, back_radius)
        side = _side_of_both(front, back).value
        return Shared(
            i,
            j,
            self._curve(front, side, front_radius, widest),
            self._curve(back, side, back_radius, widest),
            known,
            self._go_through(i, j),
        )

    def _curve(self, outline: Outline, side: int, radius_mm: float, widest_mm: float) -> Curve:
        key = (id(outline), side, radius_mm, widest_mm)
        if key not in self._curves:
            self._curves[key] = Curve.of_loop(outline.loop, side, radius_mm, widest_mm)
        return self._curves[key]


def _side_of_both(front: Outline, back: Outline) -> Side:
    """Return on which side of two contours their edge lies, if it is one edge.

    Where they seem to disagree, one of the profiles has a facing pass around it, or one of the openings is cleared and
    the other is not; with tools of two sizes only one of these makes edges of one size.
    """
    radii_mm = front.edge_radius_mm, back.edge_radius_mm
    if front.leaves_nothing or back.leaves_nothing:
        return Side.OUTSIDE
    if front.side is back.side or radii_mm[0] is None or radii_mm[1] is None:
        return front.side if front.side is back.side else Side.INSIDE
    apart_mm2 = {
        side: abs(
            front.loop.area_mm2 + side.value * front.loop.length_mm * radii_mm[0]
            - back.loop.area_mm2 - side.value * back.loop.length_mm * radii_mm[1]
        )
        for side in Side
    }
    return min(Side, key=apart_mm2.__getitem__)
