"""The marking sheet as text for the bench."""

from flipreg.align.marking_sheet import FaceSheet, MarkingSheet, SetupSheet
from flipreg.job.blank import Edge
from flipreg.names import bare_name
from flipreg.report.paragraph import entry, paragraph, table
from flipreg.units import INCH_MM

__all__ = ["bare_length", "blank_text", "marks_text", "signed"]

_LAST = (
    "Touch every mark again with the pointer before the first cut: flipreg touch says what to do with what you read."
)


def bare_length(mm: float, *, inch: bool) -> str:
    """Return a length in the job's unit, without its name: two decimals of a millimetre, up to four of an inch."""
    return f"{mm / INCH_MM:z.4f}".rstrip("0").rstrip(".") if inch else f"{mm:z.2f}"


def blank_text(sheet: MarkingSheet) -> str:
    """Return length, width and thickness of the blank with the job's unit: `370.00 × 240.00 × 22.00 mm`."""
    sizes = " × ".join(bare_length(size, inch=sheet.inch) for size in sheet.size_mm)
    return f"{sizes} {'inch' if sheet.inch else 'mm'}"


def marks_text(sheet: MarkingSheet) -> str:
    """Return the sheet as lines, text of at most 80 columns: the blank, each face, each setup."""
    unit = "inch" if sheet.inch else "mm"
    edge = "left" if sheet.edge is Edge.LEFT else "right"
    lines = [
        *paragraph(f"MARKING SHEET: {sheet.job}"),
        "",
        *entry("Blank", f"{blank_text(sheet)} (length, width, thickness); every length here is in {unit}"),
        *entry(
            "Measure from",
            f"the reference edge: the {edge} one, looking at the front with the near end towards you; and the near end",
        ),
        *entry(
            "Centre line",
            f"{bare_length(sheet.centre_line_mm, inch=sheet.inch)} from the reference edge, on both faces",
        ),
    ]
    for face in sheet.faces:
        lines += ["", *_face(face, sheet)]
    for setup in sheet.setups:
        lines += ["", *_setup(setup, sheet)]
    return "\n".join([*lines, "", *paragraph(_LAST)]) + "\n"


def _face(face: FaceSheet, sheet: MarkingSheet) -> list[str]:
    name = face.face.value.upper()
    lines = paragraph(f"{name} (near end towards you: the reference edge is on your {face.edge_is.value})")
    rows = [("mark", "from the near end", "from the edge", "where")]
    for mark in face.marks:
        along, edge = (bare_length(size, inch=sheet.inch) for size in (mark.along_mm, mark.from_edge_mm))
        where = "on the centre line" if mark.on_centre_line else "beside the centre line"
        section = "" if mark.section is None else f", {mark.section} section"
        rows.append((mark.name, along, edge, where + section))
    lines += table(rows, right="lrrl") if face.marks else ["  no marks"]
    for mark in face.marks:
        if mark.remark is not None:
            lines += paragraph(f"{mark.name}: {mark.remark}.", mark="  - ")
    lines += [
        f"  - the planes of this face meet {bare_length(corner, inch=sheet.inch)} from the near end."
        for corner in face.corners_mm
    ]
    return lines


def _setup(setup: SetupSheet, sheet: MarkingSheet) -> list[str]:
    lines = paragraph(f"SETUP {setup.name}")
    for number, step in enumerate(setup.steps):
        lines += entry("Lay it" if number == 0 else "", f"{step}.")
    lines += entry("Check", f"the reference edge is {setup.edge_lies.value}, the near end {setup.near_end_lies.value}.")
    lines += entry("Z zero", setup.z_zero)
    rows = [("jog from", "X", "Y", "")]
    for jog in setup.jogs:
        x, y = (bare_length(part, inch=sheet.inch) for part in jog.by_mm)
        rows.append(
            (jog.mark, signed(x), signed(y), "<- the reference mark of this setup" if jog.is_reference else "")
        )
    lines += table(rows, right="lrrl")
    for number, (file, tool) in enumerate(setup.programs):
        lines += entry("Then run" if number == 0 else "", f"{bare_name(file)} with {tool}")
    return lines


def signed(text: str) -> str:
    """Return a number with its sign; nought has none."""
    return text if text.startswith("-") or float(text) == 0 else f"+{text}"
