"""The table of a fitted part in the job file: its keys and types.

Lengths are in the unit the file states. Like the rest of the file's keys this needs pydantic and is imported when a
job is read.
"""

import os
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from flipreg.job.file.length import Length, Size
from flipreg.job.fitted import FittedPart
from flipreg.job.name import NAME_PATTERN

__all__ = ["FittedPartTable"]

_Name = Annotated[str, Field(min_length=1, pattern=NAME_PATTERN)]


class FittedPartTable(BaseModel):
    """A part that lies in a pocket of this one."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)

    name: Annotated[_Name, Field(description="what the fitted part is called")]
    setup: Annotated[_Name, Field(description="the setup that cuts its pocket")]
    program: Annotated[_Name, Field(description="the program of that setup that cuts the pocket, as it names its file")]
    thickness: Annotated[Size, Field(description="thickness of the fitted part as planned")]
    proud: Annotated[
        Length,
        Field(
            description="how far it stands out of the face that is up; 0 if flush, negative if it lies below the face"
        ),
    ]

    def fitted_part(self, *, mm_per: float, folder: str) -> FittedPart:
        """Return the value of this table; `mm_per` is what one of its units is in millimetres."""
        program = os.path.join(folder, self.program)
        return FittedPart(self.name, self.setup, program, self.thickness * mm_per, self.proud * mm_per)
