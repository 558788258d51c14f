"""Lengths in the job file: numbers in the file's unit, or text that says its own, such as `"3/8in"` or `"20mm"`.

Like the rest of the file's keys this needs pydantic and is imported when a job is read.
"""

from typing import Annotated, Any

from pydantic import BeforeValidator, Field, GetJsonSchemaHandler, ValidationInfo
from pydantic.json_schema import JsonSchemaValue

from flipreg.errors import UsageError
from flipreg.units import INCH, PartOfInchError, parse_length_mm

__all__ = ["LengthField", "NoLess", "PointField", "RangeField", "Size", "in_unit"]

_PATTERN = r"^[+-]?(([0-9]+\.?[0-9]*|\.[0-9]+) ?(mm|in)|([0-9]+[ -])?[0-9]+/(2|4|8|16|32|64) ?in)$"
_EXPECTED = 'a number, or text with a unit, such as "3/8in"'
_PARTS = "an inch in halves, quarters, 8ths, 16ths, 32nds or 64ths"


def in_unit(*, inch: bool) -> dict[str, bool]:
    """Return the context in which tables are validated: whether the file's unit is the inch."""
    return {"inch": inch}


def _number(value: object, info: ValidationInfo) -> object:
    """Return a length in the file's unit; what is no text is left to the type."""
    if not isinstance(value, str):
        return value
    try:
        length = parse_length_mm(value)
    except PartOfInchError:
        raise ValueError(f"expected {_PARTS}, got {value!r}") from None
    except UsageError:
        length = None
    if length is None or not length.unit:
        raise ValueError(f"expected {_EXPECTED}, got {value!r}")
    assert info.context is not None
    return float(length / INCH) if info.context["inch"] else float(length)


class _Text:
    """What tells the JSON Schema that a number may also be text with a unit."""

    def __get_pydantic_json_schema__(self, schema: Any, handler: GetJsonSchemaHandler) -> JsonSchemaValue:  # noqa: ANN401, pydantic's own
        return {"anyOf": [handler(schema), {"type": "string", "pattern": _PATTERN}]}


LengthField = Annotated[float, BeforeValidator(_number), _Text()]
"""Any length."""
Size = Annotated[float, Field(gt=0), BeforeValidator(_number), _Text()]
"""A length over 0."""
NoLess = Annotated[float, Field(ge=0), BeforeValidator(_number), _Text()]
"""A length, 0 or more."""
RangeField = Annotated[list[LengthField], Field(min_length=2, max_length=2)]
"""[low, high]."""
PointField = Annotated[list[LengthField], Field(min_length=2, max_length=2)]
"""[X, Y]."""
