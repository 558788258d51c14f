"""`python -m flipreg`."""

import os
import sys
from contextlib import suppress
from typing import NoReturn

from flipreg.cli.parser import run

__all__ = ["main"]


def main() -> NoReturn:
    """Run the command and leave with its exit status."""
    status = run()
    with suppress(OSError):
        sys.stderr.flush()
    # The system takes all memory back at once. Python would first take everything apart object by object, which takes
    # as long as to flip a short program, and would try again to write what could not be written.
    os._exit(status)


if __name__ == "__main__":
    main()
