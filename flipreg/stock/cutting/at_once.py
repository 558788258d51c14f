"""Questions that do not depend on each other, asked at once: a free second processor takes some of them."""

from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from contextvars import copy_context
from typing import ParamSpec, Protocol, TypeVar

__all__ = ["Ask", "at_once"]

Given = ParamSpec("Given")
Answer = TypeVar("Answer")

_THREADS = 2
"""Questions that are looked into at a time (chosen): each needs the memory of some maps."""


class Ask(Protocol):
    """Takes a function and what it is called with, and returns what will have its answer."""

    def __call__(
        self, question: Callable[Given, Answer], *args: Given.args, **keywords: Given.kwargs
    ) -> Future[Answer]:
        """Ask a question."""


@contextmanager
def at_once() -> Iterator[Ask]:
    """Let questions be asked, each in the context in which it is asked; at the end all have been looked into."""
    with ThreadPoolExecutor(_THREADS, "question") as threads:

        def ask(question: Callable[Given, Answer], *args: Given.args, **keywords: Given.kwargs) -> Future[Answer]:
            context = copy_context()
            return threads.submit(lambda: context.run(question, *args, **keywords))

        yield ask
