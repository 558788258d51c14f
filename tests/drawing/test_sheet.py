import io
from dataclasses import replace
from math import hypot

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flipreg.align.marks import marking_sheet
from flipreg.drawing.page import Dash, Label, Page, Stroke
from flipreg.drawing.paint import paint
from flipreg.drawing.sheet import draw_sheet, draw_true_scale, sheet_pages
from flipreg.drawing.tiles import tile_pages
from flipreg.errors import UsageError
from flipreg.job.blank import Edge
from flipreg.job.job import Job
from flipreg.job.mark import Mark
from flipreg.job.problem import JobFileError
from tests.drawing.overlaps import overlaps
from tests.jobs import BOTH, board, paddle

_NAMES = st.text(alphabet="abcdefghijklm äß", min_size=1, max_size=25).filter(str.strip)


@st.composite
def boards(draw: st.DrawFn) -> Job:
    length = draw(st.floats(100, 2500))
    width = draw(st.floats(30, 600))
    places = draw(st.lists(st.tuples(st.floats(0, 1), st.floats(0.05, 0.95)), min_size=1, max_size=14))
    centre = width * draw(st.floats(0.1, 0.9))
    marks = [
        Mark(name.lstrip() + str(number), BOTH, length * along, 0.0 if number % 2 == 0 else width * across - centre)
        for number, ((along, across), name) in enumerate((place, draw(_NAMES)) for place in places)
    ]
    edge = draw(st.sampled_from(Edge))
    if edge is Edge.RIGHT:
        marks = [replace(mark, across_mm=-mark.across_mm) for mark in marks]
    return board(*marks, edge=edge, size_mm=(length, width, 30.0), centre_line_mm=centre, inch=draw(st.booleans()))


@settings(max_examples=25, deadline=None)
@given(boards())
def test_labels_neither_overlap_nor_leave_the_page(job: Job) -> None:
    for page in sheet_pages(marking_sheet(job)):
        _assert_readable(page)


def test_labels_of_a_bent_blank_neither_overlap_nor_leave_the_page() -> None:
    for page in sheet_pages(marking_sheet(paddle())):
        _assert_readable(page)


@settings(max_examples=10, deadline=None)
@given(boards())
def test_no_letter_is_smaller_than_what_can_be_read_at_the_bench(job: Job) -> None:
    sheet = marking_sheet(job)
    sizes = [label.size_pt for page in (*sheet_pages(sheet), *tile_pages(sheet)) for label in page.labels]
    assert min(sizes) >= 8.5


def test_the_drawing_names_every_mark_with_its_distance_on_the_face_it_is_on() -> None:
    texts = [label.text for label in sheet_pages(marking_sheet(paddle()))[0].labels]
    assert {"throat", "820.00", "grip line", "90.00", "hinge, carried", "planes meet 848.57"} <= set(texts)
    assert texts.count("throat") == 2
    assert texts.count("Blattmitte ä") == 1


def test_the_reference_edge_changes_sides_from_face_to_face() -> None:
    texts = [label.text for label in sheet_pages(marking_sheet(paddle()))[0].labels]
    assert any(text.startswith("FRONT") and text.endswith("at the top") for text in texts)
    assert any(text.startswith("BACK") and text.endswith("at the bottom") for text in texts)


def test_the_thick_edge_is_on_the_side_that_the_title_says_and_marks_are_off_it_by_their_distance() -> None:
    page = sheet_pages(marking_sheet(board()))[0]
    strokes = [item for item in page.items if isinstance(item, Stroke)]
    thick = [stroke.points[0][1] for stroke in strokes if stroke.width_mm == 1.2]
    centre = [stroke.points[0][1] for stroke in strokes if stroke.dash is Dash.CHAIN]
    crosses = [stroke.points for stroke in strokes if stroke.width_mm == 0.5]
    lying = [points[0][1] for points in crosses if points[0][1] == points[1][1]]
    per_mm = (thick[0] - centre[0]) / 80.0
    assert per_mm > 0
    assert -per_mm == pytest.approx((thick[1] - centre[1]) / 80.0)
    # Near and far are on the centre line, the side mark is 140 from the edge.
    assert pytest.approx([(thick[0] - y) / per_mm for y in lying[:3]]) == [80.0, 140.0, 80.0]
    assert pytest.approx([(y - thick[1]) / per_mm for y in lying[3:]]) == [80.0, 140.0, 80.0]


def test_a_table_of_many_marks_goes_on_over_the_page_without_losing_one() -> None:
    marks = [Mark(f"m{number}", BOTH, 10.0 + number * 9) for number in range(60)]
    pages = sheet_pages(marking_sheet(board(*marks)))
    for page in pages:
        _assert_inside(page)
    named = {label.text for page in pages[1:] for label in page.labels}
    assert {mark.name for mark in marks} <= named


def test_pages_at_true_size_show_every_place_of_the_blank_and_overlap_by_ten_millimetres() -> None:
    sheet = marking_sheet(paddle())
    pages = tile_pages(sheet)
    assert len(pages) % 2 == 0
    front = pages[: len(pages) // 2]
    # The thick reference edge runs along the whole length, once a page, with the overlaps twice.
    spans = [
        abs(stroke.points[1][0] - stroke.points[0][0])
        for page in front
        for stroke in page.items
        if isinstance(stroke, Stroke) and stroke.width_mm == 1.0
    ]
    assert 1320.0 + 10.0 * (len(spans) - 1) == pytest.approx(sum(spans))


@pytest.mark.parametrize(("inch", "bar_mm"), [(False, 100.0), (True, 101.6)])
def test_the_bar_at_true_size_is_in_the_jobs_unit(*, inch: bool, bar_mm: float) -> None:
    page = tile_pages(marking_sheet(board(Mark("only", BOTH, 50.0), size_mm=(150.0, 100.0, 20.0), inch=inch)))[0]
    (said,) = [label for label in page.labels if "print at 100 %" in label.text]
    assert said.text.endswith("4 in" if inch else "100 mm")
    height = said.at[1]
    ends = [
        item.points[0][0]
        for item in page.items
        if isinstance(item, Stroke) and {y for _, y in item.points} == {height - 2.0, height + 2.0}
    ]
    assert max(ends) - min(ends) == pytest.approx(bar_mm)


def test_a_mark_is_at_its_distance_from_the_near_end_at_true_size() -> None:
    page = tile_pages(marking_sheet(board(Mark("only", BOTH, 93.25), size_mm=(150.0, 100.0, 20.0))))[0]
    upright = sorted(
        {
            round(stroke.points[0][0], 6)
            for stroke in page.items
            if isinstance(stroke, Stroke) and stroke.points[0][0] == stroke.points[1][0] and _long(stroke.points) > 90
        }
    )
    near_end, mark, far_end = upright[0:3] if len(upright) == 3 else _inner(upright)
    assert pytest.approx(mark - near_end) == 93.25
    assert pytest.approx(far_end - near_end) == 150.0


@given(st.lists(st.tuples(st.integers(0, 24), st.integers(1, 15)), min_size=1, max_size=16, unique=True))
def test_at_true_size_every_name_stands_at_its_own_cross_and_on_no_other_name(cells: list[tuple[int, int]]) -> None:
    places = {f"m{number}": (10.0 + 10.0 * x, 10.0 * y - 75.0) for number, (x, y) in enumerate(cells)}
    marks = [Mark(name, BOTH, *place) for name, place in places.items()]
    # One page a face: the near end is 14 mm from the edge of the paper, the front's reference edge 14 mm from its top.
    page, _ = tile_pages(marking_sheet(board(*marks, size_mm=(260.0, 165.0, 20.0))))
    crosses = {name: (14.0 + along, 196.0 - 80.0 - across) for name, (along, across) in places.items()}
    assert overlaps(page.labels) == []
    leaders = [item.points for item in page.items if isinstance(item, Stroke) and item.width_mm == 0.13
               and item.dash is Dash.SOLID and len(item.points) == 2]  # fmt: skip
    labels = {label.text.split()[0]: label for label in page.labels if label.text.startswith("m")}
    assert labels.keys() == crosses.keys()
    for name, label in labels.items():
        box = label.box
        led = [start for start, end in leaders if max(_gap(box, (*end, *end))) < 1e-6]
        if led:
            assert led == [pytest.approx(crosses[name])]
            continue
        away = {other: hypot(*(max(gap, 0.0) for gap in _gap(box, (*at, *at)))) for other, at in crosses.items()}
        assert away[name] == pytest.approx(min(away.values())), f"{name} stands at another cross"
        assert away[name] < 8.0


def test_a_row_of_dowels_is_named_dowel_by_dowel() -> None:
    marks = [Mark("origin", BOTH, 20.0), *(Mark(f"dowel {n}", BOTH, 100.0, 20.0 * n - 100.0) for n in range(2, 9))]
    page = tile_pages(marking_sheet(board(*marks, size_mm=(260.0, 170.0, 20.0))))[0]
    dowels = [label for label in page.labels if label.text.startswith("dowel")]
    assert {int(label.text.split()[1]) for label in dowels} == set(range(2, 9))
    for label in dowels:
        cross = 196.0 - 80.0 - (20.0 * int(label.text.split()[1]) - 100.0)
        assert max(_gap(label.box, (114.0, cross, 114.0, cross))) < 8.0, label


def test_the_bend_is_named_on_the_pages_that_show_it() -> None:
    texts = [label.text for page in tile_pages(marking_sheet(paddle())) for label in page.labels]
    assert "bend: planes meet 845.00" in texts
    assert "bend: planes meet 848.57" in texts


def test_names_that_are_cut_short_keep_the_end_that_tells_them_apart() -> None:
    names = [f"hole for the long brass dowel of the left rail, number {n}" for n in (1, 2)]
    marks = [Mark("origin", BOTH, 20.0), *(Mark(name, BOTH, 100.0 + 90 * row) for row, name in enumerate(names))]
    sheet = marking_sheet(board(*marks))
    for pages in (sheet_pages(sheet), tile_pages(sheet)):
        texts = {label.text for page in pages for label in page.labels}
        short = {text.split("  ")[0] for text in texts if "…" in text}
        assert {text[-1] for text in short} == {"1", "2"}
        assert all(text.startswith("hole") for text in short)


def test_a_blank_too_large_to_be_printed_is_refused() -> None:
    sheet = marking_sheet(board(size_mm=(4000.0, 3000.0, 30.0)))
    with pytest.raises(UsageError, match=r"pages at true scale, and 400 are the most"):
        draw_true_scale(sheet, "t.pdf")
    with pytest.raises(JobFileError, match=r"\$\.blank\.width: no board is 1000000000 mm wide"):
        marking_sheet(board(size_mm=(4000.0, 1e9, 30.0)))
    with pytest.raises(UsageError, match=r"pages at true scale, and 400 are the most"):
        draw_true_scale(replace(sheet, size_mm=(4000.0, 1e9, 30.0)), "t.pdf")


def test_the_pdf_has_pages_of_the_size_of_the_paper() -> None:
    data = draw_sheet(marking_sheet(paddle()), "sheet.pdf").data
    assert data.startswith(b"%PDF")
    assert data.count(b"/Type /Page\n") + data.count(b"/Type /Page ") == 3
    assert b"/MediaBox [ 0 0 841.8897637795 595.2755905512 ]" in data


@pytest.mark.parametrize("ending", ["pdf", "svg", "png"])
def test_the_same_job_gives_the_same_bytes(ending: str) -> None:
    sheet = marking_sheet(board())
    assert draw_sheet(sheet, f"a.{ending}").data == draw_sheet(sheet, f"b.{ending}").data


def test_a_picture_has_the_pages_under_each_other() -> None:
    from PIL import Image

    drawing = draw_sheet(marking_sheet(board()), "sheet.png")
    width, height = Image.open(io.BytesIO(drawing.data)).size
    assert drawing.pages == 2
    assert pytest.approx(height / width, rel=2e-3) == 2 * 210 / 297


def test_text_is_painted_where_the_layout_says() -> None:
    from PIL import Image

    page = Page(100.0, 50.0)
    label = Label((20.0, 30.0), "HOME", 20.0)
    page.add(label)
    image = np.asarray(Image.open(io.BytesIO(paint([page], "png", title="t").data)).convert("L"))
    rows, columns = np.nonzero(image < 128)
    mm = 25.4 / 150
    x0, y0, x1, y1 = label.box
    assert [x0, x1] == pytest.approx([columns.min() * mm, columns.max() * mm], abs=0.8)
    assert (y0 + y1) / 2 == pytest.approx(50.0 - (rows.min() + rows.max()) / 2 * mm, abs=0.4)


def test_a_dollar_in_a_name_is_a_dollar() -> None:
    drawing = draw_sheet(marking_sheet(board(Mark("a $x^2$ b", BOTH, 90.0))), "sheet.svg")
    assert drawing.notes == ()


def test_letters_that_the_typeface_lacks_are_told() -> None:
    drawing = draw_sheet(marking_sheet(board(Mark("木", BOTH, 90.0))), "sheet.png")
    assert drawing.notes[0].endswith("numbers for them: [1] is 木")


def test_a_file_of_another_kind_is_refused() -> None:
    with pytest.raises(UsageError, match=r"'sheet\.jpg': a drawing is"):
        draw_sheet(marking_sheet(board()), "sheet.jpg")


def test_true_scale_as_a_picture_is_refused() -> None:
    with pytest.raises(UsageError, match="true scale needs"):
        draw_true_scale(marking_sheet(board()), "sheet.png")


def _gap(
    one: tuple[float, float, float, float], other: tuple[float, float, float, float]
) -> tuple[float, float]:
    """Return how far two boxes are apart along X and along Y; both below 0 where they overlap."""
    return (
        max(one[0] - other[2], other[0] - one[2]),
        max(one[1] - other[3], other[1] - one[3]),
    )


def _assert_readable(page: Page) -> None:
    _assert_inside(page)
    assert overlaps(page.labels) == []


def _assert_inside(page: Page) -> None:
    for label in page.labels:
        x0, y0, x1, y1 = label.box
        assert x0 >= 0
        assert y0 >= 0
        assert x1 <= page.width_mm, label
        assert y1 <= page.height_mm


def _long(points: tuple[tuple[float, float], ...]) -> float:
    return abs(points[0][1] - points[1][1])


def _inner(places: list[float]) -> list[float]:
    """Return the three lines of the blank: the outermost two are the frame of the page."""
    return places[1:-1]
