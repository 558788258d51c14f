"""The proof in a thread of its own: a chunk is proved while the next one is read and rewritten.

Numpy lets go of the interpreter's lock in its large operations, so that a second core, if it is free, takes a part of
the work. One chunk at most waits for its proof, which bounds the memory.
"""

from collections.abc import Callable
from queue import SimpleQueue
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
        self._tasks: SimpleQueue[tuple[bytes, Read, Claim | None] | None] = SimpleQueue()
        self._done: SimpleQueue[BaseException | None] = SimpleQueue()
        self._waits = False
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
        self._waits = True
        self._tasks.put((text, source, claim))

    def finish(self) -> float:
        """Return the largest deviation of all chunks; see `Proving.finish`."""
        self._wait()
        return self._proving.finish()

    def _wait(self) -> None:
        """Wait for the chunk that is being proved, and raise what its proof raised."""
        if not self._waits:
            return
        self._waits = False
        error = self._done.get()
        if error is not None:
            raise error

    def _work(self) -> None:
        while (task := self._tasks.get()) is not None:
            error = None
            try:
                self._proving.add(*task)
                if self._also is not None:
                    self._also(task[1].path)
            except BaseException as raised:
                error = raised
            del task
            self._done.put(error)
