"""The group sheet: codes and signs, in the order given, one page for a squad of 25."""

import html
from dataclasses import replace

import pytest

from tapmark.report.pages.content import GroupContent, GroupLine
from tapmark.report.pages.group_page import group_html, group_pages, group_shapes
from tapmark.report.pages.layout import PAPERS
from tests.report.made import FAMILIES, collisions, english, fonts, overflows, said, stretched

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
def test_a_squad_of_25_fits_one_page_and_nothing_touches(family, paper):
    letters = fonts(family)
    pages = group_shapes(squad(25, paper=paper), letters)
    assert len(pages) == 1
    assert overflows(pages[0], paper, letters) == []
    assert collisions(pages[0], letters) == []


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
    text = said(group_shapes(squad(25), fonts())[0])
    assert "coach only, do not pin up" in text
    assert "Sitting: K01, K04, K09" in text
    assert "Evening 2: K07, K08" in text


def test_codes_stand_in_the_order_given_and_nothing_is_added_up():
    lines = said(group_shapes(squad(12), fonts())[0]).split("\n")
    codes = [line for line in lines if line.startswith("K") and line[1:].isdigit()]
    assert codes == sorted(codes)
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
    assert text.count(html.escape(nasty)) >= 4 + 3
