"""`flipreg flip --keep-climb`: the mirror's points, each closed contour in opposite order, all else as it is."""

import numpy as np
import pytest

import flipreg
from flipreg.path import Path
from tests.commands.command import run
from tests.commands.laws import mirrored
from tests.motions import motions, sampled

PLAIN = """\
%
(PLATE)
N10 G21 G90 G17
N20 T1 M6
N30 S18000 M3
N40 G0 Z5
N50 X0 Y0
N60 G1 Z-1 F300 (down)
N70 X40 F900
N80 G3 X50 Y10 I0 J10 (corner)
N90 G1 Y30
N100 X0 F600
N110 Y0
N120 X-5
N130 G0 Z5
N140 X60
N150 G1 Z-1 F300
N160 X70 F900
N170 G0 Z5
N180 M30
%
"""
"""One contour, a lead-out after it, and a cut that is open."""

LEADS = """\
G21 G90 G17
G0 Z5
X-6 Y4
G1 Z-2 F300
F900
G3 X0 Y10 I0 J6
G1 Y20
X40
Y0
X0
Y10
G3 X-6 Y16 I-6 J0
G0 Z5
X0 Y0
M2
"""

TABS = """\
G21 G90 G17
G0 Z5
X0 Y0
G1 Z-4 F300
X10 F900
Z-2
X20
Z-4 F200
X40 F900
Y20
X0
Y0
G0 Z5
M2
"""


WAY = (
    "the way to this contour's lead-in has to lead to its lead-out now; name X and Y of it in one traverse before the "
    "plunge\n"
)


def kept(text: str) -> tuple[bytes, str]:
    status, out, err = run(["flip", "-", "--axis", "y", "--at", "0", "--keep-climb"], text.encode())
    assert status == 0, err
    return out, err


def assert_same_cut(source: str, out: bytes) -> None:
    """Hold a result to the mirror of its source: the same points at the same feed, in whatever order."""
    expected, actual = (path.take(path.is_cut) for path in (motions(source), motions(out)))
    points = mirrored(sampled(expected, 8), flipreg.FlipAxis.Y, ("0", "0"))
    ours, theirs = (
        np.column_stack((each.reshape(-1, 3), np.repeat(path.feed_mm_per_min, 9)))
        for each, path in ((points, expected), (sampled(actual, 8), actual))
    )
    assert ours.shape == theirs.shape
    apart = np.abs(ours[:, None] - theirs[None]).max(axis=2)
    assert apart.min(axis=0).max() < 1e-3
    assert apart.min(axis=1).max() < 1e-3


def area(path: Path, first: int, last: int) -> float:
    """Return the area that lines of a program enclose, positive where they run counter-clockwise."""
    rows = path.take((path.line >= first) & (path.line <= last))
    points = sampled(rows, 16)[:, :, :2].reshape(-1, 2)
    x, y = points.T
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) / 2)


def test_the_same_points_are_cut_at_the_same_feed() -> None:
    assert_same_cut(PLAIN, kept(PLAIN)[0])


def test_a_contour_keeps_the_direction_that_a_plain_mirror_reverses() -> None:
    _, plain, _ = run(["flip", "-", "--axis", "y", "--at", "0"], PLAIN.encode())
    before = area(motions(PLAIN), 9, 13)
    assert before == pytest.approx(1500 - 100 + 25 * np.pi, abs=1)
    assert area(motions(plain), 12, 16) == pytest.approx(-before)
    assert area(motions(kept(PLAIN)[0]), 13, 17) == pytest.approx(before)


def test_it_starts_and_ends_on_the_same_spot() -> None:
    path = motions(kept(PLAIN)[0])
    rows = np.flatnonzero((path.line >= 14) & (path.line <= 18))
    assert path.start[rows[0]].tolist() == path.end[rows[-1]].tolist() == [0, 0, -1]


def test_numbers_and_comments_stay_on_their_lines_and_the_rest_as_it_is() -> None:
    out = kept(PLAIN)[0].decode().splitlines()
    assert out[13:19] == [
        "N70 G1 X0 Y30 F600",
        "N80 G1 X-50 Y30 (corner)",
        "N90 G1 X-50 Y10 F900",
        "N100 G3 X-40 Y0 I10 J0",
        "N110 G1 X0 Y0",
        "N120 F600 X5",
    ]
    assert out[19:] == ["N130 G0 Z5", "N140 X-60", "N150 G1 Z-1 F300", "N160 X-70 F900", "N170 G0 Z5", "N180 M30", "%"]


def test_lead_in_and_lead_out_change_places() -> None:
    out, err = kept(LEADS)
    path = motions(out)
    assert "1 closed contour run the other way round: lines 6-12; all else runs as the mirror left it" in err
    text = out.decode().split("first)\n")[1].splitlines()
    assert text[2] == "X6 Y16"
    assert text[5] == "G3 X0 Y10 I0 J-6"
    assert text[11] == "G3 X6 Y4 I6 J0"
    _assert_smooth(path)
    _assert_smooth(motions(LEADS))


def _assert_smooth(path: Path) -> None:
    """Hold the lead-in to meet the contour, and the contour the lead-out, without turning back."""
    cuts = path.take(path.is_cut)
    points = sampled(cuts, 64)
    for one, other in ((1, 2), (len(cuts) - 2, len(cuts) - 1)):
        arriving, leaving = points[one, -1] - points[one, -2], points[other, 1] - points[other, 0]
        assert arriving @ leaving / np.linalg.norm(arriving) / np.linalg.norm(leaving) > 0.99


def test_a_tab_is_gone_down_from_no_faster_than_before() -> None:
    path = motions(kept(TABS)[0])
    falls = path.is_cut & (path.end[:, 2] < path.start[:, 2])
    assert path.feed_mm_per_min[falls].tolist() == [300, 200]
    assert path.end[path.is_cut & (path.end[:, 2] == -2), 0].tolist() == [-20, -10]


def test_a_tab_of_ramps_is_run_the_other_way_round() -> None:
    text = TABS.replace("X10 F900\nZ-2\nX20\nZ-4 F200\n", "X10 F900\nX12 Z-2\nX18\nX20 Z-4\n")
    out, err = kept(text)
    assert "1 closed contour run the other way round: lines 5-12" in err
    assert_same_cut(text, out)


def test_a_cut_after_a_contour_that_began_with_an_arc_is_still_a_straight_one() -> None:
    text = "G21 G90\nG0 X9 Y0 Z5\nG1 Z-1 F300\nN1 G3 X9 Y8 J4\nN2 G1 X0\nN3 Y0\nN4 X9\nN5 X20\nG0 Z5\nM2\n"
    out, _ = kept(text)
    expected = ["N1 G1 X0 Y0", "N2 G1 X0 Y8", "N3 G1 X-9 Y8", "N4 G3 X-9 Y0 I0 J-4", "N5 G1 X-20"]
    assert out.decode().splitlines()[-7:-2] == expected


def test_without_the_flag_the_contours_are_counted() -> None:
    _, out, err = run(["flip", "-", "--axis", "y", "--at", "0"], PLAIN.encode())
    assert "1 closed contour changed direction, climb to conventional or back: lines 9-13; --keep-climb keeps it" in err
    assert b"contour" not in out


def test_a_shift_changes_no_direction_and_says_nothing() -> None:
    assert "contour" not in run(["shift", "-", "--by", "1,2"], PLAIN.encode())[2]


def test_a_program_without_a_contour_is_the_plain_flip() -> None:
    text = "G21 G90\nG0 X0 Y0 Z5\nG1 Z-1 F300\nX9\nG0 Z5\nM2\n"
    _, plain, _ = run(["flip", "-", "--axis", "y", "--at", "0"], text.encode())
    out, err = kept(text)
    assert out.split(b"first)\n")[1] == plain.split(b"first)\n")[1]
    assert "no closed contour to run the other way round" in err


def test_twice_is_the_source() -> None:
    once = kept(TABS)[0].split(b"first)\n")[1].decode()
    twice = motions(kept(once)[0])
    source = motions(TABS)
    assert twice.end[1:].tolist() == source.end[1:].tolist()
    assert twice.kind.tolist() == source.kind.tolist()


def test_ramps_stay_and_are_named() -> None:
    text = "G21 G90\nG0 X0 Y0 Z5\nZ0\nG1 X10 Z-2 F300\nX20\nY20\nX10\nY0\nG0 Z5\nM2\n"
    _, err = kept(text)
    assert "ramps that lead to a contour are not turned round: lines 4" in err


@pytest.mark.parametrize(
    ("text", "start"),
    {
        "compensation": (PLAIN.replace("N70 X40", "N70 G41 D1 X40").replace("N120 X-5", "N120 G40 X-5"), "9:1: this"),
        "increments": (PLAIN.replace("N90 G1 Y30", "N90 G91 G1 Y20").replace("N100 X0", "N100 G90 X0"), "11:1: this"),
        "a speed": (PLAIN.replace("N90 G1 Y30", "N90 G1 Y30 S9"), "11:12: S9 inside of a contour"),
        "a stop": (PLAIN.replace("N90 G1 Y30", "N90 G1 Y30 M1"), "11:12: M1 inside of a contour"),
        "a parameter": (PLAIN.replace("N90 G1 Y30", "N90 G1 Y[30]"), "11:8: a parameter or an expression"),
        "a line that may be skipped": (PLAIN.replace("N80 G3", "/N80 G3"), "10:1: this contour holds a line"),
        "a ramp to the lead-in": (
            LEADS.replace("G1 Z-2 F300\nF900\n", "Z0\nG1 X-12 Z-2 F300\nX-6\nF900\n"),
            "5:1: a ramp leads to the lead-in",
        ),
        "compensated": (
            "G21 G90\nG0 X-9 Y0 Z5\nG1 Z-2 F300\nG41 D1 X0\nX30\nY20\nX0\nY0\nG40 X-9\nG0 Z5\nM2\n",
            "4:1: this contour is cut with cutter compensation; it can't be run the other way round\n",
        ),
        "fed in inverse time": (
            "G21 G90\nG0 X0 Y0 Z5\nG1 Z-2 F300\nG93\nX30 F9\nY20 F9\nX0 F9\nY0 F9\nG94\nG0 Z5\nM2\n",
            "5:1: this contour is fed in inverse time (G93); it can't be run the other way round\n",
        ),
        "an upright arc": (
            "G21 G90 G18\nG0 X0 Y0 Z5\nG1 Z-2 F300\nX10\nG2 X20 I5\nG1 X30\nY20\nX0\nY0\nG0 Z5\nM2\n",
            "5:1: an arc outside of the XY plane in a contour that has to be run the other way round\n",
        ),
        "a way to the lead-in in two lines": (LEADS.replace("X-6 Y4\n", "X-6\nY4\n"), f"7:1: {WAY}"),
        "a way to the lead-in by feed": (LEADS.replace("X-6 Y4\nG1 Z-2 F300", "G1 X-6 Y4 F300\nZ-2"), f"6:1: {WAY}"),
        "a hole before the lead-in": (
            LEADS.replace("X-6 Y4\nG1 Z", "G98 G81 X-6 Y4 Z-1 R2 F90\nG80\nG1 X-6 Y4 Z"),
            f"7:1: {WAY}",
        ),
        "a way to the lead-in by expression": (
            LEADS.replace("X-6 Y4\nG1 Z", "X[-6] Y4\nG1 X-6 Y4 Z"),
            "3:1: the way to a contour has to be named in plain numbers in G90\n",
        ),
        "a way to the lead-in in increments": (
            LEADS.replace("X-6 Y4\nG1 Z", "X0 Y0\nG91 X-6 Y4\nG90 G1 X-6 Y4 Z"),
            "4:5: the way to a contour has to be named in plain numbers in G90\n",
        ),
        "a start by expression": (
            PLAIN.replace("N50 X0", "N50 X[0]"),
            "9:1: X of this contour's start is not a plain number in G90, so that it can't be written again\n",
        ),
        "a way to the lead-in that is renamed": (LEADS.replace("X-6 Y4\n", "X-6 Y4\nG92 X-6\n"), f"7:1: {WAY}"),
        "a way on that is renamed": (
            LEADS.replace("X0 Y0\nM2", "G92 Y1\nG0 X0 Y0\nM2"),
            "15:1: the way on from the contour before does not name its own start; name X and Y in one traverse\n",
        ),
        "a way on in increments": (
            LEADS.replace("X0 Y0\nM2", "G91 X6 Y-16\nM2"),
            "14:1: the way on from the contour before does not name its own start; name X and Y in one traverse\n",
        ),
        "a way on that names one axis": (
            LEADS.replace("X0 Y0\nM2", "X0\nM2"),
            "14:1: the way on from the contour before does not name Y; name X and Y in one traverse\n",
        ),
    }.values(),
)
def test_what_cannot_be_turned_round_is_refused_with_its_line(text: str, start: str) -> None:
    status, out, err = run(["flip", "-", "--axis", "y", "--at", "0", "--keep-climb"], text.encode())
    assert (status, out) == (2, b"")
    assert err.startswith(f"<stdin>:{start}"), err


def test_a_program_that_begins_with_a_coordinate_is_turned_round() -> None:
    text = "X0 Y0 G0 Z5\nG1 Z-2 F300\nX30\nY20\nX0\nY0\nG0 Z5\nM2\n"
    assert kept(text)[0].splitlines()[-6:-2] == [b"G1 X0 Y20", b"G1 X-30 Y20", b"G1 X-30 Y0", b"G1 X0 Y0"]


def test_a_contour_named_in_the_numbers_of_one_axis_offset_is_turned_round() -> None:
    text = LEADS.replace("X-6 Y4\n", "X1 Y1\nG92 X30\nG0 X-6 Y4\n").replace("X0 Y0\nM2", "X0 Y0\nG92 X9\nG0 X5\nM2")
    out, err = kept(text)
    assert "1 closed contour run the other way round" in err
    _assert_smooth(motions(out))


def test_a_start_named_before_an_axis_offset_is_refused() -> None:
    text = PLAIN.replace("N60", "G92 X5\nN60").replace("X40 F900\nN80 G3 X50 Y10 I0 J10", "X50 F900\nN80 Y10")
    text = text.replace("X0 F600", "X5")
    status, _, err = run(["flip", "-", "--axis", "y", "--at", "0", "--keep-climb"], text.encode())
    assert status == 2
    assert err.startswith("<stdin>:10:1: X of this contour's start is not a plain number in G90"), err


def test_blanks_within_numbers_go_and_what_stands_between_words_stays() -> None:
    contour = "N4 X + 3 0 (right) F900\nG3 X 3 0. Y 2 0 R 1 0 (round)\nG1 X0 (top) (left)\nY 0 ; down\n"
    text = f"G21 G90\nG0 X0 Y0 Z5\nG1 Z-2 F300\n{contour}G0 Z5\nM2\n"
    assert kept(text)[0].splitlines()[-6:-2] == [
        b"N4 G1 X0 Y20 F900 (right)",
        b"G1 X-30. Y20 (round)",
        b"G3 X-30 Y0 R10 (top) (left)",
        b"G1 X0 Y0 ; down",
    ]


def test_a_motion_that_goes_nowhere_stays_one() -> None:
    """The last corner is written twice, as some programs do."""
    text = "G21 G90\nG0 X0 Y0 Z5\nG1 Z-2 F300\nX30\nY20\nX0\nY0\nG1 X0 Y0 (again)\nG0 Z5\nM2\n"
    status, out, _ = run(["flip", "-", "--axis", "y", "--at", "0", "--keep-climb"], text.encode())
    assert status == 0
    assert out.splitlines()[-7:-2] == [b"G1 X0 Y20", b"G1 X-30 Y20", b"G1 X-30 Y0", b"G1 X0 Y0", b"G1 X0 Y0 (again)"]


def test_radius_arcs_and_circles_are_turned_round() -> None:
    text = (
        "G21 G90\nG0 X0 Y0 Z5\nG1 Z-1 F300\nX40\nG3 Y20 R12\nG2 X0 R-25\nG1 Y0\nG0 Z5\nX9 Y9\n"
        "G1 Z-1\nG2 X9 Y9 I5\nG0 Z5\nM2\n"
    )
    out = kept(text)[0].decode()
    assert "\nG2 X-9 Y9 I-5 J0\n" in out
    assert_same_cut(text, out.encode())


LIFTED = """\
G21 G90 G17
G0 Z5
X0 Y0
G1 Z-2 F300
X40 F900
Y20
X0
Y0
G1 Z-4 F300
X15 F900
G0 Z1
X25
Z-3.9
G1 Z-4 F300
X40 F900
Y20
X0
Y0
G0 Z5
M2
"""
"""Down in two passes; the second is lifted from over a tab, by traverses."""


def test_a_contour_that_is_lifted_from_over_a_tab_is_named_with_its_lines_and_counted_among_none() -> None:
    out, err = kept(LIFTED)
    assert "1 closed contour run the other way round: lines 5-8; all else runs as the mirror left it" in err
    assert (
        "1 closed contour not turned round, climb to conventional or back, because the tool is lifted on the "
        "way: lines 10-18"
    ) in err
    assert b"because the tool is lifted" in out.splitlines()[2]
    assert_same_cut(LIFTED, out)
    # What stays runs as the plain mirror does.
    _, plain, _ = run(["flip", "-", "--axis", "y", "--at", "0"], LIFTED.encode())
    assert out.splitlines()[-12:] == plain.splitlines()[-12:]


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        # With a lead-in and a lead-out at the level.
        (
            "G0 X-5 Y5\nG1 Z-2 F300\nX0\nY20\nX15\nG0 Z1\nX25\nG1 Z-2\nX40\nY0\nX0\nY5\nX-5\nG0 Z5\n",
            "5-15",
        ),
        # Over two tabs, by feeds that are no traverses but for the way across.
        (
            "G0 X0 Y0\nG1 Z-2 F300\nX15\nZ1\nG0 X25\nG1 Z-2\nX40\nY8\nG1 Z1\nG0 Y12\nG1 Z-2\nY20\nX0\nY0\nG0 Z5\n",
            "5-16",
        ),
        # An arc with a tab.
        ("G0 X10 Y0\nG1 Z-2 F300\nG3 X-10 Y0 I-10\nG0 Z1\nX-9 Y-4.3589\nG1 Z-2\nG3 X10 Y0 I9 J4.3589\nG0 Z5\n", "5-9"),
    ],
)
def test_lifted_contours_of_other_kinds_are_found(text: str, lines: str) -> None:
    _, err = kept(f"G21 G90 G17\nG0 Z5\n{text}M2\n")
    assert "no closed contour to run the other way round" in err
    assert f"lifted on the way: lines {lines}\n" in err


@pytest.mark.parametrize(
    "text",
    [
        # Rows to and fro, and rows one way.
        "G0 X0 Y0\nG1 Z-2 F300\nX30\nG0 Z5\nX0 Y1\nG1 Z-2\nX30\nG0 Z5\nX0 Y2\nG1 Z-2\nX30\nG0 Z5\n",
        "G0 X0 Y0\nG1 Z-2 F300\nX30\nG0 Z5\nX30 Y1\nG1 Z-2\nX0\nG0 Z5\nX0 Y2\nG1 Z-2\nX30\nG0 Z5\n",
        # Two slots from one point; the way between them is longer than a tab.
        "G0 X0 Y0\nG1 Z-2 F300\nX30 Y1\nG0 Z5\nX0 Y0\nG1 Z-2\nX30 Y-1\nG0 Z5\n",
        # Another level closes no contour.
        "G0 X0 Y0\nG1 Z-2 F300\nX30\nY20\nG0 Z5\nX28 Y20\nG1 Z-3\nX0\nY0\nG0 Z5\n",
        "G0 X0 Y0\nG1 Z-2 F300\nX30\nG0 Z5\n",
    ],
)
def test_what_is_no_contour_is_not_called_one(text: str) -> None:
    _, err = kept(f"G21 G90 G17\nG0 Z5\n{text}M2\n")
    assert "not turned round" not in err


def test_a_contour_at_a_height_that_is_not_known_is_named() -> None:
    text = "G21 G90 G17\nG43 H1\nG0 X0 Y0 Z5\nG1 Z-1 F90\nG43 H2\nX9\nY9\nX0\nY0\nG0 Z5\nM2\n"
    _, err = kept(text)
    assert "no closed contour to run the other way round" in err
    assert "because the height is not known: lines 6-9\n" in err


def test_rings_that_begin_in_one_corner_are_cut_in_the_order_they_were() -> None:
    text = (
        "G21 G90\nG0 Z5\nX38 Y56\nG1 Z-2 F300\nX44 Y56 F1200\nX44 Y62\nX38 Y56\nX50 Y56\nX50 Y68\nX38 Y56\n"
        "G0 Z5\nM2\n"
    )
    out, err = kept(text)
    assert "2 closed contours run the other way round: lines 5-7, 8-10" in err
    assert out.split(b"F300\n")[1].splitlines()[:6] == [
        b"G1 X-44 Y62 F1200",
        b"G1 X-44 Y56",
        b"G1 X-38 Y56",
        b"G1 X-50 Y68",
        b"G1 X-50 Y56",
        b"G1 X-38 Y56",
    ]
    assert_same_cut(text, out)


@pytest.mark.parametrize(
    ("start", "before", "after", "lines"),
    [
        ("X36 Y54", "X37 Y55\nX38 Y56\n", "X38 Y50\n", "lines 5-6, 13"),
        ("X36 Y54", "X37 Y55\nX38 Y56\n", "", "lines 5-6"),
        ("X38 Y56", "", "X38 Y50\n", "lines 11"),
    ],
)
def test_leads_that_stay_are_named(start: str, before: str, after: str, lines: str) -> None:
    rings = "X44 Y56 F1200\nX44 Y62\nX38 Y56\nX50 Y56\nX50 Y68\nX38 Y56\n"
    text = f"G21 G90\nG0 Z5\n{start}\nG1 Z-2 F300\n{before}{rings}{after}G0 Z5\nM2\n"
    _, err = kept(text)
    assert f"leads that contours share, or that have none on the other side, stay as they are: {lines}\n" in err


def test_leads_that_change_places_are_not_said_to_stay() -> None:
    assert "leads that contours share" not in kept(LEADS)[1]


def test_leads_change_places_around_all_laps_of_a_contour() -> None:
    lap = "G1 Y20\nX40\nY0\nX0\nY10\n"
    text = LEADS.replace(lap, lap * 2)
    out, err = kept(text)
    assert "2 closed contours run the other way round: lines 6-17;" in err
    _assert_smooth(motions(out))


@pytest.mark.parametrize("up", ["G0 Z-3", "G1 Z-3", "G0 Z1"])
@pytest.mark.parametrize("down", ["Z-4", "G0 Z-3.9\nG1 Z-4"])
@pytest.mark.parametrize("across", ["G1 X40 Y15", "G0 X40 Y15"])
def test_a_tab_in_any_mix_of_moves_is_crossed_by_a_contour_that_is_turned_or_named(
    up: str, down: str, across: str
) -> None:
    down = f"G1 {down}" if down == "Z-4" else down
    text = (
        f"G21 G90\nG0 Z5\nX0 Y0\nG1 Z-4 F300\nX40 F900\nY10\n{up}\n{across}\n{down}\nY30\nX0\nY0\nG0 Z5\nM2\n"
    )
    last = 12 + (down != "G1 Z-4")
    _, err = kept(text)
    lines = f"lines 5-{last}"
    if "G0" in (up + across + down):
        assert "1 closed contour not turned round, climb to conventional or back, because the tool is lifted" in err
    else:
        assert f"1 closed contour run the other way round: {lines};" in err
    # The plain mirror counts by the same rule.
    _, _, err = run(["flip", "-", "--axis", "y", "--at", "0"], text.encode())
    assert err.count("closed contour") == 1
    assert lines in err


@pytest.mark.parametrize(
    ("cuts", "lines"),
    [
        # A helix, and a contour that goes down all the way round.
        ("G0 X10 Y0\nG1 Z0 F300\nG3 X10 Y0 Z-3 I-10\nG0 Z5\n", "5"),
        ("G0 X0 Y0\nG1 Z0 F300\nX30 Z-1\nY20 Z-2\nX0 Z-3\nY0 Z-4\nG0 Z5\n", "5-8"),
        # It begins on a tab.
        ("G0 X0 Y0\nG1 Z-2 F300\nX5\nZ-4\nX30\nY20\nX0\nY0\nG0 Z5\n", "5-10"),
    ],
)
def test_a_contour_whose_height_changes_on_the_way_is_named(cuts: str, lines: str) -> None:
    text = f"G21 G90\nG0 Z5\n{cuts}M2\n"
    _, err = kept(text)
    assert f"because the height changes on the way: lines {lines}\n" in err
    _, _, err = run(["flip", "-", "--axis", "y", "--at", "0"], text.encode())
    assert "1 closed contour changed direction, climb to conventional or back, and --keep-climb can't" in err
    assert f"because the height changes on the way: lines {lines}\n" in err
