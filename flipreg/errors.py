"""The one base of every error that flipreg raises on purpose."""

__all__ = ["FlipregError", "UsageError"]


class FlipregError(Exception):
    """Base of all errors of this package; its text is written for the person at the machine."""


class UsageError(FlipregError, ValueError):
    """An argument that cannot be used; the text gives the value, what was expected and what to do."""
