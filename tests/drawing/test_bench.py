"""The pages of the bench sheet: what a person reads and ticks on them, and that all of it can be read."""

from pathlib import Path

import numpy as np
import pytest

from flipreg.drawing.bench import NOT_CHECKED, bench_pages
from flipreg.drawing.flow import TICK_MM
from flipreg.drawing.page import Label, Page, Stroke, Strokes
from flipreg.drawing.paper import Paper
from flipreg.job.job import Job
from flipreg.report.bench_sheet import BenchSheet
from tests.drawing.bench_job import sheet_of
from tests.drawing.board_job import write_board
from tests.drawing.overlaps import overlaps

Sheet = tuple[Job, BenchSheet]

_CLAMP = '\nclamps = [{ name = "near stop", x = [-60, -45], y = [-10, 10], top = 12 }]\nprograms = ['


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Sheet:
    made = tmp_path_factory.mktemp("bench")
    write_board(made)
    return sheet_of(made)


@pytest.mark.parametrize("paper", Paper)
def test_nothing_lies_on_other_words_or_off_the_page(sheet: Sheet, paper: Paper) -> None:
    for page in bench_pages(*sheet, paper):
        _assert_readable(page)


def test_lengths_in_inches_stay_on_the_page_too(tmp_path: Path) -> None:
    write_board(tmp_path, inch=True)
    for page in bench_pages(*sheet_of(tmp_path), Paper.LETTER):
        _assert_readable(page)


def test_each_setup_says_what_runs_how_deep_and_how_far_to_jog(sheet: Sheet) -> None:
    front = _texts(_setup_pages(sheet)[0])
    assert "front.nc" in front
    # Cut to 10.5 mm in wood that is there from the face on, 6 mm at a time.
    assert "bites 6.0 mm, 10.50 mm below the face" in front
    assert "bites 11.0 mm, 11.00 mm below the face" in front
    assert "6 flat, time not determined" in front
    assert any(text.startswith("Pointer over A, the reference mark. Jog X\u00a00.00, Y\u00a00.00") for text in front)
    assert "The near end is towards you (Y-)." in front
    assert "Z set to 0 on the face that is up." in front


def test_each_thing_that_a_person_does_has_a_box_to_tick(sheet: Sheet) -> None:
    lay = (
        ("Lay the blank with its front up.", "left (X-)"),
        ("Lay the blank with its back up, turned over about Y: like", "right (X+)"),
    )
    for page, (laid, side) in zip(_setup_pages(sheet), lay, strict=True):
        boxes = _boxes(page)
        ticked = [label.text for label in page.labels if any(_is_beside(label, box) for box in boxes)]
        assert [text.replace("\u00a0", " ") for text in ticked] == [
            laid,
            f"The reference edge (thick) is to the {side}.",
            "The near end is towards you (Y-).",
            "Held down: neither pull nor lift can move it.",
            "Pointer over A, the reference mark. Jog X 0.00, Y 0.00.",
            "Work offset G54 chosen: the programs cut in no other.",
            "X and Y set to 0 there.",
            "Z set to 0 on the face that is up.",
            "A",
            "Eyes, ears and lungs protected, dust extraction on.",
            "Nobody near the spindle, emergency stop in reach.",
        ]
        # Two programs have three boxes each, at the right: tool in, in air, cut.
        assert sum(box[0] > page.width_mm - 45.0 for box in boxes) == 6
        assert {"tool in", "in air", "cut"} <= set(_texts(page))


def test_the_plan_shows_the_part_the_right_way_up_in_either_setup(sheet: Sheet) -> None:
    # The hole at (-10, 20) of the front is at (10, 20) for the back, which was turned like a page.
    for page, side in zip(_setup_pages(sheet), (-1.0, 1.0), strict=True):
        strokes = [item for item in page.items if isinstance(item, Stroke)]
        thick = next(item.points for item in strokes if item.width_mm == 1.3)
        edges = np.concatenate([line for item in page.items if isinstance(item, Strokes) for line in item.lines])
        middle = float(edges[:, 0].min() + edges[:, 0].max()) / 2
        assert (thick[0][0] - middle) * side > 0.0


def test_the_plan_and_the_marking_drawing_show_holes(sheet: Sheet) -> None:
    for page in bench_pages(*sheet, Paper.A4)[1:]:
        closed = [line for item in page.items if isinstance(item, Strokes) for line in item.lines if len(line) == 33]
        assert len(closed) >= 2, page.labels[0].text


def test_clamps_are_drawn_and_said_where_the_job_names_them(tmp_path: Path) -> None:
    write_board(tmp_path)
    job = tmp_path / "job.toml"
    job.write_text(job.read_text().replace("\nprograms = [", _CLAMP, 1))
    page = _setup_pages(sheet_of(tmp_path))[0]
    texts = _texts(page)
    assert "Clamp near stop: X -60.00 to -45.00, Y -10.00 to 10.00, top at Z 12.00." in " ".join(texts)
    assert "near stop" in texts
    _assert_readable(page)
    marking = bench_pages(*sheet_of(tmp_path), Paper.A4)[1]
    assert any("Broken outline: a clamp." in text for text in _texts(marking))


def test_a_job_out_of_register_has_not_checked_across_every_page(tmp_path: Path) -> None:
    write_board(tmp_path, off_mm=0.8)
    pages = bench_pages(*sheet_of(tmp_path), Paper.A4)
    for page in pages:
        assert sum(text == NOT_CHECKED for text in _texts(page)) == 3
        assert any(text.startswith(f"{NOT_CHECKED}: the check") for text in _texts(page))
    assert any("NOT IN REGISTER" in text for text in _texts(pages[0]))
    assert any(text.startswith("What to do") for text in _texts(pages[0]))


def test_a_job_that_passes_says_nowhere_that_it_was_not_checked_nor_that_a_cut_is_safe(sheet: Sheet) -> None:
    texts = [text for page in bench_pages(*sheet, Paper.A4) for text in _texts(page)]
    assert not any(NOT_CHECKED in text for text in texts)
    assert any("does not say that a cut is safe" in text for text in texts)
    assert sum("mask against what remains" in text for text in texts) == 1


def test_sixty_programs_go_on_over_the_page_without_losing_one(tmp_path: Path) -> None:
    write_board(tmp_path)
    job = tmp_path / "job.toml"
    names = [f"holes-{number}.nc" for number in range(58)]
    for name in names:
        (tmp_path / name).write_text((tmp_path / "holes.nc").read_text())
    rows = "".join(f'  {{ file = "{name}", tool = "4 drill" }},\n' for name in names)
    job.write_text(job.read_text().replace('  { file = "holes.nc", tool = "4 drill" },\n', rows, 1))
    pages = bench_pages(*sheet_of(tmp_path), Paper.LETTER)
    texts = [text for page in pages for text in _texts(page)]
    assert all(texts.count(name) == 1 for name in names)
    assert any(text.endswith("front, continued") for text in texts)
    for page in pages:
        _assert_readable(page)


def test_names_in_other_letters_stand_on_every_page(tmp_path: Path) -> None:
    write_board(tmp_path)
    job = tmp_path / "job.toml"
    job.write_text(job.read_text().replace("Small board", "Доска Σκάφη №7").replace('name = "A"', 'name = "Метка"')
                   .replace('mark = "A"', 'mark = "Метка"'))  # fmt: skip
    pages = bench_pages(*sheet_of(tmp_path), Paper.A4)
    assert all(any("Доска Σκάφη №7" in text for text in _texts(page)) for page in pages)
    for page in pages:
        _assert_readable(page)


@pytest.mark.parametrize("size_mm", [(62.0, 60.0), (3000.0, 120.0), (100.0, 900.0)])
def test_small_and_long_and_wide_blanks_stay_on_the_page(tmp_path: Path, size_mm: tuple[float, float]) -> None:
    write_board(tmp_path)
    job = tmp_path / "job.toml"
    length, width = size_mm
    text = job.read_text().replace("length = 100.00000000", f"length = {length}")
    text = text.replace("width = 80.00000000", f"width = {width}")
    text = text.replace("along = 50.00000000", f"along = {length / 2}").replace("grid = 1.00000000", "grid = 2.0")
    job.write_text(text.replace("centre_line = 40.00000000", f"centre_line = {width / 2}"))
    sheet = sheet_of(tmp_path)
    for paper in Paper:
        for page in bench_pages(*sheet, paper):
            _assert_readable(page)


def _setup_pages(sheet: Sheet) -> list[Page]:
    pages = bench_pages(*sheet, Paper.A4)
    return [page for page in pages if any(text.startswith("Setup ") for text in _texts(page))]


def _texts(page: Page) -> list[str]:
    return [label.text for label in page.labels]


def _boxes(page: Page) -> list[tuple[float, float]]:
    """Return the lower left corners of the boxes to tick."""
    return [
        item.points[0]
        for item in page.items
        if isinstance(item, Stroke)
        and len(item.points) == 5
        and item.points[1][0] - item.points[0][0] == pytest.approx(TICK_MM)
        and item.points[2][1] - item.points[0][1] == pytest.approx(TICK_MM)
    ]


def _is_beside(label: Label, box: tuple[float, float]) -> bool:
    return 0.0 < label.at[0] - box[0] - TICK_MM < 4.0 and abs(label.at[1] - box[1] - TICK_MM / 2) < 1.0


def _assert_readable(page: Page) -> None:
    labels = [label for label in page.labels if label.text != NOT_CHECKED]
    for label in labels:
        x0, y0, x1, y1 = label.box
        assert min(x0, y0) >= 3.0, label
        assert x1 <= page.width_mm - 3.0, label
        assert y1 <= page.height_mm, label
        assert label.size_pt >= 8.5, label
    assert overlaps(labels) == []
