"""The proof in a process of its own, beside the rewriting.

A long program is proved by a forked process while the next chunk is being rewritten: numpy holds the
interpreter's lock for most of what is done here, so that threads gain nothing (measured), and a second core
halves the time. The first chunks are proved at home, so that a short program never pays for a fork. Where
there is no fork, or other threads run, all chunks are.
"""

import os
import sys
import threading
from typing import TYPE_CHECKING

from flipreg.prove.proving import Proving
from flipreg.prove.read import Claim, Read

if TYPE_CHECKING:
    from flipreg.prove.process import ProofProcess

__all__ = ["ProvingApart"]

_AT_HOME = 2
"""Chunks proved before a process is forked; ours: it costs a few milliseconds, as much as a chunk."""


class ProvingApart:
    """A `Proving` that goes on in another process once a program turns out to be long.

    Use as a context, so that the process ends in any case.
    """

    def __init__(self, proving: Proving) -> None:
        self._proving = proving
        self._chunks = 0
        self._process: ProofProcess | None = None

    def __enter__(self) -> "ProvingApart":
        return self

    def __exit__(self, *_: object) -> None:
        if self._process is not None:
            self._process.end()

    def add(self, text: bytes, source: Read, claim: Claim | None) -> None:
        """Prove the next chunk, here or there; see `Proving.add`. Errors from there may come later."""
        self._chunks += 1
        if self._process is None and self._chunks > _AT_HOME and _can_fork():
            # Imported here: a short program never needs it.
            from flipreg.prove.process import ProofProcess

            self._process = ProofProcess(self._proving)
        if self._process is None:
            self._proving.add(text, source, claim)
        else:
            self._process.send(text, source, claim)

    def finish(self) -> float:
        """Return the largest deviation of all chunks; see `Proving.finish`."""
        return self._proving.finish() if self._process is None else self._process.result()


def _can_fork() -> bool:
    # Other threads may hold locks that a forked process would wait for, for ever.
    return sys.platform == "linux" and (os.cpu_count() or 1) > 1 and threading.active_count() == 1
