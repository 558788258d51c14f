"""What setups do to sections that do not lie flat in them, compared with points of the slanting cutter itself."""

from dataclasses import replace

import numpy as np
import pytest

from flipreg import interpret, parse
from flipreg.cut.grid import Grid
from flipreg.findings import Status
from flipreg.job.blank import Blank, BlankFace, Edge
from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.job.mark import Mark
from flipreg.job.setup import Section, Setup, SetupProgram, Tilt, ZZero
from flipreg.program.face import FaceProgram
from flipreg.program.setup_face import SetupFace, setup_face
from flipreg.stock.cutting.slanted import plan_of
from flipreg.stock.sections.reached import reached
from tests.stock.wood_jobs import HEAD, TAIL, checked, part, pocket, said, statuses

FLAT = "6 flat"
THICK_MM = 20.0


def _bent(programs: dict[str, tuple[str, str]], *, angle_deg: float, up: BlankFace, section: Section) -> Job:
    """Return a board of 300 x 60 x 20 mm with a bend in its middle; 'bent' programs cut the bent section."""
    job = part({name: said for name, said in programs.items() if not name.startswith("bent")} or programs)
    near = section is Section.NEAR
    bent = Setup(
        "bent",
        up,
        None if up is BlankFace.FRONT else "y",
        "H",
        (0.0, 0.0),
        ZZero.TOP,
        tuple(SetupProgram(name, tool) for name, (tool, _) in programs.items() if name.startswith("bent")),
        tilt=Tilt("H", angle_deg, section),
    )
    setups = tuple(setup for setup in job.setups if not setup.programs[0].file.startswith("bent"))
    return replace(
        job,
        blank=Blank(300.0, 60.0, THICK_MM, Edge.LEFT, 30.0),
        marks=(
            Mark("A", (BlankFace.FRONT, BlankFace.BACK), 240.0 if near else 60.0),
            Mark("H", (up,), 150.0),
        ),
        setups=(*setups, bent),
    )


def _face(job: Job, text: str) -> tuple[Layout, SetupFace]:
    layout = Layout.of(job)

    def read(named: SetupProgram) -> FaceProgram:
        return FaceProgram(interpret(parse(text, source=named.file)), named.file)

    return layout, setup_face(layout, job.setups[-1], read)


def _solid(radius_mm: float, tall_mm: float) -> np.ndarray:
    """Return points of a cylinder over its tip, shape (n, 3)."""
    angle = np.linspace(0.0, 2.0 * np.pi, 16, endpoint=False)
    disc = np.concatenate(
        [[[0.0, 0.0]], *(share * radius_mm * np.stack([np.cos(angle), np.sin(angle)], axis=1) for share in (0.5, 1.0))]
    )
    return np.array([(x, y, z) for z in np.arange(0.0, tall_mm, 1.0) for x, y in disc])


@pytest.mark.parametrize("up", list(BlankFace))
@pytest.mark.parametrize("section", list(Section))
@pytest.mark.parametrize("angle_deg", [35.0, -12.0])
def test_no_point_of_the_slanting_cutter_is_in_a_cell_that_counts_as_known(
    up: BlankFace, section: Section, angle_deg: float
) -> None:
    rng = np.random.default_rng(7)
    # In the air over the section that lies flat, and in the wood of the one that rises beside it.
    text = f"{HEAD}G1 X5 Y55\nY-55\n"
    for _ in range(8):
        x, y, z = rng.uniform([-25, -60, -12], [25, 60, 8]).round(2)
        text += f"G{rng.integers(2)} X{x} Y{y} Z{z}\n"
    job = _bent({"bent-way": (FLAT, text + TAIL)}, angle_deg=angle_deg, up=up, section=section)
    layout, face = _face(job, text)
    low_x, low_y, high_x, high_y = layout.section_box_mm(None)
    grid = Grid.covering((low_x, low_y), (high_x, high_y), 1.0)
    cells = reached(layout, None, [face], grid)
    path = face.programs[0].path
    hit, solid = np.zeros(grid.shape, np.bool_), _solid(3.0, 30.0)
    for start, end in zip(path.start, path.end, strict=True):
        if not np.isfinite([start, end]).all():
            continue
        for share in np.linspace(0.0, 1.0, 1 + int(np.ceil(np.linalg.norm(end - start)))):
            at = face.blank_from_program.apply(start + share * (end - start) + solid)
            at = at[(at[:, 2] < -1e-6) & (at[:, 2] > -THICK_MM)]
            column = np.floor((at[:, 0] - low_x) / grid.step_mm).astype(int)
            row = np.floor((at[:, 1] - low_y) / grid.step_mm).astype(int)
            inside = (row >= 0) & (row < grid.shape[0]) & (column >= 0) & (column < grid.shape[1])
            hit[row[inside], column[inside]] = True
    assert not (hit & ~cells).any()
    rises = (angle_deg > 0.0) == (up is BlankFace.FRONT)
    assert hit.any() or not rises
    # Nor are all cells given up.
    assert cells.sum() < hit.sum() + 0.6 * cells.size


class TestTraversesIntoTheOtherSection:
    ROUGH = ("6 flat", pocket(0.0, 0.0, 8.0, -9.0))

    def test_a_traverse_in_the_air_runs_into_the_section_that_rises(self) -> None:
        text = f"{HEAD}G1 Z-3\nX10\nG0 Z5\nG0 X0 Y-60\n{TAIL}"
        programs = {"front-rough": self.ROUGH, "bent-slot": (FLAT, text)}
        job = _bent(programs, angle_deg=12.0, up=BlankFace.FRONT, section=Section.FAR)
        (found,) = said(checked(job, programs), "rapid")
        assert (found.status, found.program, found.line, found.section) == (Status.FAIL, "bent-slot", 7, "straight")
        # 60 mm from the hinge, and the rim 3 mm on, the other section stands 63 tan 12 over the flat one.
        depth_mm = (63.0 * np.tan(np.radians(12.0)) - 5.0) * np.cos(np.radians(12.0))
        assert f"{depth_mm:.1f}" in found.message

    def test_a_bite_into_a_bent_board_is_told_with_its_section(self) -> None:
        programs = {"front-rough": self.ROUGH, "bent-slot": (FLAT, f"{HEAD}G1 Z-3\nX10\n{TAIL}")}
        job = _bent(programs, angle_deg=12.0, up=BlankFace.FRONT, section=Section.FAR)
        report = checked(replace(job, tools=(replace(job.tools[0], flute_length_mm=2.0),)), programs)
        sections = {one.message.partition(" of the ")[2] for one in said(report, "bite")}
        assert sections == {"straight section", "far section"}

    @pytest.mark.parametrize(("angle_deg", "z_mm"), [(-12.0, 5.0), (12.0, 20.0)])
    def test_a_traverse_over_what_falls_away_or_high_enough_is_clear(self, angle_deg: float, z_mm: float) -> None:
        text = f"{HEAD}G1 Z-3\nX10\nG0 Z{z_mm}\nG0 X0 Y-60\n{TAIL}".replace("G0 Z5\n", f"G0 Z{z_mm}\n")
        programs = {"front-rough": self.ROUGH, "bent-slot": (FLAT, text)}
        job = _bent(programs, angle_deg=angle_deg, up=BlankFace.FRONT, section=Section.FAR)
        assert statuses(checked(job, programs), "rapid") == [Status.PASS]

    def test_where_the_other_section_was_cut_away_before_a_traverse_is_clear(self) -> None:
        # All of the straight section beside the hinge is 9 mm lower when the bent one is cut.
        rough = pocket(0.0, 58.0, 30.0, -16.0)
        text = f"{HEAD}G1 Z-3\nX10\nG0 Z5\nG0 X0 Y-40\n{TAIL}"
        programs = {"front-rough": (FLAT, rough), "bent-slot": (FLAT, text)}
        job = _bent(programs, angle_deg=12.0, up=BlankFace.FRONT, section=Section.FAR)
        assert statuses(checked(job, programs), "rapid") == [Status.PASS]
        alone = {**programs, "front-rough": self.ROUGH}
        assert statuses(checked(job, alone), "rapid") == [Status.FAIL]

    def test_a_program_that_stays_in_the_air_over_its_own_section_is_looked_at(self) -> None:
        down = "G0 X{x} Y-60\nG0 Z-5\nG0 Z30\n"
        text = f"{HEAD}G0 Z30\n{down.format(x=-20)}{down.format(x=22)}{TAIL}"
        programs = {"front-rough": self.ROUGH, "bent-slot": (FLAT, text)}
        job = _bent(programs, angle_deg=12.0, up=BlankFace.FRONT, section=Section.FAR)
        (found,) = (one for one in said(checked(job, programs), "rapid") if one.section == "straight")
        assert (found.status, found.line) == (Status.FAIL, 6)

    @pytest.mark.parametrize("size_mm", [0.0, 1.0, 48.0, 48.0 + 5e-10, 47.5])
    def test_points_at_the_rim_of_what_is_found_have_a_cell(self, size_mm: float) -> None:
        points = np.array([[-24.0, 3.0], [-24.0 + size_mm, 3.0 + size_mm]])
        grid = plan_of(points)
        cells = np.rint((points - (grid.x_mm, grid.y_mm)) / grid.step_mm)
        assert (cells >= 0).all()
        assert (cells < grid.shape[::-1]).all()
