"""The pictures of the README: the thickness map of the paddle, and a page of its bench sheet.

Run this file to draw them again after a drawing or the paddle changed on purpose; look at them before committing.
"""

import io
from dataclasses import replace

from PIL import Image, PngImagePlugin

from flipreg.drawing.bench import bench_pages
from flipreg.drawing.page import Page
from flipreg.drawing.paint import paint
from flipreg.drawing.paper import Paper
from flipreg.drawing.picture import check_pages
from flipreg.job.file.read import read_job
from flipreg.job_check.check import check_job
from flipreg.report.bench_sheet import bench_sheet
from tests.docs.examples import TOP

__all__ = ["FOLDER", "pages", "picture", "said"]

FOLDER = TOP / "docs/pictures"
_JOB = "samples/paddle/job.toml"
_SHRUNK = 0.7
_COLOURS = 200


def pages() -> dict[str, Page]:
    """Return the page of each picture, by the name of its file."""
    job = read_job(TOP / _JOB)
    job = replace(job, source=_JOB)
    report = check_job(job)
    sheet = bench_sheet(job, report, files={}, checked_on="the day you check")
    setup = next(page for page in bench_pages(job, sheet, Paper.A4) if "blade front" in page.labels[0].text)
    return {"thickness-map.png": check_pages(job, report)[0], "bench-sheet.png": setup}


def picture(page: Page) -> bytes:
    """Return a page as a small PNG that knows what is written on it."""
    drawn = Image.open(io.BytesIO(paint([page], "png", title="flipreg").data)).convert("RGB")
    size = (round(drawn.width * _SHRUNK), round(drawn.height * _SHRUNK))
    small = drawn.resize(size, Image.Resampling.LANCZOS).quantize(_COLOURS, dither=Image.Dither.NONE)
    words = PngImagePlugin.PngInfo()
    words.add_itxt("Description", said(page))
    out = io.BytesIO()
    small.save(out, format="png", optimize=True, pnginfo=words)
    return out.getvalue()


def said(page: Page) -> str:
    """Return every word and number on a page."""
    return "\n".join(label.text for label in page.labels)


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, page in pages().items():
        (FOLDER / name).write_bytes(picture(page))
