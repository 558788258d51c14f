"""A bend across the blank: two flat sections of one thickness, and where lines are carried round the edge.

All lines here are parallel to X, so the geometry is that of the side view, Y and Z of the blank frame. The straight
section keeps the blank frame's planes, z = 0 and z = -thickness. The bent section's two planes are those turned
about the hinge line, which is where the two planes of the hinge's face meet. On the other face the planes
meet elsewhere, at the ridge, and what a square carries round the edge lies elsewhere again.

The flat frame of the bent section is the blank frame turned about the hinge line with it: in it the section's faces
are z = 0 and z = -thickness, and y on the hinge's face is what a tape laid on the wood reads across the hinge.
"""

from dataclasses import dataclass
from math import radians, tan

from flipreg.geometry.pose import Pose
from flipreg.job.blank import BlankFace
from flipreg.job.mark import Square
from flipreg.job.setup import Section

__all__ = ["Bend", "FaceLine"]


@dataclass(frozen=True, slots=True)
class FaceLine:
    """A line across one face, parallel to X.

    Attributes
    ----------
    face : BlankFace
        The face it is drawn on.
    bend : Bend or None
        The bend whose bent section it lies on; None for the straight section.
    y_mm : float
        Its y in the frame of that section: the blank frame for the straight one, the flat frame for a bent one.
    """

    face: BlankFace
    bend: "Bend | None"
    y_mm: float


@dataclass(frozen=True, slots=True)
class Bend:
    """A hinge line and the section that leans out at it.

    Attributes
    ----------
    hinge_y_mm : float
        y of the hinge line in the blank frame.
    hinge_face : BlankFace
        The face on which the sections' planes meet in the hinge line.
    lean_deg : float
        How far the section leans out: positive towards the front face.
    section : Section
        On which side of the hinge it is.
    thickness_mm : float
        Of both sections.
    """

    hinge_y_mm: float
    hinge_face: BlankFace
    lean_deg: float
    section: Section
    thickness_mm: float

    @property
    def turn_deg(self) -> float:
        """The rotation from the flat frame to the blank frame, about +X, counter-clockwise positive."""
        return self.lean_deg if self.section is Section.FAR else -self.lean_deg

    @property
    def blank_from_flat(self) -> Pose:
        """The rotation about the hinge line that carries the flat frame into the blank frame."""
        z_mm = 0.0 if self.hinge_face is BlankFace.FRONT else -self.thickness_mm
        return Pose.rotation("x", self.turn_deg, about_mm=(0.0, self.hinge_y_mm, z_mm))

    def corner(self, face: BlankFace) -> tuple[float, float]:
        """Return where the two planes of a face meet: its y in the blank frame and its y in the flat frame, in mm.

        On the hinge's face both are the hinge line. On the other one they lie thickness · tan(angle / 2) away, to
        opposite sides: the corner is on the bisector of the two sections.
        """
        if face is self.hinge_face:
            return self.hinge_y_mm, self.hinge_y_mm
        off_mm = self._through(self.hinge_face) * tan(radians(self.turn_deg) / 2)
        return self.hinge_y_mm - off_mm, self.hinge_y_mm + off_mm

    def carried(self, square: Square, from_face: BlankFace) -> FaceLine:
        """Return the line on the other face that belongs to the corner of a face.

        Parameters
        ----------
        square : Square
            Which section the square rests on while the line is carried round the edge, or that the line is the
            other face's own corner, which no square finds.
        from_face : BlankFace
            The face whose corner is carried.

        Returns
        -------
        FaceLine
            Where the carried line leaves the wood. Over an inner corner that is on the other section than the one
            the square rests on: the line then runs past the corner's bisector before it comes out.
        """
        target = from_face.other
        y_mm, flat_mm = self.corner(from_face)
        corner_mm, corner_flat_mm = self.corner(target)
        through_mm = self._through(from_face)
        turn = radians(self.turn_deg)
        side = 1.0 if self.section is Section.FAR else -1.0
        if square is Square.RIDGE:
            return FaceLine(target, None, corner_mm)
        if square is Square.STRAIGHT:
            if side * (corner_mm - y_mm) >= 0.0:
                return FaceLine(target, None, y_mm)
            return FaceLine(target, self, flat_mm + through_mm * tan(turn))
        if side * (flat_mm - corner_flat_mm) >= 0.0:
            return FaceLine(target, self, flat_mm)
        return FaceLine(target, None, y_mm - through_mm * tan(turn))

    def _through(self, from_face: BlankFace) -> float:
        """Return the signed way along Z from a face to the other one."""
        return -self.thickness_mm if from_face is BlankFace.FRONT else self.thickness_mm
