"""The expression test as a program: NISTIR 6556 appendix C.2, checks E8 to E34 of the reference.

Each value is the report's own comment ("should be"), R, unless the check says otherwise; comments are rounded,
so some need a tolerance, given beside them. All motion is along X with Y and Z at zero.
"""

import numpy as np
import pytest

from flipreg.path import Path
from tests.every import every
from tests.motions import motions, position_after

VALUES: list[tuple[str, float, float]] = [
    # value of X, the report's result, tolerance
    ("[1 + 2]", 3, 1e-9),
    ("[1 - 2]", -1, 1e-9),
    ("[1 --3]", 4, 1e-9),
    ("[2/5]", 0.4, 1e-9),
    ("[3.0 * 5]", 15, 1e-9),
    ("[0 OR 0]", 0, 1e-9),
    ("[0 OR 1]", 1, 1e-9),
    ("[2 or 2]", 1, 1e-9),
    ("[0 AND 0]", 0, 1e-9),
    ("[0 AND 1]", 0, 1e-9),
    ("[2 and 2]", 1, 1e-9),
    ("[0 XOR 0]", 0, 1e-9),
    ("[0 XOR 1]", 1, 1e-9),
    ("[2 xor 2]", 0, 1e-9),
    ("[15 MOD 4.0]", 3, 1e-9),
    ("[1 + 2 * 3 - 4 / 5]", 6.2, 1e-9),
    ("sin[30]", 0.5, 1e-9),
    ("cos[0.0]", 1, 1e-9),
    ("tan[60.0]", 1.7321, 5e-5),
    ("sqrt[3]", 1.7321, 5e-5),
    ("atan[1.7321]/[1.0]", 60.0, 1e-3),
    ("asin[1.0]", 90, 1e-9),
    ("acos[0.707107]", 45, 5e-5),
    ("abs[20.0]", 20, 1e-9),
    ("abs[-1.23]", 1.23, 1e-9),
    ("round[-0.499]", 0, 1e-9),
    ("round[-0.5001]", -1, 1e-9),
    ("round[2.444]", 2, 1e-9),
    ("round[9.975]", 10, 1e-9),
    ("fix[-0.499]", -1, 1e-9),
    ("fix[-0.5001]", -1, 1e-9),
    ("fix[2.444]", 2, 1e-9),
    ("fix[9.975]", 9, 1e-9),
    ("fup[-0.499]", 0, 1e-9),
    ("fup[-0.5001]", 0, 1e-9),
    ("fup[2.444]", 3, 1e-9),
    ("fup[9.975]", 10, 1e-9),
    ("exp[2.3026]", 10, 2e-4),
    ("ln[10.0]", 2.3026, 5e-5),
]
"""E8 to E27, lines n0020 to n0400 of C.2."""

TAIL: list[tuple[str, float | None]] = [
    ("x [2 ** 3.0] #1=2.0", 8),
    ("##1 = 0.375 (#1 is 2, so parameter 2 is set to 0.375)", None),
    ("x #2 (should be 0.375) #3=7.0", 0.375),
    ("#3=5.0 x #3 (parameters set in parallel, so this is 7, not 5)", 7),
    ("x #3 #3=1.1 (parameters set in parallel, so this is 5, not 1.1)", 5),
    ("x [2 + asin[1/2.1+-0.345] / [atan[fix[4.4] * 2.1 * sqrt[16.8]] /[-18]]**2]", None),
    ("x sqrt[3**2 + 4**2]", 5),
]
"""E28 to E34, lines n0410 to n0470; comments are ours."""

HEAD = ["G0 X0 Y0 Z0 (not in the report: a known place to start from)", "n0010 g21 g1 f20"]


def whole_program() -> tuple[str, list[int]]:
    """Return C.2 and the file's line of its first expression and of its first tail line."""
    blocks = [f"x {value}" for value, _, _ in VALUES] + [block for block, _ in TAIL]
    numbered = [f"n{number:04d} {block}" for number, block in enumerate(blocks, start=2)]
    # A G1 without axis words is an error, so the report's first move stands on the line of the G1.
    head = [HEAD[0], HEAD[1] + " x3"]
    return "\n".join([*head, *numbered, "n0480 m2", ""]), [len(head) + 1, len(head) + len(VALUES) + 1]


@pytest.fixture(scope="module")
def executed() -> Path:
    return motions(whole_program()[0])


@every("index, value, expected, within", [(index, *check) for index, check in enumerate(VALUES)])
def test_an_expression_moves_x_to_the_value_in_the_reports_comment(
    executed: Path, index: int, value: str, expected: float, within: float
) -> None:
    line = whole_program()[1][0] + index
    assert position_after(executed, line) == pytest.approx([expected, 0, 0], abs=within), value


@pytest.mark.parametrize(
    ("index", "expected"),
    [(index, expected) for index, (_, expected) in enumerate(TAIL) if expected is not None],
    ids=[block for block, expected in TAIL if expected is not None],
)
def test_parameters_are_read_before_any_is_set(executed: Path, index: int, expected: float) -> None:
    line = whole_program()[1][1] + index
    assert position_after(executed, line) == pytest.approx([expected, 0, 0], abs=1e-9)


def test_the_long_expression_takes_atan_in_four_quadrants(executed: Path) -> None:
    # E33: the report prints no value; an independent annotated copy of C.2 says about 2.0005 (four-quadrant).
    # With the principal value of atan it would be 2.001936.
    line = whole_program()[1][1] + 5
    assert position_after(executed, line) == pytest.approx([2.000545, 0, 0], abs=1e-6)


def test_all_motion_is_along_x(executed: Path) -> None:
    assert np.all(executed.end[:, 1:] == 0)


def test_an_expression_with_a_parameter_set_before_is_e2_of_the_reference() -> None:
    # E2 RI: 91 - #3**2; with #3=15 it is -134.
    path = motions("G21 G1 F20 X0 Y0 Z0\n#3=15\nX[1 + acos[0] - [#3 ** [4.0/2]]]\nM2\n")
    assert position_after(path, 3) == pytest.approx([-134, 0, 0], abs=1e-9)


@pytest.mark.parametrize(("value", "expected"), [("[2**3**2]", 64), ("[-2**2]", 4), ("[1 OR 0 + 2]", 3)])
def test_operators_of_one_group_go_from_left_to_right(value: str, expected: float) -> None:
    # E35 D. The last one: OR and + are of one group, so (1 OR 0) + 2.
    path = motions(f"G21 G1 F20 X0 Y0 Z0\nX{value}\nM2\n")
    assert position_after(path, 2) == pytest.approx([expected, 0, 0], abs=1e-9)
