"""The coach's pages: every number with its ±, the bands in use, chain, reasons, what is missing."""

from dataclasses import replace

import pytest

from tapmark.checklist.verdict import SHOWN, Band
from tapmark.marks.run import Tap
from tapmark.measures.doubts import what_helps
from tapmark.measures.result import Measured, NotMeasured, printed
from tapmark.report.drawing.bands import Dot, band_shapes
from tapmark.report.drawing.shapes import Line
from tapmark.report.pages.athlete_page import athlete_shapes
from tapmark.report.pages.coach_page import coach_pages, coach_shapes
from tapmark.report.pages.layout import PAPERS
from tapmark.report.pages.sections import edges
from tests.checklist.made import GOOD
from tests.report.golden import content as typed_content
from tests.report.made import FAMILIES, collisions, fonts, made, overflows, runs, said, stretched

pytestmark = pytest.mark.usefixtures("plain_limbs")


def pages(content, family="ordinary"):
    return coach_shapes(content, fonts(family))


def _text(content):
    return "\n".join(said(shapes) for shapes in pages(content))


@pytest.mark.parametrize("style", ["good", "poor"])
def test_every_measured_row_is_printed_with_its_plus_minus(style):
    content = made(style)
    _, graded, *_ = pages(content)
    for row in content.assessment.rows:
        result = row.result
        if not isinstance(result, Measured):
            continue
        number = printed(result.value, result.digits)
        doubt = printed(result.plus_minus, result.digits)
        if row.word == SHOWN:
            assert f"{number} ± {doubt}" in said(graded)
        else:
            values = said(graded).split("\n")
            assert number in values or f"≈ {number}" in values
            assert doubt in values


def test_every_graded_row_shows_its_verdict_and_what_the_doubt_is_made_of():
    content = made()
    text = said(pages(content)[1]).replace("\n", " ")
    for row in content.assessment.rows:
        if row.word != SHOWN and isinstance(row.result, Measured):
            assert content.words.verdict(row.word) in text
            assert row.result.mostly in text


def test_bands_are_printed_with_what_they_rest_on():
    content = made()
    text = said(pages(content)[2]).replace("\n", " ")
    for row in content.assessment.rows:
        if row.band and row.band.basis:
            assert edges(row.band) in text
            assert row.band.basis.split(";")[0].split(",")[0].replace("-", "−")[:20] in text


def test_what_is_missing_is_told_with_its_reason():
    content = made()
    text = said(pages(content)[2]).replace("\n", " ")
    for row in content.assessment.rows:
        if isinstance(row.result, NotMeasured):
            assert row.result.reason in text


def test_all_reasons_stand_on_the_copy_and_the_regression_to_the_mean_is_told():
    content = made(slots=(1,))
    text = _text(content).replace("\n", " ")
    for reason in content.assessment.reasons:
        assert reason in text


def test_why_this_one_stands_on_top_then_the_18_items_with_their_signs():
    """Young athletes get no list; their coach does."""
    for content in (made("good"), made(born=2011), made(pain="yes")):
        first = pages(content)[0]
        text = said(first)
        assert text.index("Why this one") < text.index("Checklist")
        assert "Stroke: the limit." in text
        for number in range(1, 19):
            assert content.words.item(number) in text
        posts = [s for s in first if isinstance(s, Line) and s.points[0][0] == s.points[1][0]]
        judged = [i for i in content.assessment.items if not i.is_result]
        told = [i for i in judged if i.word != "not measured"]
        assert len(posts) >= len(told)


def test_what_cant_be_told_stands_with_what_would_tell():
    content = typed_content(GOOD, u=8.0)
    text = said(pages(content)[0]).replace("\n", " ")
    assert "Can't tell, and what would tell" in text.replace("tell, and what", "tell, and what")
    unsure = [row for row in content.assessment.rows if row.word == "can't tell"]
    assert len(unsure) > 3
    assert what_helps(unsure[0].result) in text
    assert "Can't tell, and" not in said(pages(typed_content(GOOD))[0])


def test_own_lines_stand_on_the_copy_and_on_no_page_of_the_athlete():
    told = "run-1, frame 24: shin, from the vertical 12 ± 3°."
    content = replace(made(), drawn=(told,))
    assert told in _text(content).replace("\n", " ")
    assert "frame 24" not in said(athlete_shapes(content, fonts()))


@pytest.mark.parametrize("far", [0.4, 6.0])
def test_a_value_off_the_bar_keeps_what_its_doubt_reaches_of_it(far):
    """Band 7 to 12 at 36 and 52 % of a bar of 42 mm: 1.344 mm a unit; the bar ends at 27."""
    band = Band(fine_high=7.0, limit_high=12.0, key="reach", context="sprint")
    value = 27.0 + far
    for doubt in (1.0, 10.0):
        lines = [s for s in band_shapes(band, (Dot(value, doubt),), 42.0) if isinstance(s, Line)]
        inner = min(x for s in lines for x, y in s.points if y == 0.0)
        reach = 42.0 - 1.344 * (27.0 - (value - doubt))
        assert inner == pytest.approx(min(reach, 42.0 - 4.5), abs=0.01)


def test_twelve_things_wrong_show_at_most_two_on_the_sheet_and_a_chain_on_the_copy():
    """A task of a coach's first month."""
    content = made("poor")
    seen = [item for item in content.assessment.items if item.word in ("seen", "near the line")]
    assert len(seen) >= 8
    assert len(content.assessment.slots) <= 2
    assert "Probably starts with" in said(pages(content)[0])


def test_an_override_prints_both_choices():
    """The sheet has the coach's choice, the copy has both and the reason."""
    content = made(slots=(9,))
    text = _text(content)
    assert "asked for it" in text
    by_rule = content.words.item(content.assessment.by_rule[0])
    assert f"The rule would choose: {by_rule}" in text


def test_the_sentence_for_the_family_stands_on_the_copy_of_the_young():
    young, grown = (made(slots=(9,), born=born) for born in (2011, 1990))
    says = young.assessment.slots[0].phrase.to_parent
    assert f"For the family: {says}" in _text(young).replace("\n", " ")
    assert "For the family" not in _text(grown)


def test_guesses_are_named():
    run = runs("poor")[0]
    first = run.steps[0].key_frames[0]
    taps = tuple(Tap(t.point, t.at_px, "guess") if t.point == "elbow" else t for t in first.taps)
    frames = (replace(first, taps=taps), *run.steps[0].key_frames[1:])
    guessed = replace(run, steps=(replace(run.steps[0], key_frames=frames),))
    assert "Guesses:" in _text(made(passes=(guessed,)))


def test_without_a_known_rate_the_copy_says_so():
    slow = tuple(replace(r, set_up=replace(r.set_up, slow_factor=None)) for r in runs("poor"))
    assert "rate not known" in _text(made(passes=slow))


def test_pain_stands_first_among_the_reasons():
    content = made(pain="yes")
    assert content.assessment.blocked in _text(content).replace("\n", " ")


@pytest.mark.parametrize("paper", list(PAPERS))
@pytest.mark.parametrize("family", list(FAMILIES))
@pytest.mark.parametrize("case", ["good", "poor", "long words", "two things", "pain"])
def test_no_page_overflows_and_no_two_texts_touch(case, family, paper):
    letters = fonts(family)
    content = {
        "good": lambda: made("good", paper=paper),
        "poor": lambda: made("poor", paper=paper, code="MARIA-LUISA-1984"),
        "long words": lambda: made("poor", paper=paper, words=stretched()),
        "two things": lambda: made("poor", paper=paper, slots=(8, 16), notes="Gusty wind. " * 20),
        "pain": lambda: made("poor", paper=paper, pain="yes"),
    }[case]()
    for shapes in coach_shapes(content, letters):
        assert overflows(shapes, paper, letters) == []
        assert collisions(shapes, letters) == []


def test_pages_are_numbered_after_the_athlete_s():
    for number, shapes in enumerate(pages(made()), start=2):
        assert f"coach's copy, page {number}." in said(shapes)


def test_pages_are_painted_at_300_dpi():
    assert [page.size for page in coach_pages(made("good"))] == [(2480, 3508)] * 3


def test_numerals_under_bands_are_the_only_small_text():
    small = {
        shape.text
        for shapes in pages(made())
        for shape in shapes
        if hasattr(shape, "text") and shape.size * 72 / 25.4 < 10.9
    }
    assert small
    assert all(text.lstrip("−").replace(".", "").isdigit() for text in small)
