"""Small programs of a plate for drafts: a contour with tabs in half depth from each face, and four holes."""

from collections.abc import Callable
from itertools import pairwise

from flipreg.program.face import FaceProgram
from flipreg.program.face_program import face_program
from flipreg.rs274.read.program import parse

__all__ = ["BACK", "FRONT", "Map", "drawn", "face", "flipped_end_over_end", "flipped_like_a_page"]

Points = list[tuple[float, float]]
Map = Callable[[float, float], tuple[float, float]]

OUTLINE: Points = [(-43.0, -3.0), (43.0, -3.0), (43.0, 60.0), (30.0, 123.0), (-43.0, 123.0), (-43.0, -3.0)]
TABS = {(43.0, -3.0): ((43.0, 20.0), (43.0, 36.0)), (-43.0, 123.0): ((-43.0, 80.0), (-43.0, 64.0))}
"""From where to where the tool rises, on the side that begins at a corner."""
HOLES: Points = [(-20.0, 20.0), (25.0, 22.0), (-22.0, 100.0), (12.0, 95.0)]


def drawn(
    place: Map = lambda x, y: (x, y),
    *,
    unit: str = "G21",
    depth: float = 10.5,
    mill: str = "T1 M6 (6 MM FLAT END MILL)",
    drill: str = "T2 M6 (5 MM DRILL)",
    lift: float = 0.0,
) -> str:
    """Return a program of contour and holes; `place` maps the drawing's points to its numbers, in millimetres.

    `lift` is how high the face that is up is above Z zero.
    """
    per = 25.4 if unit == "G20" else 1.0

    def at(point: tuple[float, float]) -> str:
        x, y = place(*point)
        return f"X{x / per:.4f} Y{y / per:.4f}"

    def z(height: float) -> str:
        return f"Z{(height + lift) / per:.4f}"

    lines = [f"{unit} G90 G17 G94", mill, "S12000 M3", f"G0 {z(5.0)}", f"G0 {at(OUTLINE[0])}"]
    for level in (-depth / 2, -depth):
        lines.append(f"G1 {z(level)} F{600 / per:.1f}")
        for before, point in pairwise(OUTLINE):
            if before in TABS and level == -depth:
                low, high = TABS[before]
                lines += [f"G1 {at(low)}", f"G1 {z(-depth / 2)}", f"G1 {at(high)}", f"G1 {z(level)}"]
            lines.append(f"G1 {at(point)}")
    lines += [f"G0 {z(5.0)}", drill, "S3000 M3", f"G0 {z(5.0)}"]
    for point in HOLES:
        lines += [f"G0 {at(point)}", f"G81 {at(point)} {z(-depth - 0.5)} R{(2.0 + lift) / per:.4f} F{200 / per:.1f}"]
    return "\n".join([*lines, "G80", f"G0 {z(5.0)}", "G0 X0 Y0", "M5", "M30", ""])


def flipped_like_a_page(x: float, y: float) -> tuple[float, float]:
    """Return a point of the drawing as the back shows it, turned about x = 0."""
    return -x, y


def flipped_end_over_end(x: float, y: float) -> tuple[float, float]:
    """Return a point of the drawing as the back shows it, turned about y = 60."""
    return x, 120.0 - y


def face(text: str, name: str = "front.nc") -> FaceProgram:
    """Return a program of a face."""
    return face_program(parse(text, source=name))


FRONT = drawn()
BACK = drawn(flipped_like_a_page)
