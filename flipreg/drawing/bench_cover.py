"""The first pages of the bench sheet: the verdict, what to read, the order of work, the files, and the cautions."""

from flipreg.drawing.flow import TICK_MM, Flow, draw_tick
from flipreg.drawing.page import Label, Page, Stroke, shortened
from flipreg.drawing.paper import MARGIN_MM, Paper
from flipreg.report.bench_sheet import BenchSheet
from flipreg.report.marks import blank_text

__all__ = ["cover_pages"]

_CAUTIONS = (
    "Wear eye and ear protection; extract the dust and wear a mask against what remains.",
    "Hold the blank so that neither pull nor lift can move it, and keep clamps and screws out of the path.",
    "Run each new program in the air above the work first, with nobody near the running spindle and the emergency "
    "stop in reach.",
    "The machine maker's manual, your local rules and trained supervision come before anything written here.",
    "This is worked out from programs and the job file; it does not say that a cut is safe.",
)


def cover_pages(sheet: BenchSheet, paper: Paper) -> list[Page]:
    """Lay out the first pages; one is enough for most jobs."""

    def head(page: Page, number: int) -> float:
        top, width = page.height_mm - MARGIN_MM, page.width_mm - 2 * MARGIN_MM
        title = f"Bench sheet: {sheet.marking.job}" + (", continued" if number > 1 else "")
        page.add(Label((MARGIN_MM, top - 4), shortened(title, width, 15.0, bold=True), 15.0, bold=True))
        return top - 14.0

    flow = Flow(paper, head)
    flow.text(f"Blank {blank_text(sheet.marking)} (length, width, thickness)")
    flow.text(f"{sheet.source}, checked on {sheet.checked_on}")
    _verdict(flow, sheet)
    if sheet.figures:
        flow.heading("Keep in mind")
        for what, figure in sheet.figures:
            _entry(flow, what, figure)
    _setups(flow, sheet)
    flow.heading("Before you cut", keep_mm=40.0)
    for caution in _CAUTIONS:
        flow.text(caution, size_pt=9.0, mark="–")
    _files(flow, sheet)
    return flow.pages


def _verdict(flow: Flow, sheet: BenchSheet) -> None:
    flow.y -= 2.0
    top = flow.y + 3.0
    for number, words in enumerate(sheet.verdict):
        flow.text(words, size_pt=11.0 if number == 0 else 9.5, bold=True)
    if sheet.to_do is not None:
        flow.text(f"What to do: {sheet.to_do}")
    if len(flow.pages) == 1:
        x = flow.left - 4.0
        flow.page.add(Stroke(((x, top), (x, flow.y + 3.5)), 1.0))
    if sheet.remarks:
        flow.heading("To read before the first cut")
    for number, _, words in sheet.remarks:
        flow.text(words, size_pt=9.0, mark=f"{number}.")


def _setups(flow: Flow, sheet: BenchSheet) -> None:
    flow.heading("Order of work")
    for number, setup in enumerate(sheet.setups, 1):
        flow.keep(6.0)
        count = len(setup.face.programs)
        draw_tick(flow.page, (flow.left, flow.y - TICK_MM / 2))
        name = shortened(f"{number}. {setup.sheet.name}", 70.0, 9.0)
        programs = "1 program" if count == 1 else f"{count} programs"
        up = f"{setup.sheet.up.value} up"
        flow.row([(7.0, name), (80.0, up), (105.0, programs), (135.0, f"time {setup.time}")])
        flow.y -= 0.6


def _files(flow: Flow, sheet: BenchSheet) -> None:
    flow.heading("The files that this holds for", keep_mm=30.0)
    flow.text(
        "A changed file has another size or hash (the first ten digits of its SHA-256): check the job again then. "
        "Tick what you compared on the machine.",
        size_pt=9.0,
    )
    columns = (7.0, 110.0, 140.0)
    flow.row(list(zip(columns, ("file", "bytes", "SHA-256"), strict=True)), bold=True)
    for path, file in sheet.files:
        flow.keep(6.0)
        draw_tick(flow.page, (flow.left, flow.y - TICK_MM / 2))
        flow.row(list(zip(columns, (shortened(path, 98.0, 9.0), *file.words), strict=True)))
        flow.y -= 0.6


def _entry(flow: Flow, what: str, text: str) -> None:
    left = flow.left
    flow.keep(6.0)
    flow.page.add(Label((left, flow.y), what, 9.5, bold=True))
    flow.left = left + 32.0
    flow.text(text)
    flow.left = left
