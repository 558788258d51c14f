"""What to say when a key of the job file is not what it should be: what was found, what was expected."""

from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from typing import Any, get_args

from pydantic import BaseModel

__all__ = ["complaint"]


def complaint(error: Mapping[str, Any], top: type[BaseModel]) -> str:
    """Return what to say about one error of pydantic, for the person who wrote the file.

    Parameters
    ----------
    error : mapping
        One of the errors that `ValidationError.errors` gives.
    top : type of BaseModel
        The model of the whole file, which knows the keys and what they are for.
    """
    kind, value, loc = error["type"], error["input"], error["loc"]
    context = error.get("ctx", {})
    if loc[-1:] == ("[key]",):
        return f"expected a T number, like 1, got {loc[-2]!r}"
    if kind == "missing":
        return f"missing: {_about(top, loc)}"
    if kind == "extra_forbidden":
        known = [name for name, _ in _keys(_model_at(top, loc[:-1]))]
        close = get_close_matches(str(loc[-1]), known, n=1)
        return f"unknown key; {f'did you mean {close[0]}?' if close else 'known here: ' + ', '.join(known)}"
    if kind == "value_error":
        return str(context["error"])
    expected = {
        "float_type": "a number",
        "int_type": "a whole number",
        "string_type": "text in quotes",
        "list_type": "a list",
        "model_type": "a table",
        "model_attributes_type": "a table",
        "finite_number": "a finite number",
        "string_too_short": "a name",
        "string_pattern_mismatch": "a name on one line, without blanks at its ends",
        "greater_than": f"more than {context.get('gt')}",
        "greater_than_equal": f"{context.get('ge')} or more",
        "less_than": f"less than {context.get('lt')}",
        "less_than_equal": f"{context.get('le')} or less",
        "literal_error": str(context.get("expected")),
        "too_short": f"at least {context.get('min_length')}, got {context.get('actual_length')}",
        "too_long": f"at most {context.get('max_length')}, got {context.get('actual_length')}",
    }.get(kind)
    if expected is None:
        return str(error["msg"])
    if kind in ("too_short", "too_long"):
        return f"expected {expected}"
    return f"expected {expected}, got {_shown(value)}"


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list):
        return "a list"
    return repr(value)


def _about(top: type[BaseModel], loc: tuple[str | int, ...]) -> str:
    for name, description in _keys(_model_at(top, loc[:-1])):
        if name == loc[-1]:
            return description
    return "a value"


def _keys(model: type[BaseModel]) -> Iterator[tuple[str, str]]:
    for name, field in model.model_fields.items():
        yield field.alias or name, field.description or ""


def _model_at(top: type[BaseModel], loc: tuple[str | int, ...]) -> type[BaseModel]:
    """Return the model of the table at a key path."""
    model = top
    for key in loc:
        if isinstance(key, str):
            field = next(field for name, field in model.model_fields.items() if key in (name, field.alias))
            model = _inner_model(field.annotation)
    return model


def _inner_model(annotation: Any) -> type[BaseModel]:  # noqa: ANN401, an annotation may be any object
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next(model for part in get_args(annotation) if (model := _inner_or_none(part)) is not None)


def _inner_or_none(annotation: Any) -> type[BaseModel] | None:  # noqa: ANN401, as above
    try:
        return _inner_model(annotation)
    except StopIteration:
        return None
