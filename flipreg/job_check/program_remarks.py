"""What to look at in the programs of a job, each thing once however many programs have it."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from flipreg.findings import Finding, Status
from flipreg.names import bare_name
from flipreg.program.face import FaceProgram
from flipreg.program.low_end import low_ends
from flipreg.program.setup_face import SetupFace
from flipreg.program.stopped_spindle import stopped_spindle
from flipreg.program.tool_lengths import length_findings
from flipreg.program.tool_remarks import tool_remarks

__all__ = ["program_remarks"]

_MOST_NAMED = 3
"""Programs that are named beside the first that has the same (chosen)."""


def program_remarks(faces: Sequence[SetupFace]) -> Iterator[Finding]:
    """Yield findings of 'tool', 'rapid', 'program', 'spindle', 'length' and 'habit', of the programs themselves.

    Parameters
    ----------
    faces : sequence of SetupFace
        The setups of a job.
    """
    found: dict[tuple[str, Status, str], list[Finding]] = {}
    programs = [program for face in faces for program in face.programs]
    lengths = length_findings((program.name, program.lengths) for program in programs)
    for one in (*(one for program in programs for one in _of_program(program)), *lengths):
        found.setdefault((one.check, one.status, one.says), []).append(one)
    for first, *others in found.values():
        names = list(dict.fromkeys(bare_name(one.program or "") for one in others if one.program != first.program))
        if names:
            more = len(names) - _MOST_NAMED
            listed = ", ".join(names[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
            yield replace(first, says=f"{first.says}; so in {listed}")
        else:
            yield first


def _of_program(program: FaceProgram) -> Iterator[Finding]:
    yield from tool_remarks(program)
    yield from low_ends(program)
    stopped = stopped_spindle(program)
    if stopped is not None:
        yield stopped
    # Which tool is in the spindle is for the job to say.
    told = ("tool",) if stopped is None else ("tool", "spindle")
    yield from (one for one in program.findings if one.check not in told)
