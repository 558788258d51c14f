"""Commands run inside the test's own process, and what a message about a bad program must look like."""

import io
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import ParamSpec, TypeVar
from unittest.mock import patch

from flipreg.cli import parser as cli
from flipreg.job_check.check import check_job
from flipreg.register.check import check

__all__ = ["assert_one_message", "checked_once", "run"]

P = ParamSpec("P")
R = TypeVar("R")

_ONE_MESSAGE = re.compile(r"^(?P<file>[^\n]*?):(?P<line>\d+):(?P<column>\d+): (?P<message>[^\n]{10,})")


def run(arguments: list[str], stdin: bytes = b"") -> tuple[int, bytes, str]:
    """Return exit status, standard output and standard error of one command."""
    out, err = io.BytesIO(), io.StringIO()
    status = cli.main(arguments, io.BytesIO(stdin), out, err)
    return status, out.getvalue(), err.getvalue()


@contextmanager
def checked_once() -> Iterator[None]:
    """Let commands tell one check in several ways: it is made by the first of them."""
    with (
        patch("flipreg.job_check.check.check_job", _once(check_job)),
        patch("flipreg.register.check.check", _once(check)),
    ):
        yield


def _once(function: Callable[P, R]) -> Callable[P, R]:
    """Return a function that is called once, and then returns the same again."""
    made: list[R] = []

    def called(*arguments: P.args, **named: P.kwargs) -> R:
        if not made:
            made.append(function(*arguments, **named))
        return made[0]

    return called


def assert_one_message(err: str, file: str, at_line: int | None) -> None:
    """Hold standard error to one message with its place, and the line it is about below it."""
    found = _ONE_MESSAGE.match(err)
    assert found, err[:300]
    assert found["file"] == file
    assert int(found["line"]) >= 1
    assert int(found["column"]) >= 1
    if at_line is not None:
        assert int(found["line"]) == at_line
    # What follows the message is the line it is about and the carets, indented; nothing else.
    rest = err.rstrip("\n").split("\n")[1:]
    assert len(rest) <= 2
    assert all(text.startswith("  ") for text in rest)
    assert "Traceback" not in err
    assert len(err) < 1500
    assert err.rstrip("\n").replace("\n", "").isprintable()
