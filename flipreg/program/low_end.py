"""A program that leaves the cutter in the wood where it ends, or where its tool is changed."""

from collections.abc import Iterator

from flipreg.findings import Finding, Status
from flipreg.program.face import FaceProgram
from flipreg.units import length_text

__all__ = ["low_ends"]

_DEEP_MM = 0.05
"""A cutter that stands less deep below the face stands on the wood; millimetres (chosen)."""


def low_ends(program: FaceProgram) -> Iterator[Finding]:
    """Yield findings of the code 'rapid': where the cutter stands below the face and the program stops or changes it.

    Parameters
    ----------
    program : FaceProgram
        A program whose Z zero is on the face that is up.
    """
    runs = [run for run in program.tool_runs() if run.end > run.first]
    for run in runs:
        height_mm = float(program.path.end[run.end - 1, 2])
        if height_mm < -_DEEP_MM:
            when = "at the end" if run is runs[-1] else "when its tool is changed"
            says = (
                f"{when} the cutter stands {length_text(-height_mm)} below the face, and the next motion would go "
                "through the wood; raise it first"
            )
            yield Finding("rapid", Status.FAIL, says, program.name, int(program.path.line[run.end - 1]))
