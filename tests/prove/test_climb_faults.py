"""Faults planted where contours are turned round: each has to be stopped by the proof, and nothing may be written."""

import ast
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

import flipreg
from flipreg.errors import ProofError
from flipreg.produce.climb import flip_keeping_climb
from flipreg.rewrite.climb.climb import CarriedFeed, Turned, turn_contours
from flipreg.rewrite.climb.runs import Chosen, Run
from flipreg.rs274.interpret.whole import Whole
from tests.commands.command import run
from tests.commands.test_keep_climb import LEADS, PLAIN, TABS
from tests.source import nodes_of

ZERO = (Decimal(0), Decimal(0))

FAULTS = {
    "a point lost": (PLAIN, "X-50 Y10", "X-50 Y11"),
    "an arc not turned": (PLAIN, "G3 X-40", "G2 X-40"),
    "an arc about another centre": (PLAIN, "I10 J0", "I10 J0.01"),
    "an arc made straight": (PLAIN, "G3 X-40 Y0 I10 J0", "G1 X-40 Y0"),
    "a feed changed": (PLAIN, "Y30 F600", "Y30 F601"),
    "a feed that belongs to another motion": (PLAIN, "X-50 Y10 F900", "X-50 Y10"),
    "a depth changed": (PLAIN, "G1 Z-1 F300 (down)", "G1 Z-1.1 F300 (down)"),
    "a cut after it fed by it": (PLAIN, "F600 X5", "F900 X5"),
    "a cut after it moved": (PLAIN, "F600 X5", "F600 X6"),
    "a comment moved": (PLAIN, "Y30 (corner)\n", "Y30\n(corner)"),
    "a comment lost": (PLAIN, " (corner)", ""),
    "a line number changed": (PLAIN, "N100", "N101"),
    "another tool": (PLAIN, "T1", "T2"),
    "a word added": (PLAIN, "N110 G1", "N110 S5 G1"),
    "a line lost": (PLAIN, "N130 G0 Z5\n", ""),
    "a motion lost": (PLAIN, "N130 G0 Z5", "N130"),
    "an open cut moved": (PLAIN, "N160 X-70", "N160 X-69"),
    "a traverse into the wood": (PLAIN, "N130 G0 Z5", "N130 G0 Z-1"),
    "the way to a lead left where it was": (LEADS, "X6 Y16", "X6 Y4"),
    "the way to a lead too deep": (LEADS, "G1 Z-2", "G1 Z-2.5"),
    "a lead cut short": (LEADS, "G3 X0 Y10 I0 J-6", "G1 X0 Y10"),
    "the way on changed": (LEADS, "G0 Z5\nX0 Y0", "G0 Z5\nX0 Y1"),
    "a tab gone down to fast": (TABS, "Z-4 F200", "Z-4 F900"),
    "a tab lost": (TABS, "G1 Z-2", "G1 Z-4"),
    "nothing legal": (PLAIN, "N110 G1", "N110 G1 G3"),
}


def _forged(monkeypatch: pytest.MonkeyPatch, forge: Callable[[Turned], Turned]) -> list[bool]:
    planted: list[bool] = []

    def turn(whole: Whole, feed: CarriedFeed) -> Turned:
        honest = turn_contours(whole, feed)
        forged = forge(honest)
        planted.append(forged != honest)
        return forged

    monkeypatch.setattr("flipreg.produce.climb.turn_contours", turn)
    return planted


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_in_a_turned_contour_is_stopped(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    text, old, new = FAULTS[name]
    planted = _forged(
        monkeypatch, lambda turned: replace(turned, text=turned.text.replace(old.encode(), new.encode(), 1))
    )
    with pytest.raises(ProofError, match="nothing was written"):
        flip_keeping_climb(flipreg.parse(text), axis=flipreg.FlipAxis.Y, datum_mm=ZERO)
    assert planted == [True]


def _claiming(turned: Turned, *runs: Run) -> Turned:
    return replace(turned, chosen=replace(turned.chosen, runs=runs))


def _shifted(turned: Turned, by: int) -> Turned:
    first = turned.chosen.runs[0]
    return _claiming(turned, Run(first.first + by, first.last, 1))


CLAIMS: dict[str, Callable[[Turned], Turned]] = {
    "none is said to be turned": _claiming,
    "too little is said to be turned": lambda turned: _shifted(turned, 1),
    "too much is said to be turned": lambda turned: _shifted(turned, -1),
    "an open cut is said to be turned": lambda turned: _claiming(turned, *turned.chosen.runs, Run(11, 11, 1)),
    "rows that are not there": lambda turned: _claiming(turned, *turned.chosen.runs, Run(50, 60, 1)),
}


@pytest.mark.parametrize("name", CLAIMS)
def test_a_false_claim_is_stopped(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    planted = _forged(monkeypatch, CLAIMS[name])
    with pytest.raises(ProofError, match="nothing was written"):
        flip_keeping_climb(flipreg.parse(PLAIN), axis=flipreg.FlipAxis.Y, datum_mm=ZERO)
    assert planted == [True]


def test_a_contour_left_as_the_mirror_has_it_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    def not_turned(whole: Whole, feed: CarriedFeed) -> Turned:
        return Turned(whole.blocks.text, Chosen((), (), ()), feed)

    monkeypatch.setattr("flipreg.produce.climb.turn_contours", not_turned)
    with pytest.raises(ProofError, match="this contour would not be turned round, and nobody told"):
        flip_keeping_climb(flipreg.parse(PLAIN), axis=flipreg.FlipAxis.Y, datum_mm=ZERO)


def test_nothing_is_written_when_the_proof_fails(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    _forged(monkeypatch, CLAIMS["none is said to be turned"])
    target = tmp_path / "back.nc"
    options = ["flip", "-", "--axis", "y", "--at", "0", "--keep-climb", "-o", str(target)]
    status, out, err = run(options, PLAIN.encode())
    assert (status, out, list(tmp_path.iterdir())) == (2, b"", [])
    assert "nothing was written" in err


def test_the_proof_of_turned_contours_imports_no_rewriter() -> None:
    room = Path(flipreg.__file__).parent / "prove"
    files = [room / f"{name}.py" for name in ("climb", "turned_loops", "turned_pieces")]
    nodes = [node for file in files for node in nodes_of(file.read_text())]
    imported = [node.module or "" for node in nodes if isinstance(node, ast.ImportFrom)]
    assert "flipreg.prove.loops" in imported
    assert not [module for module in imported if "rewrite" in module or "produce" in module]
