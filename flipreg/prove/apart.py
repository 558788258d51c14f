"""The proof in a thread of its own: a chunk is proved while the next one is read and rewritten.

Numpy lets go of the interpreter's lock in its large operations, so that a second core, if it is free, takes a part of
the work. One chunk at most waits for its proof, which bounds the memory. The first chunk is proved at once, so that a
short program never pays for a thread.
"""

from typing import TYPE_CHECKING

from flipreg.prove.proving import Proving
from flipreg.prove.read import Claim, Read

if TYPE_CHECKING:
    from concurrent.futures import Future, ThreadPoolExecutor

__all__ = ["ProvingApart"]


class ProvingApart:
    """A `Proving` that goes on in a thread while the next chunk is made.

    Use as a context, so that the thread ends in any case.
    """

    def __init__(self, proving: Proving) -> None:
        self._proving = proving
        self._is_first = True
        self._thread: ThreadPoolExecutor | None = None
        self._running: Future[None] | None = None

    def __enter__(self) -> "ProvingApart":
        return self

    def __exit__(self, *_: object) -> None:
        if self._thread is not None:
            self._thread.shutdown()

    def add(self, text: bytes, source: Read, claim: Claim | None) -> None:
        """Begin to prove the next chunk; see `Proving.add`. What the one before raised is raised here."""
        if self._is_first:
            self._is_first = False
            self._proving.add(text, source, claim)
            return
        if self._thread is None:
            # Imported here: a short program never needs it.
            from concurrent.futures import ThreadPoolExecutor

            self._thread = ThreadPoolExecutor(1, "proof")
        self._wait()
        self._running = self._thread.submit(self._proving.add, text, source, claim)

    def finish(self) -> float:
        """Return the largest deviation of all chunks; see `Proving.finish`."""
        self._wait()
        return self._proving.finish()

    def _wait(self) -> None:
        if self._running is not None:
            self._running.result()
