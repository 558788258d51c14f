from pathlib import Path

import pytest

from flipreg.job.file.read import read_job
from flipreg.job_check.check import check_job

TRAY = Path(__file__).parents[3] / "samples/tray"


def test_the_job_is_in_register_with_its_five_tabs_as_the_readme_has_them() -> None:
    report = check_job(read_job(str(TRAY / "job.toml")))
    assert (report.in_register, report.fails) == (True, False)
    assert len(report.tabs) == 5
    assert pytest.approx([tab.thickness_mm for _, tab in report.tabs], abs=0.05) == [6.0] * 5
    # The hollow is 11 mm deep, the recess in the back 2 mm, the blank 22 mm thick; cusps are at most s²/8r high,
    # for passes 1.4 mm apart with a ball of 6 mm.
    (left,) = report.left
    row, column = (
        round((at - low) / left.grid.step_mm) for at, low in ((170.0, left.grid.y_mm), (0.0, left.grid.x_mm))
    )
    assert 9.0 - 1e-3 <= float(left.faces.left_mm[row, column]) <= 9.0 + 1.4**2 / 24 + 1e-3
