"""The shapes that tools leave."""

from flipreg.cut.tool import Cutter
from flipreg.job.tool import Tool, ToolShape

__all__ = ["cutter_of"]


def cutter_of(tool: Tool) -> Cutter:
    """Return the shape of a tool; a drill whose point is not known is taken as flat, which cuts most."""
    size = tool.diameter_mm
    if tool.shape is ToolShape.BULL:
        assert tool.corner_radius_mm is not None
        return Cutter.bull(size, tool.corner_radius_mm)
    if tool.shape is ToolShape.VEE:
        assert tool.angle_deg is not None
        return Cutter.vee(size, tool.angle_deg)
    if tool.shape is ToolShape.DRILL:
        return Cutter.drill(size, 180.0 if tool.angle_deg is None else tool.angle_deg)
    return Cutter.ball(size) if tool.shape is ToolShape.BALL else Cutter.flat(size)
