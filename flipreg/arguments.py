"""What callers may pass: each argument of a public function is held to the type that its signature says.

Whole numbers are exact wherever a `Decimal` is wanted, and a float is taken for the decimal number that Python shows
for it: 0.1 is 0.1. A member of an enumeration may be given by its value, and the other way round. Whatever does not
fit is told as a `UsageError` with the argument's name, what is expected and what was given.

`flipreg/__init__.py` holds every public function to this, in one place; inside the package the rooms call one another
without it, because there the types are checked already.
"""

import types
from collections.abc import Callable, Iterable, Mapping, Sequence, Sized
from decimal import Decimal
from enum import Enum
from functools import cache, wraps
from inspect import Signature, signature
from math import isfinite
from numbers import Integral, Real
from os import PathLike
from pathlib import Path
from typing import Any, Literal, ParamSpec, TypeVar, Union, get_args, get_origin, get_type_hints

from flipreg.errors import UsageError

__all__ = ["checked", "checks_fields"]

_P = ParamSpec("_P")
_R = TypeVar("_R")
_Class = TypeVar("_Class", bound=type)

_LONGEST = 60
"""Characters of a value in a message (chosen)."""

_HOW_TO_GET = {
    "Readable": "a program, as flipreg.read(path) or flipreg.parse(text) gives it",
    "FaceProgram": "a FaceProgram, as flipreg.face_program(program) gives it",
    "Job": "a Job, as flipreg.read_job(path) gives it",
    "Setup": "a Setup, as job.setup(name) gives it",
}


def checked(function: Callable[_P, _R]) -> Callable[_P, _R]:
    """Return a function whose arguments are made what its signature says, or refused with a UsageError."""

    @wraps(function)
    def call(*args: _P.args, **kwargs: _P.kwargs) -> _R:
        of, hints = _signature(function)
        bound = of.bind(*args, **kwargs)
        for name, value in bound.arguments.items():
            if name in hints:
                bound.arguments[name] = _fitting(value, hints[name], f"{_called(function, bound.arguments)}: {name}")
        return function(*bound.args, **bound.kwargs)

    return call


def checks_fields(made: _Class) -> _Class:
    """Hold what a dataclass is made of to the types of its fields; a decorator of the class."""
    made.__init__ = checked(made.__init__)  # type: ignore[misc]
    return made


def _called(function: Callable[..., object], given: Mapping[str, object]) -> str:
    """Return what a message calls a function or a class; a value that has a name with its name."""
    name = given.get("name")
    is_class = function.__name__ == "__init__"
    called = function.__qualname__.removesuffix(".__init__")
    return f"{called} {name!r}" if is_class and isinstance(name, str) else called


@cache
def _signature(function: Callable[..., object]) -> tuple[Signature, dict[str, Any]]:
    return signature(function), get_type_hints(function)


def _fitting(value: Any, hint: Any, where: str) -> Any:  # noqa: ANN401 - of any type, until it is checked
    """Return a value as the type that is wanted, or raise a UsageError."""
    kind, inner = get_origin(hint), get_args(hint)
    if kind in (Union, types.UnionType):
        return _one_of(value, inner, where)
    if kind is Literal:
        word = value.value if isinstance(value, Enum) else value
        return word if word in inner else _refuse(value, hint, where)
    if kind is tuple or hint is tuple:
        return _tuple(value, hint, where)
    if kind in (Sequence, list):
        return tuple(_fitting(part, inner[0], f"{where}[{place}]") for place, part in _listed(value, hint, where))
    if kind is Mapping:
        if not isinstance(value, Mapping):
            _refuse(value, hint, where)
        return {
            _fitting(key, inner[0], f"a key of {where}"): _fitting(part, inner[1], f"{where}[{key!r}]")
            for key, part in value.items()
        }
    if kind is Callable:
        return value if callable(value) else _refuse(value, hint, where)
    return _single(value, kind or hint, where)


def _one_of(value: Any, hints: tuple[Any, ...], where: str) -> Any:  # noqa: ANN401 - as above
    if value is None and types.NoneType in hints:
        return None
    wanted = [hint for hint in hints if hint is not types.NoneType]
    if len(wanted) == 1:
        return _fitting(value, wanted[0], where)
    for hint in wanted:
        try:
            return _fitting(value, hint, where)
        except UsageError:
            continue
    return _refuse(value, hints, where)


def _tuple(value: Any, hint: Any, where: str) -> tuple[Any, ...]:  # noqa: ANN401 - as above
    inner = get_args(hint)
    parts = _listed(value, hint, where)
    if inner[-1:] == (Ellipsis,):
        inner = inner[:1] * len(parts)
    if len(parts) != len(inner):
        _refuse(value, hint, where)
    return tuple(
        _fitting(part, wanted, f"{where}[{place}]") for (place, part), wanted in zip(parts, inner, strict=True)
    )


def _listed(value: Any, hint: Any, where: str) -> list[tuple[int, Any]]:  # noqa: ANN401 - as above
    is_list = isinstance(value, Iterable) and isinstance(value, Sized)
    if not is_list or isinstance(value, (str, bytes, Mapping)):
        _refuse(value, hint, where)
    return list(enumerate(value))


def _single(value: Any, wanted: type, where: str) -> Any:  # noqa: ANN401 - as above
    if wanted in (Decimal, float, int):
        return _number(value, wanted, where)
    if isinstance(wanted, type) and issubclass(wanted, Enum):
        if isinstance(value, wanted):
            return value
        try:
            return wanted(value)
        except ValueError:
            _refuse(value, wanted, where)
    if wanted in (PathLike, Path):
        return value if isinstance(value, (str, PathLike)) else _refuse(value, wanted, where)
    if getattr(wanted, "_is_protocol", False):
        has_all = all(hasattr(value, name) for name in vars(wanted) if not name.startswith("_"))
        return value if has_all else _refuse(value, wanted, where)
    return value if isinstance(value, wanted) else _refuse(value, wanted, where)


def _number(value: Any, wanted: type, where: str) -> Any:  # noqa: ANN401 - as above
    is_whole = isinstance(value, Integral)
    if isinstance(value, bool) or not isinstance(value, (Real, Decimal)) or not isfinite(value):
        _refuse(value, wanted, where)
    if wanted is int:
        return int(value) if is_whole else _refuse(value, wanted, where)
    if isinstance(value, wanted):
        return value
    if wanted is float:
        return float(value)
    return Decimal(int(value)) if is_whole else Decimal(repr(float(value)))


def _refuse(value: object, hint: Any, where: str) -> Any:  # noqa: ANN401 - never returns
    shown = repr(value)
    shown = shown if len(shown) <= _LONGEST else f"{shown[:_LONGEST]}..."
    raise UsageError(f"{where}: expected {_wanted(hint)}, got {shown}")


def _wanted(hint: Any) -> str:  # noqa: ANN401 - an annotation may be any object
    """Return a type in words."""
    if isinstance(hint, tuple):
        return " or ".join(_wanted(part) for part in hint)
    kind, inner = get_origin(hint), get_args(hint)
    if kind is Literal:
        return " or ".join(map(repr, inner))
    if kind is tuple and inner[-1:] != (Ellipsis,):
        return f"{len(inner)} values, each {_wanted(inner[0])}"
    if kind in (tuple, Sequence, list):
        return f"a list, each {_wanted(inner[0])}"
    named = {types.NoneType: "None", Decimal: "a finite number", float: "a finite number", int: "a whole number",
             str: "text", bytes: "bytes", bool: "True or False", PathLike: "a path", Path: "a path",
             Mapping: "a mapping", Callable: "a function"}  # fmt: skip
    known = named.get(kind or hint)
    if known is not None:
        return known
    if issubclass(hint, Enum):
        return f"{hint.__name__}: " + " or ".join(repr(member.value) for member in hint)
    return _HOW_TO_GET.get(hint.__name__, f"a {hint.__name__}")
