"""A few edits of a text, each a span and what goes there."""

__all__ = ["Span", "spliced"]

Span = tuple[int, int, bytes]
"""Offsets of its start and its end in the text, and the new text; with start equal to end it inserts."""


def spliced(text: bytes, spans: list[Span], *, base: int = 0) -> bytes:
    """Return a text with edits applied, which do not overlap; insertions at one place keep their order.

    Parameters
    ----------
    text : bytes
        The text, or a part of it.
    spans : list of Span
        The edits, in any order.
    base : int
        The offset of the text's first character, as the spans count.
    """
    parts, done = [], 0
    for start, end, new in sorted(spans, key=lambda span: span[0]):
        parts += [text[done : start - base], new]
        done = end - base
    return b"".join(parts) + text[done:]
