"""Random legal programs over the whole language, and what must hold for each of them.

A machine writes a program line by line and keeps its own account of what is known, so that every line is legal. At
the end the program is flipped, shifted and turned: the motions have to be the source's, moved; two flips and a shift
there and back have to give the motions again; and the text has to come back byte for byte where nothing is done.
"""

from dataclasses import replace
from decimal import Decimal

import numpy as np
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

import flipreg
from flipreg.path import Path
from flipreg.rs274.interpret.state import BlockDelete

EXACT = 1e-6
ROUNDED = 2e-3
"""A thousandth for the new program, and what its inches were rounded by besides."""

NUMBER = st.integers(-40_000, 40_000).map(lambda value: Decimal(value) / 1000)
OFFSET = st.integers(1000, 9000).map(lambda value: Decimal(value) / 1000)
PLANES = {"G17": ("X", "Y", "Z"), "G18": ("Z", "X", "Y"), "G19": ("Y", "Z", "X")}
CENTRES = {"X": "I", "Y": "J", "Z": "K"}
PLACES = st.dictionaries(st.sampled_from("XYZ"), NUMBER, min_size=1)
DATUM = (Decimal("25.4"), Decimal("12.7"))
OTHER_DATUM = (Decimal("50.8"), Decimal("25.4"))
OTHER_PIVOT = (Decimal("25.4"), Decimal("-50.8"))


class Program(RuleBasedStateMachine):
    """Writes one program."""

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[str] = []
        self.plane = "G17"
        self.absolute = True
        self.inch = False
        self.here: dict[str, Decimal] = {}
        self.motion = ""
        self.subprogram: list[str] = []
        self.called = ("G17", False, Decimal(1))

    @initialize(inch=st.booleans(), x=NUMBER, y=NUMBER, z=NUMBER, framed=st.booleans())
    def begin(self, inch: bool, x: Decimal, y: Decimal, z: Decimal, framed: bool) -> None:  # noqa: FBT001
        self.inch = inch
        self.lines += [*(["%", "O12"] if framed else []), f"{'G20' if inch else 'G21'} G17 G90 G94 T1 M6"]
        self.lines += [f"S900 M3 F{'10' if inch else '300'}", f"g0 x{x} y {y} Z{z}"]
        self.here = {"X": x, "Y": y, "Z": z}

    def word(self, axis: str, to: Decimal) -> str:
        written = to if self.absolute else to - self.here[axis]
        self.here[axis] = to
        return f"{axis}{written:f}"

    def code(self, code: str, *, carried: bool) -> str:
        """Return the motion's code, or nothing where it is in force and may be left out."""
        before, self.motion = self.motion, code
        return "" if carried and code == before else code

    @rule(
        code=st.sampled_from(["G0", "G1", "G01 ", "g1 F200 "]), to=PLACES, carried=st.booleans(), twice=st.booleans()
    )
    def straight(self, code: str, to: dict[str, Decimal], carried: bool, twice: bool) -> None:  # noqa: FBT001
        words = [self.word(axis, to[axis]) for axis in sorted(to)]
        self.lines.append(f"{self.code(code, carried=carried)} {' '.join(words + words[:1] * twice)}")

    @rule(inch=st.booleans(), x=NUMBER, y=NUMBER, z=NUMBER)
    def choose_unit(self, inch: bool, x: Decimal, y: Decimal, z: Decimal) -> None:  # noqa: FBT001
        self.lines.append(f"G90 {'G20' if inch else 'G21'} G0 X{x} Y{y} Z{z}")
        self.inch, self.absolute, self.motion = inch, True, "G0"
        self.here = {"X": x, "Y": y, "Z": z}

    @rule(radius=OFFSET, rise=NUMBER, clockwise=st.booleans())
    def circle_from_the_other_unit(self, radius: Decimal, rise: Decimal, clockwise: bool) -> None:  # noqa: FBT001
        u, v, w = PLANES[self.plane]
        self.inch = not self.inch
        self.lines += [f"G90 G0 {u}0 {v}0", "G20" if self.inch else "G21"]
        self.lines.append(f"{'G2' if clockwise else 'G3'} {u}0.0000 {v}0 {w}{rise:f} {CENTRES[u]}{radius:f}")
        self.absolute, self.motion = True, "G2" if clockwise else "G3"
        self.here = {u: Decimal(0), v: Decimal(0), w: rise}

    @rule(chord=OFFSET, flatness=st.sampled_from([1, 3, 40, 500]), clockwise=st.booleans())
    def shallow_arc(self, chord: Decimal, flatness: int, clockwise: bool) -> None:  # noqa: FBT001
        u, v, _ = PLANES[self.plane]
        words = [self.word(u, self.here[u] + chord), self.word(v, self.here[v])]
        self.motion = "G2" if clockwise else "G3"
        self.lines.append(f"{self.motion} {' '.join(words)} R{chord * flatness:f}")

    @rule(to=st.sampled_from(["G54", "G55"]), x=NUMBER, y=NUMBER, z=NUMBER)
    def choose_zero(self, to: str, x: Decimal, y: Decimal, z: Decimal) -> None:
        self.lines += [f"{to} G90", f"G0 X{x} Y{y} Z{z}"]
        self.absolute, self.motion = True, "G0"
        self.here = {"X": x, "Y": y, "Z": z}

    @rule(radius=OFFSET, repeats=st.integers(1, 3), plane=st.sampled_from([*PLANES]))
    def call(self, radius: Decimal, repeats: int, plane: str) -> None:
        u, v, _ = PLANES[plane]
        if not self.subprogram:
            unit = "G20" if self.inch else "G21"
            arc = f"G3 {u}{radius} {v}{-radius} {CENTRES[u]}0 {CENTRES[v]}{-radius}"
            self.subprogram = ["O77", f"G54 G90 {plane} {unit} G0 X0 Y0 Z0", arc, f"{u}0 {v}0 {CENTRES[v]}{radius}"]
            self.subprogram += [f"G91 G1 {u}1 F99", f"G90 Y{radius}", "M99"]
            self.called = (plane, self.inch, radius)
        plane, self.inch, radius = self.called
        self.lines.append(f"M98 P77 L{repeats}")
        self.plane, self.absolute, self.motion = plane, True, "G1"
        self.here = dict.fromkeys("XYZ", Decimal(0)) | {PLANES[plane][0]: Decimal(1)} | {"Y": radius}

    @rule(
        quarters=st.integers(1, 4),
        clockwise=st.booleans(),
        by_radius=st.booleans(),
        radius=OFFSET,
        rise=st.one_of(st.none(), NUMBER),
        carried=st.booleans(),
    )
    def arc(
        self,
        quarters: int,
        clockwise: bool,  # noqa: FBT001
        by_radius: bool,  # noqa: FBT001
        radius: Decimal,
        rise: Decimal | None,
        carried: bool,  # noqa: FBT001
    ) -> None:
        u, v, w = PLANES[self.plane]
        # From the centre the start lies at (-radius, 0).
        du, dv = {1: (radius, radius), 2: (2 * radius, Decimal(0)), 3: (radius, -radius), 4: (Decimal(0), Decimal(0))}[
            quarters
        ]
        if not clockwise:
            dv = -dv
        by_radius &= quarters in (1, 3)
        words = [self.word(u, self.here[u] + du), self.word(v, self.here[v] + dv)]
        if rise is not None:
            words.append(self.word(w, rise))
        centre = f"R{radius if quarters == 1 else -radius:f}" if by_radius else f"{CENTRES[u]}{radius:f} {CENTRES[v]}0"
        code = self.code("G2" if clockwise else "G3", carried=carried)
        self.lines.append(f"{code} {' '.join(words)} {centre}")

    @precondition(lambda self: self.plane == "G17")
    @rule(
        code=st.sampled_from(["G81", "G82", "G83", "G85", "G89"]),
        x=NUMBER,
        y=NUMBER,
        depth=OFFSET,
        back=st.booleans(),
        holes=st.integers(1, 4),
    )
    def drill(self, code: str, x: Decimal, y: Decimal, depth: Decimal, back: bool, holes: int) -> None:  # noqa: FBT001
        level = self.here["Z"] - 1
        levels = f"R{level:f} Z{level - depth:f}" if self.absolute else f"R-1 Z{-depth:f}"
        extra = {"G82": "P1", "G83": "Q2.5", "G89": "P.5"}.get(code, "")
        here = self.here.copy()
        place = f"{self.word('X', x)} {self.word('Y', y)}"
        if holes > 1 and not self.absolute:
            # Each hole is a step after the last one.
            extra += f" L{holes}"
            self.here.update({axis: here[axis] + holes * (self.here[axis] - here[axis]) for axis in "XY"})
        self.lines += [f"{'G98' if back else 'G99'} {code} {place} {levels} {extra}", "G80"]
        if not back:
            self.here["Z"] = level
        self.motion = "G1"
        self.lines.append(f"G1 {self.word('Z', self.here['Z'] + 1)}")

    @rule(plane=st.sampled_from([*PLANES]))
    def choose_plane(self, plane: str) -> None:
        self.plane = plane
        self.lines.append(plane)

    @rule(absolute=st.booleans(), to=PLACES)
    def choose_distance(self, absolute: bool, to: dict[str, Decimal]) -> None:  # noqa: FBT001
        self.absolute = absolute
        self.lines.append("G90" if absolute else "g 91")
        self.straight("G1", to, carried=False, twice=False)

    @rule(to=PLACES, absolute=st.booleans())
    def label(self, to: dict[str, Decimal], absolute: bool) -> None:  # noqa: FBT001
        # An axis offset counts in either distance mode.
        self.absolute = absolute
        words = " ".join(f"{axis}{value:f}" for axis, value in sorted(to.items()))
        self.lines.append(f"{'G90' if absolute else 'G91'} G92 {words}")
        self.here.update(to)

    @rule(z=NUMBER, how=st.sampled_from(["G28 Z{z}", "G91 G30 Z-1"]))
    def go_home(self, z: Decimal, how: str) -> None:
        # The motion code stays in force, and no word of the next line may be taken for another one's.
        self.lines += [how.format(z=f"{z:f}").replace("G28", "G90 G28"), "G90"]
        self.absolute = True
        self.here["Z"] = z
        if self.motion in ("G2", "G3") and self.plane == "G17":
            self.lines.append(f"{self.word('X', self.here['X'] + 2)} Z{z:f} I1")
            return
        self.motion = "G0"
        self.lines.append(f"G0 Z{z:f}")

    @rule(z=NUMBER, how=st.sampled_from(["G53 G0 Z0", "G28 Z{z}", "G91 G28 Z0", "G30 Z{z}", "G38.2 Z{far} F30"]))
    def leave_z(self, z: Decimal, how: str) -> None:
        far = self.here["Z"] - 7
        if "G53" in how or "{" in how:
            how = f"G90 {how}"
        self.lines += [how.format(z=f"{z:f}", far=f"{far:f}"), f"G90 G0 Z{z:f}"]
        self.motion = "G0"
        self.here["Z"], self.absolute = z, True

    @rule(axis=st.sampled_from("XY"), value=NUMBER)
    def expression(self, axis: str, value: Decimal) -> None:
        start = value if self.absolute else value - self.here[axis]
        self.here[axis] = value
        self.motion = "G1"
        self.lines += [f"#7={start:f}", f"G1 {axis}[#7+2-[1*2]]"]

    @rule(x=NUMBER, y=NUMBER, side=st.sampled_from(["G41", "G42"]))
    def compensate(self, x: Decimal, y: Decimal, side: str) -> None:
        self.plane = "G17"
        self.motion = "G1"
        self.lines.append(f"G17 {side} D1 G1 {self.word('X', x)} {self.word('Y', y)}")
        self.lines.append("G40")

    @rule(
        text=st.sampled_from(
            ["", "(keep (this) as it is)", "M8", "G4 P.5", "M5 M9", "S1200 M4", "N10 G61", "G64", ";x1 y1", "T2 M6 M6"]
        )
    )
    def beside(self, text: str) -> None:
        self.lines.append(text)

    @invariant()
    def is_legal(self) -> None:
        if len(self.lines) % 8 == 7:
            lines = self.lines[1:] if self.lines[0] == "%" else self.lines
            flipreg.interpret(flipreg.parse("\n".join([*lines, *["M2"] * bool(self.subprogram), *self.subprogram])))

    def teardown(self) -> None:
        if not self.lines:
            return
        end = ["M30", "%", "after"] if self.lines[0] == "%" else ["M2"]
        text = "\r\n".join([*self.lines, end[0], *self.subprogram, *end[1:], ""])
        _hold(flipreg.parse(text, source="drawn.ngc"))


def _hold(program: flipreg.Program) -> None:
    source = flipreg.interpret(program)
    assert flipreg.shift(program).text.endswith(program.text.removeprefix(b"%\r\nO12\r\n"))
    off = 1e-4 if b"G20" in program.text else EXACT
    back = flipreg.flip(program, axis=flipreg.FlipAxis.Y, datum_mm=DATUM, offsets_mm={"G55": OTHER_DATUM})
    mirrors = (flipreg.flip_isometry(flipreg.FlipAxis.Y, datum) for datum in (DATUM, OTHER_DATUM))
    _same(_moved(source, *mirrors), _read(back), off)
    again = flipreg.flip(
        flipreg.parse(back.text),
        axis=flipreg.FlipAxis.Y,
        datum_mm=(DATUM[0], -DATUM[1]),
        offsets_mm={"G55": (OTHER_DATUM[0], -OTHER_DATUM[1])},
    )
    _same(source, _read(again), 2 * off)
    by = (Decimal("1.5"), Decimal("-2.25"), Decimal("0.5"))
    there = flipreg.shift(program, by_mm=by)
    _same(source.transformed(flipreg.Isometry.translation(*by)), _read(there), 2 * off)
    home = flipreg.shift(flipreg.parse(there.text), by_mm=(-by[0], -by[1], -by[2]))
    _same(source, _read(home), 2 * off)
    quarter = flipreg.shift(program, turn_deg=90, offsets_mm={"G55": OTHER_PIVOT})
    _same(_moved(source, *_turns(90)), _read(quarter), off)
    turned = _turned(program, None)
    if isinstance(turned, flipreg.RefusedError):
        assert "--" in turned.message or "known" in turned.message
        if "--" in turned.message:
            _hold_spelled(program, source)
        return
    _same(_moved(source, *_turns(7.5)), _read(turned), ROUNDED)
    assert (b"worked out" in turned.text) == (b"#7" in program.text)


def _hold_spelled(program: flipreg.Program, source: Path) -> None:
    """Hold every end of the source to an end of the result, in order; with chords there are more of them."""
    turned = _turned(program, 0.05)
    if isinstance(turned, flipreg.RefusedError):
        assert "known" in turned.message
        return
    made = _read(turned)
    ends = [isometry.apply(source.end) for isometry in _turns(7.5)]
    wanted = np.where((source.work_offset == 2)[:, None], ends[1], ends[0])
    row = 0
    for end, offset, tool in zip(wanted, source.work_offset, source.tool, strict=True):
        near = np.abs(np.nan_to_num(made.end[row:] - end)).max(axis=1) <= ROUNDED
        found = np.flatnonzero(near & (made.work_offset[row:] == offset))
        assert found.size
        row += int(found[0])
        assert made.tool[row] == tool
        row += 1
    assert row == len(made)


def _turns(turn_deg: float) -> tuple[flipreg.Isometry, flipreg.Isometry]:
    """Return the turns of G54 and of G55."""
    return flipreg.Isometry.rotation(turn_deg), flipreg.Isometry.rotation(turn_deg, about_mm=OTHER_PIVOT)


def _moved(source: Path, first: flipreg.Isometry, second: flipreg.Isometry) -> Path:
    """Return motions in G54 moved by one isometry and those in G55 by the other, which differs in its offset."""
    ours, theirs = source.transformed(first), source.transformed(second)
    other = (source.work_offset == 2)[:, None]
    points = ("start", "end", "centre")
    return replace(ours, **{name: np.where(other, getattr(theirs, name), getattr(ours, name)) for name in points})


def _turned(program: flipreg.Program, chords_mm: float | None) -> flipreg.Produced | flipreg.RefusedError:
    spell = chords_mm is not None
    try:
        return flipreg.shift(
            program, turn_deg=7.5, offsets_mm={"G55": OTHER_PIVOT}, chords_mm=chords_mm, spell_cycles=spell
        )
    except flipreg.RefusedError as refusal:
        return refusal


def _read(made: flipreg.Produced) -> Path:
    return flipreg.interpret(flipreg.parse(made.text), block_delete=BlockDelete.OFF)


def _same(expected: Path, actual: Path, within: float) -> None:
    assert len(expected) == len(actual)
    for name in ("start", "end"):
        wanted, found = getattr(expected, name), getattr(actual, name)
        assert np.isnan(wanted).tolist() == np.isnan(found).tolist()
        assert np.abs(np.nan_to_num(wanted - found)).max(initial=0.0) <= within
    arcs = expected.is_arc
    assert np.abs(np.nan_to_num(expected.centre - actual.centre)[arcs]).max(initial=0.0) <= max(within, 0.01)
    assert np.abs(expected.sweep_deg - actual.sweep_deg).max(initial=0.0) <= 0.1
    for name in ("kind", "normal", "tool", "cycle", "spindle_rpm", "compensation"):
        np.testing.assert_array_equal(getattr(expected, name), getattr(actual, name), err_msg=name)


Program.TestCase.settings = settings(
    max_examples=10, stateful_step_count=14, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
TestLanguage = Program.TestCase
