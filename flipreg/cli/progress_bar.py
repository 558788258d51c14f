"""A progress bar on a terminal: after a second, on standard error, and gone before anything else is written.

An alarm of the system draws it, in the thread that works: a thread of its own would keep the proof of long programs
from a process of its own, and steps that tell nothing for long would show nothing. Where there is no such alarm, the
bar is drawn when a step tells how far it is.
"""

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, BinaryIO, TextIO, cast

if TYPE_CHECKING:
    from types import FrameType

    from tqdm import tqdm

    from flipreg.progress import Progress

__all__ = ["progress_bar"]

_DELAY_S = 1.0
"""What takes no longer has no bar, in seconds (chosen)."""
_BETWEEN_S = 0.2
"""Seconds between two drawings (chosen)."""
_LONGEST = 32
"""Characters of what goes on that are shown."""
_KNOWN = "{desc} {percentage:3.0f} % {bar} {elapsed}"
_NOT_KNOWN = "{desc} {elapsed}"


@contextmanager
def progress_bar(stdout: BinaryIO, stderr: TextIO) -> Iterator[tuple["Progress | None", BinaryIO, TextIO]]:
    """Show a bar while a command runs, if its standard error is a terminal.

    Yields
    ------
    progress : callable or None
        What the command tells how far it is; None without a terminal.
    stdout, stderr : streams
        What the command writes to: the first byte takes the bar away.
    """
    if not stderr.isatty():
        yield None, stdout, stderr
        return
    bar = _Bar(stderr)
    try:
        yield bar.tell, cast(BinaryIO, _Clearing(stdout, bar)), cast(TextIO, _Clearing(stderr, bar))
    finally:
        bar.close()


class _Bar:
    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._latest: tuple[str, int, int] | None = None
        self._shown: tqdm[None] | None = None
        self._is_busy = self._is_closed = False
        self._alarm = _Alarm.set(self._draw)

    def tell(self, what: str, done: int, of: int) -> None:
        self._latest = what, done, of
        if self._alarm is None:
            self._draw(delay_s=_DELAY_S)

    def close(self) -> None:
        self._is_closed = True
        if self._alarm is not None:
            self._alarm.end()
            self._alarm = None
        if self._shown is not None:
            self._shown.close()
            self._shown = None

    def _draw(self, *, delay_s: float = 0.0) -> None:
        # The alarm may come while the bar is drawn.
        if self._latest is None or self._is_busy or self._is_closed:
            return
        self._is_busy = True
        try:
            what, done, of = self._latest
            if self._shown is None:
                self._shown = _made(self._stream, delay_s)
            shown = self._shown
            shown.set_description_str(_short(what), refresh=False)
            shown.bar_format = _KNOWN if of > 0 else _NOT_KNOWN
            shown.total, shown.n, shown.last_print_n = of, done, done
            # Looks at the clock, and draws if it is time to.
            shown.update(0)
        finally:
            self._is_busy = False


class _Alarm:
    """An alarm that comes after a delay, and then again and again."""

    @classmethod
    def set(cls, draw: Callable[[], None]) -> "_Alarm | None":
        """Set it; None where there is none to be had: on Windows, and in other threads than the main one."""
        # Imported here and below: most commands draw no bar.
        import signal

        if not hasattr(signal, "setitimer"):
            return None
        try:
            before = signal.signal(signal.SIGALRM, lambda *_: draw())
        except ValueError:
            return None
        signal.setitimer(signal.ITIMER_REAL, _DELAY_S, _BETWEEN_S)
        return cls(before)

    def __init__(self, before: "Callable[[int, FrameType | None], object] | int | None") -> None:
        self._before = before

    def end(self) -> None:
        import signal

        signal.setitimer(signal.ITIMER_REAL, 0.0)
        signal.signal(signal.SIGALRM, self._before)


class _Clearing:
    """A stream that takes the bar away before it is written to."""

    def __init__(self, stream: BinaryIO | TextIO, bar: _Bar) -> None:
        self._stream, self._bar = stream, bar

    def write(self, data: str | bytes) -> int:
        self._bar.close()
        return self._stream.write(data)  # type: ignore[arg-type]

    def writelines(self, parts: Iterable[str | bytes]) -> None:
        self._bar.close()
        self._stream.writelines(parts)  # type: ignore[arg-type]

    def flush(self) -> None:
        self._stream.flush()

    def isatty(self) -> bool:
        return self._stream.isatty()


def _made(stream: TextIO, delay_s: float) -> "tqdm[None]":
    from tqdm import tqdm

    class Bar(tqdm):  # type: ignore[type-arg]
        # No thread that looks after slow bars; see above.
        monitor_interval = 0

    # Without any delay it is drawn as it is made, before it knows of what.
    delay_s = max(delay_s, 1e-9)
    return Bar(total=1, file=stream, leave=False, delay=delay_s, mininterval=0.0, miniters=0, dynamic_ncols=True)


def _short(what: str) -> str:
    """Return what goes on, with its end cut off where it is long."""
    return what if len(what) <= _LONGEST else f"{what[: _LONGEST - 1]}…"
