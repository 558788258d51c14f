"""The commands by name: each is loaded when it is asked for, and all of them to be listed."""

from importlib import import_module

from flipreg.cli.command import Command

__all__ = ["NAMES", "commands"]

NAMES = (
    "bounds",
    "flip",
    "shift",
    "check",
    "draft",
    "marks",
    "sheet",
    "touch",
    "budget",
    "depth",
    "home",
    "join",
    "split",
    "hand",
)
"""In the order of the help; each is the name of the module that ends with its `COMMAND`."""


def commands(asked: str) -> tuple[Command, ...]:
    """Return the command of a name alone, or all of them, in the order of the help, where none has it."""
    names = (asked,) if asked in NAMES else NAMES
    return tuple(import_module(f"flipreg.cli.{name}").COMMAND for name in names)
