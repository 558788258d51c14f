"""What every test run has in common: how many random cases, which modules have examples, when garbage is looked for."""

import gc
from collections.abc import Generator
from pathlib import Path

import pytest
from hypothesis import settings

gc.disable()

# The same random cases in every run, so that a change is what makes a test fail; no case is too slow on a busy machine.
# What thirty cases show of a law, a hundred rarely show better: what is wide or rare asks for more by itself.
settings.register_profile("run", derandomize=True, deadline=None, max_examples=30)
settings.load_profile("run")


class _Collecting:
    """As a hook of this file it would be called for what lies beside it only; those of a plugin are for all."""

    @pytest.hookimpl(wrapper=True)
    def pytest_collect_file(self, file_path: Path) -> Generator[None, list[pytest.Collector], list[pytest.Collector]]:
        """Leave out the examples of modules without one: to look for them takes longer than most tests."""
        found = yield
        if file_path.suffix != ".py" or b">>>" in file_path.read_bytes():
            return found
        return [collector for collector in found if type(collector) is pytest.Module]


def pytest_configure(config: pytest.Config) -> None:
    """Collect the examples of all folders so."""
    config.pluginmanager.register(_Collecting())


def pytest_collection_finish() -> None:
    """Look for garbage among what the tests make, and not among ten thousand tests while they are collected."""
    gc.freeze()
    gc.enable()
