"""TOML read, or refused with the place where it goes wrong."""

import re
import tomllib
from collections.abc import Iterator

from flipreg.job.file.lines import TOML_STRING
from flipreg.job.problem import JobFileError, Problem

__all__ = ["load_toml"]

_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
"""How the standard library says where; before Python 3.14 nothing but its text knows the place."""

_MOST_DIGITS = 4300
"""Longest whole number that Python reads without being asked to."""

_DEEPEST = 100
"""Brackets within brackets: no job file has a tenth of it (chosen). Told where the reader runs out of its own depth."""

_BRACKETS = re.compile(rf"{TOML_STRING.pattern}|#[^\n]*|[\[\]{{}}]", re.DOTALL)


def load_toml(data: bytes, *, source: str) -> tuple[dict[str, object], str]:
    """Return what a TOML text says, and the text itself.

    Parameters
    ----------
    data : bytes
        The text, UTF-8, with or without a byte order mark.
    source : str
        Its name, for messages.

    Raises
    ------
    JobFileError
        If it is not TOML, with line and column.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start].decode("utf-8-sig")
        raise JobFileError(
            source, [_problem("a job file is UTF-8 text, and this is not", before, len(before))]
        ) from None
    text = text.replace("\r\n", "\n")
    try:
        return tomllib.loads(text), text
    except tomllib.TOMLDecodeError as error:
        raise JobFileError(source, [_not_toml(str(error), text)]) from None
    except RecursionError:
        at = next(_too_deep(text), 0)
        message = f"expected at most {_DEEPEST} brackets within each other, got more"
        raise JobFileError(source, [_problem(message, text, at)]) from None
    except ValueError:
        # The only other thing that the standard library refuses.
        long = re.search(rf"[0-9_]{{{_MOST_DIGITS},}}", text)
        message = f"expected a number of at most {_MOST_DIGITS} digits, got a longer one"
        raise JobFileError(source, [_problem(message, text, long.start() if long else 0)]) from None


def _not_toml(message: str, text: str) -> Problem:
    found = _PLACE.search(message)
    if found is None:
        return Problem((), f"this is not TOML: {message}")
    what = f"this is not TOML: {message[: found.start()]}"
    if found[1] is None:
        return _problem(f"{what}, at the end of the file", text, len(text))
    return Problem((), what, int(found[1]), int(found[2]))


def _problem(message: str, text: str, at: int) -> Problem:
    """Return a problem at a place of the text, told by line and column from 1."""
    return Problem((), message, text.count("\n", 0, at) + 1, at - (text.rfind("\n", 0, at) + 1) + 1)


def _too_deep(text: str) -> Iterator[int]:
    """Yield the places of brackets that stand within too many others; strings and comments have none."""
    depth = 0
    for found in _BRACKETS.finditer(text):
        depth += {"[": 1, "{": 1, "]": -1, "}": -1}.get(found[0], 0)
        if depth > _DEEPEST and found[0] in "[{":
            yield found.start()
