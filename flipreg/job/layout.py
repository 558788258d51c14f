"""Where each mark of a job really is: on which section of the blank, and at which point of the blank frame."""

from dataclasses import dataclass, replace

from flipreg.geometry.pose import Pose
from flipreg.job.bend import Bend, FaceLine
from flipreg.job.blank import BlankFace
from flipreg.job.job import Job
from flipreg.job.mark import Mark
from flipreg.job.setup import Section, Setup, Tilt

__all__ = ["Layout", "PlacedMark"]


@dataclass(frozen=True, slots=True)
class PlacedMark:
    """A mark on one face.

    Attributes
    ----------
    line : FaceLine
        Its line: the face, the section and y in the section's frame.
    x_mm : float
        Its x in the blank frame.
    along_mm : float
        What a tape laid on that face reads at its line, from the near end.
    point_mm : three floats
        Where it is in the blank frame.
    """

    line: FaceLine
    x_mm: float
    along_mm: float
    point_mm: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Layout:
    """The shape of a job's blank, for one thickness of it.

    Attributes
    ----------
    job : Job
        The job.
    thickness_mm : float
        Thickness of the blank that positions are worked out for.
    near, far : Bend or None
        The bends whose bent section is the near or the far one.
    """

    job: Job
    thickness_mm: float
    near: Bend | None
    far: Bend | None

    @classmethod
    def of(cls, job: Job, *, thickness_mm: float | None = None) -> "Layout":
        """Return the layout for a thickness; without one, for the actual thickness of the job's blank."""
        size_mm = job.blank.actual_thickness_mm if thickness_mm is None else thickness_mm
        tilts = {setup.tilt.section: setup.tilt for setup in job.setups if setup.tilt is not None}
        layout = cls(job, size_mm, None, None)
        # The near bend first: the tape to the far hinge runs over it, on the front and on the back by another way.
        if Section.NEAR in tilts:
            layout = replace(layout, near=_near_bend(layout, tilts[Section.NEAR]))
        if Section.FAR in tilts:
            layout = replace(layout, far=_far_bend(layout, tilts[Section.FAR]))
        return layout

    def bend_of(self, setup: Setup) -> Bend | None:
        """Return the bend whose section lies flat in a setup; None where the straight section does."""
        if setup.tilt is None:
            return None
        return self.near if setup.tilt.section is Section.NEAR else self.far

    def blank_from_section(self, bend: Bend | None) -> Pose:
        """Return the pose of a section's own frame, in which its faces are z = 0 and z = -thickness."""
        return Pose() if bend is None else bend.blank_from_flat

    def face_z_mm(self, face: BlankFace) -> float:
        """Return z of a face in the frame of its section."""
        return 0.0 if face is BlankFace.FRONT else -self.thickness_mm

    def place(self, mark: Mark, face: BlankFace) -> PlacedMark:
        """Return where a mark is on a face it is drawn on.

        Raises
        ------
        ValueError
            If it is not drawn on that face, or carried from a mark that is no hinge.
        """
        if face not in mark.faces:
            raise ValueError(f"mark {mark.name!r} is not drawn on the {face.value}")
        line = self._carried(mark) if mark.along_mm is None else self.line_at(face, mark.along_mm)
        frame = self.blank_from_section(line.bend)
        flat = Pose.translation(mark.across_mm, line.y_mm, self.face_z_mm(face))
        return PlacedMark(line, mark.across_mm, self.along_mm(line), (frame @ flat).offset_mm)

    def line_at(self, face: BlankFace, along_mm: float) -> FaceLine:
        """Return the line at a distance from the near end, measured along a face."""
        y_mm = along_mm - self.job.origin_along_mm
        if self.near is not None:
            corner_mm, flat_mm = self.near.corner(face)
            tape_mm = flat_mm - self._near_end_mm
            if along_mm < tape_mm:
                return FaceLine(face, self.near, self._near_end_mm + along_mm)
            y_mm = corner_mm + along_mm - tape_mm
        if self.far is not None:
            corner_mm, flat_mm = self.far.corner(face)
            if y_mm > corner_mm:
                return FaceLine(face, self.far, flat_mm + y_mm - corner_mm)
        return FaceLine(face, None, y_mm)

    def along_mm(self, line: FaceLine) -> float:
        """Return what a tape laid on the line's face reads there, from the near end."""
        if line.bend is not None and line.bend is self.near:
            return line.y_mm - self._near_end_mm
        y_mm = line.y_mm
        if line.bend is not None:
            corner_mm, flat_mm = line.bend.corner(line.face)
            y_mm += corner_mm - flat_mm
        if self.near is None:
            return y_mm + self.job.origin_along_mm
        corner_mm, flat_mm = self.near.corner(line.face)
        return y_mm - corner_mm + flat_mm - self._near_end_mm

    @property
    def y_range_mm(self) -> tuple[float, float]:
        """Ends of the blank, near and far: y of each in the frame of the section that has it."""
        far = self.line_at(BlankFace.FRONT, self.job.blank.length_mm).y_mm
        return (-self.job.origin_along_mm if self.near is None else self._near_end_mm), far

    def ends_mm(self, bend: Bend | None, face: BlankFace) -> tuple[float, float]:
        """Return y of both ends of a section on a face, in the section's frame; the straight section's for None."""
        low, high = self.y_range_mm
        if bend is None:
            return (
                low if self.near is None else self.near.corner(face)[0],
                high if self.far is None else self.far.corner(face)[0],
            )
        corner = bend.corner(face)[1]
        return (low, corner) if bend.section is Section.NEAR else (corner, high)

    def section_box_mm(self, bend: Bend | None) -> tuple[float, float, float, float]:
        """Return the area that is a section's on both faces: xmin, ymin, xmax, ymax in its own frame."""
        low_x, high_x = self.job.blank.x_range_mm
        low_y, high_y = self.y_range_mm
        for other in (self.near, self.far):
            if other is None or (bend is not None and bend != other):
                continue
            # A bend's corners are told in the straight section's frame and in its own.
            at = [other.corner(face)[0 if bend is None else 1] for face in BlankFace]
            if (other.section is Section.FAR) == (bend is None):
                high_y = min(high_y, *at)
            else:
                low_y = max(low_y, *at)
        return low_x, low_y, high_x, high_y

    @property
    def _near_end_mm(self) -> float:
        """The near end: its y in the flat frame of a bent near section."""
        assert self.near is not None
        tilts = (setup.tilt for setup in self.job.setups if setup.tilt is not None)
        hinge = self.job.mark(next(tilt.hinge for tilt in tilts if tilt.section is Section.NEAR))
        assert hinge.along_mm is not None
        return self.near.hinge_y_mm - hinge.along_mm

    def _carried(self, mark: Mark) -> FaceLine:
        assert mark.carried is not None
        for setup in self.job.setups:
            bend = self.bend_of(setup)
            if bend is not None and setup.tilt is not None and setup.tilt.hinge == mark.carried.from_mark:
                return bend.carried(mark.carried.square, bend.hinge_face)
        raise ValueError(f"mark {mark.name!r} is carried from {mark.carried.from_mark!r}, which is no hinge")


def _near_bend(layout: Layout, tilt: Tilt) -> Bend:
    face, along_mm = _hinge(layout.job, tilt)
    y_mm = along_mm - layout.job.origin_along_mm
    bend = Bend(y_mm, face, tilt.angle_deg, tilt.section, layout.thickness_mm)
    if face is BlankFace.FRONT:
        return bend
    # The tape on the back passes the ridge elsewhere than the tape on the front, which fixes the origin.
    corner_mm, flat_mm = bend.corner(BlankFace.FRONT)
    return replace(bend, hinge_y_mm=y_mm + flat_mm - corner_mm)


def _far_bend(layout: Layout, tilt: Tilt) -> Bend:
    face, along_mm = _hinge(layout.job, tilt)
    y_mm = layout.line_at(face, along_mm).y_mm
    return Bend(y_mm, face, tilt.angle_deg, tilt.section, layout.thickness_mm)


def _hinge(job: Job, tilt: Tilt) -> tuple[BlankFace, float]:
    """Return the face of a hinge mark and what the tape on that face reads at it."""
    hinge = job.mark(tilt.hinge)
    if hinge.along_mm is None:
        raise ValueError(f"hinge mark {hinge.name!r} needs a distance along the blank")
    return hinge.faces[0], hinge.along_mm
