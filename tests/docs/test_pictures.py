"""The README's pictures are of today's programs and drawings: a check of the paddle takes some seconds."""

import io

import numpy as np
from PIL import Image

from tests.docs.examples import TOP
from tests.docs.pictures import FOLDER, pages, picture, said


def test_pictures_show_what_is_drawn_now() -> None:
    # If this fails after a drawing has changed on purpose: python -m tests.docs.pictures
    made = pages()
    assert sorted(made) == sorted(file.name for file in FOLDER.iterdir())
    for name, page in made.items():
        with Image.open(FOLDER / name) as kept:
            kept.load()
        assert kept.info["Description"] == said(page), name
        now = Image.open(io.BytesIO(picture(page)))
        assert kept.size == now.size, name
        # Other versions of the libraries may paint a line a little wider or paler.
        apart = np.abs(np.asarray(kept.convert("L"), np.float64) - np.asarray(now.convert("L"), np.float64))
        assert apart.mean() < 2.0, name


def test_pictures_are_small_and_in_the_readme() -> None:
    text = (TOP / "README.md").read_text()
    for file in FOLDER.iterdir():
        assert file.stat().st_size < 150_000
        assert f"docs/pictures/{file.name}" in text
