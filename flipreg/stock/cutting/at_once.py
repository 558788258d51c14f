"""Questions that do not depend on each other, asked at once: a free second processor takes some of them."""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future
from contextlib import contextmanager
from contextvars import copy_context
from functools import partial
from typing import Any, ParamSpec, Protocol, TypeVar

from flipreg.second_process import SecondProcess

__all__ = ["Ask", "at_once"]

Given = ParamSpec("Given")
Answer = TypeVar("Answer")


class Ask(Protocol):
    """Takes a function and what it is called with, and returns what will have its answer."""

    def __call__(
        self, question: Callable[Given, Answer], *args: Given.args, **keywords: Given.kwargs
    ) -> Future[Answer]:
        """Ask a question."""


@contextmanager
def at_once(known: Sequence[object] = (), *, pays: bool) -> Iterator[Ask]:
    """Let questions be asked, each in the context in which it is asked; at the end all have been looked into.

    Parameters
    ----------
    known : sequence of objects
        Answers that hold one of these hold this very object, though a second process may have found them.
    pays : bool
        Whether there is enough to do for a second process, if there are more questions than one.
    """
    # Of each question another type.
    asked: list[tuple[Future[Any], Callable[[], Any]]] = []

    def ask(question: Callable[Given, Answer], *args: Given.args, **keywords: Given.kwargs) -> Future[Answer]:
        future: Future[Answer] = Future()
        asked.append((future, partial(copy_context().run, question, *args, **keywords)))
        return future

    yield ask
    with SecondProcess([task for _, task in asked], known, pays=pays and len(asked) > 1) as second:
        for (future, _), answer in zip(asked, second.all(), strict=True):
            future.set_result(answer)
