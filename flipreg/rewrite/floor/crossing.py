"""What a floor may not cross where it moves: other floors, the tops of tabs, levels of pockets at the same place."""

from decimal import Decimal

from flipreg.rewrite.floor.floors import FloorChange
from flipreg.rewrite.floor.passes import SAME_LEVEL_MM, Pass, Pocket, exact_mm
from flipreg.rewrite.text.heights import told_height
from flipreg.rewrite.text.refuse import refusal_at
from flipreg.rs274.interpret.whole import Whole

__all__ = ["refuse_crossing", "refuse_crossing_neighbours"]

_SAME = Decimal(str(SAME_LEVEL_MM))


def refuse_crossing(whole: Whole, lines: dict[Decimal, int], was: Decimal, change: FloorChange) -> None:
    """Refuse a floor that would cross another one, of those with the first line that reaches each."""
    low, high = sorted((was, change.floor_mm))
    for floor, line in lines.items():
        if floor != was and low - _SAME <= floor <= high + _SAME:
            crossed = told_height(whole, floor)
            message = f"moving the floor from {_from_to(whole, was, change)} would cross the floor at {crossed}"
            raise refusal_at(whole, line, message)


def refuse_crossing_neighbours(
    whole: Whole, pockets: tuple[list[Pocket], list[Pocket]], was: Decimal, change: FloorChange
) -> None:
    """Refuse a floor that would cross the top of a tab of its pockets, or a level of the others at the same place."""
    low, high = sorted((was, change.floor_mm))
    meant, others = pockets
    for pocket in meant:
        for each in pocket.passes:
            for inner in map(exact_mm, each.inner_mm):
                if abs(exact_mm(each.level_mm) - was) <= _SAME and inner <= change.floor_mm + _SAME:
                    message = (
                        f"moving the floor from {_from_to(whole, was, change)} would cross the level "
                        f"{told_height(whole, inner)} that this pass rises to in between (the top of a tab?)"
                    )
                    raise refusal_at(whole, int(whole.path.line[each.cut]), message)
        for other in others:
            for each in other.passes:
                level = exact_mm(each.level_mm)
                if low - _SAME <= level <= high + _SAME and _overlap(pocket.passes[-1], each):
                    message = (
                        f"moving the floor from {_from_to(whole, was, change)} would cross the level "
                        f"{told_height(whole, level)} of another pocket at the same place"
                    )
                    raise refusal_at(whole, int(whole.path.line[each.cut]), message)


def _overlap(one: Pass, other: Pass) -> bool:
    (a0, b0, a1, b1), (c0, d0, c1, d1) = one.box_mm, other.box_mm
    return min(a1, c1) >= max(a0, c0) and min(b1, d1) >= max(b0, d0)


def _from_to(whole: Whole, was: Decimal, change: FloorChange) -> str:
    return f"{told_height(whole, was)} to {told_height(whole, change.floor_mm)}"
