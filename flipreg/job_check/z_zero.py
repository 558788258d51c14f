"""Z zero on the wrong side: the top taken for the spoilboard, or the other way.

Programs show which it is: they cut into the wood, not far through it, and traverse above it. A setup is named only if
its programs do not do so as the job says, and do with Z zero on the other side.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from flipreg.job.layout import Layout
from flipreg.job.setup import ZZero
from flipreg.program.face import FaceProgram
from flipreg.program.setup_face import SetupFace
from flipreg.register.decision.mistake import Change, Mistake, Way
from flipreg.register.faces.chords import is_still
from flipreg.units import limit_text

__all__ = ["z_zero_mistakes"]

_LEAST_CUT_MM = 0.05
"""A program that cuts less deep cuts nothing, in millimetres (chosen)."""
_MOST_THROUGH_MM = 3.0
"""Deeper below the blank nobody cuts, in millimetres; common practice, no source."""


def z_zero_mistakes(faces: Sequence[SetupFace], layout: Layout) -> Iterator[Mistake]:
    """Yield the setups, and the programs, whose Z zero is on the other side than the job says."""
    for face in faces:
        is_top = face.setup.z_zero is ZZero.TOP
        shift_mm = -layout.thickness_mm if is_top else layout.thickness_mm
        told = [_fits(program, 0.0, layout.thickness_mm) for program in face.programs]
        other = [_fits(program, shift_mm, layout.thickness_mm) for program in face.programs]
        wrong = [
            program
            for program, as_told, otherwise in zip(face.programs, told, other, strict=True)
            if as_told is False and otherwise is True
        ]
        if not wrong:
            continue
        said, right = ("top", "spoilboard") if is_top else ("spoilboard", "top")
        what = "cut above the wood" if is_top else "run in it and far below it"
        if all(otherwise is not False for otherwise in other):
            yield Mistake(
                "z zero",
                f'setup {face.name!r} has z_zero = "{said}", with which its programs {what}, '
                f"and they fit a Z zero on the {_side(right)}",
                (Way(f'set z_zero = "{right}"', (Change("setup", (face.name,), {"z_zero": right}),)),),
                face.name,
                is_certain=True,
            )
            continue
        names = tuple(program.name for program in wrong)
        yield Mistake(
            "z zero",
            f"{', '.join(names)}: made for a Z zero on the {_side(right)}, and the other programs of setup "
            f"{face.name!r} for one on the {_side(said)}",
            (
                Way(
                    f"shift {', '.join(names)} by Z {limit_text(shift_mm)}",
                    (Change("programs", names, {"by_mm": (0.0, 0.0, shift_mm)}),),
                ),
            ),
            face.name,
            is_certain=True,
        )


def _side(z_zero: str) -> str:
    return "spoilboard" if z_zero == "spoilboard" else "face that is up"


def _fits(program: FaceProgram, shift_mm: float, thickness_mm: float) -> bool | None:
    """Return whether a program cuts in the wood and traverses above it; None where it says too little of Z.

    `shift_mm` is added to its heights, which are counted from the face that is up.
    """
    path = program.path
    low = path.end[path.is_cut, 2] + shift_mm
    low = low[np.isfinite(low)]
    if len(low) == 0:
        return None
    across = ~is_still(path) & np.isfinite(path.end).all(axis=1)
    traverse = path.end[across & ~path.is_cut, 2] + shift_mm
    fed = path.end[across & path.is_cut, 2] + shift_mm
    in_wood = -thickness_mm - _MOST_THROUGH_MM <= float(low.min()) <= -_LEAST_CUT_MM
    # Rapids through wood and feeds through air are not meant, however deep the lowest cut is.
    above = len(traverse) == 0 or float(traverse.min()) >= -1e-6
    mostly_in_wood = len(fed) == 0 or float(np.mean(fed > _LEAST_CUT_MM)) <= 0.5
    return in_wood and above and mostly_in_wood
