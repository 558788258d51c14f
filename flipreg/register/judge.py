"""The evidence on a front and a back: what corresponds where the back was said to be, and in each way round."""

from dataclasses import dataclass, replace
from math import inf
from typing import Literal

from flipreg.findings import Status
from flipreg.program.face import Face
from flipreg.register.coincidence import best_match
from flipreg.register.comparison import Case
from flipreg.register.deviation import Register, measured, nothing_shared
from flipreg.register.features import face_features
from flipreg.register.matching import Faces
from flipreg.register.other_units import AT_ORIGIN, Zeros
from flipreg.register.placement import Placement
from flipreg.register.search import Fit, choose, fits, orientation_of
from flipreg.register.silhouette import with_silhouettes

__all__ = ["Judged", "Question", "judge"]


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """What is asked of two faces.

    Attributes
    ----------
    tolerance_mm : float
        Largest deviation that is in register.
    given : Placement or None
        Where the back was said to be; None where that is to be found.
    axis : 'x', 'y' or None
        The flip axis, where it is known and the place is not.
    thickness_mm : float or None
        Thickness of the blank; None where it is not known.
    zeros : Zeros
        Where the program zeros are in the frames that the programs are given in.
    largest_mm : float
        The blank's diagonal; infinite where it is not known.
    """

    tolerance_mm: float
    given: Placement | None = None
    axis: Literal["x", "y"] | None = None
    thickness_mm: float | None = None
    zeros: Zeros = AT_ORIGIN
    largest_mm: float = inf


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """Two faces and the evidence on them.

    Attributes
    ----------
    front, back : sequence of FaceProgram
        The programs of each face.
    question : Question
        What was asked.
    case : Case
        What there is to judge.
    alternatives : tuple of Fit
        The other ways round that are as good.
    """

    front: Face
    back: Face
    question: Question
    case: Case
    alternatives: tuple[Fit, ...]

    def again(self, front: Face, back: Face) -> "Judged":
        """Return the same question asked of other programs."""
        return judge(front, back, self.question)


def judge(front: Face, back: Face, question: Question) -> Judged:
    """Return the evidence on two faces.

    Parameters
    ----------
    front, back : sequence of FaceProgram
        The programs of each face, each in its own program frame.
    question : Question
        What is asked.
    """
    faces = Faces.of(
        face_features(front), face_features(back), question.tolerance_mm, thickness_mm=question.thickness_mm
    )
    case, alternatives = _case(faces, question)
    if not case.has_proof:
        seen = with_silhouettes(faces)
        if seen is not None:
            by_silhouette = _case(seen, question)
            # Silhouettes that agree nowhere are of different regions and say nothing.
            if by_silhouette[0].passing:
                case, alternatives = by_silhouette
    return Judged(front, back, question, case, alternatives)


def _case(faces: Faces, question: Question) -> tuple[Case, tuple[Fit, ...]]:
    """Return what there is to judge, and the other ways round that are as good."""
    found, given = fits(faces), question.given

    def case(*how: object, is_found: bool) -> Case:
        placement, orientation, match, register = how
        return Case(faces, placement, orientation, match, register, tuple(found), is_found, question.tolerance_mm)  # type: ignore[arg-type]

    if given is not None:
        match = best_match(faces, given.matrix, given)
        register: Register = nothing_shared() if match is None else measured(faces, match, given)
        orientation = orientation_of(given.isometry)
        others = [fit for fit in choose(found).all if fit.orientation != orientation]
        alternatives = tuple(others) if register.status is Status.PASS else ()
        return case(given, orientation, match, register, is_found=False), alternatives
    chosen = choose([fit for fit in found if question.axis is None or fit.orientation.axis == question.axis])
    best = chosen.best
    if best is None:
        return case(None, None, None, nothing_shared(), is_found=True), ()
    register = best.register
    if register.status is Status.PASS and not register.is_sure:
        # Any recess fits one of its own shape somewhere.
        register = replace(register, status=Status.NOT_DETERMINED)
    return case(best.placement, best.orientation, best.match, register, is_found=True), chosen.alternatives
