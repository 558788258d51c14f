"""The table of a fitted part in the job file: its keys and types, and what can contradict the rest of the file.

Lengths are in the unit the file states. Like the rest of the file's keys this needs pydantic and is imported when a
job is read.
"""

import os
from collections.abc import Iterator, Mapping
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from flipreg.job.fitted import FittedPart
from flipreg.job.name import NAME_PATTERN
from flipreg.job.problem import Problem

__all__ = ["FittedPartTable", "fitted_problems"]

_Name = Annotated[str, Field(min_length=1, pattern=NAME_PATTERN)]


class FittedPartTable(BaseModel):
    """A part that lies in a pocket of this one."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)

    name: Annotated[_Name, Field(description="what the fitted part is called")]
    setup: Annotated[_Name, Field(description="the setup that cuts its pocket")]
    program: Annotated[_Name, Field(description="the program of that setup that cuts the pocket, as it names its file")]
    thickness: Annotated[float, Field(gt=0, description="thickness of the fitted part as planned")]
    proud: Annotated[
        float,
        Field(
            description="how far it stands out of the face that is up; 0 if flush, negative if it lies below the face"
        ),
    ]

    def fitted_part(self, *, mm_per: float, folder: str) -> FittedPart:
        """Return the value of this table; `mm_per` is what one of its units is in millimetres."""
        program = os.path.join(folder, self.program)
        return FittedPart(self.name, self.setup, program, self.thickness * mm_per, self.proud * mm_per)


def fitted_problems(
    parts: Mapping[int, FittedPartTable], programs: Mapping[str, tuple[str, ...]], board: float | None
) -> Iterator[Problem]:
    """Yield what contradicts the rest of the file.

    Parameters
    ----------
    parts : mapping from int
        The tables that are right, by their place in the file.
    programs : mapping from str
        The files of each setup whose table is right, by the setup's name.
    board : float or None
        Thickness of the blank, as measured or else as planned; None where its table is wrong.
    """
    for index, part in parts.items():
        path = ("fitted_parts", index)
        files = programs.get(part.setup)
        if files is not None and part.program not in files:
            known = ", ".join(map(repr, files))
            message = f"setup {part.setup!r} runs no program {part.program!r}; it runs {known}"
            yield Problem((*path, "program"), message)
        if part.proud >= part.thickness:
            message = f"{part.proud:g} proud of the face, and {part.thickness:g} thick: that part needs no pocket"
            yield Problem((*path, "proud"), message)
        elif board is not None and part.thickness - part.proud >= board:
            deep = part.thickness - part.proud
            message = f"the pocket would be {deep:g} deep, and the blank is {board:g} thick"
            yield Problem((*path, "proud" if part.thickness < board else "thickness"), message)
