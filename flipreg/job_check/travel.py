"""Whether the machine can go where the programs of a setup send it.

Z is that of a tool as long as the one that Z was touched off with: how long the others are is not in the job.
"""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.job.layout import Layout
from flipreg.job.machine import Range
from flipreg.program.known_positions import KnownPositions
from flipreg.program.setup_face import SetupFace
from flipreg.units import length_text, limit_text, shown_now

__all__ = ["travel_findings"]

Floats = NDArray[np.float64]

_OVER_MM = 1e-6
"""Beyond the travel by less than this is rounding; millimetres (chosen)."""


def travel_findings(faces: Sequence[SetupFace], layout: Layout) -> Iterator[Finding]:
    """Yield a finding of the code 'travel' for each setup; none where the job says no travel."""
    machine = layout.job.machine
    travel = None if machine is None else machine.travel_mm
    if travel is None or all(axis is None for axis in travel):
        return
    for face in faces:
        programs = [KnownPositions.of(face, program, layout.thickness_mm) for program in face.programs]
        bounds = [one.path.bounds_mm() for one in programs]
        for at, one in zip(bounds, programs, strict=True):
            # In another work offset the numbers are those of another zero.
            away = one.path.work_offset != one.path.work_offset[:1]
            at[0][away], at[1][away] = np.nan, np.nan
        if face.setup.machine_zero_mm is None:
            yield _by_size(face, bounds, travel)
        else:
            yield _by_place(face, programs, bounds, travel)


def _by_place(
    face: SetupFace,
    programs: Sequence[KnownPositions],
    bounds: Sequence[tuple[Floats, Floats]],
    travel: tuple[Range | None, ...],
) -> Finding:
    zero = np.array(face.setup.machine_zero_mm)
    ends = np.array([(-np.inf, np.inf) if axis is None else axis for axis in travel])
    count, first, worst = 0, None, (0.0, 0)
    for one, (low, high) in zip(programs, bounds, strict=True):
        # Axis by axis, how far each motion goes beyond either end; NaN, where it is not known, is beyond nothing.
        over = np.fmax(np.fmax(ends[:, 0] - (low + zero), high + zero - ends[:, 1]), 0.0)
        rows = np.flatnonzero((over > _OVER_MM).any(axis=1))
        count += len(rows)
        if rows.size:
            if first is None:
                first = one, int(rows[0])
            axis = int(over.max(axis=0).argmax())
            worst = max(worst, (float(over[:, axis].max()), axis))
    if first is not None:
        one, row = first
        over_mm, axis = worst
        low_mm, high_mm = ends[axis].tolist()
        return Finding(
            "travel",
            Status.FAIL,
            f"{_motions(count)} beyond the machine's travel, up to {length_text(over_mm)} along "
            f"{'XYZ'[axis]}, which goes from {shown_now().bare(low_mm)} to {limit_text(high_mm)} of the machine",
            one.program.name,
            int(one.path.line[row]),
            setups=(face.name,),
        )
    return _unsaid(face, programs) or Finding(
        "travel",
        Status.PASS,
        "all motion is within the machine's travel from each program's first point on, for a tool as long as the one "
        "that Z was touched off with",
        setups=(face.name,),
    )


def _by_size(face: SetupFace, bounds: Sequence[tuple[Floats, Floats]], travel: tuple[Range | None, ...]) -> Finding:
    """Return what can be said without knowing where program zero is: whether the whole motion is too long."""
    low = np.fmin.reduce(np.concatenate([part[0] for part in bounds]), axis=0, initial=np.nan)
    high = np.fmax.reduce(np.concatenate([part[1] for part in bounds]), axis=0, initial=np.nan)
    too_long = []
    for name, axis, size_mm in zip("XYZ", travel, (high - low).tolist(), strict=True):
        if axis is not None and size_mm > axis[1] - axis[0] + _OVER_MM:
            has = limit_text(axis[1] - axis[0])
            too_long.append(f"{length_text(size_mm)} along {name}, where the machine has {has}")
    if too_long:
        says = f"it cannot fit the machine's travel: it moves {' and '.join(too_long)}"
        return Finding("travel", Status.FAIL, says, setups=(face.name,))
    return Finding(
        "travel",
        Status.NOT_DETERMINED,
        "it is no longer than the machine's travel; that it lies within it would need machine_zero in [[setups]]",
        setups=(face.name,),
        settle="machine_zero in [[setups]]",
    )


def _unsaid(face: SetupFace, programs: Sequence[KnownPositions]) -> Finding | None:
    """Return what is open because a program does not say where it goes."""
    count = sum(int(one.is_lost.sum()) for one in programs)
    never = [one for one in programs if len(one.path) and bool(one.is_approach.all())]
    if not count and not never:
        return None
    one = next(one for one in programs if bool(one.is_lost.any()) or one in never)
    row = int(one.is_lost.argmax())
    said = f"{_motions(count)} to or from places that the program does not say (G28, G30, G53, another work offset)"
    if not count:
        said = f"{one.program.name} never says where all three axes are"
    return Finding(
        "travel",
        Status.NOT_DETERMINED,
        f"{said}; all other motion is within the machine's travel",
        one.program.name,
        int(one.path.line[row]),
        setups=(face.name,),
    )


def _motions(count: int) -> str:
    return "1 motion goes" if count == 1 else f"{count} motions go"
