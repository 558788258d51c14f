"""The finished thickness at the stations that a job names: a table to compare with a caliper."""

from collections.abc import Iterator, Sequence

from flipreg.cut.grid import Grid
from flipreg.cut.heightmap import height_map_of
from flipreg.findings import Finding, Status
from flipreg.job.blank import BlankFace
from flipreg.job.layout import Layout
from flipreg.program.setup_face import SetupFace
from flipreg.stock.sections.below import near_box
from flipreg.stock.sections.reached import reached
from flipreg.stock.sections.remaining import Thickness
from flipreg.stock.sections.section import SectionCuts, section_name
from flipreg.units import length_text, limit_text

__all__ = ["station_findings", "stations"]

_CELL_MM = 1.0
"""A grid of one cell is right at its centre, however small it is."""
_EQUAL_MM = 1e-4
"""What single precision makes of heights, in millimetres (chosen)."""


def stations(layout: Layout, faces: Sequence[SetupFace], sections: Sequence[SectionCuts]) -> list[Thickness]:
    """Return the finished thickness at every station of the job, exact there, not read off a map."""
    made = []
    for station in layout.job.stations:
        line = layout.line_at(BlankFace.FRONT, station.along_mm)
        at_mm = (station.across_mm, line.y_mm)
        cell = Grid(*at_mm, _CELL_MM, (1, 1))
        name = section_name(line.bend)
        planned = (station.planned_mm, station.tolerance_mm)
        # Where the sections meet, the line square below the station may come out on the other section's back.
        _, low_mm, _, high_mm = layout.section_box_mm(line.bend)
        others = [face for face in faces if face.bend != line.bend]
        if not low_mm <= line.y_mm <= high_mm or bool(reached(layout, line.bend, others, cell).any()):
            made.append(Thickness(station.name, name, at_mm, None, None, None, *planned))
            continue
        cuts = [cut for section in sections if section.name == name for cut in section.cuts]
        depths = []
        for is_front in (True, False):
            own = [
                (near_box(cut.path, at_mm, at_mm, cut.cutter.radius_mm), cut.cutter)
                for cut in cuts
                if cut.face.is_front is is_front
            ]
            depths.append(0.0 - float(height_map_of(own, cell, top_mm=0.0)[0, 0]) if own else 0.0)
        front_mm, back_mm = depths
        left_mm = max(0.0, layout.thickness_mm - front_mm - back_mm)
        made.append(Thickness(station.name, name, at_mm, front_mm, back_mm, left_mm, *planned))
    return made


def station_findings(made: Sequence[Thickness]) -> Iterator[Finding]:
    """Yield a finding of the code 'station' for each whose thickness is planned, or cannot be told."""
    for one in made:
        if one.left_mm is None:
            yield Finding(
                "station",
                Status.NOT_DETERMINED,
                f"station {one.name!r}: a setup of another section cuts there at a slant, or the faces belong to two "
                "sections; its thickness would need a caliper",
                section=one.section,
                at_mm=one.at_mm,
            )
        elif one.planned_mm is not None and one.tolerance_mm is not None:
            off_mm = one.left_mm - one.planned_mm
            is_off = abs(off_mm) > one.tolerance_mm + _EQUAL_MM
            way = "thick" if off_mm > 0.0 else "thin"
            yield Finding(
                "station",
                Status.FAIL if is_off else Status.PASS,
                f"station {one.name!r} is left {length_text(one.left_mm)} thick, planned {limit_text(one.planned_mm)} "
                f"and no more than {limit_text(one.tolerance_mm)} off"
                + (f": too {way} by {length_text(abs(off_mm))}" if is_off else ""),
                section=one.section,
                at_mm=one.at_mm,
            )
