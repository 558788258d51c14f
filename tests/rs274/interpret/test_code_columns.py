import numpy as np
import pytest

from flipreg.rs274.interpret.code_columns import Codes, CodeWords, code_name, g_codes, m_codes
from flipreg.rs274.interpret.values import literal_values
from flipreg.rs274.read.habit import Notices
from flipreg.rs274.read.location import ProgramError
from tests.rs274.reading import chunks_of


def codes_of(text: str, letter: str = "G") -> Codes:
    (blocks,) = chunks_of(text)
    row = np.flatnonzero(blocks.letter == ord(letter))
    read = g_codes if letter == "G" else m_codes
    notices = Notices(blocks.first_line)
    return read(CodeWords(blocks, row, blocks.block[row], literal_values(blocks)[row], frozenset(), notices))


def refusal_of(text: str, letter: str = "G") -> tuple[int, int, str]:
    with pytest.raises(ProgramError) as caught:
        codes_of(text, letter)
    return caught.value.location.line, caught.value.location.column, caught.value.message


def test_codes_are_ten_times_their_number() -> None:
    assert codes_of("G2\nG59.3 G90.1\ng 3 8 . 2\n").code.tolist() == [20, 593, 901, 382]


def test_leading_and_trailing_zeros_change_no_code() -> None:
    assert codes_of("G01\nG1.0\nG59.10\n").code.tolist() == [10, 10, 591]


def test_a_code_within_a_ten_thousandth_is_that_code() -> None:
    # NISTIR 6556, 3.3.2.1: ten times the number within 0.0001 of an integer.
    assert codes_of("G2.000005\n").code.tolist() == [20]
    assert refusal_of("G2.00002\n")[:2] == (1, 1)


def test_every_code_of_the_report_has_its_group() -> None:
    # Table 4 of the report, section 3.4.
    table = {
        0: "4 10 28 30 53 92 92.1 92.2 92.3",
        1: "0 1 2 3 38.2 80 81 82 83 84 85 86 87 88 89",
        2: "17 18 19",
        3: "90 91",
        5: "93 94",
        6: "20 21",
        7: "40 41 42",
        8: "43 49",
        10: "98 99",
        12: "54 55 56 57 58 59 59.1 59.2 59.3",
        13: "61 61.1 64",
    }
    for group, numbers in table.items():
        text = "".join(f"G{number}\n" for number in numbers.split())
        assert {group} == set(codes_of(text).group.tolist())
    machine = {4: "0 1 2 30 60", 6: "6", 7: "3 4 5", 8: "7 8 9", 9: "48 49"}
    for group, numbers in machine.items():
        assert {group} == set(codes_of("".join(f"M{number}\n" for number in numbers.split()), "M").group.tolist())


@pytest.mark.parametrize("code", ["G5", "G59.4", "G22", "G100", "G999", "G-1", "G0.1", "G90.2", "G1000000"])
def test_an_unknown_g_code_is_named_at_its_place(code: str) -> None:
    line, column, message = refusal_of(f"G1\nX1 {code}\n")
    assert (line, column) == (2, 4)
    assert code in message


@pytest.mark.parametrize("code", ["M10", "M97", "M1.5", "M-2", "M100"])
def test_an_unknown_m_code_is_named_at_its_place(code: str) -> None:
    line, column, message = refusal_of(f"M3 {code}\n", "M")
    assert (line, column) == (1, 4)
    assert code in message


@pytest.mark.parametrize(
    ("line", "column"),
    [("G0 G1", 4), ("G17 X1 G18", 8), ("G90 G1 G91", 8), ("G80 G81", 5), ("G54 G21 G59.3", 9), ("G4 G53", 4)],
)
def test_two_g_codes_of_one_group_are_an_error_at_the_second(line: str, column: int) -> None:
    found = refusal_of(f"G21 G17\n{line}\n")
    assert (2, column) == found[:2]


@pytest.mark.parametrize(("line", "column"), [("M3 M5", 4), ("M7 M9", 4), ("M7 M8 M9", 7), ("M0 M6 M2", 7)])
def test_two_m_codes_of_one_group_are_an_error_at_the_second(line: str, column: int) -> None:
    assert (1, column) == refusal_of(f"{line}\n", "M")[:2]


def test_codes_of_one_group_may_stand_in_neighbouring_blocks() -> None:
    assert codes_of("G0\nG1\nG0\n").code.tolist() == [0, 10, 0]


def test_many_codes_of_different_groups_may_stand_in_one_block() -> None:
    assert len(codes_of("G17 G21 G90 G94 G40 G49 G54 G64 G98 G91.1 G1\n")) == 11


def test_a_repeated_code_counts_once() -> None:
    codes = codes_of("G1 G90 G1\nG1\n")
    assert codes.code.tolist() == [10, 900, 10]
    assert codes.block.tolist() == [0, 0, 1]
    assert codes.row.tolist() == [0, 1, 3]
    assert codes_of("T1 M6 M6\n", "M").code.tolist() == [6]


def test_more_than_four_m_words_and_both_coolants_are_read() -> None:
    # NISTIR 6556, 3.3.5 has at most four, of different groups.
    assert codes_of("M2 M6 M3 M8 M48\n", "M").code.tolist() == [2, 6, 3, 8, 48]
    assert codes_of("M8 M7 M8\n", "M").code.tolist() == [8, 7]


def test_the_later_of_two_that_only_switch_holds() -> None:
    for line in ("G49 G43", "G40 G41", "G61 G64", "G99 G98"):
        assert [code_name(code) for code in codes_of(f"{line}\n").code.tolist()] == [line.split()[1]]


def test_a_cancel_beside_a_motion_ends_the_cycle_and_the_motion_is_made() -> None:
    for line in ("G0 G80 Z5", "G80 G0 Z5", "G80 X1 G0 G80"):
        assert codes_of(f"{line}\n").code.tolist() == [0]
    for line in ("G0 G80", "G80 G0", "G0 G17 G40 G49 G80 G90", "G80 G28 G0 X1"):
        assert 800 in codes_of(f"{line}\n").code.tolist()
        assert 0 not in codes_of(f"{line}\n").code.tolist()


def test_cancels_of_what_was_never_set_may_stand_together() -> None:
    codes = codes_of("G15 G50 G69 G40.1 G97 G1\n")
    assert set(codes.group.tolist()) == {15, 1}


def test_a_code_is_named_as_a_person_writes_it() -> None:
    assert [code_name(code) for code in (0, 170, 591, 382)] == ["G0", "G17", "G59.1", "G38.2"]
