"""Motions that an edit adds between those of its source: rises, crossings high above, and nothing that cuts."""

from decimal import Decimal

from tests.habits.slow_places import Motion, Place

__all__ = ["with_added"]


def with_added(source: list[Motion], found: list[Motion], safe_mm: Decimal) -> str | None:
    """Return what is wrong with a program that should be its source and added rises and crossings."""
    following = 0
    for motion in found:
        if following < len(source) and _is_same(source[following], motion):
            following += 1
            continue
        after = next(iter(source[following:]), None)
        leads_there = after is not None and motion.end[:2] == after.start[:2]
        if motion.kind != "traverse" or not (leads_there or _is_rise_or_crossing(motion, safe_mm)):
            return f"added: {motion}; the source's next is {after}"
    return None if following == len(source) else f"missing: {source[following]}"


def _is_same(one: Motion, other: Motion) -> bool:
    """Whether a motion is the source's: a traverse may come from elsewhere, a cut may not."""
    mine, theirs = (one.end, other.end) if one.kind == "traverse" else (one.start + one.end, other.start + other.end)
    return (
        all(map(_stands_for, mine, theirs))
        and (one.kind, one.feed, one.centre, one.sweep_deg, one.spindle, one.side, one.cycle)
        == (other.kind, other.feed, other.centre, other.sweep_deg, other.spindle, other.side, other.cycle)
        and one.tool in (other.tool, -1)
    )


def _stands_for(one: Place, other: Place) -> bool:
    """Where nobody knows the place in the source's own run, it may be known in that of a longer program."""
    return one == other or one.base.startswith(("start", "length", "offset"))


def _is_rise_or_crossing(motion: Motion, safe_mm: Decimal) -> bool:
    start, end = motion.start, motion.end
    is_high = end[2].base.startswith(("home", "machine")) or (not end[2].base and end[2].number >= safe_mm)
    return start == end or (is_high and (start[:2] == end[:2] or start[2] == end[2]))
