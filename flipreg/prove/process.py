"""A forked process that proves what it is handed through a pipe."""

import contextlib
import fcntl
import io
import os
import pickle
import signal
import struct
import warnings
from collections.abc import Iterator
from dataclasses import replace
from typing import Any, BinaryIO, NoReturn

import numpy as np
from numpy.typing import NDArray

from flipreg.errors import FlipregError, ProofError
from flipreg.prove.proving import Proving
from flipreg.prove.read import Claim, Read
from flipreg.prove.words import compared_rows

__all__ = ["ProofProcess"]

_PIPE_BYTES = 1 << 20
_COUNT = struct.Struct("<q")
_NO_MORE = -1


class ProofProcess:
    """The forked process, seen from home."""

    def __init__(self, proving: Proving) -> None:
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

    def send(self, text: bytes, source: Read, claim: Claim | None) -> None:
        """Hand over a chunk; waits while the other process is behind."""
        work = (text, _fewer_words(source), claim)
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
    blocks, rows = source.blocks, compared_rows(source)
    columns = ("letter", "mantissa", "decimals", "start", "number", "end", "block")
    fewer = replace(blocks, expressions={}, **{name: getattr(blocks, name)[rows] for name in columns})
    return Read(fewer, replace(source.modes, values=source.modes.values[rows]), source.path)
