"""Which setups are connected by evidence that agrees, and which are left alone."""

from collections.abc import Sequence

from flipreg.findings import Finding, Status
from flipreg.job_check.common_holes import CommonHoles
from flipreg.job_check.report import PairReport
from flipreg.program.setup_face import SetupFace
from flipreg.units import length_text

__all__ = ["connected", "connection_findings"]

_WHERE_THEY_MEET = ": for sections that lie at an angle, spots on the line where they meet"


def connected(pairs: Sequence[PairReport], common: Sequence[CommonHoles]) -> list[set[str]]:
    """Return the setups that agreeing evidence connects, group by group."""
    links = [{pair.front, pair.back} for pair in pairs if pair.report.in_register]
    links += [{holes.one, holes.other} for holes in common if holes.agrees]
    groups: list[set[str]] = []
    for link in links:
        touched = [group for group in groups if group & link]
        groups = [group for group in groups if not group & link] + [link.union(*touched)]
    return groups


def connection_findings(
    faces: Sequence[SetupFace], pairs: Sequence[PairReport], common: Sequence[CommonHoles]
) -> list[Finding]:
    """Say which setups of one face have holes in common, and which setups nothing connects with the rest."""
    made = []
    for holes in common:
        if holes.agrees:
            made.append(
                Finding(
                    "tie",
                    Status.PASS,
                    f"{holes.agreeing} holes of both are at the same points",
                    setups=(holes.one, holes.other),
                )
            )
        elif holes.apart_mm is not None:
            made.append(
                Finding(
                    "tie",
                    Status.WARN,
                    f"holes that may be meant as the same lie {length_text(holes.apart_mm)} apart, all in one "
                    "direction",
                    setups=(holes.one, holes.other),
                )
            )
    groups = connected(pairs, common)
    alone = [{face.name} for face in faces if not any(face.name in group for group in groups)]
    groups = sorted([*groups, *alone], key=len, reverse=True)
    sections = len({face.bend for face in faces})
    of_one, meeting = (" of one section", _WHERE_THEY_MEET) if sections > 1 else ("", "")
    for group in groups[1:]:
        names = ", ".join(repr(face.name) for face in faces if face.name in group)
        made.append(
            Finding(
                "tie",
                Status.NOT_DETERMINED,
                f"nothing that agrees connects {names} with the other setups; it would need an outline or two holes "
                f"cut from both faces{of_one}, or two holes that two setups of one face both make{meeting}",
            )
        )
    return made
