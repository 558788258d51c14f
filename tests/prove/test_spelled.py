"""Blocks that are spelled out as straight moves: each way in which chords or a cycle's moves could be wrong."""

import re
from collections.abc import Sequence

import numpy as np
import pytest

from flipreg.errors import ProofError
from flipreg.geometry.isometry import Isometry
from flipreg.prove import prove
from flipreg.prove.read import Claim
from tests.prove.reads import read

ANGLES = tuple(range(30, 361, 30))
"""Ends of twelve chords of a full circle; at a radius of 10 mm each stands 0.3407 mm off its arc."""

BEFORE = "G21 G90 G17 G94 F100 S900 M3\nG0 X10 Y0 Z5\n"
HELIX = "G3 X10 Y0 Z9 I-10"
AFTER = "G1 X0\n"


def corners(angles: Sequence[float] = ANGLES, *, rise: float = 4, growth: float = 0, way: int = 1) -> list[list[float]]:
    """Return the ends of chords on a helix about zero that begins at X10 Y0 Z5."""
    parts = np.array(angles) / 360
    radius, turn = 10 + growth * parts, way * 2 * np.pi * parts
    ends: list[list[float]] = np.c_[radius * np.cos(turn), radius * np.sin(turn), 5 + rise * parts].tolist()
    return ends


def lines(ends: list[list[float]]) -> list[str]:
    """Return moves to places; the first and third line have the code."""
    words = [f"X{x:.7f} Y{y:.7f} Z{z:.7f}" for x, y, z in ends]
    return [f"G1 {words[0]}", words[1], f"G1 {words[2]}", *words[3:]]


def proved(source: str, output: list[str], *, chords_mm: float = 0.35, after: str = AFTER) -> float:
    """Prove a block, the third, that is said to be spelled out as lines."""
    theirs = BEFORE + "\n".join(output) + "\n" + after
    claim = Claim(np.array([2]), np.array([len(output) - 1]), chords_mm)
    return prove(read(BEFORE + source + "\n" + after), Isometry(), read(theirs), claim=claim)


def stops(message: str, source: str, output: list[str], *, chords_mm: float = 0.35, after: str = AFTER) -> None:
    with pytest.raises(ProofError, match=re.escape(message)):
        proved(source, output, chords_mm=chords_mm, after=after)


class TestChords:
    def test_chords_along_a_helix_are_right_both_ways_round(self) -> None:
        assert proved(HELIX, lines(corners())) < 1e-6
        assert proved(HELIX.replace("G3", "G2"), lines(corners(way=-1))) < 1e-6

    def test_chords_along_an_arc_whose_radii_differ_within_the_tolerance_take_each_its_share(self) -> None:
        assert proved("G3 X10.0018 Y0 Z9 I-10", lines(corners(growth=0.0018))) < 1e-6

    @pytest.mark.parametrize("chord", [0, 1, 6])
    @pytest.mark.parametrize("axis", [0, 1, 2])
    def test_a_corner_off_the_helix_is_measured_and_past_the_tolerance_stopped(self, chord: int, axis: int) -> None:
        ends = corners()
        # Outwards from the axis, or up.
        step = [ends[chord][0] / 10, ends[chord][1] / 10, 0.0] if axis < 2 else [0.0, 0.0, 1.0]
        for off in (0.0009, -0.0009):
            moved = [[a + off * b for a, b in zip(ends[chord], step, strict=True)]]
            assert proved(HELIX, lines([*ends[:chord], *moved, *ends[chord + 1 :]])) == pytest.approx(0.0009, abs=1e-6)
        for off in (0.0011, -0.0011):
            moved = [[a + off * b for a, b in zip(ends[chord], step, strict=True)]]
            message = "front.ngc:3: the chords of an arc would be 0.001100 mm off it, allowed is 0.001 mm"
            stops(message, HELIX, lines([*ends[:chord], *moved, *ends[chord + 1 :]]))

    @pytest.mark.parametrize(
        "angles",
        [(30, 60, 45, *ANGLES[2:]), (*ANGLES[:-1], 390, 360), (*ANGLES, *(360 + angle for angle in ANGLES))],
        ids=["back and forth", "over the end", "twice round"],
    )
    def test_chords_in_another_order_are_stopped(self, angles: tuple[float, ...]) -> None:
        follow = "front.ngc:3: the chords of an arc would not follow it from start to end"
        stops(follow, "G3 X10 Y0 I-10", lines(corners(angles, rise=0)))

    def test_chords_the_other_way_round_are_stopped(self) -> None:
        follow = "front.ngc:3: the chords of an arc would not follow it from start to end"
        stops(follow, HELIX, lines(corners(way=-1)))
        stops(follow, HELIX.replace("G3", "G2"), lines(corners()))

    def test_a_chord_may_stand_off_its_arc_by_what_is_allowed_and_no_more(self) -> None:
        assert proved(HELIX, lines(corners()), chords_mm=0.34) < 1e-6
        message = "a chord would stand 0.340742 mm off its arc, allowed is 0.339 mm"
        stops(message, HELIX, lines(corners()), chords_mm=0.339)
        stops("a chord would stand", HELIX, lines(corners((30, 60, *ANGLES[3:]))))

    def test_a_traverse_among_the_chords_is_stopped(self) -> None:
        wrong = lines(corners())
        wrong[2] = wrong[2].replace("G1", "G0")
        stops("front.ngc:3: an arc would become more than straight feeds", HELIX, wrong)

    @pytest.mark.parametrize("more", ["M8", "G64", "F100", "S900", "(so)", "T1"])
    @pytest.mark.parametrize("line", [1, 11])
    def test_a_line_that_is_added_and_holds_more_than_its_move_is_stopped(self, more: str, line: int) -> None:
        wrong = lines(corners())
        wrong[line] += f" {more}"
        stops("front.ngc:1: added lines would hold more than moves", HELIX, wrong)

    def test_block_delete_is_on_all_lines_of_a_block_or_on_none(self) -> None:
        good = lines(corners())
        assert proved(f"/{HELIX}", [f"/{line}" for line in good], after="G1 X0 Y0 Z9\n") < 1e-6
        for wrong in ([*good[:4], f"/{good[4]}", *good[5:]], [good[0], *(f"/{line}" for line in good[1:])]):
            stops("front.ngc:1: added lines would hold more than moves", HELIX, wrong)

    @pytest.mark.parametrize("word", ["M8", "G64", "G90", "T2", "G40", "G21"])
    def test_a_word_beside_the_arc_stays(self, word: str) -> None:
        right = lines(corners())
        assert proved(f"{HELIX} {word}", [f"{right[0]} {word}", *right[1:]]) < 1e-6
        stops("would change; nothing was written", f"{HELIX} {word}", right)
        stops("would change; nothing was written", HELIX, [f"{right[0]} {word}", *right[1:]])

    def test_feed_and_spindle_stay(self) -> None:
        right = lines(corners())
        assert proved(f"{HELIX} F90 S800", [f"{right[0]} F90 S800", *right[1:]]) < 1e-6
        feed = "front.ngc:3: the feed of a spelled-out block would change"
        spindle = "front.ngc:3: the spindle of a spelled-out block would change"
        stops(feed, f"{HELIX} F90", [f"{right[0]} F91", *right[1:]])
        stops(spindle, f"{HELIX} S800", [f"{right[0]} S801", *right[1:]])

    def test_a_block_that_moves_nothing_any_more_is_stopped(self) -> None:
        stops("front.ngc:3: a spelled-out block would move nothing", "G3 X10 Y0 I-10", ["", ""])
        stops("front.ngc:3: a spelled-out block would move where the source does not", "M8", ["M8 G1 X1", "X10"])

    @pytest.mark.parametrize(
        ("right", "wrong", "message"),
        [
            ("G1 X0 (so)\nX1\n", "G1 X0\nX1 (so)\n", "front.ngc:1: a comment would change"),
            ("G1 X0\nG92 X7\n", "G1 X0\nG92 X8\n", "front.ngc:5: the axis offset"),
        ],
    )
    def test_what_follows_a_spelled_out_block_is_compared_as_ever(self, right: str, wrong: str, message: str) -> None:
        chords = "\n".join(lines(corners())) + "\n"
        ours, claim = read(f"{BEFORE}{HELIX}\n{right}"), Claim(np.array([2]), np.array([11]), 0.35)
        assert prove(ours, Isometry(), read(f"{BEFORE}{chords}{right}"), claim=claim) < 1e-6
        with pytest.raises(ProofError, match=f"^{re.escape(message)}"):
            prove(ours, Isometry(), read(f"{BEFORE}{chords}{wrong}"), claim=claim)

    def test_lines_that_are_not_there_are_said(self) -> None:
        claim = Claim(np.array([2]), np.array([3]), 0.35)
        ours = read(BEFORE + HELIX + "\n" + AFTER)
        with pytest.raises(ProofError, match=r"^front\.ngc:1: lines would be lost or added"):
            prove(ours, Isometry(), read(BEFORE + "\n".join(lines(corners())) + "\n" + AFTER), claim=claim)


class TestCycles:
    CYCLE = "G82 X1 Y2 R3 Z-4 P.5 F80"
    MOVES = ("G0 X1 Y2 F80", "Z3", "G1 Z-4", "G4 P.5", "G0 Z5")
    AFTER = "G80\nG0 X0\n"

    def test_the_moves_of_a_cycle_are_right(self) -> None:
        assert proved(self.CYCLE, [*self.MOVES], after=self.AFTER) == 0.0

    @pytest.mark.parametrize(
        ("right", "near", "wrong"),
        [("Z3", "Z3.0009", "Z3.0011"), ("Z-4", "Z-4.0009", "Z-4.0011"), ("Y2", "Y1.9991", "Y2.0011")],
    )
    def test_a_move_off_is_measured_and_past_the_tolerance_stopped(self, right: str, near: str, wrong: str) -> None:
        def moves(word: str) -> list[str]:
            return [line.replace(right, word) for line in self.MOVES]

        assert proved(self.CYCLE, moves(near), after=self.AFTER) == pytest.approx(0.0009, abs=1e-9)
        message = "front.ngc:3: a spelled-out cycle would be 0.001100 mm off"
        stops(message, self.CYCLE, moves(wrong), after=self.AFTER)

    @pytest.mark.parametrize(
        "moves",
        [
            ("G0 X1 Y2 F80", "Z3", "G0 Z-4", "G4 P.5", "G0 Z5"),
            ("G0 X1 Y2 F80", "G1 Z3", "Z-4", "G4 P.5", "G0 Z5"),
            ("G0 X1 Y2 F80", "Z3", "G1 Z-4", "G4 P.5", "G1 Z5"),
            ("G0 X1 Y2 F80", "Z3", "Z3", "G1 Z-4", "G0 Z5"),
            ("G0 X1 Y2 F80", "G1 Z-4", "G0 Z5"),
        ],
    )
    def test_other_motions_are_stopped(self, moves: tuple[str, ...]) -> None:
        message = "front.ngc:3: a spelled-out cycle would have other motions"
        stops(message, self.CYCLE, [*moves], after=self.AFTER)
