"""Exit statuses of the commands; docs/reference/exit-status.md is their contract."""

__all__ = ["DONE", "INTERRUPTED", "NOT_SHOWN", "UNUSABLE"]

DONE, NOT_SHOWN, UNUSABLE, INTERRUPTED = 0, 1, 2, 130
"""Done, or in register; the check ran and register is not shown; the input cannot be used; stopped from the keyboard,
which shells tell as 128 and the number of the signal."""
