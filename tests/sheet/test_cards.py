"""Filming card and shot log: every point there, boxes whole, nothing touching."""

import pytest

from tapmark.drawing.shapes import Area
from tapmark.sheet.cards import POINTS, card_shapes, filming_card, log_shapes, shot_log
from tapmark.sheet.layout import PAPERS
from tests.sheet.made import FAMILIES, collisions, english, fonts, overflows, said, stretched

CODES = ("K01", "K07", "MARIA-LUISA-1984-BLUE")


@pytest.mark.parametrize("paper", list(PAPERS))
@pytest.mark.parametrize("family", list(FAMILIES))
@pytest.mark.parametrize("language", ["English", "Langish"])
def test_both_pages_fit_and_nothing_touches(language, family, paper):
    letters = fonts(family)
    words = english() if language == "English" else stretched()
    for shapes in (card_shapes(words, paper, letters), log_shapes(words, CODES, paper, letters)):
        assert overflows(shapes, paper, letters) == []
        assert collisions(shapes, letters) == []


def test_the_card_says_what_makes_a_clip_usable():
    """The points of the filming protocol: place, square, height, rate, shutter, safety."""
    text = said(card_shapes(english(), "a4", fonts())).replace("\n", " ")
    for fact in ("10 to 15 m", "2.00 m", "240 a second", "1/1000 s", "4 to 6 m", "3-4-5", "60 %"):
        assert fact in text
    assert len(POINTS) == 12


def test_the_log_has_three_rows_for_every_code_and_a_box_for_pain_in_each():
    shapes = log_shapes(english(), CODES[:2], "a4", fonts())
    text = said(shapes).split("\n")
    assert text.count("K01") == 1
    boxes = [s for s in shapes if isinstance(s, Area) and s.fill is None]
    assert len(boxes) == text.count("1") + text.count("2") + text.count("3") >= 20


def test_the_log_never_breaks_off_within_the_three_runs_of_somebody():
    for paper in PAPERS:
        rows = said(log_shapes(english(), (), paper, fonts())).split("\n")
        assert rows.count("1") == rows.count("2") == rows.count("3") >= 7


def test_pages_are_painted_at_300_dpi():
    assert filming_card(english()).size == (2480, 3508)
    assert shot_log(english(), CODES, "letter").size == (2550, 3300)
