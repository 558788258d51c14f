"""A pytest plugin that runs the collected tests for one mutant after the other, each in a fork of one process.

Tests are collected once. A first run without a mutant says how long each takes and which functions of the mutated
module it reaches; then each mutant meets the tests that reach its function, the quick ones first, up to the first that
fails.
"""

import json
import os
import signal
import time
from collections import defaultdict
from pathlib import Path

import pytest
from _pytest.runner import runtestprotocol

__all__ = ["pytest_runtestloop"]

_SLOWER, _SPARE_S = 5.0, 20.0
"""A mutant has so many times the time of its tests, and so many seconds more (chosen)."""


@pytest.hookimpl(tryfirst=True)
def pytest_runtestloop(session: pytest.Session) -> bool:
    """Run the tests for the mutants that a file names, and write what became of each."""
    from mutmut.mutation import trampoline

    reached: set[str] = set()
    setattr(trampoline, "record_trampoline_hit", lambda name, **_: reached.add(name))  # noqa: B010 (not exported)
    trampoline.set_mutant_under_test("stats")
    seconds: dict[pytest.Item, float] = {}
    tests: dict[str, list[pytest.Item]] = defaultdict(list)
    for item in session.items:
        reached.clear()
        begin = time.process_time()
        if not _passes(item, None):
            raise AssertionError(f"{item.nodeid} fails without a mutant")
        seconds[item] = time.process_time() - begin
        for name in reached:
            tests[name].append(item)
    results = {}
    for mutant in json.loads(Path(os.environ["MUTANTS"]).read_text()):
        function = mutant.rpartition("__mutmut_")[0]
        chosen = sorted(tests[_plain(function)], key=lambda item: seconds[item])
        results[mutant] = _tried(mutant, chosen, sum(seconds[item] for item in chosen))
        Path(os.environ["FOUND"]).write_text(json.dumps(results))
    return True


def _plain(function: str) -> str:
    """Return the name under which the function is recorded: mangled names lose their mark."""
    from mutmut.utils.format_utils import mangled_name_from_mutant_name

    module, _, name = function.rpartition(".")
    return f"{module}.{mangled_name_from_mutant_name(name + '__mutmut_orig')}"


def _tried(mutant: str, items: list[pytest.Item], seconds: float) -> str:
    """Return what became of a mutant: killed and by which test, survived, or out of its time."""
    from mutmut.mutation import trampoline

    if not items:
        return "unreached"
    read, write = os.pipe()
    pid = os.fork()
    if not pid:
        limit = int(_SLOWER * seconds + _SPARE_S)
        signal.setitimer(signal.ITIMER_VIRTUAL, limit)
        trampoline.set_mutant_under_test(mutant)
        for item, following in zip(items, [*items[1:], None], strict=True):
            if not _passes(item, following):
                os.write(write, item.nodeid.encode()[:200])
                os._exit(1)
        os._exit(0)
    os.close(write)
    _, status = os.waitpid(pid, 0)
    by = os.read(read, 200).decode()
    os.close(read)
    if os.WIFSIGNALED(status):
        return "timeout" if os.WTERMSIG(status) == signal.SIGVTALRM else "killed by a crash"
    return f"killed by {by}" if os.WEXITSTATUS(status) else "survived"


def _passes(item: pytest.Item, following: pytest.Item | None) -> bool:
    reports = runtestprotocol(item, nextitem=following, log=False)
    return not any(report.failed for report in reports)
