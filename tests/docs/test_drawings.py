from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

from tests.docs.examples import TOP

SCRIPTS = sorted(TOP.glob("docs/**/draw_*.py"))


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda script: script.stem)
def test_the_script_draws_what_is_committed(script: Path, tmp_path: Path) -> None:
    spec = spec_from_file_location(script.stem, script)
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    module.write(tmp_path)
    (drawn,) = tmp_path.iterdir()
    assert drawn.read_bytes() == (script.parent / drawn.name).read_bytes()


def test_there_is_something_to_draw() -> None:
    assert SCRIPTS
