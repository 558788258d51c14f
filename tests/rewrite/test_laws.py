"""The square closes: interpreting a new program gives the moved motions of the old one, for drawn programs."""

import re
from decimal import Decimal

import numpy as np
from hypothesis import HealthCheck, event, example, given, settings
from hypothesis import strategies as st

import flipreg
from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from flipreg.produce.isometries import FlipAxis, flip_isometry, shift_isometry
from flipreg.produce.produce import flip, shift
from flipreg.rs274.read.location import RefusedError
from tests.motions import motions, sampled
from tests.rs274.slowly import programs as plain_programs

SOME = settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])

LENGTHS = st.integers(-99_999, 99_999).map(lambda value: Decimal(value) / 1000)

PLACES = LENGTHS.map(lambda inches: inches * Decimal("25.4"))
"""Offsets that can be written exactly in millimetres and in inches."""

EXACT, ROUNDED = 1e-8, 1e-3
"""Millimetres; the first is float noise, the second what a proved program may be off."""

_CODES = ("81", "82", "83", "85", "89")
_FREE = {"G17": "XYZ", "G18": "ZXY", "G19": "YZX"}
_AXES = "XYZ"


@st.composite
def cycle_lines(draw: st.DrawFn, *, plane: str) -> list[str]:
    """Draw a run of one canned cycle, its plane's axis last in the letters."""
    u, v, w = (_FREE[plane][axis] for axis in range(3))
    code = draw(st.sampled_from(_CODES))
    words = {"82": " P0.5", "89": " P1", "83": " Q1.5"}.get(code, "")
    lines = [f"G90 {plane} G0 X{draw(LENGTHS)} Y{draw(LENGTHS)} Z{draw(LENGTHS)}", f"G0 {w}20.5 F120"]
    lines.append(f"{draw(st.sampled_from(['G98', 'G99']))} G{code} {u}{draw(LENGTHS)} {w}-3.25 R1.5{words}")
    for _ in range(draw(st.integers(0, 2))):
        lines.append(f"{draw(st.sampled_from([u, v]))}{draw(LENGTHS)}")
    if draw(st.booleans()):
        lines.append(f"G91 G{code} {v}{draw(LENGTHS)} {w}-2 R-0.5{words} L{draw(st.integers(1, 3))}")
    return [*lines, "G80 G90"]


@st.composite
def compensated_lines(draw: st.DrawFn) -> list[str]:
    """Draw a contour with cutter compensation on one side."""
    side = draw(st.sampled_from(["G41 D1", "G42 D3", "G41"]))
    return [
        f"G90 G17 G0 X{draw(LENGTHS)} Y{draw(LENGTHS)}",
        f"{side} G1 X{draw(LENGTHS)} Y{draw(LENGTHS)} F300",
        f"X{draw(LENGTHS)}",
        f"G91 {draw(st.sampled_from(['G2', 'G3']))} X4 Y4 {draw(st.sampled_from(['R4', 'R-4']))}",
        "G40 G90 G0 Z9",
    ]


@st.composite
def programs(draw: st.DrawFn) -> str:
    """Draw a program of lines and arcs in all planes, units and distance modes, with cycles and compensation."""
    body, _ = draw(plain_programs(most=15))
    text = f"G21 G90 G17\nG0 X0 Y0 Z0 F50\n{body}G80\n"
    if draw(st.booleans()):
        text += "\n".join(draw(cycle_lines(plane=draw(st.sampled_from(["G17", "G17", "G18", "G19"]))))) + "\n"
    if draw(st.booleans()):
        text += "\n".join(draw(compensated_lines())) + "\n"
    return text


def in_one_unit(code: str) -> st.SearchStrategy[str]:
    """Draw programs that are in inches or in millimetres throughout.

    A place rounded in one unit may not be a place that the other unit can name: where a turned circle starts at
    a point written in millimetres and names its end in inches, it is none any more, and the proof refuses it.
    """
    return programs().filter(lambda text: "G20" not in text).map(lambda text: text.replace("G21", code))


def assert_moved(before: Path, after: Path, isometry: Isometry, within: float) -> None:
    """Hold points all along every motion to the moved points, and all else to what it was."""
    assert len(before) == len(after) > 0
    expected = isometry.apply(sampled(before).reshape(-1, 3)).reshape(len(before), -1, 3)
    np.testing.assert_allclose(sampled(after), expected, rtol=0, atol=within)
    np.testing.assert_allclose(after.end, isometry.apply(before.end), rtol=0, atol=within)
    for name in ("kind", "spindle_rpm", "tool", "work_offset", "cycle"):
        np.testing.assert_array_equal(getattr(after, name), getattr(before, name), err_msg=name)
    assert (before.compensation * isometry.determinant).tolist() == after.compensation.tolist()
    np.testing.assert_allclose(after.feed_mm_per_min, before.feed_mm_per_min, rtol=1e-9)


def drills_along(text: str, letters: str) -> bool:
    """Return whether a canned cycle drills along one of the axes."""
    planes = re.findall(r"G1[789]", text)
    return bool(re.search(r"G8[1-9]", text)) and any(_FREE[plane][2] in letters for plane in planes)


@SOME
@given(text=programs(), axis=st.sampled_from(FlipAxis), datum=st.tuples(PLACES, PLACES))
def test_the_motions_of_a_flip_are_the_flipped_motions(
    text: str, axis: FlipAxis, datum: tuple[Decimal, Decimal]
) -> None:
    program = flipreg.parse(text)
    try:
        flipped = flip(program, axis=axis, datum_mm=datum)
    except RefusedError as error:
        refused = error.message
    else:
        refused = ""
    if refused:
        event("refused")
        assert "drill the other way" in refused
        assert drills_along(text, "X" if axis is FlipAxis.Y else "Y")
        return
    assert_moved(motions(text), motions(flipped.text), flip_isometry(axis, datum), EXACT)
    assert flipped.largest_deviation_mm <= EXACT


@SOME
@given(
    text=programs(),
    by=st.tuples(PLACES, PLACES, PLACES),
    quarters=st.integers(-3, 4),
    about=st.tuples(PLACES, PLACES),
)
def test_the_motions_of_a_shift_are_the_shifted_motions(
    text: str, by: tuple[Decimal, Decimal, Decimal], quarters: int, about: tuple[Decimal, Decimal]
) -> None:
    program, turn = flipreg.parse(text), quarters * 90.0
    try:
        shifted = shift(program, by_mm=by, turn_deg=turn, about_mm=about)
    except RefusedError as error:
        refused = error.message
    else:
        refused = ""
    if refused:
        event("refused")
        assert "drill the other way" in refused
        assert quarters % 4
        assert drills_along(text, "XY")
        return
    isometry = shift_isometry(by_mm=by, turn_deg=turn, about_mm=about)
    assert_moved(motions(text), motions(shifted.text), isometry, EXACT)


@SOME
@given(text=in_one_unit("G20"), by=st.tuples(LENGTHS, LENGTHS, LENGTHS))
def test_a_shift_in_millimetres_of_a_program_in_inches_is_off_by_rounding_only(
    text: str, by: tuple[Decimal, Decimal, Decimal]
) -> None:
    shifted = shift(flipreg.parse(text), by_mm=by)
    isometry = shift_isometry(by_mm=by, turn_deg=0.0, about_mm=(Decimal(0), Decimal(0)))
    assert_moved(motions(text), motions(shifted.text), isometry, ROUNDED)


@SOME
@given(
    text=st.one_of(in_one_unit("G20"), in_one_unit("G21")),
    by=st.tuples(LENGTHS, LENGTHS, LENGTHS),
    turn=st.integers(-3600, 3600).map(lambda tenths: tenths / 10),
    about=st.tuples(LENGTHS, LENGTHS),
)
@example(
    text="G21 G90 G17\nG0 X1.5 Y2.12345 Z0 F50\nG0 X2.5\nG2 X2.5 I1\nG91 X0 J-1\nG3 Y0 I2 Z-1\n",
    by=(Decimal(0), Decimal(0), Decimal(0)),
    turn=33.3,
    about=(Decimal(0), Decimal(1)),
)
@example(
    text="G21 G90 G19\nG0 X0 Y0 Z0 F50\nG1 X5\n",
    by=(Decimal(0), Decimal(0), Decimal(0)),
    turn=45.1,
    about=(Decimal(0), Decimal(0)),
)
def test_the_motions_of_a_turn_are_the_turned_motions(
    text: str, by: tuple[Decimal, Decimal, Decimal], turn: float, about: tuple[Decimal, Decimal]
) -> None:
    program = flipreg.parse(text)
    try:
        turned = shift(program, by_mm=by, turn_deg=turn, about_mm=about)
    except RefusedError as error:
        refused = error.message
    else:
        refused = ""
    if refused:
        event("refused")
        assert re.search("G1[89]", text)
        assert "outside the XY plane" in refused
        return
    assert_moved(
        motions(text),
        motions(turned.text),
        shift_isometry(by_mm=by, turn_deg=turn, about_mm=about),
        ROUNDED,
    )


@SOME
@given(text=programs(), axis=st.sampled_from(FlipAxis), place=PLACES)
def test_two_flips_are_no_flip(text: str, axis: FlipAxis, place: Decimal) -> None:
    datum = (2 * place, Decimal(0)) if axis is FlipAxis.Y else (Decimal(0), 2 * place)
    try:
        once = flip(flipreg.parse(text), axis=axis, datum_mm=datum)
    except RefusedError:
        return
    twice = flip(flipreg.parse(once.text), axis=axis, datum_mm=datum)
    assert_moved(motions(text), motions(twice.text), Isometry(), EXACT)


@SOME
@given(text=programs(), by=st.tuples(PLACES, PLACES, PLACES))
def test_a_shift_there_and_back_is_no_shift(text: str, by: tuple[Decimal, Decimal, Decimal]) -> None:
    there = shift(flipreg.parse(text), by_mm=by)
    dx, dy, dz = by
    back = shift(flipreg.parse(there.text), by_mm=(-dx, -dy, -dz))
    assert_moved(motions(text), motions(back.text), Isometry(), EXACT)


@SOME
@given(text=programs(), place=PLACES)
def test_a_flip_changes_no_text_but_mirrored_words_arc_directions_and_sides(text: str, place: Decimal) -> None:
    try:
        flipped = flip(flipreg.parse(text), axis=FlipAxis.Y, datum_mm=(2 * place, Decimal(0)))
    except RefusedError:
        return
    body = flipped.text.decode().partition("comes first)\n")[2]

    def kept(program: str) -> str:
        masked = re.sub(r"([XI])-?[0-9.]+", r"\1", program).replace("G42", "G41")
        # Where an arc carries on in another plane its code may be named again.
        return re.sub(r"G[23]\b ?", "", masked).replace(" \n", "\n")

    assert kept(body) == kept(text)
