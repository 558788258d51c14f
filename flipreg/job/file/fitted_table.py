"""The table of a fitted part in the job file: its keys and types.

Lengths are in the unit the file states. Like the rest of the file's keys this needs pydantic and is imported when a
job is read.
"""

from typing import Annotated

from pydantic import Field

from flipreg.job.file.length import LengthField, Size
from flipreg.job.file.table import Name, Table

__all__ = ["FittedPartTable"]



class FittedPartTable(Table):
    """A part that lies in a pocket of this one."""

    name: Annotated[Name, Field(description="what the fitted part is called")]
    setup: Annotated[Name, Field(description="the setup that cuts its pocket")]
    program: Annotated[Name, Field(description="the program of that setup that cuts the pocket, as it names its file")]
    thickness: Annotated[Size, Field(description="thickness of the fitted part as planned")]
    proud: Annotated[
        LengthField,
        Field(
            description="how far it stands out of the face that is up; 0 if flush, negative if it lies below the face"
        ),
    ]
