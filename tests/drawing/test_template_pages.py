"""Templates: sections of the part at true size, whole, with what is planned, on either paper."""

from pathlib import Path

import numpy as np
import pytest

from flipreg.drawing.bench import bench_pages
from flipreg.drawing.page import Page, Strokes
from flipreg.drawing.paper import Paper
from flipreg.drawing.template_pages import template_pages
from flipreg.errors import UsageError
from flipreg.stock.cross_section import CrossSection
from flipreg.stock.sections.remaining import Thickness
from tests.commands.command import run
from tests.drawing.bench_job import sheet_of
from tests.drawing.board_job import write_board

_STATION = '\n[[stations]]\nname = "middle"\nalong = 50\nthickness = { planned = 19.5, tolerance = 0.6 }\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_board(tmp_path)
    job = tmp_path / "job.toml"
    job.write_text(job.read_text() + _STATION)
    return tmp_path


@pytest.mark.parametrize("paper", Paper)
def test_a_section_has_the_size_of_the_part_on_paper(folder: Path, paper: Paper) -> None:
    (page,) = _templates(bench_pages(*sheet_of(folder), paper, templates=True))
    front, back = _curves(page)
    # The part is 40 mm wide and 20 mm thick in the middle; the paper goes on by 10 mm on either side.
    assert np.ptp(front[:, 0]) == pytest.approx(60.0, abs=1.0)
    middle = len(front) // 2
    assert front[middle, 1] - back[middle, 1] == pytest.approx(20.0, abs=1e-3)
    assert page.width_mm == paper.lying_mm[0]


def test_the_thickness_stands_at_the_middle_and_at_quarter_widths_beside_what_is_planned(folder: Path) -> None:
    (page,) = _templates(bench_pages(*sheet_of(folder), Paper.A4, templates=True))
    texts = [label.text for label in page.labels]
    assert texts.count("20.00") == 3
    assert "middle: 20.00 thick in the middle, 20.00 at the station (planned 19.5 ± 0.6)" in texts


def test_sizes_and_heights_are_those_of_the_surfaces_where_they_are_said() -> None:
    section = _section(80.0)
    assert section.thickness_at(0.25) == pytest.approx((-20.0, 12.5))
    (page,) = template_pages([section], Paper.A4, "wedge", inch=False)
    assert {"12.50", "15.00", "17.50"} <= {label.text for label in page.labels}
    front, back = _curves(page)
    assert np.ptp(back[:, 1]) == pytest.approx(0.0)
    # From 10 mm thick at the left edge to 20 mm at the right one, which is one in eight.
    slope = np.polyfit(front[5:-5, 0], front[5:-5, 1], 1)[0]
    assert slope == pytest.approx(10.0 / 80.0, abs=1e-6)


@pytest.mark.parametrize("paper", Paper)
def test_a_section_wider_than_the_paper_is_drawn_in_parts_that_share_ten_millimetres(paper: Paper) -> None:
    pages = template_pages([_section(700.0)], paper, "wide", inch=True)
    spans = [np.ptp(curve[:, 0]) for page in pages for curve in _curves(page)[::2]]
    assert len(spans) == 3
    assert sum(spans) - 2 * 10.0 == pytest.approx(720.0, abs=1.0)
    for page in pages:
        for curve in _curves(page):
            assert curve[:, 0].min() >= 12.0 - 1e-6
            assert curve[:, 0].max() <= page.width_mm - 12.0 + 1e-6


def test_templates_without_a_station_are_refused_and_nothing_is_written(tmp_path: Path) -> None:
    write_board(tmp_path)
    with pytest.raises(UsageError, match="templates are sections at stations"):
        bench_pages(*sheet_of(tmp_path), Paper.A4, templates=True)
    sheet = tmp_path / "job.pdf"
    status, out, err = run(["sheet", str(tmp_path / "job.toml"), "-o", str(sheet), "--templates"])
    assert (status, out) == (2, b"")
    assert "name places of the part under [[stations]]" in err
    assert not sheet.exists()


def _section(width_mm: float) -> CrossSection:
    """Return a section with a level back, 10 mm thick at its left edge and 20 mm at its right one."""
    x = np.linspace(-width_mm / 2, width_mm / 2, round(width_mm * 5) + 1)
    station = Thickness("wedge", "straight", (0.0, 0.0), 0.0, 0.0, 15.0)
    return CrossSection(station, x, -10.0 + 10.0 * np.linspace(0.0, 1.0, len(x)), np.full(len(x), -20.0))


def _templates(pages: list[Page]) -> list[Page]:
    return [page for page in pages if any(label.text.startswith("Templates 1:1") for label in page.labels)]


def _curves(page: Page) -> list[np.ndarray[tuple[int, ...], np.dtype[np.float64]]]:
    """Return the curves of a page: of each drawing the front, then the back."""
    return [line for item in page.items if isinstance(item, Strokes) and item.width_mm == 0.35 for line in item.lines]
