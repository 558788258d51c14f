"""One line through the grammar: what is read, where it stands, and what is said about a line that is wrong."""

from decimal import Decimal

import pytest
from hypothesis import HealthCheck, assume, example, given, settings

from flipreg.rs274.read.blocks import BlockFlag
from flipreg.rs274.read.expression import Arctangent, Binary, Function, Literal, Parameter
from flipreg.rs274.read.grammar import DEEPEST, BlockSyntaxError, parse_block
from flipreg.rs274.read.habit import Habit
from flipreg.rs274.read.number import exact
from flipreg.rs274.read.parsed import ParsedBlock, ParsedSetting, ParsedWord
from tests.every import every
from tests.strategies import grammar_lines, plain_lines, spoiled_lines

FUNCTIONS = ["ABS", "ACOS", "ASIN", "COS", "EXP", "FIX", "FUP", "LN", "ROUND", "SIN", "SQRT", "TAN"]


def words(text: str) -> list[tuple[str, object]]:
    """Return letters and values."""
    return [(word.letter, word.value) for word in parse_block(text).words]


def parsed_or_error(text: str) -> ParsedBlock | BlockSyntaxError:
    try:
        return parse_block(text)
    except BlockSyntaxError as error:
        return error


def number(text: str) -> Literal:
    return Literal(Decimal(text))


def test_a_block_of_every_kind_of_item() -> None:
    text = "/n10 g1 X-.50(to the left) #3=[1+2] y#3 ;done"
    block = parse_block(text)
    assert block.flags == BlockFlag.DELETE
    assert block.words == (
        ParsedWord("N", (10, 0), 1, 2, 4),
        ParsedWord("G", (1, 0), 5, 6, 7),
        ParsedWord("X", (-50, 2), 8, 9, 13),
        ParsedWord("Y", Parameter(number("3")), 36, 37, 39),
    )
    assert block.settings == (ParsedSetting(number("3"), Binary("+", number("1"), number("2")), 27, 35),)
    assert [text[start:end] for start, end in block.comments] == ["(to the left)", ";done"]


def test_a_span_ends_with_the_last_character_of_the_value() -> None:
    text = "  X - 1 . 5 \t Y [ 2 ] \t # 1 = sin [ 30 ]  "
    block = parse_block(text)
    assert [text[word.start : word.end] for word in block.words] == ["X - 1 . 5", "Y [ 2 ]"]
    assert [text[word.number : word.end] for word in block.words] == ["- 1 . 5", "[ 2 ]"]
    assert [text[each.start : each.end] for each in block.settings] == ["# 1 = sin [ 30 ]"]


@pytest.mark.parametrize("text", ["", " ", "\t \t"])
def test_a_blank_line_is_a_block_of_nothing(text: str) -> None:
    block = parse_block(text)
    assert (BlockFlag(0), (), (), ()) == (block.flags, block.words, block.comments, block.settings)


@pytest.mark.parametrize(
    ("text", "flags", "letters"),
    [
        ("/", BlockFlag.DELETE, ""),
        (" / G1", BlockFlag.DELETE, "G"),
        ("%", BlockFlag.PERCENT, ""),
        (" \t% ", BlockFlag.PERCENT, ""),
        ("O1234", BlockFlag.PROGRAM_NUMBER, "O"),
        ("o 0 7 (tray) ; front", BlockFlag.PROGRAM_NUMBER, "O"),
        ("N5 G1", BlockFlag(0), "NG"),
        ("(% O1234 /)", BlockFlag(0), ""),
    ],
)
def test_flags_say_what_the_whole_line_is(text: str, flags: BlockFlag, letters: str) -> None:
    block = parse_block(text)
    assert flags == block.flags
    assert letters == "".join(word.letter for word in block.words)


def test_a_program_number_is_a_word_with_its_digits() -> None:
    assert parse_block(" O 00 12 (x)").words == (ParsedWord("O", (12, 0), 1, 3, 8),)
    assert words("O12345678") == [("O", (12345678, 0))]


@pytest.mark.parametrize(
    ("text", "comments"),
    [
        ("()", ["()"]),
        ("(a(b)(c(d))e)G1(f)", ["(a(b)(c(d))e)", "(f)"]),
        ("G1;(a", [";(a"]),
        (";", [";"]),
        ("(a;b)X1 ; c ; (d))", ["(a;b)", "; c ; (d))"]),
        ("(\x80\xa0\xff\t~)", ["(\x80\xa0\xff\t~)"]),
        ("( blanks are kept )  ", ["( blanks are kept )"]),
        ("; and at the end  ", ["; and at the end  "]),
    ],
)
def test_comments_are_spans_with_their_brackets(text: str, comments: list[str]) -> None:
    assert comments == [text[start:end] for start, end in parse_block(text).comments]


def test_operators_of_one_rank_are_read_from_left_to_right() -> None:
    one, two, three = number("1"), number("2"), number("3")
    assert words("X[1-2+3]") == [("X", Binary("+", Binary("-", one, two), three))]
    assert words("X[1 or 2 and 3]") == [("X", Binary("AND", Binary("OR", one, two), three))]
    assert words("X[1/2mod3]") == [("X", Binary("MOD", Binary("/", one, two), three))]
    assert words("X[1* *2**3]") == [("X", Binary("**", Binary("**", one, two), three))]


def test_powers_come_before_products_and_products_before_sums() -> None:
    one, two, three = number("1"), number("2"), number("3")
    assert words("X[1+2*3]") == [("X", Binary("+", one, Binary("*", two, three)))]
    assert words("X[1*2**3]") == [("X", Binary("*", one, Binary("**", two, three)))]
    assert words("X[[1+2]*3]") == [("X", Binary("*", Binary("+", one, two), three))]


def test_a_sign_after_an_operator_belongs_to_the_number() -> None:
    assert words("X[1 - -3]") == [("X", Binary("-", number("1"), number("-3")))]
    assert words("X[2+ - 3]") == [("X", Binary("+", number("2"), number("-3")))]
    assert words("X[-2**2]") == [("X", Binary("**", number("-2"), number("2")))]


def test_a_hash_takes_the_next_value_only() -> None:
    assert words("X[#1+2]") == [("X", Binary("+", Parameter(number("1")), number("2")))]
    assert words("X#[1+2]") == [("X", Parameter(Binary("+", number("1"), number("2"))))]
    assert words("X##2") == [("X", Parameter(Parameter(number("2"))))]
    assert words("X#fix[2.5]") == [("X", Parameter(Function("FIX", number("2.5"))))]


def test_the_arctangent_has_two_values_and_may_be_divided() -> None:
    one, two, three = number("1"), number("2"), number("3")
    assert words("XATAN[1]/[2]") == [("X", Arctangent(one, two))]
    assert words("X[a tan[1]/[2]/[3]]") == [("X", Binary("/", Arctangent(one, two), three))]


@every("name", FUNCTIONS)
@every("letter", ["A", "F", "S", "T", "X"])
def test_a_function_is_told_from_the_letter_in_front_of_it(letter: str, name: str) -> None:
    for spelling in (letter + name, letter.lower() + name.lower(), " ".join(letter + name)):
        assert words(f"{spelling}[1]Y2") == [(letter, Function(name, number("1"))), ("Y", (2, 0))]


def test_words_are_told_from_operators_that_begin_like_them() -> None:
    assert words("X1M3") == [("X", (1, 0)), ("M", (3, 0))]
    assert words("X1A[2]") == [("X", (1, 0)), ("A", number("2"))]
    assert words("A1X[2 XOR 3]") == [("A", (1, 0)), ("X", Binary("XOR", number("2"), number("3")))]


def test_a_bracketed_number_is_an_expression_not_a_literal() -> None:
    assert words("X[5]") == [("X", number("5"))]


def test_a_literal_in_an_expression_keeps_all_its_digits() -> None:
    assert words("X[1.23456789012345678901234567890]") == [("X", number("1.23456789012345678901234567890"))]


def test_parameters_may_be_set_through_parameters() -> None:
    (setting,) = parse_block("##1=0.375").settings
    assert (setting.index, setting.value) == (Parameter(number("1")), number("0.375"))


@every(
    "text, found, message",
    [
        ("G1 X", "X", "X has no value: expected a number, #parameter, [expression] or function after it"),
        ("G1 X  Y2", "X  ", "X has no value, found 'Y'"),
        ("G1 X YABS[2]", "X ", "X has no value, found 'Y'"),
        ("G1 X (two)", "(", "round brackets are comments; use [ ] to group"),
        ("X.", ".", "found . without a digit"),
        ("X - Y1", "-", "found - without a digit"),
        ("X1 . 2.3 Y", "1 . 2.3", "two decimal points"),
        ("X[1..2]", "1..2", "two decimal points"),
        ("X1e3", "1e3", "1e3 has an exponent, which the language does not know: write 1000"),
        ("X2.5E-2", "2.5E-2", "write 0.025"),
        ("X1e999999999", "1e999999999", "write the number out"),
        ("X1,5", ",", "found a decimal comma: write the number with a point, as in 1.5"),
        ("X-1 , 5", ",", "decimal comma"),
        ("X,5", ",", "decimal comma"),
        ("G1, X1", ",", "found ',', expected a word, with or without a blank before it: take it out"),
        ("X1 (a) )", ")", "found ) without a ( before it"),
        ("X[1+2", "[1+2", "this [ is not closed: expected ]"),
        ("X[1+[2]*sin[3] (", "(", "found a comment inside [ ]"),
        ("X[[1]+[2*[3]", "[[1]+[2*[3]", "this [ is not closed: expected ]"),
        ("([) X[1", "[1", "this [ is not closed: expected ]"),
        ("X[1]]", "]", "found ] without a [ before it"),
        ("X sin 30", "3", "found '3' after SIN, expected square brackets, as in SIN[0.5]"),
        ("X a t a n 1", "1", "after ATAN, expected square brackets"),
        ("X asim[0.5]", "asim", "ASIM is not a function: expected one of ABS, ACOS"),
        ("X[1+foo[2]]", "foo", "FOO is not a function"),
        ("Xatan[1]*2", "*", "ATAN needs two values"),
        ("Xatan[1]/2", "2", "expected the second value of ATAN, as in ATAN[2]/[3]"),
        ("X-[2]", "-", "write [0-[2]]"),
        ("X-#12", "-", "write [0-#12]"),
        ("X+#12", "+", "write #12"),
        ("X-sin[30]", "-", "write [0-sin[30]]"),
        ("X[2*-[1+[2]]]", "-", "write [0-[...]"),
        ("U1", "U", "U is an axis beside X, Y and Z, which RS-274/NGC (NISTIR 6556) does not have: write it"),
        ("G1 X2 w-1", "w", "W is an axis beside X, Y and Z"),
        ("G1 X1 (first (side) Y5", "(first (side)", "words after the ) of a comment that is not closed"),
        ("X1 E3", "E", "E is not a word of RS-274/NGC"),
        ("#<depth> = 3", "#<depth>", "named parameters are not in RS-274/NGC"),
        ("G1 X#<a b>", "#<a b>", "named parameters are not in RS-274/NGC"),
        ("O100 sub", "O100 sub", "subroutines and control flow"),
        ("N5 o100 While [#1 LT 2]", "o100 While [#1 LT 2]", "subroutines and control flow"),
        ("o<probe> call [1]", "o<probe> call [1]", "subroutines and control flow"),
        ("IF [#1 EQ 2] GOTO 5", "IF", "IF is control flow of a macro language"),
        ("GOTO 5", "GOTO", "GOTO is control flow of a macro language"),
        ("WHILE [1] DO1", "WHILE", "WHILE is control flow of a macro language"),
        ("X[#1 GT 2]", "G", "GT is not an operator: comparisons are not in RS-274/NGC"),
        ("X[2^3]", "^", "a power is written **"),
        ("X[7%2]", "%", "a remainder is written MOD"),
        ("  <html><body>", "<html><body>", "this is HTML or XML, expected a program"),
        ("<!DOCTYPE html>", "<!DOCTYPE html>", "this is HTML or XML, expected a program"),
        ("</pre></body>", "</pre></body>", "this is HTML or XML, expected a program"),
        ("<<<<<<< ours", "<<<<<<<", "version-control conflict marker"),
        ("=======", "=======", "version-control conflict marker"),
        (">>>>>>> theirs", ">>>>>>>", "version-control conflict marker"),
        ("||||||| base", "|||||||", "version-control conflict marker"),
        ("G1\x00X1", "\x00", "zero byte"),
        ("G1 (bell \x07)", "\x07", "control byte 0x07"),
        ("G1\rX1", "\r", "control byte 0x0D"),
        ("G1 ;\x7f", "\x7f", "control byte 0x7F"),
        ("\xff\xfeG\x001\x00", "\xff\xfe", "UTF-16"),
        ("\xfe\xff\x00G\x001", "\xfe\xff", "UTF-16"),
        ("\xef\xbb\xbfG1", "\xef\xbb\xbf", "byte-order mark"),
        ("X\xe2\x88\x921", "\xe2", "byte 0xE2, expected plain ASCII outside comments"),
        ("G1\xa1X1", "\xa1", "byte 0xA1, expected plain ASCII outside comments"),
        ("X\u0661", "\u0661", "U+0661"),
        ("N1234567890", "N1234567890", "this line number is too long"),
        ("/N000000000 9 G1", "N000000000 9", "this line number is too long"),
        ("N-1 G1", "N-", "neither sign nor point"),
        ("N1.5 G1", "N1.", "neither sign nor point"),
        ("N1,5 G1", "N1,", "neither sign nor point"),
        ("N G1", "N G", "neither sign nor point"),
        ("G1 N10", "N", "expected it first on the line"),
        ("N10 N20", "N", "expected it first on the line"),
        ("N10 G1 /X1", "/", "block delete"),
        ("G1 X1 /", "/", "block delete"),
        ("//G1", "//", "// begins no comment in RS-274/NGC (NISTIR 6556): write the remark in ( ) or after ;"),
        ("// corner", "//", "write the remark in ( ) or after ;"),
        ("G0 X5 // corner", "//", "write the remark in ( ) or after ;"),
        ("# front", "#", "write the remark in ( ) or after ;"),
        ("' front", "'", "write the remark in ( ) or after ;"),
        ("G0 X5 {front}", "{", "write the remark in ( ) or after ;"),
        ("[front]", "[", "write the remark in ( ) or after ;"),
        ("$H", "$", "$ begins an order for the control, which is no block of a program: take it out"),
        ("G0 X5 \\", "\\", "a block is one line; join the two lines"),
        ("X1O", "O", "write 0, if that is meant"),
        ("X'5", "X", "X has no value, found \"'\""),
        ('X[1"', '"', "expected an operator"),
        ("N10: G1", ":", "found : after the line number: take it out"),
        ("X1/2", "/", "found the operator / outside [ ]"),
        ("X#1 * * #2", "* *", "found the operator ** outside [ ]"),
        ("X1 m od 2", "m od", "found the operator MOD outside [ ]"),
        ("#1 = 2 + 3", "+", "found the operator + outside [ ]"),
        ("#0=1", "#0", "#0 is no parameter: expected an integer from 1 to 5399"),
        ("X#5400", "#5400", "#5400 is no parameter: expected an integer from 1 to 5399"),
        ("X[2+# 1.001]", "# 1.001", "#1.001 is no parameter"),
        ("X#-1", "#-1", "#-1 is no parameter"),
        ("X#[0]", "#[0]", "#0 is no parameter"),
        ("X#" + "9" * 400, "#" + "9" * 400, "#inf is no parameter"),
        ("#1 X2", "X", "found 'X', expected = and a value"),
        ("#1 2", "", "found the end of the line, expected = and a value"),
        ("#1 =", "", "found the end of the line after ="),
        ("X[]", "]", "found ']' after ["),
        ("X[1 mod]", "]", "found ']' after MOD"),
        ("X=5", "=", "write the word without ="),
        ("[ sin[30]]", "[", "expected a letter in front of a value"),
        ("[1+2]", "[", "expected a letter in front of a value"),
        ("X1 -2 ", "-", "found the operator - outside [ ]"),
        ("12 34", "1", "expected a letter in front of a value"),
        ("SIN[30]", "SIN", "found SIN without a letter in front"),
        ("XNaN", "NaN", "NaN is not a number"),
        ("X-inf", "-", "found - without a digit"),
        ("X99999999999999999999", "99999999999999999999", "more than 18 digits in front of the decimal point"),
        ("G1 X1 %", "%", "expected it alone on its line"),
        ("% (x)", "(", "expected it alone on its line"),
        ("O", "", "expected a program number on a line of its own"),
        ("O123456789", "O123456789", "this program number is too long"),
        ("O12.5", ".", "expected a program number on a line of its own"),
        ("O100 G90", "G", "expected a program number on a line of its own"),
        ("N10 O100", "O", "expected it on a line of its own"),
        ("/O100", "O", "expected it on a line of its own"),
        ("N10 G1 X1*71", "*", "looks like a line checksum"),
        ("/1 G1 X1", "1", "asks for one of several switches"),
        ("N10 /2G1 X1", "2", "asks for one of several switches"),
        (":100 (tray)", ":100", "write O100 on a line of its own for the program's number, N100 for the line's"),
        ('X1 "a"', '"', "write the remark in ( ) or after ;"),
    ],
)  # fmt: skip
def test_a_mistake_is_recognised_and_pointed_at(text: str, found: str, message: str) -> None:
    with pytest.raises(BlockSyntaxError) as caught:
        parse_block(text)
    error = caught.value
    assert found == text[error.start : error.end]
    assert message in error.message


def test_each_bad_word_is_pointed_at_where_it_stands_and_not_where_it_first_occurs() -> None:
    with pytest.raises(BlockSyntaxError) as caught:
        parse_block("X1 (X) X")
    assert (caught.value.start, caught.value.end) == (7, 8)


def nested(levels: int) -> str:
    return "X" + "[" * levels + "1" + "]" * levels


@pytest.mark.parametrize(
    ("fits", "too_deep"),
    [
        (nested(DEEPEST), nested(DEEPEST + 1)),
        ("X" + "#" * DEEPEST + "1", "X" + "#" * (DEEPEST + 1) + "1"),
        ("X[1" + "+1" * (DEEPEST - 1) + "]", "X[1" + "+1" * DEEPEST + "]"),
        ("XATAN[1]/" + nested(DEEPEST)[1:], "XATAN[1]/" + nested(DEEPEST + 1)[1:]),
        ("XATAN" + nested(DEEPEST)[1:] + "/[1]", "XATAN" + nested(DEEPEST + 1)[1:] + "/[1]"),
        ("#1=" + nested(DEEPEST)[1:], "#1=" + nested(60_000 // 2)[1:]),
    ],
    ids=["brackets", "hashes", "sums", "second of two", "first of two", "setting"],
)
def test_an_expression_has_a_greatest_depth(fits: str, too_deep: str) -> None:
    parse_block(fits)
    with pytest.raises(BlockSyntaxError, match="too deep: more than 100 brackets"):
        parse_block(too_deep)


def test_a_comment_may_be_nested_to_any_depth() -> None:
    text = "(" * 10_000 + ")" * 10_000 + "X1"
    block = parse_block(text)
    assert (block.comments, block.words[0].letter) == (((0, 20_000),), "X")


MEGABYTE = 1_000_000


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("X1" + " " * MEGABYTE + "2Y3", 2),
        ("X1(" + "a" * MEGABYTE + ")Y3", 2),
        ("((a)" + "a" * MEGABYTE + ")X1", 1),
        ("X1;" + "(" * MEGABYTE, 1),
        ("(" + ";" * MEGABYTE + ")X1" + "\t" * MEGABYTE, 1),
        ("X1Y2" * 16_384, 32_768),
    ],
    ids=["blanks", "comment", "nested comment", "comment to the end", "semicolons", "65536 characters"],
)
def test_a_long_line_of_blanks_and_comments_is_read(text: str, count: int) -> None:
    assert count == len(parse_block(text).words)


@pytest.mark.parametrize(
    "text",
    ["X1Y2" * 16_384 + "(a)", "X" * MEGABYTE, "(" * MEGABYTE, ")" * MEGABYTE, "X" + "1 " * MEGABYTE, "()" * MEGABYTE],
    ids=["65538 characters", "letters", "opening", "closing", "digits", "comments"],
)
def test_a_line_with_too_much_in_it_is_refused(text: str) -> None:
    with pytest.raises(BlockSyntaxError, match="more than 65536 characters besides blanks and comments") as caught:
        parse_block(text)
    assert (0, len(text)) == (caught.value.start, caught.value.end)


@pytest.mark.parametrize(
    "text",
    [
        "X." + "1" * 60_000 + ".",
        "X" + "a" * 60_000 + "[",
        "X-" + "a" * 60_000 + "[",
        "X[1" + "<" * 60_000,
        "X[" + "(" * 60_000,
    ],
    ids=["points", "function", "sign", "comparison", "brackets"],
)
def test_a_message_is_short_whatever_the_line(text: str) -> None:
    with pytest.raises(BlockSyntaxError) as caught:
        parse_block(text)
    assert len(caught.value.message) < 250


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(grammar_lines())
def test_a_line_drawn_from_the_grammar_is_read_but_for_the_limits_that_are_not_in_it(text: str) -> None:
    block = parsed_or_error(text)
    if isinstance(block, BlockSyntaxError):
        limits = ("is no parameter", "more than 18 digits", "too deep")
        assert any(limit in block.message for limit in limits), block.message
        return
    ends = [0]
    for word in block.words:
        assert word.letter == text[word.start].upper()
        assert word.start < word.number < word.end
        if isinstance(word.value, tuple):
            assert word.value == exact(text[word.number : word.end].replace(" ", "").replace("\t", ""))
        assert text[word.number : word.end].strip(" \t") == text[word.number : word.end]
        assert parse_block(text[word.start : word.end]).words[0].value == word.value
        ends.append(word.end)
    assert ends == sorted(ends)


@given(plain_lines())
def test_blanks_and_case_mean_nothing_outside_comments(text: str) -> None:
    block = parsed_or_error(text)
    assume(isinstance(block, ParsedBlock))
    assert isinstance(block, ParsedBlock)
    outside, last = "", 0
    for start, end in (*block.comments, (len(text), len(text))):
        outside += text[last:start]
        last = end
    bare = parse_block(outside.replace(" ", "").replace("\t", "").lower())
    assert [(word.letter, word.value) for word in block.words] == [(word.letter, word.value) for word in bare.words]
    assert block.flags == bare.flags
    assert not bare.comments


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(spoiled_lines())
@example("X[" + "-[" * 50)
@example("%\xef\xbb\xbf")
@example("N")
@example("\xb5 \xdf N1")
def test_whatever_a_line_is_only_a_syntax_error_with_a_place_comes_out(text: str) -> None:
    error = parsed_or_error(text)
    if isinstance(error, BlockSyntaxError):
        assert 0 <= error.start <= error.end <= len(text)
        assert error.message.isprintable()
        assert len(error.message) > 20
        assert str(error) == error.message


@pytest.mark.parametrize(
    ("text", "habit", "flags", "letters", "comments"),
    [
        ("X1 (open", Habit.OPEN_COMMENT, BlockFlag(0), "X", [(3, 8)]),
        ("X1 (a) (open (closed) on", Habit.OPEN_COMMENT, BlockFlag(0), "X", [(3, 6), (7, 24)]),
        ("(a (b (c;", Habit.OPEN_COMMENT, BlockFlag(0), "", [(0, 9)]),
        ("O7 (open", Habit.OPEN_COMMENT, BlockFlag.PROGRAM_NUMBER, "O", [(3, 8)]),
        ("N10 /G1", Habit.LATE_SLASH, BlockFlag.DELETE, "NG", []),
        ("/N10/ G1", Habit.LATE_SLASH, BlockFlag.DELETE, "NG", []),
        ("O7997A (tray)", Habit.PROGRAM_NAME, BlockFlag.PROGRAM_NUMBER, "", [(7, 13)]),
        ("o top-side_2 ; front", Habit.PROGRAM_NAME, BlockFlag.PROGRAM_NUMBER, "", [(13, 20)]),
        ("OSUBWAY", Habit.PROGRAM_NAME, BlockFlag.PROGRAM_NUMBER, "", []),
        ("G1\xa0X1", Habit.ODD_BLANK, BlockFlag(0), "GX", []),
        ("G1\xc2\xa0X1", Habit.ODD_BLANK, BlockFlag(0), "GX", []),
    ],
)
def test_a_habit_of_a_line_is_read_and_noticed(
    text: str, habit: Habit, flags: BlockFlag, letters: str, comments: list[tuple[int, int]]
) -> None:
    block = parse_block(text)
    assert [found for found, _ in block.habits] == [habit]
    assert block.flags == flags
    assert "".join(word.letter for word in block.words) == letters
    assert [*block.comments] == comments


@pytest.mark.parametrize("text", ["(no-break\xa0space)", "G1 ;\xa0", "N99999 X1", "(a (b))", "O1"])
def test_a_line_that_is_usual_has_no_habit_of_its_own(text: str) -> None:
    assert parse_block(text).habits == ()


@pytest.mark.parametrize("text", ["O100 SUB", "OSUB", "O<name> CALL", "O7 IF [1]", "O100WHILE", "O TRAY G1", "O1 X1"])
def test_control_flow_and_words_after_a_name_are_no_names(text: str) -> None:
    with pytest.raises(BlockSyntaxError):
        parse_block(text)
