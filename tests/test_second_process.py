"""Work that a second process does beside the first one: asked of processes of their own, which have one thread."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).parents[1]
BEGIN = """\
import json, os, signal, sys, threading, time
# What is started in the background ignores interrupts.
signal.signal(signal.SIGINT, signal.default_int_handler)
os.sched_getaffinity = lambda _: {0, 1}
from flipreg import second_process
from flipreg.second_process import SecondProcess, shared_zeros

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
from flipreg.stock.cutting import simulation
from flipreg.stock.cutting.parting import Work
from tests.stock.test_release import OUTLINE, _looked_at

thin_out, by_second = Work.thin_out, shared_zeros((1, 1))

def dies_later(work, cut):
    if os.getpid() != first and cut is not work.section.cuts[0]:
        os.kill(os.getpid(), signal.SIGKILL)
    by_second[0, 0] += os.getpid() != first
    thin_out(work, cut)

Work.thin_out = dies_later
small = job_json(_looked_at(OUTLINE))
for_small = by_second.item()
simulation._CELLS_FOR_TWO = 0
half = job_json(_looked_at(OUTLINE))
Work.thin_out = thin_out
whole = job_json(_looked_at(OUTLINE))
print(json.dumps([for_small, by_second.item(), half == small, whole == small, is_alone()]))
"""
COMPARED = """
import pathlib, tempfile
from flipreg.job.file.read import read_job
from flipreg.job_check import check
from flipreg.report.json.job import job_json
from tests.drawing.board_job import write_board

forks, fork = [], SecondProcess._fork
SecondProcess._fork = lambda process: (forks.append(process), fork(process))
with tempfile.TemporaryDirectory() as folder:
    write_board(pathlib.Path(folder))
    job = read_job(f"{folder}/job.toml")
    beside = job_json(check.check_job(job))
    of_short = len(forks)
    check._MOTIONS_BESIDE = 0
    before = job_json(check.check_job(job))
print(json.dumps([of_short, len(forks) - of_short, beside == before, len(beside["pairs"])]))
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


def test_both_take_tasks_and_what_either_finds_is_whole_and_holds_the_very_objects_that_both_have() -> None:
    script = """
known, begun = object(), shared_zeros((1, 2))

def found(number):
    begun[0, number] = 1.0
    while not begun.all():
        time.sleep(0.001)
    return os.getpid() == first, known, bytes(1 << 20)

with SecondProcess([lambda: found(0), lambda: found(1)], [known]) as second:
    here, it, sent = zip(*second.all())
print(json.dumps([sorted(here), all(one is known for one in it), [len(one) for one in sent], is_alone()]))
"""
    assert _said(script) == [[False, True], True, [1 << 20, 1 << 20], True]


def test_a_task_at_which_it_dies_or_errs_is_done_here_though_part_of_its_answer_had_come() -> None:
    script = """
class Ends:
    def __reduce__(self):
        if os.getpid() != first:
            os.kill(os.getpid(), signal.SIGKILL)
        return Ends, ()

def errs():
    raise MemoryError("of the task")

with SecondProcess([lambda: (bytes(1 << 20), Ends())] * 3) as second:
    ends = [type(one).__name__ for _, one in second.all()]
try:
    with SecondProcess([errs, errs]) as second:
        second.begin(1, is_long=False)()
except MemoryError as error:
    print(json.dumps([ends, str(error), is_alone()]))
"""
    assert _said(script) == [["Ends", "Ends", "Ends"], "of the task", True]


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


def test_an_interrupt_while_the_process_is_made_is_raised_once_and_leaves_none() -> None:
    script = """
def interrupt():
    os.kill(os.getpid(), signal.SIGINT)

before = len(os.listdir("/proc/self/fd"))
os.register_at_fork(after_in_child=interrupt, after_in_parent=interrupt)
try:
    with SecondProcess([lambda: None]):
        print("not interrupted")
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


def test_a_job_is_told_the_same_with_it_where_it_dies_and_alone_as_a_small_one_is() -> None:
    assert _said(REPORTS) == [0.0, 1.0, True, True, True]


def test_faces_are_compared_in_it_unless_their_programs_are_long() -> None:
    assert _said(COMPARED) == [1, 0, True, 1]
