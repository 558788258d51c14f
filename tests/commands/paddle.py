"""A copy of the paddle's job that is checked in half the time, for tests that are not about its height maps."""

import re
import shutil
from pathlib import Path

__all__ = ["PADDLE", "coarse_paddle"]

PADDLE = Path(__file__).parents[2] / "samples/paddle"


def coarse_paddle(folder: Path, *, carved: bool = True) -> Path:
    """Return a new folder with the paddle's files, whose jobs ask for a grid of 2.5 mm, and may leave carving out."""
    shutil.copytree(PADDLE, folder, ignore=shutil.ignore_patterns("__pycache__"))
    for job in folder.glob("*.toml"):
        text = job.read_text(encoding="utf-8")
        if not carved:
            text, count = re.subn(r"(?m)^ *\{ file = .*-(rough|finish)\.nc.*\n", "", text)
            assert count == 8
        assert text.count("\n[check]\n") == 1
        job.write_text(text.replace("\n[check]\n", "\n[check]\ngrid = 2.5\n"), encoding="utf-8")
    return folder
