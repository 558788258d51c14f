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

    Parameters
    ----------
    fault : str
        What is wrong, with the place: `file:line: what`.
    cause : FlipregError, optional
        What the output was refused with when it was read again.

    Attributes
    ----------
    fault : str
        The same and the cause; the error's own text says besides that nothing was written.
    """

    def __init__(self, fault: str, cause: FlipregError | None = None) -> None:
        self.fault = fault if cause is None else f"{fault}:\n{cause}"
        because = "" if cause is None else f":\n{cause}"
        super().__init__(f"{fault}{';' if cause is None else ','} nothing was written{because}")
