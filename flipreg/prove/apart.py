"""The proof in a process of its own, beside the rewriting.

A long program is proved by a forked process while the next chunk is being rewritten: numpy holds the
interpreter's lock for most of what is done here, so that threads gain nothing (measured), and a second core
halves the time. The first chunks are proved at home, so that a short program never pays for a fork. Where
there is no fork, or other threads run, all chunks are.
"""

import contextlib
import io
import os
import pickle
import signal
import struct
import sys
import threading
import warnings
from collections.abc import Iterator
from dataclasses import replace
from typing import Any, BinaryIO, NoReturn

import numpy as np
from numpy.typing import NDArray

from flipreg.errors import FlipregError
from flipreg.prove.chunk import Claim
from flipreg.prove.proving import Proving
from flipreg.prove.read import ProofError, Read
from flipreg.prove.words import compared_rows

__all__ = ["ProvingApart"]

_AT_HOME = 2
"""Chunks proved before a process is forked; ours: it costs a few milliseconds, as much as a chunk."""

_PIPE_BYTES = 1 << 20
_COUNT = struct.Struct("<q")
_NO_MORE = -1


class ProvingApart:
    """A `Proving` that goes on in another process once a program turns out to be long.

    Use as a context, so that the process ends in any case.
    """

    def __init__(self, proving: Proving) -> None:
        self._proving = proving
        self._chunks = 0
        self._process: _Process | None = None

    def __enter__(self) -> "ProvingApart":
        return self

    def __exit__(self, *_: object) -> None:
        if self._process is not None:
            self._process.end()

    def add(self, text: bytes, source: Read, claim: Claim | None) -> None:
        """Prove the next chunk, here or there; see `Proving.add`. Errors from there may come later."""
        self._chunks += 1
        if self._process is None and self._chunks > _AT_HOME and _can_fork():
            self._process = _Process(self._proving)
        if self._process is None:
            self._proving.add(text, source, claim)
        else:
            self._process.send((text, _fewer_words(source), claim))

    def finish(self) -> float:
        """Return the largest deviation of all chunks; see `Proving.finish`."""
        return self._proving.finish() if self._process is None else self._process.result()


def _can_fork() -> bool:
    # Other threads may hold locks that a forked process would wait for, for ever.
    return sys.platform == "linux" and (os.cpu_count() or 1) > 1 and threading.active_count() == 1


class _Process:
    """The forked process, seen from home."""

    def __init__(self, proving: Proving) -> None:
        import fcntl

        read_work, write_work = os.pipe()
        read_result, write_result = os.pipe()
        fcntl.fcntl(write_work, fcntl.F_SETPIPE_SZ, _PIPE_BYTES)
        with warnings.catch_warnings():
            # Numpy's linear algebra keeps threads of its own; nothing that is forked here uses them.
            warnings.simplefilter("ignore", DeprecationWarning)
            self._pid = os.fork()
        if self._pid == 0:
            os.close(write_work)
            os.close(read_result)
            _work(proving, os.fdopen(read_work, "rb"), write_result)
        os.close(read_work)
        os.close(write_result)
        self._work = os.fdopen(write_work, "wb", buffering=0)
        self._result = os.fdopen(read_result, "rb")

    def send(self, work: object) -> None:
        """Hand over a chunk; waits while the other process is behind."""
        buffers: list[pickle.PickleBuffer] = []
        head = io.BytesIO()
        _Pickler(head, protocol=5, buffer_callback=buffers.append).dump(work)
        parts = [head.getbuffer(), *(buffer.raw() for buffer in buffers)]
        try:
            _write(self._work, memoryview(struct.pack(f"<{len(parts) + 1}q", len(parts), *map(len, parts))))
            for part in parts:
                _write(self._work, part)
        except BrokenPipeError:
            # It has found something, or died; what it was is in the result.
            self.result()
            raise ProofError("the proof ended before the program did; nothing was written") from None

    def result(self) -> float:
        """Return what the other process found: the largest deviation, or its error."""
        with contextlib.suppress(BrokenPipeError):
            _write(self._work, memoryview(_COUNT.pack(_NO_MORE)))
        answer = self._result.read()
        if not answer:
            raise ProofError("the proof ended without a result; nothing was written")
        found: float | FlipregError = pickle.loads(answer)
        if isinstance(found, FlipregError):
            raise found
        return found

    def end(self) -> None:
        """Wait for the process; without more work it ends by itself."""
        self._work.close()
        self._result.close()
        os.waitpid(self._pid, 0)


def _write(stream: BinaryIO, part: memoryview) -> None:
    while part:
        written = stream.write(part)
        part = part[written or 0 :]


def _work(proving: Proving, work: BinaryIO, result: int) -> NoReturn:
    """Prove what comes in, say what was found, and leave without touching what belongs to the other process."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        found: float | FlipregError
        try:
            for text, source, claim in _received(work):
                proving.add(text, source, claim)
            found = proving.finish()
        except FlipregError as error:
            found = error
        with os.fdopen(result, "wb") as stream:
            stream.write(pickle.dumps(found))
    except BaseException:
        # The other process sees that there is no result.
        os._exit(1)
    os._exit(0)


def _received(work: BinaryIO) -> Iterator[Any]:
    while True:
        (count,) = _COUNT.unpack(_exactly(work, _COUNT.size))
        if count == _NO_MORE:
            return
        sizes = struct.unpack(f"<{count}q", _exactly(work, count * _COUNT.size))
        head, *buffers = (_exactly(work, size) for size in sizes)
        yield pickle.loads(head, buffers=buffers)


def _exactly(stream: BinaryIO, size: int) -> bytearray:
    found = bytearray(size)
    view = memoryview(found)
    while view:
        count = stream.readinto(view)  # type: ignore[attr-defined]
        if not count:
            raise EOFError
        view = view[count:]
    return found


class _Pickler(pickle.Pickler):
    """Sends a column that holds one value everywhere as that value, and points as their coordinates.

    Pickle would write out the first in full, and copy the second, which are views into longer columns.
    """

    def reducer_override(self, value: object) -> Any:  # noqa: ANN401 - as the base class has it
        if type(value) is np.ndarray and value.size:
            if not any(value.strides):
                return _constant, (value.flat[0], value.shape)
            if value.ndim == 2 and value.strides[0] == value.itemsize:
                return _columns, tuple(value.T)
        return NotImplemented


def _constant(value: np.generic, shape: tuple[int, ...]) -> NDArray[np.generic]:
    return np.broadcast_to(value, shape)


def _columns(*coordinates: NDArray[np.generic]) -> NDArray[np.generic]:
    return np.array(coordinates).T


def _fewer_words(source: Read) -> Read:
    """Return a source chunk without its coordinate words: it is the motions that are compared."""
    blocks, rows = source.blocks, compared_rows(source.blocks)
    columns = ("letter", "mantissa", "decimals", "start", "number", "end", "block")
    fewer = replace(blocks, expressions={}, **{name: getattr(blocks, name)[rows] for name in columns})
    return Read(fewer, replace(source.modes, values=source.modes.values[rows]), source.path)
