"""All commands, in the order of the help."""

from flipreg.cli import bounds, budget, check, depth, draft, flip, hand, home, join, marks, sheet, shift, split, touch
from flipreg.cli.command import Command

__all__ = ["COMMANDS"]

COMMANDS: tuple[Command, ...] = (
    bounds.COMMAND,
    flip.COMMAND,
    shift.COMMAND,
    check.COMMAND,
    draft.COMMAND,
    marks.COMMAND,
    sheet.COMMAND,
    touch.COMMAND,
    budget.COMMAND,
    depth.COMMAND,
    home.COMMAND,
    join.COMMAND,
    split.COMMAND,
    hand.COMMAND,
)
