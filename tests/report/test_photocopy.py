"""What a bad copier leaves of a page: 300 or 150 dpi, blur, streaks, cut to pure black and white.

Contrast is WCAG 2.2's contrast ratio (relative luminance of sRGB, formula of the standard).
"""

import numpy as np
import pytest
from PIL import Image, ImageFilter

from tapmark.checklist.verdict import (
    CANT_TELL,
    FINE,
    LIKELY,
    NEAR_THE_LINE,
    NOT_MEASURED,
    SEEN,
)
from tapmark.report.drawing.painter import paint
from tapmark.report.drawing.pair import Caption, PairLook, back_pair
from tapmark.report.drawing.shapes import Label, Line, moved
from tapmark.report.drawing.signs import HEIGHT, IN_TABLE, table_sign, verdict_sign
from tapmark.report.pages.athlete_page import athlete_page, athlete_shapes
from tapmark.report.pages.layout import TEXT, THIN
from tapmark.report.pages.photo import REACH, photo_of
from tests.drawn_runner.athletes import RUNS_WELL
from tests.drawn_runner.runs import drawn_run
from tests.report.made import box, fonts, labels, made

# a copier at half of the 300 dpi that pages have: common practice, no source; 25.4 mm an inch
COPIER_DPI = 150
MM = COPIER_DPI / 25.4
FINE_MM = 300 / 25.4


def _luminance(grey):
    channel = np.asarray(grey, float) / 255
    return np.where(channel <= 0.04045, channel / 12.92, ((channel + 0.055) / 1.055) ** 2.4)


def _contrast(dark, light):
    return (_luminance(light) + 0.05) / (_luminance(dark) + 0.05)


def _copied(page, coarser=2):
    """The page at 300 dpi ÷ coarser, a little out of focus, noisy and streaked, in grey."""
    small = page.reduce(coarser) if coarser > 1 else page
    soft = np.asarray(small.filter(ImageFilter.GaussianBlur(0.6)), float)
    random = np.random.default_rng(7)
    streaks = random.normal(0, 6, soft.shape[1])[None, :]
    return np.clip(soft + random.normal(0, 14, soft.shape) + streaks, 0, 255)


@pytest.fixture(scope="module")
def copied():
    """Shapes of a page and its copy in grey."""
    content = made(slots=(1,), since=3)
    return athlete_shapes(content, fonts()), _copied(athlete_page(content, fonts()))


def _cut(image, place):
    left, top, right, bottom = (round(edge * MM) for edge in place)
    return image[top : bottom + 1, left : right + 1]


def test_all_text_keeps_a_contrast_of_7_to_its_paper_on_the_copy(copied):
    shapes, image = copied
    for label in labels(shapes):
        part = _cut(image, box(label, fonts()))
        dark, light = np.percentile(part, 2), np.percentile(part, 98)
        assert _contrast(dark, light) >= 7.0, label.text


def test_at_300_dpi_all_text_keeps_a_contrast_of_10(copied):
    """The same copier at the printer's own resolution; WCAG asks 7 for its strictest level."""
    shapes, _ = copied
    image = _copied(athlete_page(made(slots=(1,), since=3), fonts()), coarser=1)
    for label in labels(shapes):
        left, top, right, bottom = (round(edge * FINE_MM) for edge in box(label, fonts()))
        part = image[top : bottom + 1, left : right + 1]
        dark, light = np.percentile(part, 2), np.percentile(part, 98)
        assert _contrast(dark, light) >= 10.0, label.text


def test_letters_stay_apart_when_the_copy_is_cut_to_black_and_white(copied):
    """Columns of white between the letters of a line of 11 pt: at least half as many as printed."""
    shapes, image = copied
    printed = athlete_page(made(slots=(1,), since=3), fonts())
    first = np.asarray(printed.reduce(2), float)
    for label in labels(shapes):
        if len(label.text) < 12:
            continue
        place = box(label, fonts())
        gaps = [(_cut(each, place) > 128).all(axis=0).sum() for each in (first, image)]
        assert gaps[1] >= 0.5 * gaps[0], label.text


def test_thin_lines_survive_unbroken(copied):
    shapes, image = copied
    ruled = [
        s
        for s in shapes
        if isinstance(s, Line)
        and s.width <= THIN + 0.1
        and s.points[0][1] == s.points[1][1]
        and s.points[1][0] - s.points[0][0] > 20
    ]
    assert len(ruled) >= 5
    for line in ruled:
        (xa, y), (xb, _) = line.points
        band = _cut(image, (xa + 0.5, y - 0.3, xb - 0.5, y + 0.3)) < 128
        assert band.any(axis=0).mean() > 0.99


@pytest.mark.parametrize("word", [SEEN, NEAR_THE_LINE, FINE, CANT_TELL])
def test_verdict_signs_can_be_told_apart_on_the_copy(word, copied):
    def copy(name):
        page = Image.new("L", (200, 200), 255)
        paint(page, moved(verdict_sign(name, (0, 0), HEIGHT), 8.0, 8.0), fonts())
        return _copied(page) < 128

    others = [other for other in (SEEN, NEAR_THE_LINE, FINE, CANT_TELL) if other != word]
    assert all((copy(word) != copy(other)).sum() > 8 for other in others)


SIGNED = (SEEN, LIKELY, NEAR_THE_LINE, FINE, CANT_TELL, NOT_MEASURED)
SIDE = 120  # ours: px of a picture of one sign, 10 mm


def _printed(shapes):
    """Ink of a sign at 300 dpi, as True."""
    page = Image.new("L", (SIDE, SIDE), 255)
    paint(page, moved(shapes, SIDE / 2 / FINE_MM, SIDE / 2 / FINE_MM), fonts())
    return np.asarray(page) < 128


def _copied_twice(ink, cut):
    """Out of focus by 0.1 mm and cut to black and white, and the copy once more.

    cut: the grey that still counts as white; a copier set dark takes 170 of 255 for ink.
    """
    for _ in range(2):
        grey = Image.fromarray(np.where(ink, 0, 255).astype(np.uint8))
        ink = np.asarray(grey.filter(ImageFilter.GaussianBlur(1.2))) < cut
    return ink


@pytest.mark.parametrize("cut", [90, 128, 170])
@pytest.mark.parametrize("height", [IN_TABLE, HEIGHT])
@pytest.mark.parametrize("word", SIGNED)
def test_after_two_copies_each_sign_is_still_its_own(word, height, cut):
    """By shape areas in mm²: the copy lies nearer to what was printed than to any other sign, by a
    fifth at least; and what is open stays open."""
    own = {each: _printed(verdict_sign(each, (0, 0), height)) for each in SIGNED}
    copy = _copied_twice(own[word], cut)
    off = {each: (copy ^ ink).sum() / FINE_MM**2 for each, ink in own.items()}
    others = [area for each, area in off.items() if each != word]
    assert off[word] < 0.8 * min(others), off
    assert _enclosed(copy) >= 0.45 * _enclosed(own[word])


def _enclosed(ink):
    """Area of white that no way leads out of, in px: what is inside a ring."""
    outside = np.zeros_like(ink)
    outside[0, 0] = True
    for _ in range(2 * SIDE):
        grown = outside.copy()
        grown[1:] |= outside[:-1]
        grown[:-1] |= outside[1:]
        grown[:, 1:] |= outside[:, :-1]
        grown[:, :-1] |= outside[:, 1:]
        grown &= ~ink
        if (grown == outside).all():
            break
        outside = grown
    return int((~ink & ~outside).sum())


@pytest.mark.parametrize("cut", [90, 128, 170])
def test_near_the_line_stays_half_open_and_no_heavier_than_seen(cut):
    """It once filled to a lozenge heavier than a seen one."""
    near, seen = (
        _copied_twice(_printed(verdict_sign(word, (0, 0), IN_TABLE)), cut)
        for word in (NEAR_THE_LINE, SEEN)
    )
    radius, middle = round(0.38 * IN_TABLE * FINE_MM), SIDE // 2
    high = np.s_[middle - radius // 2 : middle + radius // 2]
    left, right = near[high, middle - radius : middle], near[high, middle : middle + radius]
    assert left.mean() < 0.7 < 0.9 < right.mean()
    assert near.sum() < 1.6 * seen.sum()


@pytest.mark.parametrize("cut", [90, 128, 170])
def test_the_small_signs_of_the_group_sheet_survive_two_copies(cut):
    ring, dash = (_printed(table_sign(word, (0.0, 0.0))) for word in (FINE, NOT_MEASURED))
    assert _copied_twice(dash, cut).sum() > 0.5 * dash.sum()
    copy = _copied_twice(ring, cut)
    assert copy.sum() > 0.5 * ring.sum() and not copy[SIDE // 2, SIDE // 2]


@pytest.mark.parametrize("item", [16, 17, 18])
def test_what_we_saw_and_the_idea_from_behind_differ_on_the_copy(item):
    """More than 100 levels of grey apart after the copier, where noise alone never reaches that."""
    look = PairLook(THIN, TEXT, TEXT, fonts().width)
    drawing = back_pair(item, Caption("", ""), 68.0, 40.0, look)
    half = round(34.0 * MM)

    def copy():
        page = Image.new("L", (4 * half, 1000), 255)
        paint(page, moved(drawing.shapes, 0.0, drawing.above + 1.0), fonts())
        return _copied(page)

    page = copy()
    saw, idea = page[:, :half], page[:, half : 2 * half]
    assert (abs(saw - idea) > 100).sum() > 300
    again = _copied(Image.new("L", (4 * half, 1000), 255))
    assert (abs(again[:, :half] - again[:, half : 2 * half]) > 100).sum() < 10


def test_a_page_is_painted_grey_at_300_dpi():
    image = athlete_page(made("good"))
    assert image.mode == "L"
    assert image.size == (2480, 3508)
    assert athlete_page(made("good", paper="letter")).size == (2550, 3300)


def test_no_large_area_is_black():
    """Toner: at most 6 % of the page is dark, and no solid square of 12 mm is."""
    image = athlete_page(made())
    small = image.reduce(round(12 * 300 / 25.4))
    assert image.histogram()[0] + sum(image.histogram()[1:128]) < 0.06 * image.width * image.height
    assert small.getextrema()[0] > 60


def test_the_page_reads_without_its_grey(copied):
    """Cut to black and white the tint is gone; heads, limbs and every text are still there."""
    shapes, image = copied
    bits = image > 128
    assert 0.02 < 1 - bits.mean() < 0.12
    assert isinstance(shapes[0], Label)


@pytest.mark.parametrize("cut", [128, 170])
def test_of_a_photo_the_lines_are_left_and_no_speckle(cut):
    """A still of dark noise: the shin's line is ink all along, beside it next to nothing is.

    cut: the grey that still counts as white; a copier set dark takes 170 of 255 for ink.
    """
    run = drawn_run(RUNS_WELL, seed=1)
    frame = run.steps[0].key_frames[0]
    noise = np.random.default_rng(4).integers(0, 160, (*run.source.size_px[::-1], 3), np.uint8)
    photo = photo_of(Image.fromarray(noise), frame, run)

    page = photo.cut(60.0, 72.0, FINE_MM / 2)  # 150 dots an inch, each two px of the page
    ink = _copied(page, coarser=1) < cut
    scale = page.height / (2 * REACH * photo.body)
    corner = photo.hip[0] - page.width / 2 / scale, photo.hip[1] - page.height / 2 / scale
    knee, ankle = (
        np.subtract(frame.at(point), corner) * scale for point in ("near knee", "near ankle")
    )
    along = [knee + (ankle - knee) * share for share in np.linspace(0.15, 0.85, 40)]

    assert np.mean([ink[round(y), round(x)] for x, y in along]) >= 0.95
    drawn = np.asarray(page) < 100
    far = ~np.asarray(Image.fromarray(drawn).convert("L").filter(ImageFilter.MaxFilter(9)), bool)
    assert far.mean() > 0.7 and ink[far].mean() < 0.01
