"""Which setup's jog is wrong.

Two setups that disagree by a shift show that one of their jogs is wrong, and not which. What tells them apart is what
else each of them agrees with: a correction is tried on either one, and the setup whose correction makes the most of the
job agree is the wrong one. If both do equally well, both are named.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from flipreg.verify.finding import Finding, Status
from flipreg.verify.pair import Pair, compare, corrected_jogs
from flipreg.verify.setup_face import SetupFace
from flipreg.verify.tie import Entries, ties

__all__ = ["WrongJog", "jog_finding", "wrong_jogs"]


@dataclass(frozen=True, slots=True)
class WrongJog:
    """A setup whose jog would explain what disagrees.

    Attributes
    ----------
    setup : str
        Its name.
    given_mm : (float, float)
        The jog of the job file.
    right_mm : (float, float)
        The jog that would bring the pair into register.
    agreeing : int
        How many pairs and ties of the job would agree with it.
    """

    setup: str
    given_mm: tuple[float, float]
    right_mm: tuple[float, float]
    agreeing: int


def wrong_jogs(
    pair: Pair, pairs: Sequence[Pair], made: Sequence[Entries], *, tolerance_mm: float, thickness_mm: float
) -> tuple[WrongJog, ...]:
    """Return the setups of a failing pair whose jog may be wrong: none, one, or both where nothing tells them apart.

    Parameters
    ----------
    pair : Pair
        A pair that is not in register.
    pairs : sequence of Pair
        All pairs of the job.
    made : sequence of Entries
        The holes of all setups.
    tolerance_mm, thickness_mm : float
        As for `compare`.
    """
    jogs = corrected_jogs(pair, tolerance_mm=tolerance_mm)
    if jogs is None:
        return ()
    tried = []
    for face, right_mm in zip((pair.front, pair.back), jogs, strict=True):
        moved = face.with_jog(right_mm)
        agreeing = _agreeing(moved, pairs, made, tolerance_mm=tolerance_mm, thickness_mm=thickness_mm)
        tried.append(WrongJog(face.name, face.setup.zero_mm, right_mm, agreeing))
    most = max(wrong.agreeing for wrong in tried)
    return tuple(wrong for wrong in tried if wrong.agreeing == most)


def jog_finding(wrong: Sequence[WrongJog], *, unit_mm: float) -> Finding:
    """Return the finding on jogs that may be wrong; they are shown in the job file's unit."""
    if len(wrong) == 1:
        (one,) = wrong
        return Finding(
            "jog",
            Status.FAIL,
            f"the jog of setup {one.setup!r} is wrong: the job file has zero = {_pair(one.given_mm, unit_mm)}, and "
            f"with zero = {_pair(one.right_mm, unit_mm)} it agrees with the other setups; look it up in the plan",
        )
    either = " or ".join(
        f"{one.setup!r} (zero = {_pair(one.given_mm, unit_mm)} should be {_pair(one.right_mm, unit_mm)})"
        for one in wrong
    )
    return Finding(
        "jog",
        Status.FAIL,
        f"one jog is wrong, of {either}; holes that one of them shares with a third setup would tell which",
    )


def _agreeing(
    moved: SetupFace, pairs: Sequence[Pair], made: Sequence[Entries], *, tolerance_mm: float, thickness_mm: float
) -> int:
    """Return how many pairs and ties agree with one setup moved."""
    count = 0
    for pair in pairs:
        front, back = (moved if face.name == moved.name else face for face in (pair.front, pair.back))
        if moved.name not in pair.names:
            count += pair.report.in_register is True
        else:
            report = compare(front, back, tolerance_mm=tolerance_mm, thickness_mm=thickness_mm).report
            count += report.in_register is True
    holes = [one.moved_with(moved) if one.face.name == moved.name else one for one in made]
    return count + sum(tie.holds for tie in ties(holes, tolerance_mm))


def _pair(way_mm: tuple[float, float], unit_mm: float) -> str:
    x, y = (round(value / unit_mm, 4) + 0.0 for value in way_mm)
    return f"[{x:g}, {y:g}]"
