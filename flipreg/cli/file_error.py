"""The error of files that cannot be read or written."""

from flipreg.errors import FlipregError

__all__ = ["FileError", "reason"]


class FileError(FlipregError, OSError):
    """A file that cannot be read or written; the text gives its name and the reason."""


def reason(error: OSError) -> str:
    """Return why the system refused, as it stands in the middle of a sentence."""
    return (error.strerror or str(error)).lower()
