"""Datum closure: where both zeros lie, and whether the programs begin and end over them."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.path import Path
from flipreg.program.face import Face
from flipreg.register.faces.number import place
from flipreg.register.faces.placement import Placement

__all__ = ["Datum", "Stay", "datum_findings", "datum_of", "offset_findings", "offset_names", "work_offsets"]

Floats = NDArray[np.float64]

_FIRST_OFFSET = 1
"""G54."""
_OVER_MM = 0.01
"""Nearer than this to its zero a program stands over it, in millimetres (chosen)."""


@dataclass(frozen=True, slots=True)
class Stay:
    """Where one program begins and ends, in its own program frame.

    Attributes
    ----------
    program : str
        Its name.
    start_mm, end_mm : (float, float) or None
        The first XY it goes to and the last one; None where it names none.
    """

    program: str
    start_mm: tuple[float, float] | None
    end_mm: tuple[float, float] | None

    @property
    def ends_over_zero(self) -> bool:
        """Whether it ends over its program zero."""
        return self.end_mm is not None and max(map(abs, self.end_mm)) <= _OVER_MM


@dataclass(frozen=True, slots=True)
class Datum:
    """How the zeros of both faces lie to one another.

    Attributes
    ----------
    offset_mm : (float, float) or None
        The back's program zero in the blank frame, which has its zero at the front's: the datum of the flip.
        None where no flip is known.
    front, back : tuple of Stay
        Start and end of each program.
    """

    offset_mm: tuple[float, float] | None
    front: tuple[Stay, ...]
    back: tuple[Stay, ...]


def datum_of(front: Face, back: Face, placement: Placement | None) -> Datum:
    """Return the offset between the zeros and the programs' starts and ends."""
    offset = None
    if placement is not None:
        x_mm, y_mm = (np.round(placement.offset_mm, 6) + 0.0).tolist()
        offset = (x_mm, y_mm)
    return Datum(
        offset,
        tuple(_stay(program.name, program.path) for program in front),
        tuple(_stay(program.name, program.path) for program in back),
    )


def datum_findings(datum: Datum, front: Face, back: Face) -> list[Finding]:
    """Return findings on the zeros: closure, and the work offsets that a face counts from."""
    return [_closure(datum), *offset_findings(front, "the front cuts"), *offset_findings(back, "the back cuts")]


def offset_findings(face: Face, who: str, setups: tuple[str, ...] = ()) -> Iterator[Finding]:
    """Yield the finding on work offsets that are mixed in a face, or on the one where zero is to be set, if not G54.

    Parameters
    ----------
    face : sequence of FaceProgram
        The programs of one zero.
    who : str
        Who cuts, and the verb.
    setups : tuple of str
        As in `Finding`.
    """
    offsets = work_offsets(face)
    names = ", ".join(offset_names(face))
    if len(offsets) > 1:
        says = (
            f"{who} in work offsets {names}: where they lie to one another is not in the programs; it would need one "
            "work offset for the whole face"
        )
        yield Finding("datum", Status.NOT_DETERMINED, says, setups=setups)
    elif offsets and offsets != [_FIRST_OFFSET]:
        says = f"{who} in work offset {names}: program zero is to be set there, and not in G54"
        yield Finding("datum", Status.WARN, says, setups=setups)


def work_offsets(face: Face) -> list[int]:
    """Return the work offsets a face cuts in, 1 for G54."""
    used = [np.unique(program.path.work_offset[program.path.is_cut]) for program in face]
    return sorted({int(number) for numbers in used for number in numbers})


def offset_names(face: Face) -> tuple[str, ...]:
    """Return the work offsets a face cuts in as programs say them: `G54`, `G59.1`."""
    return tuple(f"G{53 + number}" if number <= 6 else f"G59.{number - 6}" for number in work_offsets(face))


def _closure(datum: Datum) -> Finding:
    away = [stay for stay in (*datum.front, *datum.back) if not stay.ends_over_zero]
    where = (
        "no flip is known, so the zeros cannot be related"
        if datum.offset_mm is None
        else f"the back's program zero lies at {place(datum.offset_mm)} of the front"
    )
    if not away:
        status = Status.NOT_DETERMINED if datum.offset_mm is None else Status.PASS
        return Finding("datum", status, f"{where}; all programs end over their program zero")
    ends = ", ".join(f"{stay.program} ends {_at(stay.end_mm)}" for stay in away[:2])
    ends += f" and {len(away) - 2} more" if len(away) > 2 else ""
    return Finding(
        "datum",
        Status.NOT_DETERMINED,
        f"{where}; not all programs end over their zero, so a lost zero would not show there: {ends}; flipreg home "
        "makes them do so",
    )


def _at(point: tuple[float, float] | None) -> str:
    return "nowhere known" if point is None else f"at {place(point)}"


def _stay(name: str, path: Path) -> Stay:
    known = np.flatnonzero(np.isfinite(path.end[:, :2]).all(axis=1))
    if len(known) == 0:
        return Stay(name, None, None)
    return Stay(name, _pair(path.end[known[0]]), _pair(path.end[known[-1]]))


def _pair(point: Floats) -> tuple[float, float]:
    x_mm, y_mm = (np.round(point[:2], 6) + 0.0).tolist()
    return x_mm, y_mm
