"""The marking sheet as values: what is drawn on each face, how each setup is laid, and how far to jog.

Distances along a face are what a tape laid on that face reads from the near end; distances across are from the
reference edge, on both faces the same edge. Jogs are along the program's axes. Millimetres.
"""

from dataclasses import dataclass
from enum import Enum

from flipreg.job.blank import BlankFace, Edge

__all__ = ["DrawnMark", "FaceSheet", "Jog", "MarkingSheet", "SetupSheet", "TableSide"]

Point = tuple[float, float]


class TableSide(Enum):
    """A side of the machine's table; the value is how it is said."""

    LEFT = "to the left (X-)"
    RIGHT = "to the right (X+)"
    NEAR = "towards you (Y-)"
    FAR = "away from you (Y+)"


@dataclass(frozen=True, slots=True)
class DrawnMark:
    """A mark on one face.

    Attributes
    ----------
    name : str
        The mark.
    along_mm : float
        Its line, from the near end, with the tape on this face.
    from_edge_mm : float
        From the reference edge.
    on_centre_line : bool
        Whether it is where its line crosses the centre line.
    section : str or None
        'straight' or 'bent', which section it is on; None where there is only one.
    remark : str or None
        How its line is found, where that is not by the tape alone.
    """

    name: str
    along_mm: float
    from_edge_mm: float
    on_centre_line: bool
    section: str | None
    remark: str | None


@dataclass(frozen=True, slots=True)
class FaceSheet:
    """What is drawn on one face.

    Attributes
    ----------
    face : BlankFace
        The face.
    edge_is : Edge
        Where the reference edge is for somebody who looks at this face with the near end towards them.
    marks : tuple of DrawnMark
        From the near end on.
    corners_mm : tuple of float
        Where this face's planes meet at each bend, from the near end.
    """

    face: BlankFace
    edge_is: Edge
    marks: tuple[DrawnMark, ...]
    corners_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Jog:
    """How far to jog from a mark to a program zero.

    Attributes
    ----------
    mark : str
        The mark.
    by_mm : (float, float)
        Along the program's X and Y.
    is_reference : bool
        Whether the setup is found by this mark.
    """

    mark: str
    by_mm: Point
    is_reference: bool


@dataclass(frozen=True, slots=True)
class SetupSheet:
    """How a setup is laid and found.

    Attributes
    ----------
    name : str
        The setup.
    up : BlankFace
        The face that is up.
    steps : tuple of str
        How to lay the blank, in words.
    edge_lies, near_end_lies : TableSide
        On which side of the table the reference edge and the near end are.
    z_zero : str
        Where Z zero is, in words.
    jogs : tuple of Jog
        From every mark on the face that is up, the reference mark first.
    programs : tuple of (str, str)
        File and tool, in the order they run.
    outlines_mm : tuple of polygons
        Each section of the blank seen from above, as corners in the program frame.
    """

    name: str
    up: BlankFace
    steps: tuple[str, ...]
    edge_lies: TableSide
    near_end_lies: TableSide
    z_zero: str
    jogs: tuple[Jog, ...]
    programs: tuple[tuple[str, str], ...]
    outlines_mm: tuple[tuple[Point, ...], ...]


@dataclass(frozen=True, slots=True)
class MarkingSheet:
    """Everything that is done before the first program runs.

    Attributes
    ----------
    job : str
        Name of the part.
    inch : bool
        Whether the job is in inches, and lengths are better told so.
    size_mm : (float, float, float)
        Length, width and thickness of the blank.
    edge : Edge
        The reference edge, as seen on the front.
    centre_line_mm : float
        From the reference edge, on both faces.
    faces : tuple of FaceSheet
        Front and back.
    setups : tuple of SetupSheet
        In the order they are cut.
    """

    job: str
    inch: bool
    size_mm: tuple[float, float, float]
    edge: Edge
    centre_line_mm: float
    faces: tuple[FaceSheet, ...]
    setups: tuple[SetupSheet, ...]
