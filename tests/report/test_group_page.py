"""The group sheet: codes and signs, in the order given, one page for a squad of 25."""

import html
from dataclasses import replace

import pytest

from tapmark.report.drawing.shapes import Line
from tapmark.report.drawing.signs import IN_TABLE, verdict_sign
from tapmark.report.pages.content import GroupContent, GroupLine
from tapmark.report.pages.group_page import MOMENTS, group_html, group_pages, group_shapes
from tapmark.report.pages.layout import MARGIN, PAPERS
from tests.report.made import (
    FAMILIES,
    collisions,
    english,
    fonts,
    labels,
    overflows,
    said,
    stretched,
)

WORDS = ("fine", "seen", "near the line", "can't tell", "not measured")


def squad(n, words=None, paper="a4"):
    """An invented squad of n athletes."""
    lines = tuple(
        GroupLine(
            f"K{i:02}",
            "sprint",
            f"2026-05-{1 + i % 28:02}" if i % 6 else "",
            tuple(WORDS[(i + k) % 5] for k in range(18)) if i % 6 else (),
            (1 + i % 18,) if i % 6 else (),
            is_due=i % 3 == 0,
            note="ask for consent" if i % 11 == 5 else "",
        )
        for i in range(1, n + 1)
    )
    return GroupContent(
        "Tuesday sprinters",
        "2026-06-09",
        lines,
        words or english(),
        (8,),
        ((8, ("K01", "K04", "K09")), (5, ("K02", "K13"))),
        (("K01", "K02", "K03"), ("K07", "K08")),
        ("K03", "K12"),
        paper=paper,
    )


@pytest.mark.parametrize("paper", list(PAPERS))
@pytest.mark.parametrize("family", list(FAMILIES))
@pytest.mark.parametrize(("n", "sheets"), [(3, 1), (15, 1), (25, 2), (60, 4)])
def test_15_athletes_fit_a_page_and_nothing_touches(n, sheets, family, paper):
    """Four of five have a column: 12 or 13 of 15, 20 or 21 of 25, 50 of 60."""
    letters = fonts(family)
    pages = group_shapes(squad(n, paper=paper), letters)
    assert len(pages) == sheets
    for page in pages:
        assert overflows(page, paper, letters) == []
        assert collisions(page, letters) == []


def test_there_is_no_empty_column_and_no_empty_row():
    content = squad(25)
    never = [line.code for line in content.lines if not line.words]
    unseen = [
        replace(
            line, words=tuple("not measured" if n > 14 else w for n, w in enumerate(line.words))
        )
        for line in content.lines
    ]
    for page in group_shapes(replace(content, lines=tuple(unseen)), fonts()):
        heads = [label.text for label in labels(page) if label.is_bold and label.anchor == "c"]
        assert len(heads) == len(set(heads)) and not set(heads) & set(never)
        names = [label.text for label in labels(page) if label.point[0] == MARGIN + 3.0]
        assert "Sitting" in names and "Foot path swings" not in names
    text = said(page).replace("\n", " ")
    assert "Measured of nobody Foot turns at push-off, Shoulders twist, Foot path swings" in text
    assert f"not filmed yet: {', '.join(never)}" in text


def test_rows_fill_the_page_and_signs_are_3_mm_high():
    for n in (3, 13, 25):
        first = group_shapes(squad(n), fonts())[0]
        low = max(label.point[1] for label in labels(first))
        assert low > 0.72 * PAPERS["a4"].height
        seen = verdict_sign("seen", (0.0, 0.0), IN_TABLE)
        assert max(y for s in seen if isinstance(s, Line) for _, y in s.points) == 1.5


def test_what_an_athlete_works_on_stands_on_a_floor_in_its_own_cell():
    content = squad(12)
    (page,) = group_shapes(content, fonts())
    floors = [s for s in page if isinstance(s, Line) and s.width == 1.0]
    shown = {n for _, items in MOMENTS for n in items}
    works = [n for line in content.lines for n in line.works_on if n in shown]
    assert len(floors) == len(works) + 1  # and one in the legend


@pytest.mark.parametrize("n", [1, 60])
def test_small_and_very_large_squads_lose_nobody(n):
    letters = fonts()
    pages = group_shapes(squad(n), letters)
    text = "\n".join(said(page) for page in pages)
    for i in range(1, n + 1):
        assert f"K{i:02}" in text
    for page in pages:
        assert overflows(page, "a4", letters) == []
        assert collisions(page, letters) == []


def test_the_long_language_fits():
    letters = fonts()
    for page in group_shapes(squad(25, stretched()), letters):
        assert overflows(page, "a4", letters) == []
        assert collisions(page, letters) == []


def test_it_says_whose_eyes_it_is_for_and_shares_roots():
    text = said(group_shapes(squad(25), fonts())[-1])
    assert "coach only, do not pin up" in text
    assert "Sitting: K01, K04, K09" in text
    drilled = replace(squad(3), drills={8: ("Quick low steps, hips tall",)})
    shared = said(group_shapes(drilled, fonts())[0])
    assert "Sitting: K01, K04, K09. Quick low steps, hips tall" in shared
    assert "Evening 2: K07, K08" in text


def test_codes_stand_in_the_order_given_and_nobody_is_added_up():
    lines = said(group_shapes(squad(12), fonts())[0]).split("\n")
    codes = [line for line in lines if line.startswith("K") and line[1:].isdigit()]
    assert codes == sorted(codes) and len(codes) == 10
    assert not [line for line in lines if "total" in line.lower() or "%" in line]


def test_a_very_long_name_is_cut_not_squeezed():
    from dataclasses import replace

    content = replace(squad(3), name="The Tuesday and Thursday sprint and hurdle group " * 3)
    page = group_shapes(content, fonts())[0]
    assert overflows(page, "a4", fonts()) == []
    assert "…" in said(page)


def test_pages_are_painted_at_300_dpi():
    (page,) = group_pages(squad(5))
    assert (page.mode, page.size) == ("L", (2480, 3508))


def test_the_html_twin_has_a_word_for_every_sign():
    text = group_html(squad(4))
    assert text.count("<title>near the line") >= 3
    assert "works on it" in text
    assert "coach only, do not pin up" in text


@pytest.mark.parametrize("nasty", ["<script>alert(1)</script>", "\"'><img src=x>", "a & b < c"])
def test_whatever_a_person_types_is_escaped_in_the_html_twin(nasty):
    content = squad(4)
    lines = tuple(replace(line, code=nasty, group=nasty, note=nasty) for line in content.lines)
    shared = ((8, (nasty,)),)
    named = replace(content, name=nasty, lines=lines, groups=shared, evenings=((nasty,),))
    text = group_html(replace(named, again=(nasty,)))
    assert nasty not in text
    assert text.count(html.escape(nasty)) >= 4 + 2
