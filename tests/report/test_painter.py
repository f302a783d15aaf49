"""Painted areas against closed formulas, layers, letters."""

import math

import numpy as np
import pytest
from PIL import Image

from tapmark.checklist.words import load_words
from tapmark.errors import TextHasNoGlyph
from tapmark.report.drawing import painter
from tapmark.report.drawing.painter import FAMILIES, Fonts, font_report, paint
from tapmark.report.drawing.shapes import Area, Label, Line, Ring
from tests.report.drawing_made import FONTS, ink, pixels

BLACK, WHITE = "#000000", "#FFFFFF"


@pytest.mark.parametrize("radius", [4.0, 12.5, 90.0])
def test_a_disc_covers_its_area(radius):
    assert ink((Ring((200, 200), radius, BLACK),)) == pytest.approx(math.pi * radius**2, rel=0.02)


@pytest.mark.parametrize("width", [3.0, 5.0, 12.0])
@pytest.mark.parametrize("end", [(380.0, 30.0), (380.0, 250.0), (30.0, 330.0)])
def test_a_line_covers_length_times_width_at_any_slope(width, end):
    start = (30.0, 30.0)
    covered = ink((Line((start, end), BLACK, width),))
    assert covered == pytest.approx(math.dist(start, end) * width, rel=0.07)


def test_a_polygon_covers_its_area_and_not_half_a_pixel_more():
    corners = ((50.0, 50.0), (150.0, 50.0), (150.0, 150.5), (50.0, 150.5))
    assert ink((Area(corners, BLACK),)) == pytest.approx(100 * 100.5, rel=0.002)


def test_dashes_cover_their_share_of_the_line():
    whole = ink((Line(((20, 50), (380, 50)), BLACK, 4.0),))
    dashed = ink((Line(((20, 50), (380, 50)), BLACK, 4.0, (9.0, 3.0)),))
    assert dashed / whole == pytest.approx(9 / 12, rel=0.03)


def test_round_ends_add_half_a_disc_each():
    blunt = ink((Line(((100, 100), (300, 100)), BLACK, 20.0),))
    rounded = ink((Line(((100, 100), (300, 100)), BLACK, 20.0, is_round=True),))
    assert rounded - blunt == pytest.approx(math.pi * 100, rel=0.05)


def test_pixels_without_a_shape_stay_exactly_as_they_were():
    noise = np.random.default_rng(3).integers(0, 256, (300, 400), dtype=np.uint8)
    image = Image.fromarray(noise.copy())
    paint(image, (Ring((60, 60), 20, BLACK),), FONTS)
    after = np.asarray(image)
    rows, columns = np.mgrid[0:300, 0:400]
    outside = np.hypot(columns + 0.5 - 60, rows + 0.5 - 60) > 21.5
    assert np.array_equal(after[outside], noise[outside])


def test_every_casing_lies_under_every_core():
    """Two crossing lines: where the second one's casing crosses the first one's core."""
    down = Line(((100, 20), (100, 180)), WHITE, 6.0, (), BLACK, 18.0)
    across = Line(((20, 100), (180, 100)), WHITE, 6.0, (), BLACK, 18.0)
    painted = pixels((down, across), (200, 200))
    assert painted[93, 100] == 255, "the upright core is whole where the level casing crosses it"
    assert painted[100, 93] == 255
    assert painted[60, 108] == 0, "the casing shows beside the core"


def test_text_stands_on_its_baseline_and_within_its_measured_width():
    label = Label((50.0, 100.0), "Hxd", 40.0, BLACK)
    dark = np.argwhere(pixels((label,)) < 128)
    top, left = dark.min(axis=0)
    bottom, right = dark.max(axis=0)
    assert bottom == pytest.approx(99, abs=1)
    assert 60 < top < 80
    assert left >= 50
    assert right <= 50 + FONTS.width("Hxd", 40.0)


@pytest.mark.parametrize(("anchor", "left"), [("w", 200.0), ("c", 0.5), ("e", 1.0)])
def test_anchors_move_the_text_by_its_width(anchor, left):
    wide = FONTS.width("same", 30.0)
    start = 200.0 if anchor == "w" else 200.0 - left * wide
    dark = np.argwhere(pixels((Label((200.0, 100.0), "same", 30.0, BLACK, anchor=anchor),)) < 128)
    assert dark[:, 1].min() == pytest.approx(start, abs=4)


def test_a_letter_that_the_font_lacks_is_put_plainly(monkeypatch):
    monkeypatch.setattr(painter, "_has_glyph", lambda family, letter: False)
    assert Fonts().readable("café ± 3°, 4 × 30 m “öß”") == 'cafe +/- 3 deg, 4 x 30 m "oss"'


def test_a_letter_without_a_plain_form_is_refused_by_name(monkeypatch):
    monkeypatch.setattr(painter, "_has_glyph", lambda family, letter: False)
    with pytest.raises(TextHasNoGlyph, match="No sign for “跑”"):
        Fonts().readable("K跑7")
    with pytest.raises(TextHasNoGlyph, match="No sign for “跑”"):
        paint(Image.new("L", (99, 99)), (Label((9.0, 40.0), "K跑7", 24.0, BLACK),), Fonts())


def test_a_letter_without_a_plain_form_can_be_measured_for_pages_that_others_draw(monkeypatch):
    monkeypatch.setattr(painter, "_has_glyph", lambda family, letter: False)
    assert Fonts().width("K跑7", 10.0) > Fonts().width("K7", 10.0)


def test_every_sign_on_an_english_page_has_a_plain_form(monkeypatch):
    """A machine without any font still prints every page: "←" on the shot log once stopped it."""
    monkeypatch.setattr(painter, "_has_glyph", lambda family, letter: False)
    fonts = Fonts()
    signs = {sign for text in load_words().leaves.values() for sign in text}

    assert {"←", "±", "“"} <= signs
    assert all(fonts.readable(sign).isascii() for sign in signs)


def test_a_combining_accent_is_joined_to_its_letter_first():
    assert Fonts().readable("e\u0301") in ("é", "e")


def test_the_report_names_the_letters_that_are_missing(monkeypatch):
    monkeypatch.setattr(painter, "installed", lambda: FAMILIES)
    monkeypatch.setattr(painter, "_has_glyph", lambda family, letter: letter not in "éüñ")
    report = " ".join(font_report())
    assert "é ü ñ" in report
    assert "Install another font" in report


def test_the_report_says_when_no_system_font_is_there(monkeypatch):
    monkeypatch.setattr(painter, "installed", lambda: ())
    assert "No system font found" in font_report()[0]


def test_without_a_system_font_pages_still_get_plain_letters(monkeypatch):
    monkeypatch.setattr(painter, "installed", lambda: ())
    fonts = Fonts()
    assert fonts.name == "plain built-in letters"
    image = Image.new("L", (200, 60), 255)
    paint(image, (Label((10.0, 40.0), "Stop ± 3", 24.0, BLACK),), fonts)
    assert (np.asarray(image) < 128).sum() > 100
