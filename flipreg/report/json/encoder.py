"""The encoder of all JSON reports: a dataclass becomes an object with its fields as keys.

Where keys are other than the fields, a table says so, class by class; a field that the table does not mention follows
under its own name, so that a new field of a report is in its JSON by itself.
"""

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass
from decimal import Decimal
from enum import Enum
from functools import reduce
from math import isfinite
from typing import Final

import numpy as np

__all__ = ["DECIMALS", "SPREAD", "KeyTable", "Keys", "ValueSource", "as_object", "encoded", "json_text", "own"]

DECIMALS = 6
"""Millimetres and degrees are given to a millionth: below that it is noise of floats (chosen, see limits)."""

SPREAD: Final = ""
"""Stands for the source of a key whose value's own keys are put in its place."""

ValueSource = str | Callable[..., object]
"""Where a value comes from: an attribute, `a.b` of an attribute of an attribute, or a function of the object."""


@dataclass(frozen=True, slots=True)
class Keys:
    """How objects of one class are written.

    Attributes
    ----------
    named : mapping from key to ValueSource
        The first keys, in this order, and where their values come from.
    without : sequence of str
        Fields that are not written, because others tell the same or because they are for pictures.
    decimals : int
        Of the floats in the object and in what it is made of, unless that has keys of its own.
    finer : mapping from key to int
        Decimals of single keys.
    """

    named: Mapping[str, ValueSource] = field(default_factory=dict)
    without: Sequence[str] = ()
    decimals: int = DECIMALS
    finer: Mapping[str, int] = field(default_factory=dict)


KeyTable = Mapping[type, Keys]
"""The keys of each class of a report that are not just its fields."""

_PLAIN = Keys()


def own(*names: str) -> dict[str, ValueSource]:
    """Return keys that are named as the attributes that they come from, in this order."""
    return {name: name for name in names}


def encoded(value: object, table: KeyTable, decimals: int = DECIMALS) -> object:
    """Return a value as plain dicts, lists, strings, numbers and None.

    Parameters
    ----------
    value : object
        A dataclass, enum, array, number, text, None, or sequences and mappings of those.
    table : KeyTable
        The keys of classes that are not written by their fields.
    decimals : int
        Of floats; NaN and infinity become None.

    Raises
    ------
    TypeError
        At a value of another kind.
    """
    if isinstance(value, Enum):
        return value.value
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, float | Decimal):
        return round(float(value), decimals) + 0.0 if isfinite(value) else None
    if isinstance(value, np.ndarray | np.generic):
        return encoded(value.tolist(), table, decimals)
    if isinstance(value, Mapping):
        return {str(key): encoded(item, table, decimals) for key, item in value.items()}
    if isinstance(value, Sequence):
        return [encoded(item, table, decimals) for item in value]
    if is_dataclass(value) and not isinstance(value, type):
        return as_object(value, table)
    raise TypeError(f"{type(value).__name__} cannot be written as JSON")


def as_object(value: object, table: KeyTable) -> dict[str, object]:
    """Return a dataclass as a dict: the keys of the table first, then the fields that it does not mention."""
    keys = table.get(type(value), _PLAIN)
    sources: dict[str, ValueSource] = dict(keys.named)
    used = {source for source in sources.values() if isinstance(source, str)} | {*sources, *keys.without}
    sources |= {each.name: each.name for each in fields(value) if each.name not in used}  # type: ignore[arg-type]
    made: dict[str, object] = {}
    for key, source in sources.items():
        found = source(value) if callable(source) else reduce(getattr, (source or key).split("."), value)
        plain = encoded(found, table, keys.finer.get(key, keys.decimals))
        if source == SPREAD and isinstance(plain, dict):
            made |= plain
        else:
            made[key] = plain
    return made


def json_text(data: object) -> str:
    """Return encoded data as JSON text with a newline at its end; letters outside ASCII are escaped."""
    return json.dumps(data, indent=2, allow_nan=False) + "\n"
