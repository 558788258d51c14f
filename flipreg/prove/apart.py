"""The proof in a thread of its own: a chunk is proved while the next one is read and rewritten.

Numpy lets go of the interpreter's lock in its large operations, so that a second core, if it is free, takes a part of
the work. One chunk at most waits for its proof, which bounds the memory.
"""

from collections.abc import Callable
from queue import SimpleQueue
from threading import Thread
from typing import Protocol

from flipreg.path import Path
from flipreg.prove.proving import Proving
from flipreg.prove.read import Claim, Read
from flipreg.rs274.read.lines import LargePages

__all__ = ["ProvingApart"]


class Looks(Protocol):
    """Looks at the source's motions, chunk after chunk, and in the end at what was kept for more."""

    def add(self, path: Path, /) -> None:
        """Look at the next motions."""

    def finish(self) -> None:
        """Look at what is left over."""


class ProvingApart:
    """A `Proving` that goes on in a thread while the next chunk is made.

    Use as a context, so that the thread ends in any case.

    Parameters
    ----------
    proving : Proving
        The proof.
    also : object with `add` and `finish`, optional
        What else is to look at the source's motions: at each chunk in the thread, before the next one is proved, and at
        the last one, and at what is left over then, while the last chunk is proved.
    """

    def __init__(self, proving: Proving, also: Looks | None = None) -> None:
        self._proving, self._also = proving, also
        self._unseen: Path | None = None
        self._tasks: SimpleQueue[tuple[bytes, Read, Claim | None, Path | None] | None] = SimpleQueue()
        self._done: SimpleQueue[BaseException | None] = SimpleQueue()
        self._open = 0
        self._thread = Thread(target=self._work, name="proof")

    def __enter__(self) -> "ProvingApart":
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._tasks.put(None)
        self._thread.join()

    def add(self, text: bytes, source: Read, claim: Claim | None) -> None:
        """Begin to prove the next chunk; see `Proving.add`. What the one before raised is raised here."""
        self._wait()
        self._open = 2
        self._tasks.put((text, source, claim, self._unseen))
        self._unseen = source.path

    def finish(self) -> float:
        """Return the largest deviation of all chunks; see `Proving.finish`."""
        if self._also is not None and self._unseen is not None:
            self._wait(1)
            self._also.add(self._unseen)
            self._also.finish()
        self._wait()
        return self._proving.finish()

    def _wait(self, until: int = 0) -> None:
        """Wait until no more than so much of the chunk is still open, the look before it and its proof."""
        while self._open > until:
            self._open -= 1
            error = self._done.get()
            if error is not None:
                raise error

    def _work(self) -> None:
        pages = LargePages()
        while (task := self._tasks.get()) is not None:
            text, source, claim, before = task
            pages.take_for(text)
            self._do(self._look, before)
            self._do(self._proving.add, text, source, claim)
            del task, text, source, claim, before

    def _look(self, path: Path | None) -> None:
        if self._also is not None and path is not None:
            self._also.add(path)

    def _do(self, what: Callable[..., None], *given: object) -> None:
        error = None
        try:
            what(*given)
        except BaseException as raised:
            error = raised
        self._done.put(error)
