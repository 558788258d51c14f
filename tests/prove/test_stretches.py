"""Lines of the output that are said to stand for lines of the source: what has to be the same, one by one."""

import re
from collections.abc import Sequence

import pytest

import flipreg
from flipreg.errors import ProofError
from flipreg.prove.stretches import Claimed, check_cover, check_words
from flipreg.rs274.interpret.whole import Whole, read_whole

TEXT = "G21 G90\nG0 X0 Y0 Z5\nN10 G1 Z-1 F90 (down)\nX5\nG0 Z5\n"


def whole(text: str) -> Whole:
    return read_whole(flipreg.parse(text, source="front.ngc"))


def covers(output: str, claims: Sequence[Claimed], source: str = TEXT) -> None:
    check_cover(whole(source), whole(output), claims)


def stops(message: str, output: str, claims: Sequence[Claimed], source: str = TEXT) -> None:
    with pytest.raises(ProofError, match=f"^{re.escape(message)}; nothing was written$"):
        covers(output, claims, source)


class TestCover:
    def test_claims_that_cover_both_programs_are_right(self) -> None:
        covers(TEXT, [Claimed(1, 5, 1, 5)])
        covers(TEXT, [Claimed(1, 2, 1, 2), Claimed(3, 5, 3, 5)])
        # A stretch that is left out without a line in its place, one that runs twice, and a line that is new.
        covers(TEXT.replace("X5\n", ""), [Claimed(1, 3, 1, 3), Claimed(4, 3, 4, 4, dropped=True), Claimed(4, 4, 5, 5)])
        again = TEXT.replace("X5\n", "X5\nX5\n")
        covers(again, [Claimed(1, 3, 1, 3), Claimed(4, 4, 4, 4, -0.5), Claimed(5, 5, 4, 4, -1), Claimed(6, 6, 5, 5)])
        covers(TEXT.replace("X5\n", "X5\n(so)\n"), [Claimed(1, 4, 1, 4), Claimed(5, 5, 5, 4), Claimed(6, 6, 5, 5)])

    def test_lines_without_a_claim_are_stopped(self) -> None:
        lost, order = "lines would be lost or added", "lines would be lost or run in another order"
        nothing = "a line of the output stands for nothing"
        stops(f"front.ngc:5: {lost}", TEXT, [Claimed(1, 4, 1, 4)])
        stops(f"front.ngc:6: {lost}", TEXT + "M8\n", [Claimed(1, 5, 1, 5)])
        stops(f"front.ngc:4: {order}", TEXT, [Claimed(1, 2, 1, 2), Claimed(3, 5, 4, 5)])
        stops(f"front.ngc:4: {nothing}", TEXT, [Claimed(1, 2, 1, 2), Claimed(4, 5, 4, 5)])
        stops(f"front.ngc:3: {nothing}", TEXT, [Claimed(1, 2, 1, 2), Claimed(3, 1, 3, 3), Claimed(2, 5, 2, 5)])

    def test_only_a_pass_at_a_level_runs_again_and_only_the_one_before(self) -> None:
        order = "lines would be lost or run in another order"
        again = TEXT.replace("X5\n", "X5\nX5\n")
        first, last = Claimed(1, 3, 1, 3), Claimed(6, 6, 5, 5)
        stops(f"front.ngc:4: {order}", again, [first, Claimed(4, 4, 4, 4), Claimed(5, 5, 4, 4), last])
        twice = TEXT.replace("G0 Z5\n", "G0 Z5\nX5\n")
        stops(f"front.ngc:4: {order}", twice, [Claimed(1, 5, 1, 5), Claimed(6, 6, 4, 4, -1.0)])

    def test_what_follows_the_end_stays(self) -> None:
        framed = f"%\n{TEXT}%\nafter\n"
        claims = [Claimed(1, 7, 1, 7)]
        covers(framed, claims, framed)
        message = "front.ngc:1: the output's lines would run in another order"
        stops(message, framed.replace("after", "later"), claims, framed)

    @pytest.mark.parametrize("line", ["X3", "M8", "G64", "/", "/(so)", "S9"])
    def test_a_new_line_that_does_more_than_say_what_was_done_is_stopped(self, line: str) -> None:
        claims = [Claimed(1, 4, 1, 4), Claimed(5, 5, 5, 4), Claimed(6, 6, 5, 5)]
        message = "front.ngc:5: an added line would do more than say what was done"
        stops(message, TEXT.replace("X5\n", f"X5\n{line}\n"), claims)

    @pytest.mark.parametrize("line", ["F90", "N5", "N5 F90", "", "(so)"])
    def test_a_new_line_may_have_a_feed_a_number_and_a_comment(self, line: str) -> None:
        claims = [Claimed(1, 4, 1, 4), Claimed(5, 5, 5, 4), Claimed(6, 6, 5, 5)]
        covers(TEXT.replace("X5\n", f"X5\n{line}\n"), claims)

    def test_a_flag_beside_a_new_line_is_not_the_new_lines(self) -> None:
        source = TEXT.replace("X5", "/X5").replace("G0 Z5\n", "/G0 Z5\n")
        covers(
            source.replace("/X5\n", "/X5\n(so)\n"),
            [Claimed(1, 4, 1, 4), Claimed(5, 5, 5, 4), Claimed(6, 6, 5, 5)],
            source,
        )

    def test_the_comments_of_a_line_that_is_left_out_stay(self) -> None:
        claims = [Claimed(1, 2, 1, 2), Claimed(3, 3, 3, 3, dropped=True), Claimed(4, 5, 4, 5)]
        line = "N10 G1 Z-1 F90 (down)"
        covers(TEXT.replace(line, "F90 (left out)(down)"), claims)
        stops("front.ngc:3: a comment would be lost", TEXT.replace(line, "F90 (left out)"), claims)


def words(output: str, claim: Claimed, source: str, *, is_copy: bool = False, free: str = "") -> None:
    check_words(whole(source), whole(output), claim, is_copy=is_copy, free=free)


class TestWords:
    CLAIM = Claimed(3, 4, 3, 4)

    @pytest.mark.parametrize(
        ("right", "wrong", "message"),
        [
            ("Z-1", "Z-2", "front.ngc:3: a word would change"),
            ("X5", "X6", "front.ngc:4: a word would change"),
            ("X5", "Y5", "front.ngc:4: a word would change"),
            ("X5", "X5 M8", "front.ngc:3: a word would change"),
            ("X5", "G64 X5", "front.ngc:4: a word would change"),
            ("X5", "G1 X6", "front.ngc:4: a word would change"),
            ("X5", "G1 X5 M8", "front.ngc:4: a word would change"),
            ("N10 ", "", "front.ngc:3: a word would change"),
            ("(down)", "(up)", "front.ngc:3: a comment would change"),
            ("X5", "X5 (so)", "front.ngc:3: a comment would change"),
            ("X5", "/X5", "front.ngc:3: a line would be skipped, or not be skipped any more"),
        ],
    )
    def test_what_changes_is_stopped(self, right: str, wrong: str, message: str) -> None:
        with pytest.raises(ProofError, match=f"^{re.escape(message)}; nothing was written$"):
            words(TEXT.replace(right, wrong), self.CLAIM, TEXT)

    def test_the_same_words_are_right_and_so_is_one_motion_code_more(self) -> None:
        words(TEXT, self.CLAIM, TEXT)
        for code in ("G0", "G1", "G01"):
            words(TEXT.replace("X5", f"{code} X5"), self.CLAIM, TEXT)
        # At the end of the stretch there is nothing after the code.
        words(TEXT.replace("X5", "X5 G1"), self.CLAIM, TEXT)

    def test_two_motion_codes_more_are_stopped(self) -> None:
        source = TEXT.replace("X5\n", "X5\nX6\n")
        claim = Claimed(3, 5, 3, 5)
        with pytest.raises(ProofError, match=r"^front\.ngc:4: a word would change"):
            words(source.replace("X5\nX6", "G1 X5\nG1 X6"), claim, source)

    def test_a_letter_may_be_free(self) -> None:
        words(TEXT.replace("Z-1", "Z-2"), self.CLAIM, TEXT, free="Z")
        with pytest.raises(ProofError, match=r"^front\.ngc:4: a word would change"):
            words(TEXT.replace("Z-1", "Z-2").replace("X5", "X6"), self.CLAIM, TEXT, free="Z")

    def test_a_copy_has_no_line_number(self) -> None:
        words(TEXT.replace("N10 ", ""), self.CLAIM, TEXT, is_copy=True)
        with pytest.raises(ProofError, match="a word would change"):
            words(TEXT, self.CLAIM, TEXT, is_copy=True)

    def test_lines_are_as_many(self) -> None:
        with pytest.raises(ProofError, match=r"^front\.ngc:3: lines would be lost or added"):
            words(TEXT, Claimed(3, 5, 3, 4), TEXT)

    @pytest.mark.parametrize("line", ["#1=7", "#2=6", ""])
    def test_a_setting_within_the_stretch_stays_and_one_outside_is_not_its_own(self, line: str) -> None:
        source = "G21 G90\n#9=1\n#1=6\nF90\n#8=3\n"
        message = r"^front\.ngc:3: a parameter setting would change"
        with pytest.raises(ProofError, match=message):
            words(source.replace("#1=6", line), self.CLAIM, source)
        words(source.replace("#9=1", "#9=2").replace("#8=3", "#8=4"), self.CLAIM, source)
        with pytest.raises(ProofError, match=message):
            words(source.replace("#1=6\nF90", "F90\n#1=6").replace("F90", ""), self.CLAIM, source.replace("F90", ""))

    def test_a_setting_moves_with_its_stretch(self) -> None:
        source = "G21 G90\nF90\n#1=6\nF80\n"
        words(source.replace("F90\n", "F90\n(so)\n"), Claimed(4, 5, 3, 4), source)
