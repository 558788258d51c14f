"""Values of expressions: NISTIR 6556 sections 3.3.2.3, 3.3.2.4, 3.5.18, 5 and appendix C.2; checks E1 to E35.

R: the report prints the result, in C.2 as the comment "should be". RI: the input is printed, the result computed.
D: both made here from a rule. The comments are rounded; where that shows, the tolerance is given.
"""

import pytest

from flipreg.rs274.read.expression import evaluate, parameter_index
from flipreg.rs274.read.grammar import parse_block
from tests.every import every

CHECKS: list[tuple[str, str, float, float]] = [
    # check, expression, result, tolerance
    ("E1 R", "[2.0 / 3 * 1.5 - 5.5 / 11.0]", 0.5, 1e-12),
    ("E2 RI", "[1 + acos[0] - [#3 ** [4.0/2]]]", -134, 1e-12),
    ("E3 R", "FIX[2.8]", 2, 0),
    ("E3 R", "FIX[-2.8]", -3, 0),
    ("E3 R", "FUP[2.8]", 3, 0),
    ("E3 R", "FUP[-2.8]", -2, 0),
    ("E4 RI", "SIN[90]", 1, 0),
    ("E4 RI", "ATAN[2]/[1+3]", 26.565051, 5e-7),
    ("E5 R", "[6-[4*3/2]]", 0, 0),
    ("E6 R", "asin[0.5]", 30, 1e-12),
    ("E7 R", "[[7-9] + -3]", -5, 0),
    ("E8 R", "[1 + 2]", 3, 0),
    ("E9 R", "[1 - 2]", -1, 0),
    ("E10 R", "[1 --3]", 4, 0),
    ("E11 R", "[2/5]", 0.4, 0),
    ("E12 R", "[3.0 * 5]", 15, 0),
    ("E13 R", "[0 OR 0]", 0, 0),
    ("E13 R", "[0 OR 1]", 1, 0),
    ("E13 R", "[2 or 2]", 1, 0),
    ("E14 R", "[0 AND 0]", 0, 0),
    ("E14 R", "[0 AND 1]", 0, 0),
    ("E14 R", "[2 and 2]", 1, 0),
    ("E15 R", "[0 XOR 0]", 0, 0),
    ("E15 R", "[0 XOR 1]", 1, 0),
    ("E15 R", "[2 xor 2]", 0, 0),
    ("E16 R", "[15 MOD 4.0]", 3, 0),
    ("E17 R", "[1 + 2 * 3 - 4 / 5]", 6.2, 1e-12),
    ("E18 R", "sin[30]", 0.5, 1e-12),
    ("E18 R", "cos[0.0]", 1, 0),
    ("E19 R", "tan[60.0]", 1.7321, 5e-5),
    ("E19 R", "sqrt[3]", 1.7321, 5e-5),
    ("E20 R", "atan[1.7321]/[1.0]", 60.0, 1e-3),  # 60.000705: the input is rounded
    ("E21 R", "asin[1.0]", 90.0, 0),
    ("E21 R", "acos[0.707107]", 45.0, 5e-5),  # 44.999982
    ("E22 R", "abs[20.0]", 20, 0),
    ("E22 R", "abs[-1.23]", 1.23, 0),
    ("E23 R", "round[-0.499]", 0, 0),
    ("E23 R", "round[-0.5001]", -1, 0),
    ("E23 R", "round[2.444]", 2, 0),
    ("E23 R", "round[9.975]", 10, 0),
    ("E24 R", "fix[-0.499]", -1, 0),
    ("E24 R", "fix[-0.5001]", -1, 0),
    ("E24 R", "fix[2.444]", 2, 0),
    ("E24 R", "fix[9.975]", 9, 0),
    ("E25 R", "fup[-0.499]", 0, 0),
    ("E25 R", "fup[-0.5001]", 0, 0),
    ("E25 R", "fup[2.444]", 3, 0),
    ("E25 R", "fup[9.975]", 10, 0),
    ("E26 R", "exp[2.3026]", 10, 2e-4),  # 10.000149: the input is rounded
    ("E27 R", "ln[10.0]", 2.3026, 5e-5),
    ("E28 R", "[2 ** 3.0]", 8, 0),
    # The report prints no value; this one has the arctangent in four quadrants, as one annotated copy of C.2 has it.
    ("E33 RI", "[2 + asin[1/2.1+-0.345] / [atan[fix[4.4] * 2.1 * sqrt[16.8]] /[-18]]**2]", 2.000545, 5e-7),
    ("E34 R", "sqrt[3**2 + 4**2]", 5, 0),
    ("E35 D", "[2**3**2]", 64, 0),
    ("E35 D", "[-2**2]", 4, 0),
    ("E35 D", "[1 OR 0 + 2]", 3, 0),
]


@every("check, text, result, tolerance", CHECKS)
def test_an_expression_has_the_value_of_the_report(check: str, text: str, result: float, tolerance: float) -> None:
    (word,) = parse_block(f"x {text}").words
    assert not isinstance(word.value, tuple)
    assert evaluate(word.value, {3: 15.0}) == pytest.approx(result, rel=0, abs=tolerance), check


def run(lines: list[str]) -> tuple[list[float], dict[int, float]]:
    """Return the X of each line, nan where it has none, and the parameters at the end; settings take effect last."""
    parameters: dict[int, float] = {}
    positions = []
    for line in lines:
        block = parse_block(line)
        for word in block.words:
            if word.letter == "X" and not isinstance(word.value, tuple):
                positions.append(evaluate(word.value, parameters))
        new = {
            parameter_index(evaluate(setting.index, parameters)): evaluate(setting.value, parameters)
            for setting in block.settings
        }
        parameters |= new
    return positions, parameters


def test_e28_to_e32_settings_take_effect_after_their_line() -> None:  # R, appendix C.2, n0410 to n0450
    positions, parameters = run(
        [
            "n0410 x [2 ** 3.0] #1=2.0",
            "n0420 ##1 = 0.375",
            "n0430 x #2 (should be 0.375) #3=7.0",
            "n0440 #3=5.0 x #3",
            "n0450 x #3 #3=1.1",
        ]
    )
    assert positions == [8, 0.375, 7, 5]
    assert parameters == {1: 2.0, 2: 0.375, 3: 1.1}
