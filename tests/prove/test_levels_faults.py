"""Faults planted in what the rewriter of depths writes or claims: each has to be stopped by the proof."""

import ast
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

import flipreg
from flipreg.errors import ProofError
from flipreg.produce.depth import depth
from flipreg.rewrite.floor.depth import Stretch, change_floor
from flipreg.rewrite.floor.depth_plan import DepthPlan
from flipreg.rewrite.floor.floors import FloorChange
from flipreg.rs274.interpret.whole import Whole
from tests.commands.command import run
from tests.commands.depths import BY_HELIX, DRILLED, POCKET, TABBED
from tests.source import nodes_of

Floor = dict[str, Decimal]

DEEPER: Floor = {"floor_mm": Decimal(-20)}
HIGHER: Floor = {"floor_mm": Decimal("-7.5")}

TEXTS = {
    "a floor too deep": (POCKET, DEEPER, "Z-20 F600", "Z-20.01 F600"),
    "a floor too high": (POCKET, DEEPER, "Z-20 F600", "Z-19.99 F600"),
    "a floor left where it was": (POCKET, HIGHER, "Z-7.5 F600", "Z-16 F600"),
    "a pass in between too deep": (POCKET, DEEPER, "Z-15 F600", "Z-20 F600"),
    "a point moved": (POCKET, DEEPER, "X50", "X50.01"),
    "a point of the floor lost": (POCKET, HIGHER, "N270 Y20", "N270"),
    "an arc turned": (POCKET, DEEPER, "G3 X40", "G2 X40"),
    "an arc's centre moved": (POCKET, DEEPER, "I-10", "I-10.002 J0.004"),
    "a feed changed": (POCKET, DEEPER, "F2400", "F2399"),
    "a feed lost": (POCKET, DEEPER, "Z-20 F600", "Z-20"),
    "a cut made a traverse": (POCKET, DEEPER, "N240 G1 Z", "N240 G0 Z"),
    "a retract lost": (POCKET, DEEPER, "N310 G0 Z15", "N310"),
    "a retract too low": (POCKET, DEEPER, "N310 G0 Z15", "N310 G0 Z-9"),
    "another tool": (POCKET, DEEPER, "T1", "T2"),
    "a stop lost": (POCKET, DEEPER, "M5", ""),
    "a comment lost": (POCKET, DEEPER, "(floor)", ""),
    "a comment of a pass that is left out lost": (POCKET, HIGHER, "(LEVEL 2)\n", ""),
    "a comment changed": (POCKET, DEEPER, "(LEVEL 2)", "(LEVEL 5)"),
    "a line number changed": (POCKET, DEEPER, "N60", "N61"),
    "a speed added": (POCKET, DEEPER, "N60 G1", "N60 S9 G1"),
    "a move added to a remark": (POCKET, DEEPER, "(pass repeated", "G1 Z-30 (pass repeated"),
    "a line lost": (POCKET, DEEPER, "N80 X50\n", ""),
    "a line added": (POCKET, DEEPER, "N80 X50\n", "N80 X50\n\n"),
    "a line that may be skipped": (POCKET, DEEPER, "N290", "/N290"),
    "a helix made steeper": (BY_HELIX, {"floor_mm": Decimal("-8.62")}, "Z-5.620", "Z-6.000"),
    "a traverse into the wood": (BY_HELIX, {"floor_mm": Decimal("-5.5")}, "Z-1.500", "Z-3.500"),
    "a tab cut through": (TABBED, {"floor_mm": Decimal("-5.9")}, "Z-4.5", "Z-5.9"),
    "a hole too deep": (DRILLED, {"floor_mm": Decimal(-13), "level_mm": Decimal(-12)}, "Z-13 R2", "Z-13.1 R2"),
    "a hole moved": (DRILLED, {"floor_mm": Decimal(-13), "level_mm": Decimal(-12)}, "X40", "X41"),
    "a peck changed": (DRILLED, {"floor_mm": Decimal(-13), "level_mm": Decimal(-12)}, "Q4", "Q5"),
    "a hole's clear level changed": (DRILLED, {"floor_mm": Decimal(-13), "level_mm": Decimal(-12)}, "Q4 F", "Q4 G99 F"),
    "a spot moved too": (DRILLED, {"floor_mm": Decimal(-13), "level_mm": Decimal(-12)}, "Z-1.5", "Z-1.6"),
    "a program that is not legal": (POCKET, DEEPER, "Z-20", "Z-2-0"),
}


def _forged(monkeypatch: pytest.MonkeyPatch, forge: Callable[[list[Stretch]], list[Stretch]]) -> list[str]:
    """Plant a fault, and return a list that tells afterwards whether it was planted."""
    planted: list[str] = []
    def change(whole: Whole, asked: FloorChange) -> tuple[list[Stretch], DepthPlan]:
        stretches, plan = change_floor(whole, asked)
        forged = forge(stretches)
        if forged != stretches:
            planted.append("once")
        return forged, plan

    monkeypatch.setattr("flipreg.produce.depth.change_floor", change)
    return planted


def _replaced(stretches: list[Stretch], old: str, new: str) -> list[Stretch]:
    """Return the stretches with a text replaced in the last one that has it."""
    out = list(stretches)
    for index in reversed(range(len(out))):
        if old.encode() in out[index].text:
            out[index] = replace(out[index], text=out[index].text.replace(old.encode(), new.encode(), 1))
            break
    return out


@pytest.mark.parametrize("name", TEXTS)
def test_a_fault_in_the_text_is_stopped(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    text, floor, old, new = TEXTS[name]
    planted = _forged(monkeypatch, lambda stretches: _replaced(stretches, old, new))
    with pytest.raises(ProofError, match="nothing was written"):
        depth(flipreg.parse(text), **floor)
    assert planted == ["once"]


def _without(stretches: list[Stretch], index: int) -> list[Stretch]:
    return [*stretches[:index], *stretches[index + 1 :]]


def _exchanged(stretches: list[Stretch], one: int, other: int) -> list[Stretch]:
    out = list(stretches)
    out[one], out[other] = out[other], out[one]
    return out


def _moved(stretches: list[Stretch]) -> list[int]:
    return [index for index, stretch in enumerate(stretches) if stretch.level_mm is not None]


CLAIMS: dict[str, tuple[Floor, Callable[[list[Stretch]], list[Stretch]]]] = {
    "the floor's pass lost": (DEEPER, lambda s: _without(s, _moved(s)[-1])),
    "a pass in between lost, and a step-down too large": (DEEPER, lambda s: _without(s, _moved(s)[0])),
    "passes in another order": (
        DEEPER,
        lambda s: _exchanged(s, *_moved(s)),
    ),
    "a claim that nothing changed": (DEEPER, lambda s: [replace(each, level_mm=None) for each in s]),
    "a claim of another level": (
        DEEPER,
        lambda s: [each if each.level_mm is None else replace(each, level_mm=each.level_mm - 1) for each in s],
    ),
    "a pass left out and claimed to run": (HIGHER, lambda s: [replace(each, dropped=False) for each in s]),
    "a pass claimed to be left out that has to stay": (
        HIGHER,
        lambda s: [replace(each, text=b"", dropped=True) if b"Z-5 F600" in each.text else each for each in s],
    ),
    "all of it left out": (HIGHER, lambda s: [Stretch(b"(nothing)\n", s[0].first, s[-1].last, None, dropped=True)]),
    "the end lost": (DEEPER, lambda s: s[:-1]),
}


@pytest.mark.parametrize("name", CLAIMS)
def test_a_false_claim_is_stopped(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    floor, forge = CLAIMS[name]
    planted = _forged(monkeypatch, forge)
    with pytest.raises(ProofError, match="nothing was written"):
        depth(flipreg.parse(POCKET), **floor)
    assert planted == ["once"]


def test_nothing_is_written_when_the_proof_fails(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    _forged(monkeypatch, lambda stretches: _replaced(stretches, "Z-20 F600", "Z-21 F600"))
    target = tmp_path / "out.nc"
    status, out, err = run(["depth", "-", "--floor", "-20", "-o", str(target)], POCKET.encode())
    assert (status, out, list(tmp_path.iterdir())) == (2, b"", [])
    assert "nothing was written" in err


def test_the_proof_of_depths_imports_no_rewriter() -> None:
    folder = Path(flipreg.__file__).parent / "prove"
    for name in ("levels.py", "stretches.py"):
        nodes = nodes_of((folder / name).read_text())
        imported = [node.module or "" for node in nodes if isinstance(node, ast.ImportFrom)]
        assert imported
        assert not [module for module in imported if "rewrite" in module or "produce" in module]
