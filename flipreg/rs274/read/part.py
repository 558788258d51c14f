"""Some consecutive blocks of a chunk as a chunk of their own."""

from dataclasses import replace

import numpy as np

from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.habit import Noticed

__all__ = ["part_of"]


def part_of(blocks: Blocks, first: int, stop: int) -> Blocks:
    """Return the blocks from `first` up to, not including, `stop`; offsets stay those of the whole text."""
    low, high = np.searchsorted(blocks.block, [first, stop]).tolist()
    begin, end = np.searchsorted(blocks.comment_block, [first, stop]).tolist()
    words = ("letter", "mantissa", "decimals", "start", "number", "end")
    part = replace(
        blocks,
        first_line=blocks.first_line + first,
        **{name: getattr(blocks, name)[low:high] for name in words},
        block=blocks.block[low:high] - first,
        **{name: getattr(blocks, name)[first:stop] for name in ("line_start", "line_end", "flags")},
        **{f"comment_{name}": getattr(blocks, f"comment_{name}")[begin:end] for name in ("start", "end")},
        comment_block=blocks.comment_block[begin:end] - first,
        expressions={row - low: value for row, value in blocks.expressions.items() if low <= row < high},
        settings=tuple(
            replace(setting, block=setting.block - first)
            for setting in blocks.settings
            if first <= setting.block < stop
        ),
    )
    return replace(part, habits=_noticed_in(part, blocks.habits)) if blocks.habits else part


def _noticed_in(blocks: Blocks, found: tuple[Noticed, ...]) -> tuple[Noticed, ...]:
    """Return those of the lines that are in a chunk."""
    first, after = blocks.first_line, blocks.first_line + len(blocks)
    inside = [(each, (each.line >= first) & (each.line < after)) for each in found]
    return tuple(Noticed(each.habit, each.line[here], each.start[here]) for each, here in inside if here.any())
