"""The proof in a thread of its own: a chunk is proved while the next one is read and rewritten.

Numpy lets go of the interpreter's lock in its large operations, so that a second core, if it is free, takes a part of
the work. One chunk at most waits for its proof, which bounds the memory.
"""

from collections.abc import Callable
from threading import Thread

from flipreg.path import Path
from flipreg.prove.proving import Proving
from flipreg.prove.read import Claim, Read

__all__ = ["ProvingApart"]


class ProvingApart:
    """A `Proving` that goes on in a thread while the next chunk is made.

    Use as a context, so that the thread ends in any case.

    Parameters
    ----------
    proving : Proving
        The proof.
    also : callable, optional
        What else is to be done with the source's motions there, chunk after chunk, when these are proved.
    """

    def __init__(self, proving: Proving, also: Callable[[Path], None] | None = None) -> None:
        self._proving = proving
        self._also = also
        self._running: _Running | None = None

    def __enter__(self) -> "ProvingApart":
        return self

    def __exit__(self, *_: object) -> None:
        if self._running is not None:
            self._running.join()

    def add(self, text: bytes, source: Read, claim: Claim | None) -> None:
        """Begin to prove the next chunk; see `Proving.add`. What the one before raised is raised here."""
        self._wait()
        self._running = _Running(lambda: self._prove(text, source, claim))
        self._running.start()

    def _prove(self, text: bytes, source: Read, claim: Claim | None) -> None:
        self._proving.add(text, source, claim)
        if self._also is not None:
            self._also(source.path)

    def finish(self) -> float:
        """Return the largest deviation of all chunks; see `Proving.finish`."""
        self._wait()
        return self._proving.finish()

    def _wait(self) -> None:
        if self._running is not None:
            running, self._running = self._running, None
            running.join()
            if running.error is not None:
                raise running.error


class _Running(Thread):
    """A thread that keeps what its task raises; executors do so too, and take long to import."""

    def __init__(self, task: Callable[[], None]) -> None:
        super().__init__(name="proof")
        self._task = task
        self.error: BaseException | None = None

    def run(self) -> None:
        try:
            self._task()
        except BaseException as error:
            self.error = error
