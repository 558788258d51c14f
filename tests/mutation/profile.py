"""A pytest plugin for mutation runs: random tests draw the same each time, and fewer than usual.

The same tests run many times in copies of one process, which Hypothesis takes for a mistake in classes of tests unless
it is told otherwise; and a mutant would count as killed.
"""

from hypothesis import HealthCheck, settings

__all__ = ["pytest_configure"]


def pytest_configure() -> None:
    """Set Hypothesis up before any test is collected."""
    settings.register_profile(
        "mutation", derandomize=True, deadline=None, database=None, max_examples=40, suppress_health_check=HealthCheck
    )
    settings.load_profile("mutation")
