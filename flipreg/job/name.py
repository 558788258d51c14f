"""Names of parts, marks, tools and setups: what can stand on one line of a report and be said on a command line."""

import re

__all__ = ["NAME_PATTERN", "is_name"]

NAME_PATTERN = (
    r"^[^\s\x00-\x1f\x7f-\x9f]"
    r"([^\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]*[^\s\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069])?$"
)
"""Printing characters on one line, none of which turns the direction of writing, without blanks at the ends."""


def is_name(text: str) -> bool:
    r"""Tell whether a text can be a name.

    Examples
    --------
    >>> is_name("Kopf oben"), is_name("two\nlines"), is_name("end ")
    (True, False, False)
    """
    return re.fullmatch(NAME_PATTERN[1:-1], text) is not None
