from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

FOLDER = Path(__file__).parents[3] / "samples" / "bracket"


def test_the_script_makes_exactly_the_committed_program() -> None:
    spec = spec_from_file_location("make_programs", FOLDER / "make_programs.py")
    assert spec is not None
    assert spec.loader is not None
    script = module_from_spec(spec)
    spec.loader.exec_module(script)
    assert (FOLDER / "heel-pocket.nc").read_text() == script.program()
