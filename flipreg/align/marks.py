"""What to draw on the blank, how to lay it on the table, and how far to jog from each mark to each program zero.

Distances are those of `flipreg.align.marking_sheet`, in millimetres.
"""

import numpy as np

from flipreg.align.marking_sheet import DrawnMark, FaceSheet, Jog, MarkingSheet, SetupSheet, TableSide
from flipreg.align.planned import planned_marks
from flipreg.geometry.pose import Pose
from flipreg.job.bend import FaceLine
from flipreg.job.blank import BlankFace, Edge
from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.job.mark import Mark, Square
from flipreg.job.pose import blank_from_setup, section_from_setup
from flipreg.job.rules import obeyed
from flipreg.job.setup import Setup, SetupProgram, ZZero

__all__ = ["blank_outlines_mm", "marking_sheet"]

Point = tuple[float, float]


def marking_sheet(job: Job) -> MarkingSheet:
    """Return what to draw, how to lay the blank and how far to jog, for a whole job.

    Raises
    ------
    JobFileError
        If parts of the job contradict each other.
    """
    layout = Layout.of(obeyed(job))
    return MarkingSheet(
        job=job.name,
        inch=job.inch,
        size_mm=(job.blank.length_mm, job.blank.width_mm, layout.thickness_mm),
        edge=job.blank.edge,
        centre_line_mm=job.blank.centre_line_mm,
        faces=tuple(_face(layout, face) for face in BlankFace),
        setups=tuple(_setup(layout, setup) for setup in job.setups),
    )


def _face(layout: Layout, face: BlankFace) -> FaceSheet:
    edge = layout.job.blank.edge
    other = Edge.RIGHT if edge is Edge.LEFT else Edge.LEFT
    marks = [_drawn(layout, mark, face) for mark in layout.job.marks if face in mark.faces]
    bends = [bend for bend in (layout.near, layout.far) if bend is not None]
    return FaceSheet(
        face=face,
        edge_is=edge if face is BlankFace.FRONT else other,
        marks=tuple(sorted(marks, key=lambda mark: mark.along_mm)),
        corners_mm=tuple(layout.along_mm(FaceLine(face, bend, bend.corner(face)[1])) for bend in bends),
    )


def _drawn(layout: Layout, mark: Mark, face: BlankFace) -> DrawnMark:
    place = layout.place(mark, face)
    return DrawnMark(
        name=mark.name,
        along_mm=place.along_mm,
        from_edge_mm=layout.job.blank.from_edge_mm(mark.across_mm),
        on_centre_line=mark.across_mm == 0.0,
        section=None if (layout.near, layout.far) == (None, None) else _section(place.line),
        remark=_remark(mark, place.line),
    )


def _section(line: FaceLine) -> str:
    return "straight" if line.bend is None else "bent"


def _remark(mark: Mark, line: FaceLine) -> str | None:
    if mark.carried is None:
        return None
    origin = mark.carried.from_mark
    if mark.carried.square is Square.RIDGE:
        return f"the ridge opposite {origin!r}, where the planes of this face meet"
    rests = mark.carried.square.value
    return (
        f"carried round the edge from {origin!r} with the square on the {rests} section; "
        f"it comes out on the {_section(line)} section"
    )


def _setup(layout: Layout, setup: Setup) -> SetupSheet:
    job = layout.job
    table_from_section = ~section_from_setup(layout, setup)
    across = -1.0 if job.blank.edge is Edge.LEFT else 1.0
    planned = planned_marks(job, setup)
    names = sorted(planned, key=lambda name: name != setup.mark)
    top = "the face that is up" if setup.tilt is None else "the bent section's face that is up"
    return SetupSheet(
        name=setup.name,
        up=setup.up,
        steps=_steps(setup),
        edge_lies=_side(table_from_section, (across, 0.0, 0.0)),
        near_end_lies=_side(table_from_section, (0.0, -1.0, 0.0)),
        z_zero=f"on {top}" if setup.z_zero is ZZero.TOP else "on the spoilboard",
        jogs=tuple(
            Jog(name, (0.0 - planned[name][0], 0.0 - planned[name][1]), is_reference=name == setup.mark)
            for name in names
        ),
        programs=tuple((program.file, _tools_text(job, program)) for program in setup.programs),
        outlines_mm=blank_outlines_mm(job, setup),
    )


def _tools_text(job: Job, program: SetupProgram) -> str:
    """Return the tools of a program, by name; those of T numbers with the number, in the order of the job file."""
    numbered = {tool.number: tool.name for tool in job.tools if tool.number is not None} if program.tool is None else {}
    numbered |= program.tools
    plain = [] if program.tool is None else [program.tool]
    return ", ".join([*plain, *(_numbered_text(number, name) for number, name in sorted(numbered.items()))])


def _numbered_text(number: int, name: str) -> str:
    """Return a tool with its T number, unless its name has it already."""
    label = f"T{number}"
    return name if name.split(" ")[0] == label else f"{label} {name}"


def _steps(setup: Setup) -> tuple[str, ...]:
    steps = [f"lay the blank with its {setup.up.value} up"]
    if setup.flip_axis is not None:
        how = "like turning a page, the near end stays near"
        if setup.flip_axis == "x":
            how = "end over end, the near end goes to the far side"
        steps[0] += f", turned over about {setup.flip_axis.upper()}: {how}"
    if setup.quarter_turns:
        turns = {1: "a quarter turn", 2: "half a turn", 3: "three quarter turns"}[setup.quarter_turns]
        steps.append(f"turn it on the table by {turns} counter-clockwise, seen from above")
    if setup.tilt is not None:
        tilt = setup.tilt
        steps.append(
            f"tilt it by {abs(tilt.angle_deg):g}° about the line of {tilt.hinge!r} until the {tilt.section.value} "
            "section lies flat"
        )
    return tuple(steps)


def _side(table_from_section: Pose, outwards: tuple[float, float, float]) -> TableSide:
    """Return the side of the table that a direction of the blank points to."""
    x, y, _ = table_from_section.turn(np.array([outwards]))[0].tolist()
    if abs(x) > abs(y):
        return TableSide.RIGHT if x > 0 else TableSide.LEFT
    return TableSide.FAR if y > 0 else TableSide.NEAR


def blank_outlines_mm(job: Job, setup: Setup) -> tuple[tuple[Point, ...], ...]:
    """Return each section of the blank as seen from above in a setup, as corners in its programs' numbers."""
    layout = Layout.of(job)
    face, (x0, x1) = setup.up, layout.job.blank.x_range_mm
    program_from_blank, z = ~blank_from_setup(layout.job, setup), layout.face_z_mm(setup.up)
    outlines = []
    for bend in dict.fromkeys((None, layout.near, layout.far)):
        y0, y1 = layout.ends_mm(bend, face)
        corners = np.array([[x0, y0, z], [x1, y0, z], [x1, y1, z], [x0, y1, z]])
        seen = (program_from_blank @ layout.blank_from_section(bend)).apply(corners)[:, :2].tolist()
        outlines.append(tuple((x, y) for x, y in seen))
    return tuple(outlines)
