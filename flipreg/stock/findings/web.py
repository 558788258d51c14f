"""Findings on the thinnest wood of the part, whether or not the job says how thin it may be."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.labelled import label
from flipreg.cut.regions import widened
from flipreg.cut.thickness import Web, thinnest_web
from flipreg.findings import Finding, Status
from flipreg.job.layout import Layout
from flipreg.stock.sections.kerf import Kerf
from flipreg.stock.sections.remaining import RemainingStock
from flipreg.stock.sections.section import SectionCuts
from flipreg.units import length_text, limit_text, place_text

__all__ = ["LEAST_WEB_MM", "LOOK", "Webs", "web_findings", "webs"]

Bools = NDArray[np.bool_]

LEAST_WEB_MM = 0.5
"""Wood thinner than this fails where the job says nothing: no wood stays so thin under a cutter (common practice)."""
_FLAT_TOOLS = 0.2
"""Wood that is as thick over this many diameters of the narrowest cutter each way is a floor's, no rounding's
(chosen)."""
_SAME_MM = 0.02
"""Over that width it differs by no more than this; millimetres (chosen)."""
_LEAST_WEB, LOOK = "least_web in [check]", "a look at the drawing (--picture)"
"""What settles what is not determined."""
_RIM_CELLS = 2
"""The thin maps see a cut wider by less than this many cells: beside a wall they read the cut (chosen)."""


@dataclass(frozen=True, slots=True)
class Webs:
    """The thinnest wood of a section's part.

    Attributes
    ----------
    thinnest : Web or None
        Away from rounded edges; None where nothing is cut.
    at_edge : Web or None
        The thinnest in the strip along the part's edge where the wood runs out to the kerf, if it is thinner than
        what is wanted there: a rounded edge, or too thin.
    beyond : Web or None
        The thinnest on the other side of a kerf that does not go all round a piece, so that it may be the part as well.
    blind_mm : float
        Nearer than this to the kerf and to openings that are meant nothing is said; 0 without any.
    """

    thinnest: Web | None
    at_edge: Web | None
    beyond: Web | None
    blind_mm: float


def webs(left: RemainingStock, section: SectionCuts, kerf: Kerf, layout: Layout, open_cells: Bools) -> Webs:
    """Return the thinnest wood of a section; `open_cells` are those of its kerf and of openings that are meant."""
    thin, plain = left.thin, left.faces
    where = left.known & plain.is_left & ((thin.front_mm < 0.0) | (thin.back_mm > -thin.blank_mm))
    open_cells = open_cells | kerf.cells
    beside = widened(open_cells, _RIM_CELLS)
    where &= ~open_cells
    # Where no program is meant to part the part off, nobody knows which side of a kerf it is.
    blind_mm = _RIM_CELLS * left.grid.step_mm if bool(open_cells.any()) else 0.0
    beyond = None
    if any(edge.cut.is_profile for edge in kerf.edges):
        other = where & ~kerf.part & ~beside
        if bool(other.any()) and not kerf.is_all_round:
            beyond = thinnest_web(thin, where=other)
        where &= kerf.part
    if not bool(where.any()):
        return Webs(None, None, beyond, blind_mm)
    wanted_mm = _wanted(layout)
    if not bool(kerf.cells.any()):
        return Webs(thinnest_web(thin, where=where & ~beside), None, None, blind_mm)
    low = where & thin.is_thinner(max(wanted_mm, LEAST_WEB_MM))
    at_edge = None
    widest_mm = max(cut.tool.diameter_mm for cut in section.cuts)
    strip = widened(kerf.cells, int(np.ceil(widest_mm / left.grid.step_mm)))
    if bool(low.any()):
        places = label(low & strip)
        runs_out = places.named(places.under(beside & low))
        if bool((runs_out & ~beside).any()):
            runs_out &= ~_flat(runs_out & ~beside, thin.left_mm, section, left)
        # The rim itself reads the kerf; what is said of the strip is said of the cells behind it.
        if bool((runs_out & ~beside).any()):
            at_edge = thinnest_web(thin, where=runs_out & ~beside)
        where &= ~runs_out
    # In the strip only what is too thin counts: how thick a rounded edge is on its way out says nothing.
    asked = where & ~beside & (low | ~strip)
    if not bool(asked.any()):
        asked = where & ~beside
    return Webs(thinnest_web(thin, where=asked), at_edge, beyond, blind_mm)


def _flat(cells: Bools, left_mm: NDArray[np.float32], section: SectionCuts, left: RemainingStock) -> Bools:
    """Return the cells of a strip that are as thick over a width that no rounded edge has: floors beside the kerf."""
    narrowest_mm = min(cut.tool.diameter_mm for cut in section.cuts)
    reach = max(2, int(np.ceil(_FLAT_TOOLS * narrowest_mm / left.grid.step_mm)))
    least = np.float32(_SAME_MM / (2.0 * reach))
    is_level = cells.copy()
    is_level[1:] &= np.abs(np.diff(left_mm, axis=0)) <= least
    is_level[:, 1:] &= np.abs(np.diff(left_mm, axis=1)) <= least
    # Only where the whole square is asked about: at its rim nothing tells a floor from a slope.
    return widened(~widened(~is_level, reach), reach) & is_level


def web_findings(left: RemainingStock, found: Webs, layout: Layout) -> Iterator[Finding]:
    """Yield findings of the code 'web': the thinnest place, and the strip along the edge if it may be too thin."""
    least = layout.job.limits.least_web_mm
    if found.thinnest is not None:
        web_mm, says = _says(left, found.thinnest)
        settle = None
        says = f"{left.lead}the thinnest web is {says}"
        if web_mm < _wanted(layout):
            status = Status.FAIL
            says += f" (at least {limit_text(_wanted(layout))} wanted)" if least is not None else _nothing_said()
        elif least is None:
            status, settle = Status.NOT_DETERMINED, _LEAST_WEB
            says += f"; whether that is enough would need {_LEAST_WEB}"
        else:
            status, says = Status.PASS, f"{says} (at least {limit_text(least)} wanted)"
        if found.blind_mm:
            says += f"; within {length_text(found.blind_mm)} of the kerf and of openings nothing can be told"
        yield Finding("web", status, says, section=left.name, at_mm=found.thinnest.at_mm, settle=settle)
    if found.beyond is not None:
        web_mm, says = _says(left, found.beyond)
        settle = None
        says = f"{left.lead}on the other side of the kerf the thinnest web is {says}"
        if web_mm < _wanted(layout):
            settle = LOOK
            says += f"; the kerf goes all round neither side, so whether that is the part needs {LOOK}"
        elif least is None:
            settle = _LEAST_WEB
            says += f"; whether that is enough would need {_LEAST_WEB}"
        passes = least is not None and web_mm >= least
        status = Status.PASS if passes else Status.NOT_DETERMINED
        yield Finding("web", status, says, section=left.name, at_mm=found.beyond.at_mm, settle=settle)
    if found.at_edge is not None:
        _, says = _says(left, found.at_edge)
        yield Finding(
            "web",
            Status.NOT_DETERMINED,
            f"{left.lead}along the part's edge the wood runs out, to {says}; whether that is the edge's own "
            f"rounding the programs do not say, it would need {LOOK}",
            section=left.name,
            at_mm=found.at_edge.at_mm,
            settle=LOOK,
        )


def _says(left: RemainingStock, web: Web) -> tuple[float, str]:
    x_mm, y_mm = web.at_mm
    web_mm = max(0.0, web.left_mm)
    return web_mm, (
        f"{length_text(web_mm)}, at {place_text((x_mm, y_mm))}, front cut to {length_text(abs(web.front_mm))} and "
        f"back to {length_text(abs(left.thin.blank_mm + web.back_mm))}"
    )


def _nothing_said() -> str:
    return f"; less than {limit_text(LEAST_WEB_MM)} is no web that stays, unless least_web in [check] says less"


def _wanted(layout: Layout) -> float:
    least = layout.job.limits.least_web_mm
    return LEAST_WEB_MM if least is None else least
