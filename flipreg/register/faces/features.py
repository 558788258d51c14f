"""What a face shows that the other face may share: holes and outlines, and where it cuts at all.

Positions are in the program frame of the face, in millimetres.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path
from flipreg.program.face import Face, FaceProgram
from flipreg.register.faces.chords import Cut, cutting_rows, is_still, wood_top
from flipreg.register.faces.holes import Holes, one_each
from flipreg.register.faces.landmarks import LandmarkKind, Landmarks, joined, of_contours, of_holes
from flipreg.register.faces.loop import Loop, circles_of
from flipreg.register.faces.loops import find_loops
from flipreg.register.faces.near import thinned
from flipreg.register.faces.open_cuts import goes_round, open_cuts
from flipreg.register.faces.outline import Outline, Side
from flipreg.register.faces.passes import final_passes, leave_edges
from flipreg.register.faces.through import Meeting, levels

__all__ = ["Features", "drilled_holes", "face_features", "face_holes"]

Floats = NDArray[np.float64]

_ROUND, _ROUND_MM = 0.001, 0.05
"""Moments of a circle are no larger, and circles about one point no further off, in millimetres (chosen)."""
HOLE_MM = 40.0
"""A round loop up to this size is a bored hole, in millimetres, a larger one an outline (chosen)."""
_ROUND_ALL = 0.8
"""A profile that reaches over this share of all that is cut, both ways, is the edge of the part (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Features:
    """All that a face shows.

    Attributes
    ----------
    holes : Holes
        Drilled, plunged and bored holes; in a comparison only those that may go through.
    blind : Holes or None
        Those that a comparison leaves out because they cannot go through.
    goes_round : bool
        Whether all that is cut across are closed loops, and what leads into them.
    outlines : tuple of Outline
        Closed contours, largest first; of several passes round one contour the one that makes the edge.
    marks : Landmarks
        Closed contours of any size and depth, and slots and corners of open cuts: all but the holes.
    cuts : tuple of Cut
        The cutting of each stretch with one tool, which is mostly a whole program.
    radius_mm : tuple of (float or None)
        Tool radius of each.
    names : tuple of str
        Name of the program of each stretch.
    of_program : tuple of int
        Index of that program in the face.
    cut_box_mm : float64, shape (4,)
        xmin, ymin, xmax, ymax of the tool's centre while cutting; NaN where nothing is cut.
    top_is_zero : bool
        Whether Z zero is the top of the blank in all programs, so that `-z` is a depth.
    tops_mm : tuple of float
        For each program 0 where Z zero is the top of the blank, else the height that the blank is no thicker than.
    """

    holes: Holes
    outlines: tuple[Outline, ...]
    marks: Landmarks
    cuts: tuple[Cut, ...]
    radius_mm: tuple[float | None, ...]
    cut_box_mm: Floats
    top_is_zero: bool
    tops_mm: tuple[float, ...]
    names: tuple[str, ...] = ()
    of_program: tuple[int, ...] = ()
    blind: Holes | None = None
    goes_round: bool = False

    @property
    def is_empty(self) -> bool:
        """Whether no cutting was found."""
        return bool(np.isnan(self.cut_box_mm).any())

    def that_may_meet(self, other: "Features", meeting: Meeting) -> "Features":
        """Return the features with only those holes that may go through together with one of the other face."""
        may = self.holes.that_may_meet(other.holes, meeting)
        return replace(self, holes=self.holes.take(may), blind=self.holes.take(~may))

    @property
    def top_mm(self) -> float:
        """What the blank is no thicker than, as programs with Z zero on the spoilboard show it; infinite without."""
        return min((top for top in self.tops_mm if top != 0.0), default=np.inf)

    @property
    def deepest_mm(self) -> float:
        """The deepest cut below the face that is up, of the programs with Z zero there; in millimetres."""
        if not self.top_is_zero:
            return 0.0
        cut = [float(np.nanmin(cut.xyz_mm[:, 2])) for cut in self.cuts if len(cut.run)]
        return max([-low for low in cut] + self.holes.depth_mm.tolist(), default=0.0)

    def landmarks(self) -> Landmarks:
        """Return all that is shown at a known place: holes, blind ones too, contours and corners."""
        holes = [self.holes] if self.blind is None else [self.holes, self.blind]
        return joined(
            [
                *(of_holes(one.centre_mm, one.diameter_mm, one.floor_mm, one.program, one.line) for one in holes),
                self.marks,
                of_contours([outline for outline in self.outlines if outline.is_silhouette]),
            ]
        )

    def thinned(self, most: int) -> "Features":
        """Return the features with no more than about so many holes, and marks of each kind."""
        blind = None if self.blind is None else self.blind.take(thinned(np.arange(len(self.blind)), most))
        return replace(
            self,
            holes=self.holes.take(thinned(np.arange(len(self.holes)), most)),
            blind=blind,
            marks=self.marks.take(
                np.concatenate([thinned(np.flatnonzero(self.marks.kind == kind), most) for kind in LandmarkKind])
            ),
        )

    @property
    def is_round(self) -> bool:
        """Whether all that is cut are circles about one point, and what leads into them."""
        marks = self.landmarks()
        if len(marks) == 0 or self.is_empty or not self.goes_round:
            return False
        off = marks.centre_mm - marks.centre_mm[np.argmax(np.nan_to_num(marks.size_mm))]
        is_round = (np.abs(marks.second) <= _ROUND) & (np.abs(marks.third) <= _ROUND)
        is_circle = (marks.kind <= LandmarkKind.CONTOUR) & is_round
        return bool(is_circle.all() and np.abs(off).max() <= _ROUND_MM)

    @property
    def part_box_mm(self) -> Floats:
        """xmin, ymin, xmax, ymax of the part, shape (4,): its edge where a profile shows it, else `cut_box_mm`."""
        profile = self.outlines[0] if self.largest_is_edge else None
        if profile is None or profile.side is not Side.INSIDE or profile.edge_radius_mm is None:
            return self.cut_box_mm
        inset = profile.edge_radius_mm
        return np.asarray(profile.loop.box_mm + np.array([inset, inset, -inset, -inset]))

    @property
    def largest_is_edge(self) -> bool:
        """Whether the largest outline reaches over nearly all that is cut; leads and screws may lie beyond."""
        if not self.outlines:
            return False
        boxes_mm = self.outlines[0].loop.box_mm, self.cut_box_mm
        largest_mm, all_mm = (np.ptp(box.reshape(2, 2), axis=0) for box in boxes_mm)
        return bool((largest_mm >= _ROUND_ALL * all_mm).all())

    def levels_mm(self, stretch: int, floor_mm: float) -> list[Floats]:
        """Return depth and height of a floor of a stretch, as `levels` gives them."""
        return list(levels(np.array([floor_mm]), self.tops_mm[self.of_program[stretch]]).values())

    @property
    def size_mm(self) -> float:
        """Diagonal of what is cut, in millimetres; 0 where nothing is."""
        if self.is_empty:
            return 0.0
        return float(np.hypot(*(self.cut_box_mm[2:] - self.cut_box_mm[:2])))


def face_features(face: Face) -> Features:
    """Return what the programs of a face show.

    Parameters
    ----------
    face : sequence of FaceProgram
        All programs of one face, sharing one program zero.
    """
    holes: list[Holes] = []
    outlines: list[Outline] = []
    cuts: list[Cut] = []
    marks: list[Landmarks] = []
    boxes: list[Floats] = []
    tops = [wood_top(program.path) for program in face]
    all_round = True
    parts = _parts(face)
    for index, (number, program) in enumerate(parts):
        shown = _shown(program, index, tops[number])
        cut, closed, contours = shown.cut, shown.closed, shown.contours
        holes += [shown.drilled, shown.bored]
        outlines += contours
        marks.append(open_cuts(cut, program.path, closed, index, program.tool_diameter_mm))
        all_round &= goes_round(cut, closed)
        cuts.append(cut)
        boxes += [points for points in (cut.xyz_mm[:, :2], shown.drilled.centre_mm) if len(points)]
    marks.insert(0, of_contours([one for one, leaves in zip(outlines, leave_edges(outlines), strict=True) if leaves]))
    box = np.full(4, np.nan)
    if boxes:
        low = np.min([points.min(axis=0) for points in boxes], axis=0)
        high = np.max([points.max(axis=0) for points in boxes], axis=0)
        box = np.concatenate([low, high])
    return Features(
        holes=one_each(holes),
        outlines=tuple(final_passes(outlines, cuts)),
        marks=joined(marks),
        cuts=tuple(cuts),
        radius_mm=tuple(None if p.tool_diameter_mm is None else p.tool_diameter_mm / 2 for _, p in parts),
        cut_box_mm=box,
        top_is_zero=all(top == 0.0 for top in tops),
        tops_mm=tuple(tops),
        names=tuple(program.name for _, program in parts),
        of_program=tuple(number for number, _ in parts),
        goes_round=all_round,
    )


def face_holes(face: Face) -> Holes:
    """Return the holes of a face, as `face_features` does, in a third of its time."""
    holes = []
    for index, (number, program) in enumerate(_parts(face)):
        shown = _shown(program, index, wood_top(face[number].path))
        holes += [shown.drilled, shown.bored]
    return one_each(holes)


def drilled_holes(program: FaceProgram) -> Holes:
    """Return the holes that a program drills; those that it bores round are contours, too."""
    top_mm = wood_top(program.path)
    return one_each([_drilled(part, index, top_mm) for index, part in enumerate(program.by_tool())])


@dataclass(frozen=True, slots=True, eq=False)
class _Shown:
    """What one stretch of a program with one tool shows, and which of its chords are of closed contours."""

    cut: Cut
    closed: NDArray[np.bool_]
    drilled: Holes
    bored: Holes
    contours: list[Outline]


def _parts(face: Face) -> list[tuple[int, FaceProgram]]:
    """Return the stretches of programs with one tool, each after its program's number."""
    return [(number, part) for number, program in enumerate(face) for part in program.by_tool()]


def _shown(program: FaceProgram, index: int, top_mm: float) -> _Shown:
    cut = Cut.of(program.path, top_mm)
    loops, closed = find_loops(cut, program.path)
    bored, contours = _split(loops, program, index, top_mm)
    return _Shown(cut, closed, _drilled(program, index, top_mm), bored, contours)


def _drilled(program: FaceProgram, index: int, top_mm: float) -> Holes:
    """Return holes of canned cycles and of plunges that are followed by no cut across."""
    path = program.path
    known = np.isfinite(path.end).all(axis=1)
    with np.errstate(invalid="ignore"):
        down = ~(path.end[:, 2] >= path.start[:, 2])
        still = is_still(path)
        in_wood = path.end[:, 2] <= top_mm + 1e-3
        cycled = (path.cycle > 0) & path.is_cut & down & known & still & in_wood
        plunge = path.is_cut & still & down & known & in_wood & (path.cycle == 0)
    plunge[plunge] = ~_joins_a_cut(path, np.flatnonzero(plunge), still, top_mm)
    rows = np.flatnonzero(cycled | plunge)
    diameter = np.nan if program.tool_diameter_mm is None else program.tool_diameter_mm
    return Holes(
        centre_mm=path.end[rows, :2],
        diameter_mm=np.full(len(rows), diameter),
        bore_mm=np.full(len(rows), diameter),
        floor_mm=path.end[rows, 2],
        **levels(path.end[rows, 2], top_mm),
        program=np.full(len(rows), index, np.int64),
        line=path.line[rows],
    )


def _joins_a_cut(path: Path, rows: NDArray[np.intp], still: NDArray[np.bool_], top_mm: float) -> NDArray[np.bool_]:
    """Return whether the motions across before or after each row are cuts: then it is a lead-in."""
    across = np.flatnonzero(~still)
    cutting = np.concatenate([cutting_rows(path, top_mm)[across], [False]])
    after = np.searchsorted(across, rows)
    # Index -1 and index n both mean "none" and read the False at the end.
    return np.asarray(cutting[after] | cutting[after - 1])


def _split(loops: list[Loop], program: FaceProgram, index: int, top_mm: float) -> tuple[Holes, list[Outline]]:
    """Return the bored holes and the contours among the loops of one program."""
    bored: list[Loop] = []
    circles: list[tuple[Floats, float]] = []
    contours: list[Loop] = []
    for loop, circle in zip(loops, circles_of(loops, HOLE_MM), strict=True):
        if circle is None:
            contours.append(loop)
        elif loop.stands_alone:
            bored.append(loop)
            circles.append(circle)
    path = program.path
    tool = np.nan if program.tool_diameter_mm is None else program.tool_diameter_mm
    floor = np.array([loop.floor_mm for loop in bored], np.float64)
    diameter = np.array([2 * radius + np.nan_to_num(tool) for _, radius in circles])
    holes = Holes(
        centre_mm=np.array([centre for centre, _ in circles]).reshape(-1, 2),
        diameter_mm=diameter,
        bore_mm=diameter,
        floor_mm=floor,
        **levels(floor, top_mm),
        program=np.full(len(bored), index, np.int64),
        line=np.array([path.line[loop.row] for loop in bored], np.int64),
    )
    return holes, [
        Outline(
            loop=loop,
            program=index,
            line=int(path.line[loop.row]),
            tool_radius_mm=None if program.tool_diameter_mm is None else program.tool_diameter_mm / 2,
            is_compensated=bool((path.compensation[loop.row : loop.last_row + 1] != 0).all()),
        )
        for loop in contours
    ]
