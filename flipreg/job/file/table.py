"""What all tables of the job file share: nothing but their keys, of exactly these types; and what a name is.

Like the rest of the file's keys this needs pydantic and is imported when a job is read.
"""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from flipreg.job.name import NAME_PATTERN

__all__ = ["Name", "Table"]

Name = Annotated[str, Field(min_length=1, pattern=NAME_PATTERN)]


class Table(BaseModel):
    """A table that refuses keys it does not know, values of other types, and what is no finite number."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)
