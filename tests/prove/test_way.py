"""Ways that an edit adds between two passes: each traverse that could be wrong is stopped."""

import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

import flipreg
from flipreg.errors import ProofError
from flipreg.produce import depth as producing
from flipreg.rewrite.floor.depth import Stretch, change_floor
from flipreg.rewrite.floor.depth_plan import DepthPlan
from flipreg.rewrite.floor.floors import FloorChange
from flipreg.rewrite.text.junction import WayBack
from flipreg.rs274.interpret.whole import Whole

SLOT = """G21 G90 G17
G0 Z15
X-11 Y-41
Z2
G1 Z-3 F300
X19 F900
G1 Z-6 F300
X-11 F900
G0 Z15
M2
"""
WAY = b"G0 Z15\nG0 X19 Y-41\n"

FAULTS = {
    "lower than the last traverse": b"G0 Z14\nG0 X19 Y-41\n",
    "across before it rises": b"G0 X19 Y-41\nG0 Z15\n",
    "down again": b"G0 Z15\nG0 X19 Y-41\nG0 Z2\n",
    "into the wood": b"G0 Z-1\nG0 X19 Y-41\n",
    "at a slant": b"G0 X19 Y-41 Z15\n",
    "fed": b"G1 Z15\nG1 X19 Y-41\n",
    "without a code": b"Z15\nX19 Y-41\n",
    "another place": b"G0 Z15\nG0 X18 Y-41\n",
    "half of the way": b"G0 Z15\n",
    "none": b"",
    "in increments": b"G91 G0 Z15\nG90 G0 X19 Y-41\n",
    "another tool length": b"G0 Z15 G43 H2\nG0 X19 Y-41\n",
    "in the machine's numbers": b"G53 G0 Z15\nG0 X19 Y-41\n",
    "that may be skipped": b"/G0 Z15\nG0 X19 Y-41\n",
    "with the spindle off": b"G0 Z15 M5\nG0 X19 Y-41\n",
}


def _forged(monkeypatch: pytest.MonkeyPatch, forge: Callable[[bytes], bytes]) -> list[bool]:
    honest, planted = change_floor, list[bool]()

    def change(whole: Whole, change: FloorChange) -> tuple[list[Stretch], DepthPlan]:
        stretches, plan = honest(whole, change)
        forged = [replace(each, text=forge(each.text)) if each.is_way else each for each in stretches]
        planted.append(forged != stretches)
        return forged, plan

    monkeypatch.setattr(producing, "change_floor", change)
    return planted


def moved(text: str = SLOT, floor: str = "-8") -> flipreg.Produced:
    return flipreg.depth(flipreg.parse(text), floor_mm=Decimal(floor))


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_in_a_way_back_is_stopped(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    planted = _forged(monkeypatch, lambda text: text.replace(WAY, FAULTS[name]))
    with pytest.raises(ProofError, match="nothing was written"):
        moved()
    assert planted == [True]


def test_a_way_higher_than_the_last_traverse_is_right(monkeypatch: pytest.MonkeyPatch) -> None:
    planted = _forged(monkeypatch, lambda text: text.replace(b"Z15", b"Z20"))
    assert b"G0 Z20\nG0 X19 Y-41\n" in moved().text
    assert planted == [True]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("G0 Z15\nX-11 Y-41\nZ2", "G0 X-11 Y-41\nZ2"),
        ("Z2\n", "G43 H2\nZ2\n"),
        ("Z2\n", "T2 M6\nZ2\n"),
        ("Z2\n", "G53 G0 Z0\nG0 Z2\n"),
    ],
    ids=["no height known", "another length offset", "another tool", "a machine position"],
)
def test_where_no_traverse_of_the_source_shows_a_height_no_way_is_right(
    old: str, new: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The rewriter is made to add a way that it would not add."""
    way = WayBack((b"G0 Z15", b"G0 X19 Y-41"), Decimal(15))
    monkeypatch.setattr("flipreg.rewrite.floor.depth.way_back", lambda *_: way)
    message = "an added traverse would go down, or across too low; nothing was written"
    with pytest.raises(ProofError, match=re.escape(message)):
        moved(SLOT.replace(old, new))


def test_a_way_below_the_surface_is_stopped_even_where_the_source_went_there(monkeypatch: pytest.MonkeyPatch) -> None:
    way = WayBack((b"G0 Z-1", b"G0 X19 Y-41"), Decimal(-1))
    monkeypatch.setattr("flipreg.rewrite.floor.depth.way_back", lambda *_: way)
    with pytest.raises(ProofError, match="an added traverse would go down, or across too low"):
        moved(SLOT.replace("G0 Z15\nX-11 Y-41\nZ2", "G0 Z-1\nX-11 Y-41\nZ2"))
