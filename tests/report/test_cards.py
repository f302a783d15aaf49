"""Filming card and shot log: every point there, boxes whole, nothing touching."""

from math import atan, degrees

import pytest

from tapmark.report.drawing.palette import BLACK
from tapmark.report.drawing.shapes import Area, Line, Ring
from tapmark.report.pages.cards import POINTS, card_shapes, filming_card, log_shapes, plan, shot_log
from tapmark.report.pages.layout import PAPERS
from tests.report.made import FAMILIES, collisions, english, fonts, overflows, said, stretched

CODES = ("K01", "K07", "SOMEBODY-OF-LANE-7-BLUE")


@pytest.mark.parametrize("paper", list(PAPERS))
@pytest.mark.parametrize("family", list(FAMILIES))
@pytest.mark.parametrize("language", ["English", "Langish"])
def test_both_pages_fit_and_nothing_touches(language, family, paper):
    letters = fonts(family)
    words = english() if language == "English" else stretched()
    for shapes in (card_shapes(words, paper, letters), *log_shapes(words, CODES, paper, letters)):
        assert overflows(shapes, paper, letters) == []
        assert collisions(shapes, letters) == []


def test_the_card_says_what_makes_a_clip_usable():
    """The points of the filming protocol: place, side-on, height, rate, shutter, safety."""
    text = said(card_shapes(english(), "a4", fonts())).replace("\n", " ")
    for fact in (
        "10 to 15 m",
        "2.00 m",
        "240 frames per second",
        "1/1000 s",
        "4 to 6 m",
        "3-4-5",
        "60 %",
    ):
        assert fact in text
    assert len(POINTS) == 12


def test_the_log_has_six_rows_for_every_code_and_a_box_for_pain_in_each():
    """The card asks for three runs each way."""
    (shapes,) = log_shapes(english(), CODES[:2], "a4", fonts())
    text = said(shapes).split("\n")
    assert text.count("K01") == 1
    rows = text.index("K07") - text.index("K01")
    assert [each for each in text if each in set("123456")][:6] == list("123456")
    assert rows == 1 + 6 * 2  # a number and the word beside the box in each, and the code once
    boxes = [s for s in shapes if isinstance(s, Area) and s.fill is None]
    assert len(boxes) == sum(text.count(n) for n in "123456") >= 18


def test_the_log_never_breaks_off_within_the_six_runs_of_somebody():
    for paper in PAPERS:
        (page,) = log_shapes(english(), (), paper, fonts())
        rows = said(page).split("\n")
        assert len({rows.count(n) for n in "123456"}) == 1 and rows.count("1") >= 3


def test_everybody_of_an_evening_stands_on_the_log():
    codes = [f"K{i:02}" for i in range(1, 13)]
    pages = log_shapes(english(), codes, "a4", fonts())
    text = "\n".join(map(said, pages)).split("\n")
    assert len(pages) > 1 and [each for each in text if each in codes] == codes


def test_the_plan_is_to_scale_and_the_post_stands_in_no_lane():
    """Picture 4 to 6 m wide from 10 to 15 m, a field of view of 20 to 30 degrees."""
    shapes = plan(english(), 180.0).shapes
    lines = [s for s in shapes if isinstance(s, Line)]
    (a, b) = [line.points for line in lines if line.dash]
    camera, wide = a[0], abs(a[1][0] - b[1][0])
    assert a[0] == b[0] and a[1][1] == b[1][1]
    far = camera[1] - a[1][1]
    assert 20 <= degrees(2 * atan(wide / 2 / far)) <= 30
    upright = [ln for ln in lines if ln.points[0] == camera and ln.points[1][0] == camera[0]]
    assert len(upright) == 1  # the camera looks square to the lane
    marks = [s for s in shapes if isinstance(s, Area) and s.fill == BLACK and len(s.points) == 4]
    apart = {round(sum(x for x, _ in mark.points) / 4, 3) for mark in marks}
    per_m = (max(apart) - min(apart)) / 2.0
    assert 10 <= far / per_m <= 15 and 4 <= wide / per_m <= 6
    edges = sorted(
        ln.points[0][1] for ln in lines if ln.points[0][1] == ln.points[1][1] and ln.width == 0.25
    )
    assert edges[-1] - edges[-2] == pytest.approx(1.22 * per_m, abs=0.05)
    (post,) = [s for s in shapes if isinstance(s, Ring)]
    assert post.centre[1] + post.radius < edges[0]  # beyond the outside lane, away from the camera


def test_pages_are_painted_at_300_dpi():
    assert filming_card(english()).size == (2480, 3508)
    assert [page.size for page in shot_log(english(), CODES, "letter")] == [(2550, 3300)]
