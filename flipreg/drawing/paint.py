"""Pages painted with matplotlib: PDF, SVG or PNG as bytes, the same bytes for the same pages."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from flipreg.drawing.numbered_letters import with_numbers
from flipreg.drawing.page import POINT_MM, Align, Area, Dash, Item, Label, Page, Raster, Strokes, text_width_mm
from flipreg.drawing.typeface import Typeface, runs_of
from flipreg.errors import UsageError
from flipreg.units import INCH_MM

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["Drawing", "demand_pdf", "file_format", "paint"]

_PNG_DPI = 150
_PNG_LEVEL = 3
"""How hard a PNG is packed (chosen, measured): the usual 6 takes half as long again for a file 7 % smaller."""
_FORMATS = ("pdf", "png", "svg")
_DASHES = {Dash.SOLID: "-", Dash.DASHED: (0, (6, 3)), Dash.CHAIN: (0, (14, 3, 2, 3)), Dash.DOTTED: (0, (1.2, 2.4))}
_SIDES: dict[Align, Literal["left", "center", "right"]] = {
    Align.LEFT: "left",
    Align.MIDDLE: "center",
    Align.RIGHT: "right",
}
_BASELINE = 0.36
"""How far below the middle of the letters their baseline is, against their size."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """A painted file.

    Attributes
    ----------
    data : bytes
        The file.
    pages : int
        How many sheets of paper it is for.
    notes : tuple of str
        What could not be painted as it should be.
    """

    data: bytes
    pages: int
    notes: tuple[str, ...]


def file_format(name: str) -> str:
    """Return 'pdf', 'png' or 'svg' by the ending of a file's name.

    Raises
    ------
    UsageError
        If it ends otherwise.
    """
    ending = name.rpartition(".")[2].lower()
    if ending not in _FORMATS:
        raise UsageError(f"{name!r}: a drawing is a .pdf, a .svg or a .png")
    return ending


def demand_pdf(name: str, what: str) -> None:
    """Raise a `UsageError` where the file of what is printed 1:1 is no PDF: only that has pages and a size."""
    if not name.lower().endswith(".pdf"):
        raise UsageError(f"{name!r}: {what} needs a .pdf, which has pages and a size")


def paint(pages: Sequence[Page], kind: str, *, title: str) -> Drawing:
    """Paint pages: a PDF with a page each, or one picture with the pages under each other.

    Parameters
    ----------
    pages : sequence of Page
        At least one.
    kind : str
        'pdf', 'png' or 'svg'.
    title : str
        What the file says it is.
    """
    from matplotlib import rc_context

    shown, notes = with_numbers(pages)
    # The salt fixes the ids in an SVG, which are random otherwise; type 42 keeps letters selectable in a PDF.
    with rc_context({"svg.hashsalt": "flipreg", "svg.fonttype": "path", "pdf.fonttype": 42, "path.simplify": False}):
        data = _pdf(shown, title) if kind == "pdf" else _picture(shown, kind, title)
    return Drawing(data, len(shown), notes)


def _pdf(pages: Sequence[Page], title: str) -> bytes:
    from matplotlib.backends.backend_pdf import PdfPages

    out = io.BytesIO()
    # No date: the same job gives the same file.
    with PdfPages(out, metadata={"Title": title, "CreationDate": None}) as book:
        for page in pages:
            book.savefig(_figure([page]))
    return out.getvalue()


def _picture(pages: Sequence[Page], kind: str, title: str) -> bytes:
    out = io.BytesIO()
    if kind == "svg":
        _figure(pages).savefig(out, format=kind, dpi=_PNG_DPI, metadata={"Title": title, "Date": None})
    else:
        metadata = {"Title": title, "Software": None}
        packed = {"compress_level": _PNG_LEVEL}
        _figure(pages).savefig(out, format=kind, dpi=_PNG_DPI, metadata=metadata, pil_kwargs=packed)
    return out.getvalue()


def _figure(pages: Sequence[Page]) -> "Figure":
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    width, height = max(page.width_mm for page in pages), sum(page.height_mm for page in pages)
    figure = Figure(figsize=(width / INCH_MM, height / INCH_MM), facecolor="white")
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_xlim(0, width)
    axes.set_ylim(0, height)
    axes.set_axis_off()
    top = height
    for page in pages:
        top -= page.height_mm
        for order, item in enumerate(page.items):
            _paint_item(axes, item, top, order)
    return figure


def _paint_item(axes: "Axes", item: Item, up: float, order: int) -> None:
    if isinstance(item, Label):
        _paint_label(axes, item, up, order)
    elif isinstance(item, Raster):
        (x0, y0), (x1, y1) = item.low, item.high
        axes.imshow(
            item.pixels, extent=(x0, x1, y0 + up, y1 + up), aspect="auto", interpolation="nearest", zorder=order
        )
    elif isinstance(item, Strokes):
        _paint_strokes(axes, item, up, order)
    else:
        x, y = zip(*((x, y + up) for x, y in item.points), strict=True)
        if isinstance(item, Area):
            axes.fill(x, y, color=str(item.grey) if item.ink is None else item.ink, linewidth=0, zorder=order)
            return
        axes.plot(
            x, y, color=item.ink, linewidth=item.width_mm / POINT_MM, linestyle=_DASHES[item.dash], zorder=order,
            solid_capstyle="butt", dash_capstyle="butt", scalex=False, scaley=False,
        )  # fmt: skip


def _paint_strokes(axes: "Axes", strokes: Strokes, up: float, order: int) -> None:
    import numpy as np
    from matplotlib.collections import LineCollection
    from matplotlib.patches import Rectangle

    lines = LineCollection(
        [np.add(line, (0.0, up)) for line in strokes.lines],
        colors=strokes.ink,
        linewidths=strokes.width_mm / POINT_MM,
        linestyles=[_DASHES[strokes.dash]],
        capstyle="butt",
        zorder=order,
    )
    axes.add_collection(lines, autolim=False)
    if strokes.within is not None:
        x0, y0, x1, y1 = strokes.within
        lines.set_clip_path(Rectangle((x0, y0 + up), x1 - x0, y1 - y0, transform=axes.transData))


def _paint_label(axes: "Axes", label: Label, up: float, order: int) -> None:
    x, y = label.at
    below = _BASELINE * label.size_pt * POINT_MM
    place = (x + below, y + up) if label.upright else (x, y + up - below)
    if any(face.file for face, _ in runs_of(label.text)):
        _paint_outlines(axes, label, place, order)
        return
    axes.text(
        *place,
        label.text,
        fontproperties=Typeface().properties(label.size_pt, bold=label.bold),
        rotation=90 if label.upright else 0,
        rotation_mode="anchor",
        ha=_SIDES[label.align],
        va="baseline",
        parse_math=False,
        color=label.ink,
        zorder=order,
    )


def _paint_outlines(axes: "Axes", label: Label, place: tuple[float, float], order: int) -> None:
    """Paint a text of another typeface by its outlines: not every kind of font file can be put into a PDF."""
    from matplotlib.patches import PathPatch
    from matplotlib.textpath import TextPath
    from matplotlib.transforms import Affine2D

    before = {Align.LEFT: 0.0, Align.MIDDLE: 0.5, Align.RIGHT: 1.0}[label.align]
    along = -before * text_width_mm(label.text, label.size_pt, bold=label.bold)
    turned = Affine2D().rotate_deg(90.0 if label.upright else 0.0).translate(*place)
    for face, run in runs_of(label.text):
        # A dollar is a dollar.
        font = face.properties(label.size_pt, bold=label.bold)
        path = TextPath((0.0, 0.0), run.replace("$", r"\$"), prop=font)
        lies = Affine2D().scale(POINT_MM).translate(along, 0.0) + turned
        axes.add_patch(PathPatch(lies.transform_path(path), color=label.ink, linewidth=0.0, zorder=order))
        along += text_width_mm(run, label.size_pt, bold=label.bold)
