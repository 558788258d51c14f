"""The scripts that write the samples' programs, loaded from where they lie."""

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType

__all__ = ["SAMPLES", "loaded"]

SAMPLES = Path(__file__).parents[2] / "samples"


def loaded(folder: Path) -> ModuleType:
    """Return the module of a folder's `make_programs.py`."""
    spec = spec_from_file_location("make_programs", folder / "make_programs.py")
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
