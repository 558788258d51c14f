"""Faults planted in what the rewriter writes: each has to be stopped by the proof, and nothing may be written."""

import ast
import subprocess
import sys
from decimal import Decimal
from pathlib import Path as File

import pytest

import flipreg
from flipreg.errors import ProofError
from flipreg.path import Path
from flipreg.produce.produced import Produced
from flipreg.rewrite.isometry.rewriter import Rewriter, Rewritten
from flipreg.rs274.interpret.state import Modes, State
from flipreg.rs274.read.blocks import Blocks
from tests.commands.command import run
from tests.source import nodes_of

PACKAGE = File(flipreg.__file__).parent

SOURCE = """\
%
O0042
N10 G21 G90 G17 G40
N20 T2 M6
N30 S12000 M3
N40 G0 X10 Y0 Z5
N50 G1 Z-1 F300
N60 X20.5 Y5
N70 G2 X30.5 Y15 I10 J0
N80 G3 X40 Y24.5 R9.5
N85 G3 X50 Y14.5 R-10 F250
N90 G41 D1 G1 X45
N100 X50 Y30
N110 G40 X60
N120 G0 Z5 (up, and away)
N130 G81 X10 Y10 Z-3 R1
N140 G83 X20 Z-3 R1 Q0.5
N150 G82 X5 P0.25 Z-3 R1 L2
N160 G80
N170 #1=5 #2=7
N180 G0 Z[#1+4]
N185 G0 X#1
N190 M7
N200 M9
N205 G4 P0.5
/N207 G0 Z12
N210 G18 G3 X9 I2 ; in ZX
N211 G17 G0 Z5
N212 G91 G1 X1.25
N213 G90
N215 G54 G1 Y2
N220 M5
N230 M2
X1 Y2 Z3
%
left over X1
"""
"""A front program with one of everything that a flip has to change, and of everything that it must not."""

FAULTS = {
    "an arc left turning as it did": ("G3 X-5.1", "G2 X-5.1"),
    "an arc turned that was right": ("G2 X-14.6", "G3 X-14.6"),
    "an arc in ZX turned": ("G18 G2", "G18 G3"),
    "an arc's centre not mirrored": ("I-10", "I10"),
    "an arc's centre off": ("I-10 J0", "I-10.001 J0.0015"),
    "a radius changed": ("R9.5", "R9.6"),
    "a long way round made short": ("R-10", "R10"),
    "a short way round made long": ("R9.5", "R-9.5"),
    "an arc made straight": ("G3 X-5.1 Y15 I-10 J0", "G1 X-5.1 Y15"),
    "an X word lost": ("X4.9 ", ""),
    "a Y word lost": (" Y30", ""),
    "a Z word lost": (" Z-1 F300", " X15.4 F300"),
    "a decimal wrong": ("X4.9", "X4.8"),
    "a point lost": ("X15.4 Y0", "X154 Y0"),
    "a digit lost": ("X15.4 Y0", "X1.4 Y0"),
    "a sign lost": ("X-24.6 Y30", "X24.6 Y30"),
    "a word off by 0.0011 mm": ("X4.9 Y5", "X4.9011 Y5"),
    "two words off, together by more than the tolerance": ("X4.9 Y5", "X4.9008 Y5.0008"),
    "axes swapped": ("X4.9 Y5", "Y4.9 X5"),
    "depth mirrored": ("Z-1 F", "Z1 F"),
    "G41 forgotten": ("G42 D1", "G41 D1"),
    "compensation lost": ("G42 D1 ", ""),
    "compensation not ended": ("G40 X-34.6", "X-34.6"),
    "another tool's radius": ("D1", "D2"),
    "an arc code that leaks into the next line": ("N100 X", "N100 G2 R40 X"),
    "a code lost, so that the arc before carries on": ("D1 G1 X-19.6", "D1 X-19.6 R30"),
    "a feed made a traverse": ("N50 G1 Z-1", "N50 G0 Z-1"),
    "a line lost": ("N100 X-24.6 Y30\n", ""),
    "a line added": ("N160 G80\n", "N160 G80\nG0 Z5\n"),
    "a blank line added": ("N160 G80\n", "N160 G80\n\n"),
    "two lines joined": ("M7\nN200 M9", "M7 M9"),
    "two lines exchanged": ("N190 M7\nN200 M9", "N200 M9\nN190 M7"),
    "a comment changed": ("up, and away", "up, and aw.y"),
    "a comment lost": (" (up, and away)", ""),
    "a comment added": ("N160 G80", "N160 G80 (done)"),
    "a comment moved to another line": (" (up, and away)\nN130", "\nN130 (up, and away)"),
    "a remark changed": ("; in ZX", "; in YZ"),
    "a feed changed": ("F300", "F299.999"),
    "a feed lost": (" F300", ""),
    "a later feed lost": (" F250", ""),
    "a speed changed": ("S12000", "S12001"),
    "a speed lost": ("S12000 ", ""),
    "the spindle turned the other way": ("M3", "M4"),
    "the spindle never started": (" M3", ""),
    "another tool": ("T2", "T1"),
    "coolant never off": ("N200 M9", "N200"),
    "a stop made of a tool change": ("M6", "M0"),
    "a tool change lost": (" M6", ""),
    "a dwell changed": ("G4 P0.5", "G4 P0.6"),
    "a cycle's dwell changed": ("P0.25", "P0.26"),
    "a cycle's peck changed": ("Q0.5", "Q0.6"),
    "a cycle's repeats changed": ("L2", "L3"),
    "a cycle's repeats lost": (" L2", ""),
    "a cycle's level changed": ("Z-3 R1\nN140", "Z-3 R1.5\nN140"),
    "a cycle's depth changed": ("Y10 Z-3", "Y10 Z-2.99"),
    "another cycle": ("G83", "G81"),
    "a cycle that does not end": ("N160 G80", "N160"),
    "a line number changed": ("N100", "N101"),
    "a line number lost": ("N100 ", ""),
    "a program number changed": ("O0042", "O0043"),
    "an extra motion": ("N213 G90", "N213 G90 Z5"),
    "an extra motion of no length": ("N190 M7", "N190 G0 Z9 M7"),
    "a plane changed": ("G17 G40", "G18 G40"),
    "a plane lost": ("N210 G18 G2 X16.4 I-2", "N210 G2 X16.4 I-2"),
    "the unit changed": ("G21", "G20"),
    "the unit lost": ("G21 ", ""),
    "increments made positions": ("G91 G1 X-1.25", "G90 G1 X-1.25"),
    "positions made increments": ("N213 G90", "N213 G91"),
    "another work offset": ("G54", "G55"),
    "a parameter set otherwise": ("#1=5", "#1=5.5"),
    "another parameter set": ("#1=5", "#3=5"),
    "a parameter set that nothing reads": ("#2=7", "#2=8"),
    "an expression changed": ("Z[#1+4]", "Z[#1-4]"),
    "an expression not mirrored": ("[25.4-#1]", "#1"),
    "block delete lost": ("/N207", "N207"),
    "block delete added": ("N207", "/N207"),
    "after the end of the program": ("X1 Y2 Z3", "X1 Y2 Z4"),
    "the end of the program lost": ("N230 M2", "N230"),
    "another end": ("M2\n", "M30\n"),
    "the closing percent line lost": ("Z3\n%\n", "Z3\n\n"),
    "after the closing percent line": ("left over X1", "left over X2"),
    "an early end": ("N160 G80", "%"),
    "not legal": ("N100 X-24.6", "N100 XX-24.6"),
    "an arc that cannot be": ("R9.5", "R1"),
    "bytes that are no program": ("N160 G80", "N160 G80 \x00"),
}
"""What is found in the right output, once, and what a faulty rewriter writes in its place."""


def plant(monkeypatch: pytest.MonkeyPatch, right: str, wrong: str) -> None:
    """Make the rewriter write one thing wrong."""
    rewrite = Rewriter.rewrite

    def faulty(
        self: Rewriter, blocks: Blocks, modes: Modes, path: Path, *, before: State, after: State
    ) -> Rewritten:
        new = rewrite(self, blocks, modes, path, before=before, after=after)
        # The text after the closing percent line is a chunk of its own.
        if right.encode("latin-1") not in new.text:
            return new
        planted.append(new.text.count(right.encode("latin-1")))
        return new._replace(text=new.text.replace(right.encode("latin-1"), wrong.encode("latin-1"), 1))

    planted: list[int] = []
    monkeypatch.setattr(Rewriter, "rewrite", faulty)
    monkeypatch.setattr(sys.modules[__name__], "_planted", planted)


_planted: list[int] = []


def flipped(text: str = SOURCE) -> Produced:
    program = flipreg.parse(text, source="front.ngc")
    return flipreg.flip(program, axis=flipreg.FlipAxis.Y, datum_mm=(Decimal("25.4"), Decimal(0)))


def test_the_program_without_a_fault_is_proved() -> None:
    assert flipped().largest_deviation_mm < 1e-9
    assert flipped().motions > 40


@pytest.mark.parametrize("fault", FAULTS)
def test_a_planted_fault_is_stopped(fault: str, monkeypatch: pytest.MonkeyPatch) -> None:
    plant(monkeypatch, *FAULTS[fault])
    with pytest.raises(ProofError, match=r"front\.ngc"):
        flipped()
    assert _planted


@pytest.mark.parametrize("fault", ["a decimal wrong", "G41 forgotten", "not legal", "after the end of the program"])
def test_the_command_writes_nothing_when_the_proof_fails(
    fault: str, monkeypatch: pytest.MonkeyPatch, tmp_path: File
) -> None:
    plant(monkeypatch, *FAULTS[fault])
    source, target = tmp_path / "front.ngc", tmp_path / "back.ngc"
    source.write_text(SOURCE)
    target.write_text("what was there")
    status, out, err = run(["flip", str(source), "--axis", "y", "--at", "12.7", "-o", str(target)])
    assert (status, out) == (2, b"")
    assert target.read_text() == "what was there"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["back.ngc", "front.ngc"]
    assert "nothing was written" in err
    assert run(["flip", str(source), "--axis", "y", "--at", "12.7"])[:2] == (2, b"")


def test_a_word_off_by_less_than_the_tolerance_passes_and_is_reported(monkeypatch: pytest.MonkeyPatch) -> None:
    plant(monkeypatch, "X4.9 Y5", "X4.9009 Y5.0003")
    produced = flipped()
    assert produced.largest_deviation_mm == pytest.approx((0.0009**2 + 0.0003**2) ** 0.5, abs=1e-9)
    assert b"largest deviation 0.000949 mm" in produced.text


UNKNOWN = "G21 G90 G17\nG0 X10 Y0\nG2 X20 Y10 I10 J0 F100\nG3 X10 Y0 R10\nG1 X5\nG1 Y3\nG0 Z5\nM2\n"
"""Z is not known while the arcs are cut."""


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("G3 X5.4", "G2 X5.4"),
        ("I-10 J0", "I-10.001 J0.0015"),
        ("I-10 J0", "I-10 Z0 J0"),
        ("G2 X15.4 Y0 R10", "G2 X15.4 Y0 R-10"),
        ("G1 Y3", "G1 Y3 Z0"),
        ("G0 X15.4 Y0", "G0 X15.4 Y0 Z0"),
    ],
)
def test_a_fault_is_stopped_where_a_coordinate_is_not_known(
    right: str, wrong: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert flipped(UNKNOWN).motions == 6
    plant(monkeypatch, right, wrong)
    with pytest.raises(ProofError):
        flipped(UNKNOWN)
    assert _planted


@pytest.mark.parametrize(
    ("right", "wrong"),
    [("G1 F2 X15.4", "G1 F3 X15.4"), ("G94", "G93"), ("G93", "G94"), ("X5.4 F4", "X5.4 F5")],
)
def test_a_fault_is_stopped_under_inverse_time_feed(right: str, wrong: str, monkeypatch: pytest.MonkeyPatch) -> None:
    text = "G21 G90\nG0 X1 Y1 Z1\nG93 G1 F2 X10\nX20 F4\nG94 G1 X30 F100\nM2\n"
    assert flipped(text).motions == 4
    plant(monkeypatch, right, wrong)
    with pytest.raises(ProofError):
        flipped(text)


@pytest.mark.parametrize(("right", "wrong"), [("X24.4", "X24.41"), ("Y2", "Y3"), ("G0 X", "G1 X"), ("X9", "X8")])
def test_a_fault_in_a_line_that_is_not_executed_is_stopped(
    right: str, wrong: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = "G21 G90 G0 X1 Y1 Z1 F1\nM30\nG0 X9 Y2\n"
    plant(monkeypatch, right, wrong)
    with pytest.raises(ProofError):
        flipped(text)
    assert _planted


TURNED = "G21 G90 G17\nG0 X10 Y0 Z5\nG18 G2 X20 Z15 I10 K0 F100\nX30 Z5 K-10\nG17 G1 X40\nG0 Z20\nM2\n"
"""Arcs in ZX, which a turn by 30 degrees makes chords."""


@pytest.mark.parametrize(
    ("line", "wrong"),
    [
        (4, "G1 X9 Y9 Z9"),
        (5, ""),
        (6, "G0 "),
        (7, "M5 "),
        (8, "F50 "),
        (9, "(hello)"),
    ],
)
def test_a_fault_in_chords_is_stopped(line: int, wrong: str, monkeypatch: pytest.MonkeyPatch) -> None:
    rewrite = Rewriter.rewrite

    def faulty(
        self: Rewriter, blocks: Blocks, modes: Modes, path: Path, *, before: State, after: State
    ) -> Rewritten:
        new = rewrite(self, blocks, modes, path, before=before, after=after)
        lines = new.text.splitlines(keepends=True)
        changed = wrong.encode() + (b"\n" if len(wrong) > 5 or not wrong else lines[line - 1].removeprefix(b"G1 "))
        return new._replace(text=b"".join([*lines[: line - 1], changed, *lines[line:]]))

    program = flipreg.parse(TURNED, source="front.ngc")
    assert flipreg.shift(program, turn_deg=30.0, chords_mm=0.01).motions == 5
    monkeypatch.setattr(Rewriter, "rewrite", faulty)
    with pytest.raises(ProofError):
        flipreg.shift(program, turn_deg=30.0, chords_mm=0.01)


def test_neither_the_proof_nor_what_it_imports_names_the_rewriter() -> None:
    waiting, seen = ["flipreg.prove"], set[str]()
    while waiting:
        name = waiting.pop()
        if name in seen:
            continue
        seen.add(name)
        file = PACKAGE.parent / name.replace(".", "/")
        file = file / "__init__.py" if file.is_dir() else file.with_suffix(".py")
        for node in nodes_of(file.read_text(encoding="utf-8")):
            if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("flipreg."):
                waiting.append(node.module)
            if isinstance(node, ast.Import):
                assert not any(alias.name.startswith("flipreg") for alias in node.names)
    assert {"flipreg.prove.motions", "flipreg.rs274.read.scanner", "flipreg.path"} <= seen
    assert not [name for name in seen if name.startswith(("flipreg.rewrite", "flipreg.produce.produce"))]


def test_the_proof_runs_without_the_rewriter() -> None:
    # The package's own __init__ names all verbs; an empty one in its place shows what the proof needs.
    script = (
        "import sys, types\n"
        "package = types.ModuleType('flipreg')\n"
        f"package.__path__ = [{str(PACKAGE)!r}]\n"
        "sys.modules['flipreg'] = package\n"
        "import flipreg.prove\n"
        "sys.exit(any(name.startswith(('flipreg.rewrite', 'flipreg.produce.produce')) for name in sys.modules))\n"
    )
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0
