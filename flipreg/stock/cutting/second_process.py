"""Work that a second process does beside this one, where that is safe and a second processor may be free.

Threads share one interpreter, whose lock they hand to each other at every short call; two processes don't. The second
one is a copy of this one, made by the system in some thousandths of a second, and what it does shows here in memory
that both share. All it is asked for may be done twice: what it leaves undone, because it could not be made or came to
an end, is done here.
"""

import mmap
import os
import signal
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

__all__ = ["SecondProcess", "shared_zeros"]

Task = Callable[[], object]

_NUMBER_BYTES = 4


def shared_zeros(shape: tuple[int, int]) -> NDArray[np.float32]:
    """Return zeros that a second process shares: what either writes, both read.

    Raises
    ------
    MemoryError
        If the system has not so much memory.
    """
    size = shape[0] * shape[1]
    try:
        memory = mmap.mmap(-1, max(1, size * np.dtype(np.float32).itemsize))
    except OSError as error:
        raise MemoryError(*error.args) from error
    return np.frombuffer(memory, np.float32, size).reshape(shape)


class SecondProcess:
    """Does tasks beside this process, one after the other.

    Use as a context: the process ends with it in any case.

    Parameters
    ----------
    tasks : sequence of callables
        Each writes to `shared_zeros` only, and may be called twice.
    """

    def __init__(self, tasks: Sequence[Task]) -> None:
        self._tasks = tasks
        self._thread = ThreadPoolExecutor(1, "beside")
        self._pid = self._asks = self._answers = 0

    def __enter__(self) -> "SecondProcess":
        if _is_safe():
            self._fork()
        return self

    def __exit__(self, *_: object) -> None:
        self._thread.shutdown()
        self._end()

    def begin(self, number: int, *, is_long: bool) -> Task:
        """Begin a task, and return what waits until it is done; one at a time.

        Without a second process, a thread does what is long, and what is short is done at once.
        """
        task = self._tasks[number]
        if self._pid:
            try:
                os.write(self._asks, number.to_bytes(_NUMBER_BYTES, "little"))
            except OSError:
                self._end()
            else:
                return lambda: self._wait(task)
        if is_long:
            return self._thread.submit(task).result
        task()
        return lambda: None

    def _wait(self, task: Task) -> None:
        if not os.read(self._answers, 1):
            self._end()
            task()

    def _fork(self) -> None:
        try:
            asked, self._asks = os.pipe()
            self._answers, answer = os.pipe()
            pid = os.fork()
        except OSError:
            # All is done here then.
            return
        if pid == 0:
            try:
                os.close(self._asks)
                os.close(self._answers)
                self._work(asked, answer)
            finally:
                # Nothing that the first process has begun is ended or written here.
                os._exit(0)
        # When the second process goes, its ends of the pipes go too, and this one is told.
        os.close(asked)
        os.close(answer)
        self._pid = pid

    def _work(self, asked: int, answer: int) -> None:
        """Do what is asked for, in the second process, as long as the first one lives."""
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        while number := os.read(asked, _NUMBER_BYTES):
            self._tasks[int.from_bytes(number, "little")]()
            os.write(answer, b".")

    def _end(self) -> None:
        if self._pid:
            os.kill(self._pid, signal.SIGKILL)
            os.waitpid(self._pid, 0)
        for pipe in filter(None, (self._asks, self._answers)):
            os.close(pipe)
        self._pid = self._asks = self._answers = 0


def _is_safe() -> bool:
    """Return whether a copy of this process may go on, and may pay."""
    # On other systems libraries of the system itself may have threads that nobody sees.
    if sys.platform != "linux" or len(os.sched_getaffinity(0)) < 2:
        return False
    # Where the end of a process is not waited for, its number may soon be another one's.
    if signal.getsignal(signal.SIGCHLD) is not signal.SIG_DFL:
        return False
    try:
        # Another thread may hold a lock, which would be held in the copy for ever.
        return len(os.listdir("/proc/self/task")) == 1
    except OSError:
        return False
