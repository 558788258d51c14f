"""The scanner against the grammar: chunks of columns have to say what `parse_block` says line by line."""

import itertools
import re
from collections.abc import Iterator
from typing import NamedTuple

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from flipreg.rs274.read import lines as lines_module
from flipreg.rs274.read.blocks import EXPRESSION, BlockFlag, Blocks
from flipreg.rs274.read.foreign import LONGEST_BLOCK
from flipreg.rs274.read.grammar import BlockSyntaxError, parse_block
from flipreg.rs274.read.lines import text_pieces, whole_lines
from flipreg.rs274.read.location import ProgramError
from flipreg.rs274.read.parsed import ParsedBlock, ParsedSetting, ParsedWord
from flipreg.rs274.read.scanner import scan_chunks
from tests.every import every
from tests.strategies import lines, plain_lines, spoiled_lines

BOM = b"\xef\xbb\xbf"
LINE_END = re.compile(rb"\r\n|\n|\r")

SOME = settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])


class Failure(NamedTuple):
    """What an error says, without the object."""

    message: str
    line: int
    column: int
    end_column: int


MARK = re.compile(rb"[ \t]*%[ \t]*[0-9A-Za-z][0-9A-Za-z _.\t-]{0,39}")
WORDLESS = re.compile(rb"(?:[\s%\x00\x1a]|\([^()\r\n]*\)|;[^\r\n]*+)*+")
END = b"\x00\x1a \t\r\n"


def split_lines(text: bytes) -> list[bytes]:
    """Return the lines without their ends; a line end at the end of the text begins no line."""
    found = LINE_END.split(text)
    return found[:-1] if not found[-1] and len(found) > 1 else found


def judged(text: bytes) -> list[ParsedBlock] | Failure:
    """Read a whole program line by line: percent lines and the file's end as people have them, all else by the grammar.

    The first lone percent sign after words closes the program; what stands after it is never read, and may only stand
    there if a percent sign before the words opened it.
    """
    opened = closed = begun = worded = False
    closed_at, blocks = 0, []
    kept = text.rstrip(END)
    if set(text[len(kept) :]) & {0, 26}:
        text = kept + bytes(byte for byte in text[len(kept) :] if byte in b"\r\n") + (b"" if kept else b" ")
    for number, line in enumerate(split_lines(text), 1):
        skip = len(BOM) if number == 1 and line.startswith(BOM) else 0
        body = line[skip:]
        wordless = WORDLESS.fullmatch(body) is not None
        if closed:
            if not opened and not wordless:
                message = (
                    f"text after a % (line {closed_at}) that no % at the beginning opened: nobody knows whether the "
                    "machine reads on there; take out the % or the text after it"
                )
                return Failure(message, number, 1, max(2, len(line) + 1))
            blocks.append(ParsedBlock(BlockFlag.AFTER_END, (), (), ()))
            continue
        if body.strip(b" \t") == b"%":
            closed, opened, closed_at = worded, opened or not worded, number
        if not begun and MARK.fullmatch(body):
            begun = opened = True
            blocks.append(ParsedBlock(BlockFlag.PERCENT, (), (), ()))
            continue
        begun = begun or bool(body.strip(END))
        worded = worded or not wordless
        try:
            block = parse_block(body.decode("latin-1"))
        except BlockSyntaxError as error:
            start, end = error.start + skip + 1, error.end + skip + 1
            return Failure(error.message, number, start, max(end, start + 1))
        blocks.append(moved(block, skip))
    if not begun:
        what = "nothing but blanks" if text else "an empty file"
        return Failure(f"found {what}, expected an RS-274 program", 1, 1, 2)
    return blocks


def moved(block: ParsedBlock, by: int) -> ParsedBlock:
    """Return a block with its offsets moved."""
    return ParsedBlock(
        block.flags,
        tuple(w._replace(start=w.start + by, number=w.number + by, end=w.end + by) for w in block.words),
        tuple((start + by, end + by) for start, end in block.comments),
        tuple(ParsedSetting(s.index, s.value, s.start + by, s.end + by) for s in block.settings),
    )


def scanned(pieces: list[bytes]) -> list[ParsedBlock] | Failure:
    """Read a program by the scanner, and take its columns apart into blocks."""
    text = b"".join(pieces)
    blocks: list[ParsedBlock] = []
    seen = b""
    try:
        for chunk in scan_chunks(pieces, "drawn.ngc"):
            assert len(blocks) + 1 == chunk.first_line
            blocks += blocks_of(chunk)
            seen += chunk.text
    except ProgramError as error:
        where = error.location
        assert where.source == "drawn.ngc"
        # The grammar knows no line before its own.
        message = error.message.split("; the program has ended in line")[0]
        return Failure(message, where.line, where.column, where.end_column)
    assert text == seen
    return blocks


def blocks_of(chunk: Blocks) -> Iterator[ParsedBlock]:
    """Yield the blocks of a chunk, offsets from the start of each line."""
    for line in range(len(chunk)):
        first = int(chunk.line_start[line])
        words = []
        for row in range(len(chunk.letter)):
            if chunk.block[row] == line:
                literal = (int(chunk.mantissa[row]), int(chunk.decimals[row]))
                value = chunk.expressions[row] if literal[1] == EXPRESSION else literal
                spans = [int(column[row]) - first for column in (chunk.start, chunk.number, chunk.end)]
                words.append(ParsedWord(chr(chunk.letter[row]), value, *spans))
        columns = (chunk.comment_start, chunk.comment_end, chunk.comment_block)
        comments = zip(*(column.tolist() for column in columns), strict=True)
        yield ParsedBlock(
            BlockFlag(int(chunk.flags[line])),
            tuple(words),
            tuple((start - first, end - first) for start, end, block in comments if block == line),
            tuple(
                ParsedSetting(each.index, each.value, each.start - first, each.end - first)
                for each in chunk.settings
                if each.block == line
            ),
        )


def cut(text: bytes, places: list[int]) -> list[bytes]:
    """Return a text in pieces, cut at places modulo its length."""
    bounds = sorted({0, len(text), *(place % (len(text) + 1) for place in places)})
    return [text[first:end] for first, end in itertools.pairwise(bounds)]


SPECIAL = st.sampled_from(
    [
        *("", " ", "\t", "%", " %\t", "%1234", " % TOP-1 ", "O77", "M2", "/", "()", ";", "N5"),
        *("X1 . 5 Y - 2", "G1X1(a)Y2(b(c)d);e"),
    ]
)


@st.composite
def programs(draw: st.DrawFn, *, spoiled: bool) -> bytes:
    """Draw a program in any mix of line ends, with at most one line that a slip has spoiled."""
    each = draw(st.lists(st.one_of(lines(), plain_lines(), SPECIAL), min_size=1, max_size=8))
    if spoiled:
        each.insert(draw(st.integers(0, len(each))), draw(spoiled_lines()))
    if draw(st.integers(0, 3)) == 0:
        each = ["%", *each, "%", *draw(st.lists(st.text("X1%(\xe9 \t", max_size=4), max_size=2))]
    ends = draw(st.lists(st.sampled_from(["\n", "\n", "\r\n", "\r"]), min_size=len(each), max_size=len(each)))
    if draw(st.booleans()):
        ends[-1] = ""
    text = "".join(line + end for line, end in zip(each, ends, strict=True)).encode("latin-1")
    return BOM + text if draw(st.integers(0, 4)) == 0 else text


@SOME
@given(text=programs(spoiled=False))
@example(text=b"(a\x01b)")
@example(text=b"G1 X1 ;\x7f")
@example(text=b"(c) N5 G1")
@example(text=b"X1 (c) N5")
@example(text=b" / N5 G1 X1")
@example(text=b"N10 (c) O5")
@example(text=b"O12345678")
@example(text=b"O1 (a) ;b")
@example(text=b"X1 . 5(a b)Y 2 ; c d")
@example(text=b"N100000 G1")
@example(text=b"X0000000000000000001 Y-0. Z+.0")
@example(text=b"X123456789012345678 Y-1234567890.12345678 Z.123456789012345678")
@example(text=b"X1234567890123456789")
@example(text=b"X.1234567890123456785")
@example(text=b"%\n%")
@example(text=b"\xef\xbb\xbf%\r\nG1\r\n % \r\nleft over %")
@example(text=b"G1\n\xef\xbb\xbfG1")
@example(text=b"(a;b)X1;(c")
@example(text=b"X1)(Y2")
@example(text=b";)(\nX1")
def test_the_scanner_reads_what_the_grammar_reads(text: bytes) -> None:
    assert judged(text) == scanned([text])


@SOME
@given(text=programs(spoiled=True))
@example(text=b"G1 X1\nG1 Xx\nG1\n%\n")
@example(text=b"G1 X1\n%\nG1 Xx\n")
@example(text=b" %\nG1 Xx\n")
@example(text=b" %\nG1 X1\n")
@example(text=b"\xef\xbb\xbfG1 Xx")
@example(text=b"G1 X1 -2")
@example(text=b"G1 X1 ,Y2")
@example(text=b"G1 X1 / Y2")
@example(text=b"G1 -X1")
@example(text=b"G1 X1+")
def test_the_scanner_finds_the_errors_that_the_grammar_finds(text: bytes) -> None:
    assert judged(text) == scanned([text])


@SOME
@given(text=programs(spoiled=True), places=st.lists(st.integers(0, 200), max_size=6))
@example(text=b"G1 X1\r\nG1 X2\r\n", places=[6])
@example(text=b"%\r\nG1 X1\r\n%\r\nX\r\nY\r\n", places=[2, 3, 11])
@example(text=b"G1\nX1 Y2\n\n\n\n\n\n\n%\n", places=[9, 10])
@example(text=b"G1 X1\n\x1a\x1a\n\n      \nG1 X2\n", places=[])
def test_a_program_in_pieces_and_small_chunks_is_the_same_program(text: bytes, places: list[int]) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(lines_module, "CHUNK_BYTES", 16)
        assert judged(text) == scanned(cut(text, places))


@given(
    text=st.lists(st.sampled_from([b"\r", b"\n", b"\r\n", b"X", b"Y1"]), max_size=40).map(b"".join),
    places=st.lists(st.integers(0, 60), max_size=10),
    size=st.integers(1, 12),
)
@example(text=b"X\r\nY\r\n", places=[2, 5], size=1)
@example(text=b"X\rY", places=[2], size=1)
def test_chunks_are_whole_lines_and_all_of_the_text(text: bytes, places: list[int], size: int) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(lines_module, "CHUNK_BYTES", size)
        chunks = list(whole_lines(cut(text, places)))
    assert text == b"".join(chunks)
    assert b"" not in chunks
    for chunk, after in itertools.pairwise(chunks):
        assert chunk.endswith((b"\n", b"\r"))
        assert not (chunk.endswith(b"\r") and after.startswith(b"\n"))
    # A line whose end nothing follows is a line all the same, so lines are counted alike however the text is cut.
    assert split_lines(text) == [line for chunk in chunks for line in split_lines(chunk)] or not text


def test_chunks_are_about_as_large_as_they_should_be(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lines_module, "CHUNK_BYTES", 1000)
    text = b"G1 X1.234\n" * 1000
    sizes = [len(chunk) for chunk in whole_lines(text_pieces(text))]
    assert sum(sizes) == 10_000
    assert max(sizes) < 2000
    assert min(sizes[:-1]) > 500


@pytest.mark.parametrize("text", [b"", b" ", b"\n\n", b"\r\n", BOM, BOM + b"\n"])
def test_a_file_of_nothing_is_no_program(text: bytes) -> None:
    with pytest.raises(ProgramError, match="expected an RS-274 program") as caught:
        list(scan_chunks([text], "empty.ngc"))
    assert str(caught.value.location) == "empty.ngc:1:1"


def test_no_pieces_are_an_empty_file() -> None:
    with pytest.raises(ProgramError, match="found an empty file"):
        list(scan_chunks([], "empty.ngc"))


def test_a_line_too_long_to_be_a_block_is_refused_and_a_long_comment_is_not() -> None:
    comment = b"(" + b"a" * LONGEST_BLOCK + b")"
    words = b"G1X1.5" * (LONGEST_BLOCK // 6 + 1)
    (chunk,) = scan_chunks([b"G1 X1 " + comment], "long.ngc")
    assert [(6, 6 + len(comment))] == list(zip(chunk.comment_start, chunk.comment_end, strict=True))
    with pytest.raises(ProgramError, match=f"more than {LONGEST_BLOCK} characters") as caught:
        list(scan_chunks([b"G1 X1\r\n" + words + b"\r\nG1 Y"], "long.ngc"))
    assert str(caught.value.location) == "long.ngc:2:1"


@pytest.mark.parametrize(
    "text",
    [
        "{row}\nG1 X1\nM2\n",
        "%\n{row}\nG1 X1\nM2\n%\n",
        "{row}\n%\nG1 X1\nM2\n%\n",
        "%\nG1 X1\nM2\n%\n{row}\nG1\n",
    ],
    ids=["before words", "inside of percent lines", "before a percent line", "after the end"],
)
def test_a_row_of_semicolons_is_a_comment_like_any_other(text: str) -> None:
    # As many as people draw a line with: tried in all the ways there are, they would take years.
    chunks = scan_chunks([text.format(row=";" * 70).encode()], "row.ngc")
    assert sum(len(chunk.letter) for chunk in chunks) == 3


def test_a_mistake_before_a_line_that_is_too_long_comes_first() -> None:
    text = b"G1 X1\nG1 Xx\nX 1 . 5 (a\nY2\n" + b"X1" * LONGEST_BLOCK + b"\nG1 Y\n"
    with pytest.raises(ProgramError) as caught:
        list(scan_chunks([text], "long.ngc"))
    assert caught.value.location.line == 2


@pytest.mark.parametrize("after", [b"", b"\n", b"\r\nleft over (", b"\n%\n%\nG1 Xx\n\xff\x00"])
def test_what_follows_the_closing_percent_line_is_kept_and_not_read(after: bytes) -> None:
    chunks = list(scan_chunks([b"%\nG1 X1\n%" + after], "frame.ngc"))
    flags = [int(flag) for chunk in chunks for flag in chunk.flags]
    assert flags[:3] == [BlockFlag.PERCENT, 0, BlockFlag.PERCENT]
    assert {BlockFlag.AFTER_END} >= {BlockFlag(flag) for flag in flags[3:]}
    assert sum(len(chunk.letter) for chunk in chunks) == 2
    assert b"%\nG1 X1\n%" + after == b"".join(chunk.text for chunk in chunks)


def noticed(text: bytes, *, size: int = 10_000) -> dict[str, list[int]]:
    """Return the lines of each habit that the scanner notices, read in pieces of some size."""
    found: dict[str, list[int]] = {}
    pieces = [text[first : first + size] for first in range(0, len(text), size)]
    for chunk in scan_chunks(pieces, "drawn.ngc"):
        for each in chunk.habits:
            found.setdefault(each.habit.code, []).extend(each.line.tolist())
    return found


@every(
    "text, expected",
    [
        (b"%\nG1 X1\nM2\n%\n", {}),
        (b"G1 X1\nM2\n", {}),
        (b"%\nG1 X1\nM2\n", {"open-percent": [3]}),
        (b"%TRAY\nG1 X1\nM2", {"open-percent": [3]}),
        (b"G1 X1\nM2\n%\n", {"closing-percent": [3]}),
        (b"(top)\n%\nG1 X1\n%", {}),
        (b"%\n\n%\nG1 X1\n%\n%\n", {"more-percents": [3, 6]}),
        (b"%\nG1 X1\n%\n(done)\n", {}),
        (b"%\nG1 X1\n%\n(done)\nG1 X2\n", {"unread-text": [5]}),
        (b"N99999 G1\nN100000 X1\nN000007 X2\n", {"long-line-number": [2, 3]}),
        (b"N1 2 3 4 5 G1\nN1 2 3 4 5 6 X1\n", {"long-line-number": [2]}),
        (b"G1\xa0X1\n(\xa0)\nX2\xc2\xa0Y3 (\xa0)\nX4 (\xa0\n", {"odd-blank": [1, 3], "open-comment": [4]}),
        (b"N1/G1 X1\nOTOP\nG1 (a\n", {"late-slash": [1], "program-name": [2], "open-comment": [3]}),
        (b"G0 X5; G1 Z-1\n#1=2 X#1 ;g0x1;\n; G1 X1\nN7 ; G1 X1\n(a);G1 X1\n", {"motion-in-remark": [1, 2]}),
        (b"G0 X5 (a; G1 Z-1\nX6 ;; G1 Z-1\n", {"open-comment": [1]}),
        (b"X1 ; G1 feed is slow\nX2 ; was G1 X1\nX3 (; G1 X1)\nX4 ; G1 F9\nX5 ; X1 Y2\nX6;G1 X1-\n", {}),
        (b"G1 X1\n\x1a", {"end-bytes": [2]}),
        (b"G1 X1\x1a\n", {"end-bytes": [1]}),
        (b"G1 X1 (a)\r\n\x00\x00\n\x1a\x00", {"end-bytes": [2]}),
    ],
)
@every("size", [10_000, 1])
def test_what_lines_have_besides_the_report_is_noticed_with_its_lines(
    text: bytes, expected: dict[str, list[int]], size: int
) -> None:
    assert expected == noticed(text, size=size)


def test_text_after_a_closing_percent_that_nothing_opened_is_an_error() -> None:
    for text in (b"G1 X1\n%\nG1 X2\n", b"G1 X1\n%\n(a)\n%\nN1\n"):
        with pytest.raises(ProgramError, match=r"no % at the beginning opened.*take out the % or the text after it"):
            noticed(text)


@pytest.mark.parametrize("end", ["M30", "N90 M02", "G0 Z5 M2"])
def test_the_error_of_a_text_after_the_end_says_that_the_program_has_ended(end: str) -> None:
    with pytest.raises(ProgramError, match=r"the program has ended in line 2: write what stands after it in \( \)"):
        noticed(f"G1 X1\n{end}\n\nTOOLS: 3 mm flat\n".encode())


@pytest.mark.parametrize(("opening", "closing"), [("%\n", "%\n"), ("%\n", ""), ("", "%\n"), ("", "")])
def test_text_after_the_end_is_read_with_each_remedy_that_its_error_names(opening: str, closing: str) -> None:
    ended, text = f"{opening}G1 X1\nM30\n", "a note, (unclosed\n"
    end = ended.count("\n")
    says = rf"line {end}: .*, or put a line with % alone right after line {end}, and one at the beginning"
    with pytest.raises(ProgramError, match=says):
        noticed(f"{ended}{text}{closing}".encode())
    assert "unread-text" in noticed(f"%\nG1 X1\nM30\n%\n{text}{closing}".encode())
    noticed(f"{ended}(a note, unclosed)\n{closing}".encode())


@pytest.mark.parametrize("before", ["M300", "(M30)", "M3"])
def test_other_codes_and_comments_end_no_program(before: str) -> None:
    with pytest.raises(ProgramError) as caught:
        noticed(f"G1 X1\n{before}\nTOOLS: 3 mm flat\n".encode())
    assert "has ended" not in caught.value.message


def test_text_after_the_bytes_that_end_a_file_is_an_error() -> None:
    with pytest.raises(ProgramError, match="0x1A"):
        noticed(b"G1 X1\n\x1a\nG1 X2\n")


def test_end_bytes_one_after_another_in_many_chunks_end_the_file_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lines_module, "CHUNK_BYTES", 4)
    assert noticed(b"G1 X1\n\x00\n\x00\n\x00\n\x1a\n", size=2) == {"end-bytes": [2]}
    with pytest.raises(ProgramError, match=r"drawn\.ngc:2:1: found a zero byte"):
        noticed(b"G1 X1\n\x00\n\x00\n\x00\nG1 X2\n", size=2)
