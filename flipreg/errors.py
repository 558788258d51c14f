"""The one base of every error that flipreg raises on purpose, and the two that belong to no room."""

__all__ = ["FlipregError", "ProofError", "UsageError"]


class FlipregError(Exception):
    """Base of all errors of this package; its text is written for the person at the machine."""


class UsageError(FlipregError, ValueError):
    """An argument that cannot be used; the text gives the value, what was expected and what to do."""


class ProofError(FlipregError):
    """The output does not do what the source does; nothing is written.

    That is a mistake of this package, or a program so odd that it was not foreseen, never a mistake to be
    mended by trying again.
    """
