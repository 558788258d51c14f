"""`python -m flipreg`."""

import sys

from flipreg.cli.parser import run

__all__ = ["main"]


def main() -> None:
    """Run the command and leave with its exit status."""
    sys.exit(run())


if __name__ == "__main__":
    main()
