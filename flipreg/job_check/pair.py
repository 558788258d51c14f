"""Two setups that cut opposite faces of one section, compared with each other."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from flipreg.program.setup_face import SetupFace
from flipreg.program.tool_words import ToolWords
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.judge import Judged, Question, judge
from flipreg.register.placing.other_units import Zeros

__all__ = ["compare", "in_section", "opposite"]

_ZERO = (Decimal(0), Decimal(0))


def opposite(faces: Sequence[SetupFace]) -> list[tuple[SetupFace, SetupFace]]:
    """Return the setups that can be compared face against face: one section, front and back."""
    fronts = [face for face in faces if face.is_front]
    backs = [face for face in faces if not face.is_front]
    return [(front, back) for front in fronts for back in backs if front.bend == back.bend]


def compare(front: SetupFace, back: SetupFace, *, tolerance_mm: float, thickness_mm: float, blank_mm: float) -> Judged:
    """Return the evidence on two setups of one section, where the job lays them.

    Parameters
    ----------
    front, back : SetupFace
        The setups.
    tolerance_mm, thickness_mm : float
        As for `flipreg.register.check.check`.
    blank_mm : float
        The blank's diagonal.
    """
    as_said = Placement.of(Isometry.mirror_x(datum_mm=_ZERO))
    zeros = Zeros(_zero_in_section(front), _zero_in_section(back))
    seen = _seen_from_its_side(front), _seen_from_its_side(back)
    question = Question(tolerance_mm, as_said, thickness_mm=thickness_mm, zeros=zeros, largest_mm=blank_mm, seen=seen)
    return judge(in_section(front), in_section(back), question)


def in_section(face: SetupFace) -> list[FaceProgram]:
    """Return a setup's programs in the frame of the section, seen from the side that is cut, without their remarks.

    For the back that is the section's frame turned over like a page, however the blank was turned over really: the
    pose has done that already, and the check wants both faces as two people would see them.
    """
    seen = _seen_from_its_side(face)
    return [
        replace(program, path=program.path.transformed(seen), words=ToolWords(), findings=(), lengths=())
        for program in face.programs
    ]


def _seen_from_its_side(face: SetupFace) -> Isometry:
    seen = face.seen_from_above
    return seen if face.is_front else Isometry.mirror_x(datum_mm=_ZERO) @ seen


def _zero_in_section(face: SetupFace) -> tuple[float, float, float]:
    """Return where the zero that a setup's programs count from is among the motions of `in_section`."""
    x_mm, y_mm, _ = _seen_from_its_side(face).offset_mm.tolist()
    return x_mm, y_mm, -face.top_mm
