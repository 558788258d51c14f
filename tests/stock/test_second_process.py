"""Work that a second process does beside the first one: asked of processes of their own, which have one thread."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).parents[2]
BEGIN = """\
import json, os, signal, sys, threading
os.sched_getaffinity = lambda _: {0, 1}
from flipreg.stock.cutting import second_process
from flipreg.stock.cutting.second_process import SecondProcess, shared_zeros

first, cells = os.getpid(), shared_zeros((2, 3))

def who(number):
    # A second process bears any signal from the terminal, and dies in the second task as the system would end it.
    if os.getpid() != first:
        os.kill(os.getpid(), signal.SIGINT if number == 0 else signal.SIGKILL)
    cells[number, 1] = 1.0 if os.getpid() == first else 2.0

def done(tasks):
    with SecondProcess([lambda: who(0), lambda: who(1)]) as second:
        for number in tasks:
            second.begin(number, is_long=False)()
    return cells.tolist()

def is_alone():
    try:
        os.waitpid(-1, os.WNOHANG)
    except ChildProcessError:
        return True
    return False
"""
REPORTS = """
from flipreg.report.json.job import job_json
from flipreg.stock.cutting.parting import Work
from tests.stock.test_release import OUTLINE, _looked_at

thin_out, by_second = Work.thin_out, shared_zeros((1, 1))

def dies_later(work, cut):
    if os.getpid() != first and cut is not work.section.cuts[0]:
        os.kill(os.getpid(), signal.SIGKILL)
    by_second[0, 0] += os.getpid() != first
    thin_out(work, cut)

with_second = job_json(_looked_at(OUTLINE))
Work.thin_out = dies_later
half = job_json(_looked_at(OUTLINE))
second_process._is_safe = lambda: False
alone = job_json(_looked_at(OUTLINE))
print(json.dumps([with_second == alone, half == alone, by_second.item(), is_alone()]))
"""

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="elsewhere there is no second process")


def _said(script: str) -> list[object]:
    environment = {**os.environ, "PYTHONPATH": str(TOP), "OPENBLAS_NUM_THREADS": "1"}
    run = subprocess.run(
        [sys.executable, "-c", BEGIN + script], env=environment, cwd=TOP, capture_output=True, text=True, check=False
    )
    assert run.stderr == ""
    said: list[object] = json.loads(run.stdout)
    return said


def test_what_it_does_shows_here_and_what_it_leaves_undone_is_done_here() -> None:
    by_second, with_its_end, ended = _said("print(json.dumps([done([0]), done([0, 1, 0]), is_alone()]))")
    assert by_second == [[0, 2, 0], [0, 0, 0]]
    assert with_its_end == [[0, 1, 0], [0, 1, 0]]
    assert ended


def test_an_interrupted_command_leaves_no_process_and_no_pipe() -> None:
    script = """
before = len(os.listdir("/proc/self/fd"))
try:
    with SecondProcess([lambda: signal.pause()]) as second:
        wait = second.begin(0, is_long=False)
        signal.signal(signal.SIGALRM, signal.default_int_handler)
        signal.setitimer(signal.ITIMER_REAL, 0.05)
        wait()
except KeyboardInterrupt:
    print(json.dumps([is_alone(), len(os.listdir("/proc/self/fd")) - before]))
"""
    assert _said(script) == [True, 0]


def test_a_process_with_another_thread_or_whose_children_nobody_waits_for_is_not_copied() -> None:
    script = """
waits = threading.Event()
thread = threading.Thread(target=waits.wait)
thread.start()
with_thread = done([0, 1])
waits.set()
thread.join()
cells[:] = 0.0
signal.signal(signal.SIGCHLD, signal.SIG_IGN)
print(json.dumps([with_thread, done([0, 1])]))
"""
    assert _said(script) == [[[0, 1, 0], [0, 1, 0]], [[0, 1, 0], [0, 1, 0]]]


def test_a_job_is_told_the_same_with_it_without_it_and_where_it_dies() -> None:
    assert _said(REPORTS) == [True, True, 1.0, True]
