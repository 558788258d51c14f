"""Jobs for the tests of drawings and of the commands of the bench: our own boards, with and without a bend."""

from flipreg.job.blank import Blank, BlankFace, Edge, Grain
from flipreg.job.budget import Budget
from flipreg.job.job import Job
from flipreg.job.mark import Carried, Mark, Square
from flipreg.job.setup import Section, Setup, SetupProgram, Tilt, ZZero
from flipreg.job.tool import Tool, ToolShape

__all__ = ["BOTH", "board", "paddle"]

BOTH = (BlankFace.FRONT, BlankFace.BACK)
TOOLS = (Tool("6 mm flat", ToolShape.FLAT, 6.0),)
PROGRAMS = (SetupProgram("front.nc", "6 mm flat"),)


def board(
    *marks: Mark,
    edge: Edge = Edge.LEFT,
    size_mm: tuple[float, float, float] = (600.0, 200.0, 30.0),
    centre_line_mm: float = 80.0,
    setups: tuple[Setup, ...] | None = None,
    budget: Budget | None = None,
    inch: bool = False,
) -> Job:
    """Return a job of a flat board with a front and a back setup."""
    marks = marks or (Mark("near", BOTH, 50.0), Mark("far", BOTH, 550.0), Mark("side", BOTH, 300.0, 60.0))
    name = marks[0].name
    front = Setup("front", BlankFace.FRONT, None, name, (10.0, 20.0), ZZero.TOP, PROGRAMS)
    back = Setup("back", BlankFace.BACK, "y", name, (-10.0, 20.0), ZZero.TOP, PROGRAMS)
    return Job(
        source="board.toml",
        name="board",
        tolerance_mm=0.2,
        inch=inch,
        blank=Blank(*size_mm, edge=edge, centre_line_mm=centre_line_mm, species="black cherry", grain=Grain.FLAT),
        marks=marks,
        tools=TOOLS,
        setups=setups or (front, back),
        budget=budget,
    )


def paddle() -> Job:
    """Return a job of a blank with a bent far section."""
    marks = (
        Mark("throat", BOTH, 820.0),
        Mark("grip line", BOTH, 90.0),
        Mark("Blattmitte ä", (BlankFace.FRONT,), 1100.0),
        Mark("hinge", (BlankFace.FRONT,), 845.0),
        Mark("hinge, carried", (BlankFace.BACK,), None, carried=Carried("hinge", Square.STRAIGHT)),
    )
    tilt = Tilt("hinge", 12.0, Section.FAR)
    setups = (
        Setup("front shaft", BlankFace.FRONT, None, "throat", (0.0, 40.0), ZZero.TOP, PROGRAMS),
        Setup("back shaft", BlankFace.BACK, "y", "throat", (0.0, -400.0), ZZero.SPOILBOARD, PROGRAMS),
        Setup("front blade", BlankFace.FRONT, None, "hinge", (0.0, 200.0), ZZero.TOP, PROGRAMS, 1, tilt),
        Setup("back blade", BlankFace.BACK, "x", "hinge, carried", (3.0, 200.0), ZZero.TOP, PROGRAMS, 0, tilt),
    )
    return board(*marks, size_mm=(1320.0, 210.0, 34.0), centre_line_mm=105.0, setups=setups)
