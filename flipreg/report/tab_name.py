"""What tabs are called in a report: by a letter that is neither the tools' nor usual for marks, and a number."""

__all__ = ["tab_name"]


def tab_name(number: int) -> str:
    """Return the name of a tab, counted from 1: `K1`; `T1` is a tool."""
    return f"K{number}"
