"""The athlete's page: order, rules of care, and that it never overflows."""

from dataclasses import replace
from itertools import pairwise

import pytest

from tapmark.marks.points import MID_STANCE, PEAK_KNEE_LIFT, SIDE_EVENTS
from tapmark.report.drawing.palette import TINT
from tapmark.report.drawing.shapes import Area, Line, Ring
from tapmark.report.pages.athlete_page import athlete_page, athlete_shapes
from tapmark.report.pages.layout import BOX, LARGE, PAPERS, SMALL_CUE, TEXT, THIN
from tests.checklist.made import GOOD
from tests.drawn_runner.camera import View
from tests.drawn_runner.runs import drawn_run
from tests.report.golden import content as typed_content
from tests.report.made import (
    FAMILIES,
    STYLES,
    collisions,
    english,
    fonts,
    labels,
    made,
    overflows,
    runs,
    said,
    stretched,
)


def page(content, family="ordinary"):
    return athlete_shapes(content, fonts(family))


def _y(shapes, text):
    return next(label.point[1] for label in labels(shapes) if label.text.startswith(text))


def test_groups_stand_in_the_order_a_runner_reads_them():
    shapes = page(made("good", since=2, slots=(1,)))
    order = [
        "K07",
        "What you do well",
        "Something to try",
        "Do this",
        "Since last time",
        "Checklist",
        "touchdown",
        "Notes",
        "Sharp or sudden pain",
    ]
    tops = [_y(shapes, text) for text in order]
    assert all(a < b for a, b in pairwise(tops))


def test_the_strip_tells_code_date_run_side_and_quality():
    text = said(page(made()))
    for part in ("K07", "14 May 2026", "sheet 3", "effort 9 of 10", "Right side filmed", "good"):
        assert part in text


def test_a_run_to_the_left_says_that_the_left_side_was_filmed():
    left = (drawn_run(STYLES["poor"], View(direction=-1), seed=1),)
    text = said(page(made(passes=left)))
    assert "Left side filmed." in text
    mirrored = tuple(replace(r, set_up=replace(r.set_up, is_mirrored=True)) for r in left)
    assert "Right side filmed." in said(page(made(passes=mirrored)))


def test_both_ways_filmed_is_told_as_both_sides():
    both = tuple(drawn_run(STYLES["poor"], View(direction=d), seed=1) for d in (1, -1))
    assert "Both sides filmed." in said(page(made(passes=both)))


def test_one_thing_is_large_with_the_foot_that_is_meant_and_its_drills():
    content = made(slots=(1,))
    chosen = content.assessment.slots[0]
    text = said(page(content))
    assert chosen.item.feet in ("right", "left", "both")
    assert {"right": "right foot", "left": "left foot", "both": "both feet"}[
        chosen.item.feet
    ] in text
    assert chosen.phrase.drills[0].name in text
    assert chosen.phrase.drills[0].stop.split()[0] in text


def test_the_cue_is_at_least_20_pt_and_everything_else_at_least_11():
    for content in (made(), made(words=stretched(), since=3)):
        sizes = {round(label.size, 4) for label in labels(page(content))}
        small = {size for size in sizes if size < round(TEXT, 4)}
        assert small <= {round(0.94 * TEXT, 4)}, "only the numerals of the time scale are smaller"
        assert max(sizes) >= round(SMALL_CUE, 4)


# A task of a coach's first month: Letter paper, boxes intact
@pytest.mark.parametrize("paper", list(PAPERS))
@pytest.mark.parametrize("case", ["plain", "two things", "long notes"])
@pytest.mark.parametrize("language", ["English", "Langish"])
def test_boxes_to_tick_are_whole_on_either_paper(language, case, paper):
    words = english() if language == "English" else stretched()
    shapes = page(made(**{"paper": paper, "words": words, **CASES[case]}))
    boxes = [s for s in shapes if isinstance(s, Area) and s.fill is None and len(s.points) == 4]
    assert len(boxes) == 6 * 4 + 3
    for each in boxes:
        (left, right), (top, bottom) = ((min(v), max(v)) for v in zip(*each.points, strict=True))
        assert (right - left + each.width, bottom - top + each.width) == pytest.approx((BOX, BOX))
        assert 15 <= left < right <= PAPERS[paper].width - 15
        assert 15 <= top < bottom <= PAPERS[paper].height - 15


def test_the_athlete_s_own_word_stands_in_quotes_and_leaves_one_line_to_write():
    content = made(slots=(1,))
    own = replace(content, athlete=replace(content.athlete, own_cue="drop it"))
    text = said(page(own))
    assert "“drop it”" in text
    assert text.index("My word for it") < text.index("“drop it”")


def test_boxes_to_tick_are_5_mm_and_lines_1_2_pt():
    shapes = page(made())
    boxes = [s for s in shapes if isinstance(s, Area) and s.fill is None and len(s.points) == 4]
    assert len(boxes) == 6 * 4 + 3
    for each in boxes:
        xs = [x for x, _ in each.points]
        assert max(xs) - min(xs) + each.width == pytest.approx(BOX)
    widths = [s.width for s in shapes if isinstance(s, Line)]
    assert min(widths) >= THIN - 1e-9
    assert THIN * 72 / 25.4 >= 1.2


def test_adults_get_the_checklist_with_a_sign_and_a_word_for_every_item():
    text = said(page(made("good")))
    for number in range(1, 19):
        assert english().item(number) in text
    for word in ("fine", "not measured"):
        assert word in text
    assert text.count("follows from the others") == 2


@pytest.mark.parametrize("born", [2009, None])
def test_under_18_or_age_unknown_there_is_no_list_but_the_doubt_stays(born):
    text = said(page(made(born=born)))
    assert "Checklist" not in text
    assert "Film can be off by a few degrees" in text.replace("\n", " ")


def _step_height(content):
    """From the names below the step line up to its highest head; four or five stand on it."""
    shapes = page(content)
    below = _y(shapes, "touchdown")
    heads = [s for s in shapes if isinstance(s, Ring) and s.fill == TINT and s.centre[1] < below]
    return below - sorted(ring.centre[1] for ring in heads)[-4]


def test_under_18_the_figures_of_the_step_are_larger():
    young, grown = (made("good", born=born, slots=(1,)) for born in (2009, 1990))
    assert _step_height(young) > 1.1 * _step_height(grown)


@pytest.mark.parametrize("pain", ["yes", "not answered"])
def test_pain_gives_a_referral_and_no_drill(pain):
    content = made(pain=pain)
    text = said(page(content)).replace("\n", " ")
    assert content.assessment.blocked in text
    assert "Do this" not in text
    assert "Tick at the next sessions" not in text
    for drill in ("Mini-hurdle", "A-march", "cycling runs"):
        assert drill not in text


def test_all_that_was_measured_is_fine_says_keep_this():
    content = typed_content(GOOD)
    assert content.assessment.slots == ()
    text = said(page(content))
    assert "Keep this" in text
    assert "Do this" not in text


def test_a_film_that_cant_tell_says_so():
    content = typed_content(GOOD, u=8.0)  # no row of the catalogue can be told that coarsely
    assert content.assessment.slots == ()
    assert any(item.word == "can't tell" for item in content.assessment.items)
    text = said(page(content))
    assert "This film can't tell yet" in text and "Keep this" not in text
    assert "Do this" not in text


def test_only_the_first_sheet_says_it_is_the_starting_point():
    content = made(since=0)
    first = replace(content, assessment=replace(content.assessment, is_first_sheet=True))
    assert "This is your starting point." in said(page(first))
    assert "Since last time" not in said(page(content))  # the sheet before had no task
    assert "closer to the idea" in said(page(made(since=2))).replace("\n", " ")


def test_cautions_stand_on_every_page():
    for content in (made(), made("good"), made(pain="yes"), made(born=2010, has_grown=True)):
        text = said(page(content)).replace("\n", " ")
        assert "Sharp or sudden pain: stop, tell us, see a doctor or physio." in text
        assert "Please do not post." in text
        for caution in content.assessment.cautions:
            assert caution in text


def test_drills_stand_below_the_question_about_pain():
    shapes = page(made())
    assert _y(shapes, "Pain today?") < _y(shapes, made().assessment.slots[0].phrase.drills[0].name)


CASES = {
    "plain": {},
    "since": {"since": 3},
    "two things": {"slots": (8, 16), "since": 3},
    "long code": {"code": "MARIA-LUISA-1984-BLUE"},
    "long notes": {"notes": "Windy, with gusts from the left, and a wet track. " * 6},
    "young": {"born": 2009},
    "nothing seen": {"style": "good"},
    "pain": {"pain": "yes"},
}


@pytest.mark.parametrize("paper", list(PAPERS))
@pytest.mark.parametrize("family", list(FAMILIES))
@pytest.mark.parametrize("language", ["English", "Langish"])
@pytest.mark.parametrize("case", list(CASES))
def test_no_page_overflows_and_no_two_texts_touch(case, language, family, paper):
    letters = fonts(family)
    words = english() if language == "English" else stretched()
    content = made(**{"paper": paper, "words": words, **CASES[case]})
    shapes = athlete_shapes(content, letters)
    assert overflows(shapes, paper, letters) == []
    assert collisions(shapes, letters) == []


def test_the_made_up_language_is_40_percent_longer_and_full_of_accents():
    long, short = ("".join(words.leaves.values()) for words in (stretched(), english()))
    assert len(long) >= 1.4 * len(short)
    assert sum(not c.isascii() for c in long) > 0.4 * len(long)


@pytest.mark.parametrize("item", range(1, 19))
@pytest.mark.parametrize("language", ["English", "Langish"])
@pytest.mark.parametrize("paper", list(PAPERS))
def test_every_item_as_the_one_thing_fits(item, language, paper):
    words = english() if language == "English" else stretched()
    content = made(slots=(item,), words=words, since=3, paper=paper)
    shapes = page(content)
    assert overflows(shapes, paper, fonts()) == []
    assert collisions(shapes, fonts()) == []


@pytest.mark.parametrize(
    "missing", [(), (MID_STANCE,), (PEAK_KNEE_LIFT, MID_STANCE), SIDE_EVENTS[1:]]
)
def test_missing_key_frames_still_give_a_page(missing):
    run = runs("poor")[0]
    frames = tuple(f for f in run.steps[0].key_frames if f.event not in missing)
    cut = replace(run, steps=(replace(run.steps[0], key_frames=frames),))
    shapes = page(made(passes=(cut,)))
    assert overflows(shapes, "a4", fonts()) == []
    assert collisions(shapes, fonts()) == []
    assert ("not set" in said(shapes)) == bool(missing)


def test_a_crowded_page_gives_up_figures_before_the_list_and_never_text():
    roomy, crowded = page(made("good")), page(made(slots=(1,), since=3))
    assert "Checklist" in said(roomy)
    assert "Checklist" in said(crowded)
    sizes = [{round(label.size, 3) for label in labels(shapes)} for shapes in (roomy, crowded)]
    assert sizes[1] - sizes[0] <= {round(SMALL_CUE, 3), round(LARGE, 3)}


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


def test_the_same_visit_gives_the_same_page():
    assert page(made()) == page(made())
