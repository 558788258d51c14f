"""Names in any letters: painted with another typeface of this machine, else as numbers that a last page explains."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

from flipreg.drawing.numbered_letters import with_numbers
from flipreg.drawing.page import Align, Label, Page, text_width_mm
from flipreg.drawing.paint import paint
from flipreg.drawing.typeface import Typeface, runs_of, unreadable


@pytest.fixture
def tree(tmp_path: Path) -> Iterator[str]:
    """Install a typeface that has two letters besides `6`, each a square, and return its file."""
    from matplotlib.font_manager import fontManager

    pen = TTGlyphPen(None)
    pen.moveTo((100, 0))
    for corner in ((900, 0), (900, 800), (100, 800)):
        pen.lineTo(corner)
    pen.closePath()
    square = pen.glyph()
    names = [".notdef", "tree", "bowl", "six"]
    font = FontBuilder(1000)
    font.setupGlyphOrder(names)
    font.setupCharacterMap({ord("木"): "tree", ord("盆"): "bowl", ord("6"): "six"})
    font.setupGlyf(dict.fromkeys(names, square))
    font.setupHorizontalMetrics(dict.fromkeys(names, (1000, 100)))
    font.setupHorizontalHeader(ascent=800, descent=-200)
    font.setupNameTable({"familyName": "Two trees", "styleName": "Regular"})
    font.setupOS2()
    font.setupPost()
    file = str(tmp_path / "trees.ttf")
    font.save(file)
    before = list(fontManager.ttflist)
    fontManager.addfont(file)
    forget()
    yield file
    fontManager.ttflist = before
    forget()


def forget() -> None:
    runs_of.cache_clear()
    text_width_mm.cache_clear()


def page(*texts: str) -> Page:
    made = Page(100.0, 50.0)
    for place, text in enumerate(texts):
        made.add(Label((50.0, 40.0 - 10.0 * place), text, 20.0, Align.MIDDLE))
    return made


def test_letters_that_the_drawings_typeface_lacks_are_painted_with_another_one(tree: str) -> None:
    assert runs_of("木盆 6 flat") == ((Typeface(tree), "木盆"), (Typeface(), " 6 flat"))
    assert runs_of("Доска Σκάφη 6") == ((Typeface(), "Доска Σκάφη 6"),)
    assert text_width_mm("木盆", 20.0) == pytest.approx(2 * 20.0 * 25.4 / 72, rel=0.02)
    for kind in ("pdf", "svg", "png"):
        drawn, empty = paint([page("木盆")], kind, title=""), paint([page("")], kind, title="")
        assert drawn.notes == ()
        assert len(drawn.data) > len(empty.data)


def test_what_no_typeface_has_is_a_number_that_the_last_page_explains(tree: str) -> None:
    pages, notes = with_numbers([page("木 鉋鉋 6", "鉋鉋"), page("刃 flat", "木")])
    assert [label.text for one in pages[:2] for label in one.labels] == ["木 [1] 6", "[1]", "[2] flat", "木"]
    assert notes[0].endswith("numbers for them: [1] is 鉋鉋; [2] is 刃")
    legend = [label.text for one in pages[2:] for label in one.labels if label.text]
    assert legend[-2:] == ["[1] U+924B U+924B", "[2] U+5203"]
    assert unreadable("木 6 flat") == []


def test_pages_that_can_be_painted_stay_as_they_are() -> None:
    given = page("Доска №7 $x$", "½ µ")
    assert with_numbers([given]) == ([given], ())
