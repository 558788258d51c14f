"""Exit statuses of the commands; docs/reference/exit-status.md is their contract."""

__all__ = ["DONE", "NOT_SHOWN", "UNUSABLE"]

DONE, NOT_SHOWN, UNUSABLE = 0, 1, 2
"""Done, or in register; the check ran and register is not shown; the input cannot be used."""
