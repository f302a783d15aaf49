"""The PDF read back by two readers that share no code with Pillow or with each other."""

from functools import cache
from io import BytesIO

import numpy as np
import pdfplumber
import pypdf
import pytest
from PIL import Image

from tapmark.report.pages import pdf
from tapmark.report.pages.athlete_page import athlete_page
from tapmark.report.pages.coach_page import coach_pages
from tapmark.report.pages.pdf import MOST_BYTES, QUALITIES, pdf_bytes
from tests.report.made import fonts, made, stretched

POINTS = {"a4": (595.276, 841.890), "letter": (612.0, 792.0)}  # ISO 216 and ANSI, in 1/72 inch


@pytest.fixture(scope="module", params=list(POINTS))
def printed(request):
    """Paper and the bytes of an athlete's page on it."""
    return request.param, pdf_bytes([athlete_page(made(paper=request.param))], "K07 2026-05-14")


def test_the_page_box_is_the_paper_within_a_fifth_of_a_point(printed):
    paper, data = printed
    box = pypdf.PdfReader(BytesIO(data)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(POINTS[paper], abs=0.2)
    with pdfplumber.open(BytesIO(data)) as read:
        assert len(read.pages) == 1
        assert (read.pages[0].width, read.pages[0].height) == pytest.approx(POINTS[paper], abs=0.2)


def test_one_grey_picture_of_300_dpi_fills_the_page(printed):
    _, data = printed
    (picture,) = pypdf.PdfReader(BytesIO(data)).pages[0].images
    assert picture.image.mode == "L"
    with pdfplumber.open(BytesIO(data)) as read:
        (placed,) = read.pages[0].images
        assert placed["width"] == pytest.approx(float(read.pages[0].width), abs=0.05)
        for pixels, points in zip(
            placed["srcsize"], (placed["width"], placed["height"]), strict=True
        ):
            assert 72 * pixels / points == pytest.approx(300, abs=0.1)


def test_a_page_is_at_most_600_kb(printed):
    assert len(printed[1]) <= MOST_BYTES == 600_000


@cache
def usual():
    """A full athlete's page."""
    return athlete_page(made(slots=(1,), since=3))


@cache
def numbers():
    """The pages of numbers behind it."""
    return coach_pages(made())


def _read_back(page, title=""):
    (picture,) = pypdf.PdfReader(BytesIO(pdf_bytes([page], title))).pages[0].images
    return np.asarray(picture.image)


def _assert_thin_lines_are_clean(before, after):
    """Paper stays white, ink black, and not one pixel of an edge changes sides."""
    assert after.shape == before.shape
    assert not ((before < 64) & (after >= 128)).any()
    assert not ((before > 192) & (after < 128)).any()
    assert after[before == 255].min() > 170
    assert after[before == 0].max() < 85


@pytest.mark.parametrize("case", ["usual", "fullest", "coach's copy"])
def test_what_is_read_back_is_the_very_page(case):
    page = {
        "usual": usual,
        "fullest": _fullest,
        "coach's copy": lambda: numbers()[1],
    }[case]()
    assert (_read_back(page) == np.asarray(page)).all()


@pytest.mark.parametrize("quality", QUALITIES)
@pytest.mark.parametrize("number", [1, 2])
def test_a_page_too_grey_for_that_keeps_thin_lines_clean_at_every_quality(
    number, quality, monkeypatch
):
    """Nothing fits into one byte, so the last quality of the list is taken."""
    monkeypatch.setattr(pdf, "MOST_BYTES", 1)
    monkeypatch.setattr(pdf, "QUALITIES", (quality,))
    page = (usual(), numbers()[0])[number - 1]
    _assert_thin_lines_are_clean(np.asarray(page), _read_back(page))


def test_a_very_grey_page_takes_the_best_quality_that_keeps_the_limit():
    noise = np.random.default_rng(3).integers(100, 156, (1300, 1300), dtype=np.uint8)
    page = Image.fromarray(noise)
    sizes = []
    for quality in QUALITIES:
        out = BytesIO()
        page.save(out, "JPEG", quality=quality, optimize=True)
        sizes.append(len(out.getvalue()))
    expected = next(size for size in sizes if size <= MOST_BYTES)
    assert expected < sizes[0], "the first one must not fit, or this shows nothing"
    frame = len(pdf_bytes([Image.new("L", (8, 8))]))
    assert len(pdf_bytes([page])) == pytest.approx(expected + frame, abs=80)


@cache
def _fullest():
    content = made(slots=(1,), since=3, words=stretched(), notes="Long windy note. " * 20)
    return athlete_page(content, fonts("wide"))


@pytest.mark.parametrize("title", ["K07 2026-05-14", "naïve (ßå) \\ łż"])
def test_any_letter_may_stand_in_the_title(title):
    page = Image.new("L", (248, 351), 255)
    told = pypdf.PdfReader(BytesIO(pdf_bytes([page], title))).metadata
    assert told.title == title


def test_the_fullest_page_of_the_longest_language_is_still_small_enough():
    assert len(pdf_bytes([_fullest()])) <= MOST_BYTES


def test_nothing_but_the_title_is_told_about_the_file(printed):
    told = pypdf.PdfReader(BytesIO(printed[1])).metadata
    assert dict(told) == {"/Title": "K07 2026-05-14"}


def test_the_same_pages_give_the_same_bytes():
    page = usual()
    assert pdf_bytes([page], "K07") == pdf_bytes([page], "K07")


def test_the_coach_s_copy_has_three_pages_in_order():
    pages = [usual(), *numbers()]
    data = pdf_bytes(pages)
    reader = pypdf.PdfReader(BytesIO(data))
    assert [p.images[0].image.size for p in reader.pages] == [page.size for page in pages]
    assert len(data) <= 3 * MOST_BYTES
