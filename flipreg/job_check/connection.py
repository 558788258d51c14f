"""Which setups are connected by evidence that agrees, and which are left alone."""

from collections.abc import Sequence

from flipreg.findings import Finding, Status
from flipreg.job_check.common_holes import CommonHoles
from flipreg.job_check.report import PairReport
from flipreg.program.setup_face import SetupFace
from flipreg.units import length_text

__all__ = ["connected", "tie_findings"]


def connected(pairs: Sequence[PairReport], tied: Sequence[CommonHoles]) -> list[set[str]]:
    """Return the setups that agreeing evidence connects, group by group."""
    links = [{pair.front, pair.back} for pair in pairs if pair.report.in_register]
    links += [{tie.one, tie.other} for tie in tied if tie.holds]
    groups: list[set[str]] = []
    for link in links:
        touched = [group for group in groups if group & link]
        groups = [group for group in groups if not group & link] + [link.union(*touched)]
    return groups


def tie_findings(faces: Sequence[SetupFace], pairs: Sequence[PairReport], tied: Sequence[CommonHoles]) -> list[Finding]:
    """Say what ties setups of one face together, and what is not connected with the rest."""
    made = []
    for tie in tied:
        if tie.holds:
            made.append(
                Finding(
                    "tie",
                    Status.PASS,
                    f"{tie.agreeing} holes of both are at the same points",
                    setups=(tie.one, tie.other),
                )
            )
        elif tie.apart_mm is not None:
            made.append(
                Finding(
                    "tie",
                    Status.WARN,
                    f"holes that may be meant as the same lie {length_text(tie.apart_mm)} apart, all in one direction",
                    setups=(tie.one, tie.other),
                )
            )
    groups = connected(pairs, tied)
    alone = [{face.name} for face in faces if not any(face.name in group for group in groups)]
    groups = sorted([*groups, *alone], key=len, reverse=True)
    for group in groups[1:]:
        names = ", ".join(repr(face.name) for face in faces if face.name in group)
        made.append(
            Finding(
                "tie",
                Status.NOT_DETERMINED,
                f"nothing that agrees connects {names} with the other setups; it would need an outline or two holes "
                "cut from both faces of one section, or two holes that two setups of one face both make: for sections "
                "that lie at an angle, spots on the line where they meet",
            )
        )
    return made
