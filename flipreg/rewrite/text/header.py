"""Where the lines that say what was done go in a new program."""

from flipreg.rs274.read.blocks import BlockFlag, Blocks

__all__ = ["header_place"]

_BOM = b"\xef\xbb\xbf"


def header_place(blocks: Blocks, text: bytes) -> int:
    """Return the offset in the new text where the header goes: after a leading percent line and O line."""
    first = len(_BOM) if text.startswith(_BOM) else 0
    framing = BlockFlag.PERCENT | BlockFlag.PROGRAM_NUMBER
    block = 0
    for candidate in range(len(blocks)):
        start, end = int(blocks.line_start[candidate]), int(blocks.line_end[candidate])
        if blocks.flags[candidate] & framing:
            block = candidate + 1
        elif blocks.text[start:end].strip(b" \t" + _BOM):
            break
    # Framing lines are never rewritten, so that the offset is the same in both texts.
    return max(first, int(blocks.line_start[block]) if block < len(blocks) else len(text))
