"""The picture of a job's check: what is on it, where it is, and that nothing is written over anything else."""

import io
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from flipreg.drawing.page import Area, Page, Raster, Strokes
from flipreg.drawing.picture import check_pages, draw_check
from flipreg.drawing.section_panel import BACK_INK, FRONT_INK
from flipreg.errors import UsageError
from flipreg.findings import Finding, Status
from flipreg.job.file.read import read_job
from flipreg.job.job import Job
from flipreg.job_check.check import check_job
from flipreg.job_check.report import JobReport
from tests.drawing.board_job import write_board
from tests.drawing.overlaps import overlaps

PADDLE = Path(__file__).parents[2] / "samples/paddle"


@pytest.fixture(scope="module")
def board(tmp_path_factory: pytest.TempPathFactory) -> tuple[Job, JobReport]:
    job = write_board(tmp_path_factory.mktemp("board"))
    return job, check_job(job)


@pytest.fixture(scope="module")
def shifted(tmp_path_factory: pytest.TempPathFactory) -> tuple[Job, JobReport]:
    job = write_board(tmp_path_factory.mktemp("shifted"), off_mm=0.5)
    return job, check_job(job)


@pytest.fixture(scope="module")
def paddle() -> tuple[Job, JobReport]:
    job = read_job(str(PADDLE / "job-wrong-jog.toml"))
    coarse = replace(job, limits=replace(job.limits, grid_mm=2.0))
    return coarse, check_job(coarse)


@pytest.fixture(scope="module")
def board_pages(board: tuple[Job, JobReport]) -> list[Page]:
    return check_pages(*board)


@pytest.fixture(scope="module")
def shifted_pages(shifted: tuple[Job, JobReport]) -> list[Page]:
    return check_pages(*shifted)


@pytest.fixture(scope="module")
def paddle_pages(paddle: tuple[Job, JobReport]) -> list[Page]:
    return check_pages(*paddle)


@pytest.fixture(scope="module")
def file_of(shifted: tuple[Job, JobReport]) -> Callable[[str], bytes]:
    """Return what makes the file of that name; each is made once."""

    @cache
    def drawn(name: str) -> bytes:
        return draw_check(*shifted, name).data

    return drawn


def with_places(report: JobReport, count: int) -> JobReport:
    """Return a report with that many more findings of every kind, each in a place of its own."""
    kinds = (Status.FAIL, Status.WARN, Status.NOT_DETERMINED)
    chance = np.random.default_rng(7)
    made = tuple(
        Finding("web", kinds[n % 3], f"made up {n}", section="straight", at_mm=tuple(chance.uniform(-30, 30, 2)))
        for n in range(count)
    )
    return replace(report, findings=(*report.findings, *made))


def texts(page: Page) -> list[str]:
    return [label.text for label in page.labels]


class TestWords:
    def test_the_title_has_the_part_and_the_verdict(self, board_pages: list[Page], shifted_pages: list[Page]) -> None:
        assert texts(board_pages[0])[0] == "Small board: IN REGISTER"
        assert texts(shifted_pages[0])[0] == "Small board: NOT IN REGISTER"

    def test_what_fails_beside_register_is_in_the_title(self, board: tuple[Job, JobReport]) -> None:
        page = check_pages(board[0], with_places(board[1], 1))[0]
        assert texts(page)[0] == "Small board: IN REGISTER, BUT NOT AS IT SHOULD BE"

    def test_a_verdict_that_is_not_determined_is_never_called_a_pass(self, board: tuple[Job, JobReport]) -> None:
        job, report = board
        page = check_pages(job, replace(report, verdict=Status.NOT_DETERMINED))[0]
        assert texts(page)[0] == "Small board: REGISTER NOT DETERMINED"

    def test_it_says_that_it_says_nothing_of_safety(self, board_pages: list[Page]) -> None:
        said = " ".join(texts(board_pages[0]))
        assert "does not say that a cut is safe" in said

    def test_units_are_named_where_numbers_are(self, board_pages: list[Page], tmp_path: Path) -> None:
        assert {"X, mm", "Y, mm", "Thickness left, mm", "20"} <= set(texts(board_pages[0]))
        job = write_board(tmp_path, inch=True)
        page = check_pages(job, check_job(job))[0]
        assert {"X, inch", "Y, inch", "Thickness left, inch", "0.787"} <= set(texts(page))

    def test_every_section_has_a_panel_with_its_setups(self, paddle_pages: list[Page]) -> None:
        said = texts(paddle_pages[0])
        assert {"Straight section", "Bent section, far end"} <= set(said)
        assert {"cut in: shaft front, shaft back", "cut in: blade front, blade back"} <= set(said)

    def test_both_faces_follow_in_relief_at_the_place_and_scale_of_the_map(self, board: tuple[Job, JobReport]) -> None:
        pages = check_pages(*board)[:3]
        on_map, front, back = ({(one.low, one.high) for one in page.items if isinstance(one, Raster)} for page in pages)
        assert len(front) == 1
        assert front == back
        # The map's page has the legend's kinds besides.
        assert front <= on_map
        assert [texts(page)[0].split(": ")[1] for page in pages[1:]] == [
            "the front as the programs leave it",
            "the back as the programs leave it",
        ]
        assert "seen with the blank turned over like a page" in texts(pages[2])[1]


class TestNumbers:
    def test_tabs_are_numbered_as_in_the_report(self, board: tuple[Job, JobReport]) -> None:
        job, report = board
        pages = check_pages(job, report)
        assert len(report.tabs) == 2
        assert {"K1", "K2"} <= set(texts(pages[0]))
        assert any("tab at X -23" in text for text in texts(pages[3]))

    def test_problems_with_a_place_are_numbered_as_in_the_report(self, board: tuple[Job, JobReport]) -> None:
        job, report = board
        more = with_places(report, 4)
        before, after = texts(check_pages(job, report)[0]), texts(check_pages(job, more)[0])
        bold = [label.text for label in check_pages(job, more)[0].labels if label.bold]
        assert len(_made_up(more)) == 4
        assert _made_up(more) <= set(bold)
        assert "fails, number in the report" not in before
        assert "fails, number in the report" in after

    def test_the_pages_after_it_have_every_remark_in_words(self, paddle: tuple[Job, JobReport]) -> None:
        job, report = paddle
        said = " ".join(text for page in check_pages(job, report)[1:] for text in texts(page))
        assert len(report.remarks) > 5
        for remark in report.remarks:
            assert remark.message in said

    def test_a_number_without_room_is_named_in_words(self, board: tuple[Job, JobReport]) -> None:
        job, report = board
        more = with_places(report, 400)
        pages = check_pages(job, more)
        shown = {label.text for label in pages[0].labels if label.bold}
        said = " ".join(text for page in pages[1:] for text in texts(page))
        # Those without a place are not in the picture either, and need no excuse.
        placed = _made_up(more) - shown
        assert len(placed) > 0
        assert said.count("no room for its number") == len(placed)


def _made_up(report: JobReport) -> set[str]:
    """Return the numbers of the findings that a test made up; what fails comes before what the job had."""
    return {f"{number}" for number, one in enumerate(report.remarks, 1) if one.says.startswith("made up")}


class TestRegister:
    def test_the_worst_error_is_marked_where_it_is(self, shifted_pages: list[Page]) -> None:
        assert "worst 0.500 mm" in texts(shifted_pages[0])

    def test_arrows_are_as_long_as_the_legend_says(self, shifted_pages: list[Page]) -> None:
        page = shifted_pages[0]
        said = next(text for text in texts(page) if text.startswith("back against front"))
        factor = float(said.split(", ")[1].split(" ×")[0])
        scale = _said_scale(page)
        tips = [item for item in page.items if isinstance(item, Area) and len(item.points) == 7 and item.grey == 0.0]
        lengths = [_length(arrow) for arrow in tips[:-1]]
        assert len(lengths) > 2
        assert [0.5 * factor * scale] * len(lengths) == pytest.approx(lengths, rel=0.03)
        # They lead from the front to where the back has the same.
        front, back = (next(item for item in _clipped(page) if item.ink == ink) for ink in (FRONT_INK, BACK_INK))
        way = np.mean(np.concatenate(back.lines), axis=0) - np.mean(np.concatenate(front.lines), axis=0)
        ahead = [float(np.subtract(arrow.points[3], arrow.points[0]) @ way) for arrow in tips[:-1]]
        assert min(ahead) > 0.0

    def test_without_an_error_there_are_neither_arrows_nor_a_mark(self, board_pages: list[Page]) -> None:
        page = board_pages[0]
        assert not any("worst" in text or "against" in text for text in texts(page))
        assert not [item for item in page.items if isinstance(item, Area) and len(item.points) == 7]

    def test_the_front_is_drawn_solid_and_the_back_broken(self, shifted_pages: list[Page]) -> None:
        page = shifted_pages[0]
        clipped = _clipped(page)
        assert {("solid", FRONT_INK), ("dashed", BACK_INK)} <= {(item.dash.value, item.ink) for item in clipped}
        front, back = (next(item for item in clipped if item.ink == ink) for ink in (FRONT_INK, BACK_INK))
        # Both edges of one groove, the back's 0.5 mm further along Y.
        assert [len(front.lines), len(back.lines)] == [2, 2]
        tops = [max(float(line[:, 1].max()) for line in face.lines) for face in (front, back)]
        scale = _said_scale(page)
        assert 0.5 * scale == pytest.approx(tops[1] - tops[0], rel=0.05)

    def test_without_profile_programs_the_edge_of_the_cut_is_drawn(self, tmp_path: Path) -> None:
        job = write_board(tmp_path, profile=False)
        page = check_pages(job, check_job(job))[0]
        clipped = _clipped(page)
        assert min(len(item.lines) for item in clipped) > 0


class TestLayout:
    @pytest.mark.parametrize("places", [0, 30])
    def test_labels_neither_overlap_nor_leave_the_page(self, board: tuple[Job, JobReport], places: int) -> None:
        job, report = board
        for page in check_pages(job, with_places(report, places)):
            _assert_readable(page)

    def test_labels_of_a_long_narrow_blank_neither_overlap_nor_leave_the_page(
        self, paddle_pages: list[Page]
    ) -> None:
        for page in paddle_pages:
            _assert_readable(page)

    def test_no_letter_is_smaller_than_what_can_be_read_at_the_bench(self, paddle_pages: list[Page]) -> None:
        assert min(label.size_pt for page in paddle_pages for label in page.labels) >= 8.5

    def test_a_long_narrow_blank_is_shown_over_much_of_the_page(self, paddle_pages: list[Page]) -> None:
        page = paddle_pages[0]
        maps = sorted((item for item in page.items if isinstance(item, Raster)), key=_area)[-2:]
        assert all(max(_size(one)) > 0.4 * max(page.width_mm, page.height_mm) for one in maps)
        # One scale for both sections, which have one width.
        assert min(_size(maps[0])) == pytest.approx(min(_size(maps[1])))


class TestFiles:
    def test_the_same_check_gives_the_same_bytes(self, file_of: Callable[[str], bytes]) -> None:
        # Other kinds of files are written by what writes those of a marking sheet.
        assert file_of("a.svg") == file_of("b.svg")

    def test_an_svg_keeps_lines_as_lines_and_the_map_as_one_image(self, file_of: Callable[[str], bytes]) -> None:
        data = file_of("a.svg")
        root = ElementTree.parse(io.BytesIO(data)).getroot()
        tags = [element.tag.rpartition("}")[2] for element in root.iter()]
        assert tags.count("image") >= 1
        assert tags.count("path") > 50
        assert len(data) < 2_000_000

    def test_it_is_a_png_as_large_as_its_pages(
        self, shifted_pages: list[Page], file_of: Callable[[str], bytes]
    ) -> None:
        from PIL import Image

        with Image.open(io.BytesIO(file_of("a.png"))) as image:
            high = round(sum(page.height_mm for page in shifted_pages) / 25.4 * 150)
            assert image.width == int(shifted_pages[0].width_mm / 25.4 * 150)
            assert image.height == pytest.approx(high, abs=1)

    def test_another_ending_is_refused(self, board: tuple[Job, JobReport]) -> None:
        with pytest.raises(UsageError, match=r"'check\.bmp': a drawing is a \.pdf, a \.svg or a \.png"):
            draw_check(*board, "check.bmp")


def _assert_readable(page: Page) -> None:
    for label in page.labels:
        x0, y0, x1, y1 = label.box
        assert x0 >= 5.0, label
        assert y0 >= 5.0, label
        assert x1 <= page.width_mm - 5.0, label
        assert y1 <= page.height_mm - 5.0, label
    assert overlaps(page.labels) == []


def _clipped(page: Page) -> list[Strokes]:
    """Return the edges of both faces."""
    return [item for item in page.items if isinstance(item, Strokes) and item.within is not None]


def _said_scale(page: Page) -> float:
    """Return the scale in words under the title, which has one decimal."""
    said = next(text for text in texts(page) if text.startswith("Both faces"))
    paper, wood = said.removeprefix("Both faces as seen from the front, ").split(" on ")[0].split(" : ")
    return float(paper) / float(wood)


def _length(arrow: Area) -> float:
    """Return how long a black arrow is, from the middle of its blunt end to its tip."""
    blunt = np.mean([arrow.points[0], arrow.points[-1]], axis=0)
    return float(np.hypot(*(np.array(arrow.points[3]) - blunt)))


def _size(raster: Raster) -> tuple[float, float]:
    return raster.high[0] - raster.low[0], raster.high[1] - raster.low[1]


def _area(raster: Raster) -> float:
    return _size(raster)[0] * _size(raster)[1]
