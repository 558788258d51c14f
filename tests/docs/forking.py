"""A `flipreg` that is loaded once and forks for each command: most of what a short command takes is starting.

The command passes its arguments, environment, folder and streams on, and leaves with the exit status that comes back.
The pages check the same jobs again and again; each is checked once, and its report is told in every way from then on.
"""

import json
import os
import pickle
import select
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from hashlib import sha256
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Self

from flipreg.cli.commands import NAMES

if TYPE_CHECKING:
    from flipreg.job.job import Job
    from flipreg.job.setup import SetupProgram
    from flipreg.job_check.report import JobReport
    from flipreg.program.face import FaceProgram

__all__ = ["TOP", "Forking"]

TOP = Path(__file__).parents[2]
_LOADED = (
    "cli.parser",
    *(f"cli.{name}" for name in NAMES),
    "drawing.bench",
    "job.file.read",
    "job_check.check",
    "report.job",
)
"""What commands import when they need it."""
_STREAMS = 3
_MOST_BYTES = 1 << 20

_CLIENT = """\
import json, os, socket, sys
with socket.socket(socket.AF_UNIX) as there:
    there.connect(sys.argv[1])
    asked = json.dumps([sys.argv[2:], os.getcwd(), dict(os.environ)]).encode()
    socket.send_fds(there, [len(asked).to_bytes(4, "big")], [0, 1, 2])
    there.sendall(asked)
    said = there.recv(1)
    sys.exit(said[0] if said else 70)
"""


class Forking:
    """The process that forks, and the text of a command that asks it to.

    Use as a context. It lives as long as its standard input is open.
    """

    def __init__(self) -> None:
        self._folder = TemporaryDirectory()
        address, client = Path(self._folder.name, "socket"), Path(self._folder.name, "client.py")
        client.write_text(_CLIENT)
        environment = {**os.environ, "PYTHONPATH": str(TOP), "LC_ALL": "C.UTF-8"}
        started = [sys.executable, "-m", __name__, str(address)]
        self._process = subprocess.Popen(started, env=environment, stdin=subprocess.PIPE)
        while not address.exists():
            assert self._process.poll() is None, "it did not start"
            time.sleep(0.01)
        self.command = f'#!/bin/sh\nexec "{sys.executable}" -I -S "{client}" "{address}" "$@"\n'

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._process.communicate()
        self._folder.cleanup()


def _serve(address: str) -> None:
    for module in _LOADED:
        import_module(f"flipreg.{module}")
    checking = import_module("flipreg.job_check.check")
    checking.check_job = _once(checking.check_job, Path(address).parent)  # type: ignore[attr-defined]
    with socket.socket(socket.AF_UNIX) as listening:
        # Bound under another name first: who waits for the name may connect at once.
        listening.bind(f"{address}.new")
        listening.listen()
        os.rename(f"{address}.new", address)
        while listening in select.select([listening, sys.stdin], [], [])[0]:
            caller, _ = listening.accept()
            if os.fork() == 0:
                if os.fork() == 0:
                    _answer(caller)
                os._exit(0)
            caller.close()
            os.wait()


def _once(check_job: "Callable[..., JobReport]", folder: Path) -> "Callable[..., JobReport]":
    """Return a check that keeps its reports in a folder, by the job and its programs as they are read."""

    def checked(job: "Job", read: "Callable[[SetupProgram], FaceProgram]", **more: object) -> "JobReport":
        programs = [read(part) for setup in job.setups for part in setup.programs]
        kept = folder / sha256(pickle.dumps((job, programs))).hexdigest()
        if not kept.exists():
            kept.write_bytes(pickle.dumps(check_job(job, read=read, **more)))
        report: JobReport = pickle.loads(kept.read_bytes())
        return report

    return checked


def _answer(caller: socket.socket) -> None:
    size, streams, _, _ = socket.recv_fds(caller, 4, _STREAMS)
    asked = b""
    while len(asked) < int.from_bytes(size, "big"):
        asked += caller.recv(_MOST_BYTES)
    arguments, folder, environment = json.loads(asked)
    for number, stream in enumerate(streams):
        os.dup2(stream, number)
        os.close(stream)
    os.chdir(folder)
    os.environ.clear()
    os.environ.update(environment)
    sys.argv = ["flipreg", *arguments]
    from flipreg.cli.parser import run

    status = 70
    try:
        status = run()
    finally:
        sys.stderr.flush()
        caller.sendall(bytes([status]))
        os._exit(status)


if __name__ == "__main__":
    _serve(sys.argv[1])
