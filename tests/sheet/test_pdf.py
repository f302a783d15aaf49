"""The PDF read back by two readers that share no code with Pillow or with each other."""

import os
from io import BytesIO

import numpy as np
import pdfplumber
import pypdf
import pytest
from PIL import Image

from tapmark.errors import CannotWrite
from tapmark.sheet import pdf
from tapmark.sheet.athlete_page import athlete_page
from tapmark.sheet.coach_page import coach_pages
from tapmark.sheet.pdf import MOST_BYTES, pdf_bytes, write_pdf
from tests.sheet.made import fonts, made, stretched

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


@pytest.mark.parametrize("most_bytes", [MOST_BYTES, 1])
def test_what_is_read_back_is_the_page_with_clean_thin_lines(most_bytes, monkeypatch):
    """At the usual quality and at the last one: ink stays dark, paper light, edges where they are.

    Of the smoothed pixels at edges at most 20 in a million may change sides.
    """
    monkeypatch.setattr(pdf, "MOST_BYTES", most_bytes)
    page = athlete_page(made(slots=(1,), since=3))
    (picture,) = pypdf.PdfReader(BytesIO(pdf_bytes([page]))).pages[0].images
    before, after = np.asarray(page), np.asarray(picture.image)
    assert after.shape == before.shape
    assert after[before == 255].min() >= 128
    assert after[before == 0].max() < 128
    moved = ((before < 64) & (after >= 128)) | ((before > 192) & (after < 128))
    assert moved.mean() < 20e-6


def test_the_fullest_page_of_the_longest_language_is_still_small_enough():
    content = made(slots=(1,), since=3, words=stretched(), notes="Long windy note. " * 20)
    assert len(pdf_bytes([athlete_page(content, fonts("DejaVu Sans"))])) <= MOST_BYTES


def test_nothing_but_the_title_is_told_about_the_file(printed):
    told = pypdf.PdfReader(BytesIO(printed[1])).metadata
    assert dict(told) == {"/Title": "K07 2026-05-14"}


def test_the_same_pages_give_the_same_bytes():
    page = athlete_page(made("good"))
    assert pdf_bytes([page], "K07") == pdf_bytes([page], "K07")


def test_the_coach_s_copy_has_three_pages_in_order(tmp_path):
    pages = [athlete_page(made()), *coach_pages(made())]
    write_pdf(pages, tmp_path / "coach.pdf")
    reader = pypdf.PdfReader(tmp_path / "coach.pdf")
    assert [p.images[0].image.size for p in reader.pages] == [page.size for page in pages]
    assert (tmp_path / "coach.pdf").stat().st_size <= 3 * MOST_BYTES


def test_an_older_sheet_stays_whole_when_the_new_one_cannot_be_written(tmp_path, monkeypatch):
    path = tmp_path / "sheet.pdf"
    path.write_bytes(b"older")

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(CannotWrite, match=r"“sheet.pdf” could not be written.*No space left"):
        write_pdf([Image.new("L", (248, 351), 255)], path)
    assert path.read_bytes() == b"older"
    assert list(tmp_path.iterdir()) == [path]


def test_a_folder_that_is_not_there_is_told_plainly(tmp_path):
    with pytest.raises(CannotWrite, match="Choose another folder"):
        write_pdf([Image.new("L", (248, 351), 255)], tmp_path / "nowhere" / "sheet.pdf")
