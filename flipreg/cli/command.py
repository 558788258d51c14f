"""What the command line has to know of one of its commands."""

import argparse
from collections.abc import Callable
from typing import BinaryIO, NamedTuple, TextIO

__all__ = ["Command", "Runner"]

Runner = Callable[[argparse.Namespace, BinaryIO, BinaryIO, TextIO], int]
"""Runs a command: the options, standard input, output and error; returns the exit status."""


class Command(NamedTuple):
    """One command; each has a file of its own, which ends with it.

    Attributes
    ----------
    name : str
        The word it is called by.
    what : str
        What it does, for the help: a phrase without capital and full stop.
    add_arguments : callable
        Adds its arguments to a parser.
    run : callable
        Runs it.
    """

    name: str
    what: str
    add_arguments: Callable[[argparse.ArgumentParser], None]
    run: Runner
