"""The job file's keys, their types and what they mean: the one definition that reading and the JSON Schema share.

Lengths are in the unit the file states, or say their own; angles are in degrees. This module needs pydantic and is
imported when a job is read.
"""

from typing import Annotated, Literal

from pydantic import Field

from flipreg.job.file.budget_table import BudgetTable
from flipreg.job.file.fitted_table import FittedPartTable
from flipreg.job.file.length import LengthField, NoLess, PointField, RangeField, Size
from flipreg.job.file.table import Name, Table

__all__ = [
    "BlankTable",
    "CarriedTable",
    "CheckTable",
    "ClampTable",
    "FileTable",
    "LeastTabTable",
    "MachineTable",
    "MarkTable",
    "ProgramTable",
    "SetupTable",
    "StationTable",
    "TiltTable",
    "ToolTable",
    "TravelTable",
]

_Speed = Annotated[float, Field(gt=0)]
_Number = Annotated[str, Field(pattern=r"^[0-9]{1,9}$")]


class BlankTable(Table):
    """The board that the part is cut from."""

    length: Annotated[Size, Field(description="length along the centre line, measured on the front face")]
    width: Annotated[Size, Field(description="width across the centre line")]
    thickness: Annotated[Size, Field(description="thickness as planned")]
    measured_thickness: Annotated[
        Size | None, Field(description="thickness as measured with a caliper; leave it out until it is measured")
    ] = None
    edge: Annotated[
        Literal["left", "right"],
        Field(description="the edge all lines across are measured from, looking at the front, near end towards you"),
    ]
    centre_line: Annotated[Size, Field(description="distance of the centre line from that edge, on both faces")]
    species: Annotated[Name | None, Field(description="the wood, where its movement counts")] = None
    grain: Annotated[
        Literal["flat-sawn", "quarter-sawn"] | None, Field(description="how the growth rings lie in the board")
    ] = None


class CarriedTable(Table):
    """How the line was carried round the edge from a hinge mark on the other face."""

    from_mark: Annotated[Name, Field(alias="from", description="the hinge mark the line was carried from")]
    square: Annotated[
        Literal["straight", "bent", "ridge"],
        Field(description="the section the square rested on, or ridge for where this face's own planes meet"),
    ]


class MarkTable(Table):
    """A reference mark. The first one is the origin of the blank frame and is on the front."""

    name: Annotated[Name, Field(description="what the mark is called")]
    face: Annotated[Literal["front", "back", "both"], Field(description="the face it is drawn on")]
    along: Annotated[
        NoLess | None,
        Field(description="distance of its line from the near end, measured along the face it is drawn on"),
    ] = None
    across: Annotated[
        LengthField,
        Field(description="how far beside the centre line it is, towards the right edge of the front; usually 0"),
    ] = 0.0
    carried: Annotated[
        CarriedTable | None, Field(description="where its line comes from, instead of a distance along the blank")
    ] = None


class ToolTable(Table):
    """A cutter."""

    name: Annotated[Name, Field(description="what the programs of the setups call it")]
    shape: Annotated[Literal["flat", "ball", "bull", "vee", "drill"], Field(description="shape of its end")]
    diameter: Annotated[Size, Field(description="cutting diameter; of a vee the widest")]
    corner_radius: Annotated[Size | None, Field(description="of a bull nose: radius of the corner")] = None
    angle: Annotated[
        Annotated[float, Field(gt=0, lt=180)] | None, Field(description="of a vee: included angle in degrees")
    ] = None
    point_angle: Annotated[
        Annotated[float, Field(gt=0, le=180)] | None, Field(description="of a drill: point angle in degrees")
    ] = None
    plunge: Annotated[
        bool | None, Field(description="whether it may go straight down into wood; a drill always may")
    ] = None
    ramp_angle: Annotated[
        Annotated[float, Field(gt=0, lt=90)] | None,
        Field(description="with plunge = false: steepest descent in degrees that it can cut; left out: 15"),
    ] = None
    flute_length: Annotated[Size | None, Field(description="how far up its cutting edges reach from the tip")] = None
    number: Annotated[
        Annotated[int, Field(ge=1)] | None, Field(description="the T number that the programs call it by")
    ] = None


class TiltTable(Table):
    """The blank is tilted so that its bent section lies flat."""

    angle: Annotated[
        float,
        Field(
            gt=-90, lt=90, description="degrees the section leans out: positive to the front face, negative to the back"
        ),
    ]
    hinge: Annotated[Name, Field(description="the mark whose line is the hinge, on whichever face it is drawn")]
    section: Annotated[
        Literal["near", "far"], Field(description="on which side of the hinge the bent section is, near end or beyond")
    ]


class ProgramTable(Table):
    """A program, the tools it runs with, and what it may do to the wood."""

    file: Annotated[Name, Field(description="path of the program, from the job file's folder")]
    tool: Annotated[
        Name | None, Field(description="name of its tool; if it changes tools, of the one it starts with")
    ] = None
    tools: Annotated[
        dict[_Number, Name], Field(description="names of its tools by its T numbers, where [[tools]] has no number")
    ] = {}
    profile: Annotated[
        bool,
        Field(description="whether it may part the part from the blank but for tabs, alone or with the other face"),
    ] = False
    through: Annotated[
        bool, Field(description="whether it may open the part: make a hole, a slot or a window in it")
    ] = False
    may_fall: Annotated[
        list[PointField], Field(description="[X, Y] of the program, a point in each piece that it may cut loose")
    ] = []


class ClampTable(Table):
    """A clamp, as a block from the table to its top; all in the program's numbers of its setup."""

    name: Annotated[Name, Field(description="what the clamp is called")]
    x: Annotated[RangeField, Field(description="[low, high] of the program's X")]
    y: Annotated[RangeField, Field(description="[low, high] of the program's Y")]
    top: Annotated[LengthField, Field(description="the program's Z at its highest point")]


class SetupTable(Table):
    """How the blank lies on the table, and what runs."""

    name: Annotated[Name, Field(description="what the setup is called")]
    up: Annotated[Literal["front", "back"], Field(description="the face that is up")]
    flip: Annotated[
        Literal["x", "y"] | None,
        Field(description="with the back up: y if the blank was turned like a page, x if end over end"),
    ] = None
    tilt: Annotated[TiltTable | None, Field(description="the tilt, if a bent section lies flat")] = None
    quarter_turns: Annotated[
        int,
        Field(ge=0, le=3, description="quarter turns of the blank on the table, counter-clockwise seen from above"),
    ] = 0
    mark: Annotated[Name, Field(description="the mark the jog starts from, on the face that is up")]
    zero: Annotated[
        PointField,
        Field(description="the jog from the mark to program zero, [X, Y] of the program"),
    ]
    z_zero: Annotated[Literal["top", "spoilboard"], Field(description="where Z zero is")]
    programs: Annotated[list[ProgramTable], Field(min_length=1, description="the programs in the order they run")]
    machine_zero: Annotated[
        Annotated[list[LengthField], Field(min_length=3, max_length=3)] | None,
        Field(description="where program zero is in the machine's own coordinates, [X, Y, Z]"),
    ] = None
    clamps: Annotated[list[ClampTable], Field(description="the clamps that stand on the table")] = []


class TravelTable(Table):
    """How far the machine's axes go, in its own coordinates."""

    x: Annotated[RangeField | None, Field(description="[low, high] of X")] = None
    y: Annotated[RangeField | None, Field(description="[low, high] of Y")] = None
    z: Annotated[RangeField | None, Field(description="[low, high] of Z")] = None


class MachineTable(Table):
    """The machine that the setups run on."""

    rapid: Annotated[_Speed | None, Field(description="speed of traverses along their way, length a minute")] = None
    acceleration: Annotated[_Speed | None, Field(description="acceleration along the way, length a second squared")] = (
        None
    )
    stop_angle: Annotated[
        float,
        Field(ge=0, le=180, description="degrees; sharper corners are taken as stops in the estimate of time"),
    ] = 10.0
    travel: Annotated[
        TravelTable | None, Field(description="how far the axes go, in the machine's own coordinates")
    ] = None


class LeastTabTable(Table):
    """The least that a tab is to be."""

    thickness: Annotated[Size, Field(description="least thickness")]
    width: Annotated[Size, Field(description="least width, across the way from the part to the blank")]


class CheckTable(Table):
    """What the check looks for beside register, and how closely."""

    grid: Annotated[Size | None, Field(description="step of the height maps")] = None
    least_web: Annotated[
        Size | None, Field(description="least wood that is to be left between cuts of both faces")
    ] = None
    least_tab: Annotated[
        LeastTabTable | None, Field(description="least that a tab is to be; left out: 0.5 mm thick and 1 mm wide")
    ] = None
    most_into_spoilboard: Annotated[
        NoLess | None,
        Field(description="deepest that a cut may go into what the blank lies on; left out: more than 5 mm fails"),
    ] = None
    over_zero_at: Annotated[
        LengthField | None,
        Field(description="every program starts and ends over program zero, at this Z of its own numbers or higher"),
    ] = None
    clearance: Annotated[NoLess, Field(description="how far the cutter is to keep from clamps")] = 0.0


class StationThicknessTable(Table):
    """What is planned to be left at a station."""

    planned: Annotated[Size, Field(description="the finished thickness")]
    tolerance: Annotated[NoLess, Field(description="how far off it may be, either way")]


class StationTable(Table):
    """A place where the finished thickness is wanted."""

    name: Annotated[Name, Field(description="what the station is called")]
    along: Annotated[NoLess, Field(description="distance from the near end, measured along the front")]
    across: Annotated[
        LengthField, Field(description="how far beside the centre line it is, towards the right edge of the front")
    ] = 0.0
    thickness: Annotated[
        StationThicknessTable | None, Field(description="what is planned to be left; missing it fails the check")
    ] = None


class FileTable(Table):
    """A job of flipreg: the blank, its marks, the tools and the setups in order."""

    name: Annotated[Name, Field(description="name of the part")]
    units: Annotated[Literal["mm", "inch"], Field(description="the unit of every length in this file that says none")]
    tolerance: Annotated[
        Size, Field(description="largest register error, in any direction, that is still one part; a radius")
    ]
    register_by: Annotated[
        Literal["by marks"] | None,
        Field(alias="register", description="what register rests on where the programs cannot show it"),
    ] = None
    blank: Annotated[BlankTable, Field(description="the board that the part is cut from")]
    marks: Annotated[list[MarkTable], Field(min_length=1, description="the reference marks; the first is the origin")]
    tools: Annotated[list[ToolTable], Field(min_length=1, description="the cutters")]
    setups: Annotated[list[SetupTable], Field(min_length=1, description="the setups in the order they are cut")]
    budget: Annotated[BudgetTable | None, Field(description="how exactly the work is done, for the error budget")] = (
        None
    )
    machine: Annotated[MachineTable | None, Field(description="the machine that the setups run on")] = None
    check: Annotated[CheckTable | None, Field(description="what the check looks for beside register")] = None
    stations: Annotated[list[StationTable], Field(description="where the finished thickness is wanted")] = []
    fitted_parts: Annotated[list[FittedPartTable], Field(description="parts that lie in pockets of this one")] = []
    passive: Annotated[
        list[Annotated[str, Field(pattern=r"^[GgMm][0-9]{1,4}(\.[0-9])?$")]],
        Field(description="codes of the machine's own in the programs that move nothing, such as M25"),
    ] = []
