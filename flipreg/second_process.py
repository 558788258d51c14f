"""Work that a second process does beside this one, where that is safe and a second processor may be free.

Threads share one interpreter, whose lock they hand to each other at every short call; two processes don't. The second
one is a copy of this one, made by the system in some thousandths of a second. What it finds out it sends here, and
what it writes to memory that both share shows here. All it is asked for may be done twice: what it leaves undone,
because it could not be made, came to an end or met an error, is done here.
"""

import mmap
import os
import pickle
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from io import BufferedReader, BufferedWriter, FileIO
from typing import IO, Generic, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

__all__ = ["SecondProcess", "shared_zeros"]

Answer = TypeVar("Answer")

_NUMBER_BYTES = 4
_THREADS = 2
"""Tasks that threads do at a time where there is no second process (chosen): each needs the memory of some maps."""


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


class SecondProcess(Generic[Answer]):
    """Does tasks beside this process.

    Use as a context: the process ends with it in any case.

    Parameters
    ----------
    tasks : sequence of callables
        Each changes nothing but `shared_zeros`, and may be called twice.
    known : sequence of objects
        What both processes have: where an answer holds one of these, it holds this very object here.
    pays : bool
        Whether there is enough to do for two.
    """

    def __init__(
        self, tasks: Sequence[Callable[[], Answer]], known: Sequence[object] = (), *, pays: bool = True
    ) -> None:
        self._tasks, self._known, self._pays = tasks, known, pays
        self._threads = ThreadPoolExecutor(_THREADS, "beside")
        self._child: _Child | None = None

    def __enter__(self) -> "SecondProcess[Answer]":
        if self._pays and _is_safe():
            # An interrupt waits until this process knows of the other one, to which it never comes.
            before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
            try:
                try:
                    self._fork()
                finally:
                    signal.pthread_sigmask(signal.SIG_SETMASK, before)
            except BaseException:
                self._end()
                raise
        return self

    def __exit__(self, *_: object) -> None:
        self._threads.shutdown()
        self._end()

    def begin(self, number: int, *, is_long: bool) -> Callable[[], Answer]:
        """Begin a task, and return what waits until it is done, and returns its answer; one at a time.

        Without a second process, a thread does what is long, and what is short is done at once.
        """
        task = self._tasks[number]
        if self._child is not None:
            _ask(self._child.asks, number)
            return lambda: self._waited(task)
        if is_long:
            return self._threads.submit(task).result
        answer = task()
        return lambda: answer

    def all(self) -> list[Answer]:
        """Do all tasks, and return their answers: each process takes the next task as soon as it is free.

        Without a second process, threads do so.
        """
        if self._child is None:
            return list(self._threads.map(lambda task: task(), self._tasks))
        for number in range(len(self._tasks)):
            _ask(self._child.asks, number)
        self._child.asks.close()
        found = {number: self._tasks[number]() for number in _asked(self._child.asked)}
        while (received := self._received()) is not None:
            found.update([received])
        return [found[number] if number in found else task() for number, task in enumerate(self._tasks)]

    def _waited(self, task: Callable[[], Answer]) -> Answer:
        received = self._received()
        return task() if received is None else received[1]

    def _received(self) -> tuple[int, Answer] | None:
        """Return the number of the next task that the second process has done, and its answer; None without one."""
        if self._child is None:
            return None
        try:
            received: tuple[int, Answer] = _Unpickler(self._child.answers, self._known).load()
        except (EOFError, pickle.UnpicklingError):
            # It has gone, perhaps amid an answer.
            self._end()
            return None
        return received

    def _fork(self) -> None:
        pipes: list[int] = []
        try:
            pipes += [*os.pipe(), *os.pipe()]
            pid = os.fork()
        except OSError:
            # All is done here then.
            for pipe in pipes:
                os.close(pipe)
            return
        asked, asks, answers, answer = pipes
        if pid == 0:
            try:
                os.close(asks)
                os.close(answers)
                self._work(asked, answer)
            finally:
                # Nothing that the first process has begun is ended or written here.
                os._exit(0)
        # When the second process goes, its ends of the pipes go too, and this one is told.
        os.close(answer)
        self._child = _Child(pid, FileIO(asked), FileIO(asks, "w"), BufferedReader(FileIO(answers)))

    def _work(self, asked: int, answer: int) -> None:
        """Do what is asked for, in the second process, as long as the first one lives."""
        with FileIO(asked) as questions, BufferedWriter(FileIO(answer, "w")) as answers:
            for number in _asked(questions):
                _Pickler(answers, self._known).dump((number, self._tasks[number]()))
                answers.flush()

    def _end(self) -> None:
        if self._child is not None:
            pid, *files = self._child
            self._child = None
            os.kill(pid, signal.SIGKILL)
            os.waitpid(pid, 0)
            for file in files:
                file.close()


class _Child(NamedTuple):
    """The second process as the first one sees it: its number, both ends of what it is asked by, and its answers."""

    pid: int
    asked: IO[bytes]
    asks: IO[bytes]
    answers: IO[bytes]


def _ask(asks: IO[bytes], number: int) -> None:
    asks.write(number.to_bytes(_NUMBER_BYTES, "little"))


def _asked(asked: IO[bytes]) -> Iterator[int]:
    """Yield the numbers of tasks that nobody else has taken, until no more will come."""
    while number := asked.read(_NUMBER_BYTES):
        yield int.from_bytes(number, "little")


class _Pickler(pickle.Pickler):
    """Sends an answer, and of what is known its number only."""

    def __init__(self, file: IO[bytes], known: Sequence[object]) -> None:
        super().__init__(file, pickle.HIGHEST_PROTOCOL)
        self._numbers = {id(one): number for number, one in enumerate(known)}

    def persistent_id(self, obj: object) -> int | None:
        return self._numbers.get(id(obj))


class _Unpickler(pickle.Unpickler):
    """Receives what was sent so."""

    def __init__(self, file: IO[bytes], known: Sequence[object]) -> None:
        super().__init__(file)
        self._known = known

    def persistent_load(self, pid: int) -> object:
        return self._known[pid]


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
