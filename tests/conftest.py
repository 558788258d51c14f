"""What every test run has in common: which modules are looked through for examples, and when for garbage."""

import gc
from collections.abc import Generator
from pathlib import Path

import pytest

gc.disable()


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
