"""Motions in question are looked at many at once; the finds are those of looking at each by itself."""

import numpy as np
import pytest

from flipreg import interpret, parse
from flipreg.cut.grid import Grid
from flipreg.cut.surface import Surface
from flipreg.job.layout import Layout
from flipreg.path import Path
from flipreg.program.cutters import cutter_of
from flipreg.program.face import FaceProgram
from flipreg.program.setup_face import setup_face
from flipreg.stock.cutting.bite import BiteMeter
from flipreg.stock.cutting.rapids import cut_watched
from flipreg.stock.sections.section import SectionCut
from tests.stock.wood_jobs import TOOLS, part

GRID = Grid(-20.0, -20.0, 0.5, (80, 80))


@pytest.mark.parametrize("seed", range(10))
def test_the_finds_of_a_group_are_those_of_each_motion(seed: int) -> None:
    rng = np.random.default_rng(seed)
    text = "G21 G90 G0 X0 Y0 Z5 F900\n"
    for _ in range(30):
        kind, axes = rng.choice(["G0", "G1"]), rng.choice(["Z", "XY", "XYZ"], p=[0.5, 0.4, 0.1])
        words = [f"{axis}{rng.integers(-3, 3) * (2 if axis == 'Z' else 3)}" for axis in str(axes)]
        text += f"{kind} {' '.join(words)}\n"
    path = interpret(parse(text, source="random.nc"))
    for tool in TOOLS[:2]:
        cut = _cut(path, tool.name)
        assert _lines(cut) == _one_by_one(cut)


def _cut(path: Path, tool: str) -> SectionCut:
    programs = {"front-slot": (tool, "")}
    job = part(programs)
    program = FaceProgram(path, "front-slot", job.tool(tool).diameter_mm)
    face = setup_face(Layout.of(job), job.setups[0], lambda _: program)
    return SectionCut(face, program, job.tool(tool), cutter_of(job.tool(tool)), False, path, None)  # noqa: FBT003 - no profile


def _surface(cut: SectionCut) -> Surface:
    return Surface(GRID, [cut.cutter], top_mm=0.0)


def _lines(cut: SectionCut) -> list[int]:
    surface = _surface(cut)
    return [crash.line for crash in cut_watched(surface, cut, BiteMeter(surface, cut, _surface(cut), 20.0))]


def _one_by_one(cut: SectionCut) -> list[int]:
    """Return the lines of motions that meet wood, looking at every one after all before it."""
    surface, slim, lines = _surface(cut), cut.cutter.slimmed(0.02), []
    for row in range(len(cut.path)):
        motion = cut.path.take(slice(row, row + 1))
        across = bool((motion.start[0, :2] != motion.end[0, :2]).any())
        down = not across and motion.end[0, 2] < motion.start[0, 2]
        asked = not motion.is_cut[0] and (across or down)
        fall = float(motion.start[0, 2] - motion.end[0, 2])
        way = float(np.hypot(*(motion.end[0, :2] - motion.start[0, :2])))
        asked |= bool(cut.tool.plunge is False and motion.is_cut[0] and fall > max(0.0, np.tan(np.radians(15.0)) * way))
        least_mm = 1.0 if motion.is_cut[0] and across else 0.05
        if asked and surface.removed(motion, slim).depth_mm > least_mm:
            lines.append(int(motion.line[0]))
        surface.cut(motion, cut.cutter)
    return lines
