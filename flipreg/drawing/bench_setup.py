"""A setup's pages in the bench sheet: its plan, and what a person does there, each with a box to tick."""

from flipreg.drawing.flow import FOOT_MM, TICK_MM, Flow, draw_tick
from flipreg.drawing.page import Align, Label, Page, Stroke, shortened, text_width_mm
from flipreg.drawing.paper import MARGIN_MM, Paper
from flipreg.drawing.setup_plan import PLAN_BESIDE_MM, Plan
from flipreg.report.bench_sheet import BenchSetup, BenchSheet, RunRow

__all__ = ["setup_pages"]

_BOXES_MM = (28.0, 16.0, 5.0)
"""From the right to the boxes of a program: tool in, air run, cut."""
_READ_MM = (29.0, 13.0)
"""From the right to the lines that the readout is written on."""
_ROW_MM = 5.0


def setup_pages(sheet: BenchSheet, number: int, plan: Plan, paper: Paper) -> list[Page]:
    """Lay out the pages of a setup, counted from 1."""
    setup = plan.setup
    name = f"Setup {number} of {len(sheet.setups)}: {setup.sheet.name}"

    def head(page: Page, page_number: int) -> float:
        top, width = page.height_mm - MARGIN_MM, page.width_mm - 2 * MARGIN_MM
        title = shortened(name + (", continued" if page_number > 1 else ""), width, 15.0, bold=True)
        page.add(Label((MARGIN_MM, top - 4), title, 15.0, bold=True))
        what = f"{sheet.marking.job}: {setup.sheet.up.value} up; lengths in {'inch' if sheet.marking.inch else 'mm'}"
        page.add(Label((MARGIN_MM, top - 11), shortened(what, width, 9.5), 9.5))
        return top - 18.0

    flow = Flow(paper, head)
    if plan.stands:
        plan.draw(flow.page, flow.left, flow.left + PLAN_BESIDE_MM, flow.y + 4.0, MARGIN_MM + FOOT_MM)
        flow.left += PLAN_BESIDE_MM + 4.0
    else:
        flow.y = plan.draw(flow.page, flow.left, flow.right, flow.y + 4.0, MARGIN_MM + FOOT_MM)
    _lay(flow, setup)
    _find(flow, setup)
    _run(flow, setup)
    return flow.pages


def _lay(flow: Flow, setup: BenchSetup) -> None:
    flow.heading("Lay and hold the blank")
    for step in setup.sheet.steps:
        flow.tick(f"{step[0].upper()}{step[1:]}.")
    flow.tick(f"The reference edge (thick) is {setup.sheet.edge_lies.value}.")
    flow.tick(f"The near end is {setup.sheet.near_end_lies.value}.")
    for _, words in setup.clamps:
        flow.tick(f"Clamp {words}.")
    if not setup.clamps:
        flow.text("The job file names no clamps, so that none was looked at: keep them and screws out of the path.")
    flow.tick("Held down: neither pull nor lift can move it.")


def _find(flow: Flow, setup: BenchSetup) -> None:
    reference = setup.marks[0][0]
    flow.heading("Find program zero")
    flow.tick(f"Pointer over {reference}, the reference mark. Jog X\u00a0{setup.jog[0]}, Y\u00a0{setup.jog[1]}.")
    if len(setup.offsets) == 1:
        flow.tick(f"Work offset {setup.offsets[0]} chosen: the programs cut in no other.")
    elif setup.offsets:
        flow.tick(f"Work offsets {', '.join(setup.offsets)}: the programs cut in each; zero set in each.")
    flow.tick("X and Y set to 0 there.")
    flow.tick(f"Z set to 0 {setup.sheet.z_zero}.")
    if len(setup.marks) > 1:
        flow.text("Then go over the marks. Write down what the readout says; flipreg touch tells what to do with it.")
    _cells(flow, "pointer over", "X", "Y", bold=True)
    for away, word in zip(_READ_MM, ("X read", "Y read"), strict=True):
        flow.page.add(Label((flow.right - away, flow.y + _ROW_MM), word, 9.0))
    for name, x, y in setup.marks:
        flow.keep(6.5)
        draw_tick(flow.page, (flow.left, flow.y - TICK_MM / 2))
        for away in _READ_MM:
            start = flow.right - away
            flow.page.add(Stroke(((start, flow.y - 2.2), (start + 13.0, flow.y - 2.2)), 0.18))
        _cells(flow, name, x, y, bold=name == reference)
        flow.y -= 1.4


def _run(flow: Flow, setup: BenchSetup) -> None:
    flow.heading("Run, in this order", keep_mm=40.0)
    flow.tick("Eyes, ears and lungs protected, dust extraction on.")
    flow.tick("Nobody near the spindle, emergency stop in reach.")
    _run_heads(flow)
    page = flow.page
    for row in setup.runs:
        flow.keep(14.0)
        if flow.page is not page:
            page = flow.page
            _run_heads(flow)
        _run_row(flow, row)
    flow.text(f"Time of all programs together, without tool changes: {setup.time}.")


def _run_heads(flow: Flow) -> None:
    flow.y -= 1.0
    for away, word in zip(_BOXES_MM, ("tool in", "in air", "cut"), strict=True):
        flow.page.add(Label((flow.right - away + TICK_MM / 2, flow.y), word, 8.5, Align.MIDDLE))
    flow.y -= 5.0


def _run_row(flow: Flow, row: RunRow) -> None:
    page, right = flow.page, flow.right
    room = flow.width - 36.0
    name = row.file if row.number is not None else f"goes on from line {row.from_line}"
    number = "" if row.number is None else f"{row.number}."
    page.add(Label((flow.left, flow.y), number, 9.5, bold=True))
    page.add(Label((flow.left + 8, flow.y), shortened(name, room, 9.5, bold=True), 9.5, bold=True))
    for away in _BOXES_MM:
        draw_tick(page, (right - away, flow.y - TICK_MM / 2 - 1.0))
    tool = f"{row.tool}, time {row.time}" if row.time else row.tool
    # The second line is below the boxes, and has room for its numbers whole.
    lines = [shortened(tool, room, 9.0), f"bites {row.bite}, {row.depth} below the face"]
    page.paragraph((flow.left + 8, flow.y - 4.2), lines, size_pt=9.0)
    flow.y -= 14.0


def _cells(flow: Flow, name: str, x: str, y: str, *, bold: bool) -> None:
    """Write a row of the marks' table: a name after the box to tick, and two numbers that end below each other."""
    left = flow.left + TICK_MM + 2.6
    x_end, y_end = flow.right - 52.0, flow.right - 33.0
    room = x_end - text_width_mm(x, 9.0, bold=bold) - 2.0 - left
    flow.page.add(
        Label((left, flow.y), shortened(name, room, 9.0, bold=bold), 9.0, bold=bold),
        Label((x_end, flow.y), x, 9.0, Align.RIGHT, bold=bold),
        Label((y_end, flow.y), y, 9.0, Align.RIGHT, bold=bold),
    )
    flow.y -= _ROW_MM
