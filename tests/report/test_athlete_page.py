"""The athlete's page: order, rules of care, and that it never overflows."""

import re
from dataclasses import replace
from itertools import pairwise, product

import pytest

from tapmark.checklist.verdict import SEEN, WORDS
from tapmark.marks.points import MID_STANCE, PEAK_KNEE_LIFT, SIDE_EVENTS
from tapmark.measures.result import Measured
from tapmark.report.drawing.idea import pair_of
from tapmark.report.drawing.palette import TINT
from tapmark.report.drawing.pose import step_poses
from tapmark.report.drawing.shapes import Area, Line, Ring
from tapmark.report.pages.athlete_page import athlete_shapes
from tapmark.report.pages.layout import BOX, CUE_SIZES, NAME, PAPERS, SMALL_CUE, TEXT, THIN
from tests.checklist.made import GOOD
from tests.drawn_runner.camera import View
from tests.drawn_runner.runs import drawn_run
from tests.report.golden import content as typed_content
from tests.report.made import (
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

pytestmark = pytest.mark.usefixtures("plain_limbs")


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
        "“",
        "Do this",
        "Coach: I saw it",
        "Since last time",
        "touchdown",
        "Sharp or sudden pain",
    ]
    tops = [_y(shapes, text) for text in order]
    assert all(a < b for a, b in pairwise(tops))
    for text in ("Notes", "Re-test week"):  # for hands: under drills or boxes, where there is room
        assert _y(shapes, "Do this") < _y(shapes, text) < _y(shapes, "Since last time")


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


def test_the_list_of_items_is_the_coach_s_unless_the_squad_wants_it_for_adults():
    assert "Checklist" not in said(page(made("good")))
    for content in (made("good"), made(slots=(1,))):
        assert "Checklist" in said(page(replace(content, has_list=True)))


def test_adults_of_such_a_squad_get_a_sign_and_a_word_for_every_item():
    text = said(page(replace(made("good"), has_list=True)))
    for number in range(1, 19):
        assert english().item(number) in text
    for word in ("fine", "not measured"):
        assert word in text
    assert text.count("follows from the others") == 2


@pytest.mark.parametrize("born", [2009, None])
def test_under_18_or_age_unknown_there_is_no_list_but_the_doubt_stays(born):
    text = said(page(replace(made(born=born), has_list=True)))
    assert "Checklist" not in text
    assert "Film can be off by a few degrees" in text.replace("\n", " ")


def _pair_height(shapes):
    """From the ground line of the pair up to the top of the higher head."""
    ground = next(
        s for s in shapes
        if isinstance(s, Line) and s.points[1][0] - s.points[0][0] > 150 and s.points[0][1] > 40
    )  # fmt: skip
    heads = [s for s in shapes if isinstance(s, Ring) and s.edge is None and s.radius > 3]
    top = min(s.centre[1] - s.radius for s in heads if s.centre[1] < ground.points[0][1])
    return ground.points[0][1] - top


TALL = {(1990, "a4"): 72, (2009, "a4"): 79, (1990, "letter"): 60, (2009, "letter"): 60}


@pytest.mark.parametrize(("born", "paper"), TALL)
@pytest.mark.parametrize("since", [0, 3, pytest.param(1, marks=pytest.mark.long)])
def test_the_pair_stands_72_mm_high_79_under_18_and_60_on_letter(since, born, paper):
    """Of every item. A full page may take a tenth; a runner is 0.9 to 1 of a body height high."""
    tall = TALL[born, paper]
    for item in (*range(1, 13), 15):
        content = made(slots=(item,), born=born, paper=paper, since=since)
        shapes = page(content)
        if any(label.text == "the idea" for label in labels(shapes)):  # else it is so already
            assert 0.9 * 0.9 * tall <= _pair_height(shapes) <= tall, item
    height = _pair_height(page(made("good", slots=(15,), born=born, paper=paper, since=since)))
    assert 0.9 * 0.9 * tall <= height <= tall


@pytest.mark.parametrize("paper", list(PAPERS))
@pytest.mark.parametrize("words", [english(), stretched()])
def test_the_athlete_s_own_word_stands_below_the_cue(words, paper):
    for item, born in product((1, 5, 8), (1990, 2009)):
        content = made(slots=(item,), born=born, words=words, paper=paper, since=3)
        shapes, label = page(content), words.say("page.my_word")
        quoted = [text.point[1] for text in labels(shapes) if text.text.endswith("”")]
        assert _y(shapes, label.split()[0]) > max(quoted)


@pytest.mark.parametrize("paper", list(PAPERS))
def test_two_priorities_have_two_pairs(paper):
    content = made(slots=(8, 1), paper=paper, since=3)
    texts = [label.text for label in labels(page(content))]
    assert texts.count("the idea") == texts.count("you") == 2


def test_without_a_task_the_strengths_are_drawn_large_in_place_of_lines_to_write_on():
    for content in (typed_content(GOOD), typed_content(GOOD, born=2009), made("good", born=2016)):
        shapes = page(content)
        heads = [s for s in shapes if isinstance(s, Ring) and s.fill == TINT]
        assert max(ring.radius for ring in heads) > 3.5, "a head of a figure of 60 mm and more"
        names = {each.words.split()[0] for each in content.assessment.strengths}
        large = [label for label in labels(shapes) if label.size >= NAME and label.is_bold]
        assert names <= {label.text.split()[0] for label in large}
        ruled = [s for s in shapes if isinstance(s, Line) and s.points[0][0] > 50]
        long = [s for s in ruled if s.points[1][0] - s.points[0][0] > 100]
        assert len(long) <= 3


def test_under_12_the_largest_line_praises_and_the_rule_stays_small():
    content = made("good", born=2016)
    sizes = {label.text: label.size for label in labels(page(content))}
    largest = max(size for text, size in sizes.items() if text != "K07")
    praise = [text for text, size in sizes.items() if size == largest and text != "K07"]
    assert praise[0].split()[0] in " ".join(each.words for each in content.assessment.strengths)
    assert sizes["Under 12 we show what goes well, and nothing else."] == TEXT


def test_every_drill_says_how_much_how_and_when_to_stop():
    for content in (made(slots=(1,)), made(slots=(7,), born=2009)):
        text = " ".join(said(page(content)).split())
        drill = content.assessment.slots[0].phrase.drills[0]
        for part in (drill.name, drill.dose, drill.stop):
            assert part in text
        assert drill.how.split(".")[0].split()[0] in text and "per session" in text


@pytest.mark.parametrize("pain", ["yes", "not answered"])
def test_pain_gives_a_referral_and_no_drill(pain):
    content = made(pain=pain)
    text = said(page(content)).replace("\n", " ")
    assert content.assessment.blocked in text
    assert "Do this" not in text
    assert "Tick at the next sessions" not in text
    for drill in ("Mini-hurdle", "A-march", "Quick low steps"):
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
@pytest.mark.parametrize("family", ["wide", pytest.param("ordinary", marks=pytest.mark.long)])
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
@pytest.mark.parametrize("language", ["Langish", pytest.param("English", marks=pytest.mark.long)])
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
    roomy = page(replace(made("good"), has_list=True))
    crowded = page(replace(made(slots=(1,), since=3), has_list=True))
    assert "Checklist" in said(roomy)
    assert "Checklist" in said(crowded)
    sizes = [{round(label.size, 3) for label in labels(shapes)} for shapes in (roomy, crowded)]
    assert sizes[1] - sizes[0] <= {round(size, 3) for size in CUE_SIZES}


def test_the_same_visit_gives_the_same_page():
    assert page(made()) == page(made())


def _with_doubt(content, share, word="seen"):
    """The sheet with the doubt of every row of its one thing multiplied, and another word."""
    (slot,) = content.assessment.slots
    rows = tuple(
        replace(row, result=replace(row.result, u=share * row.result.u, u_set_up=0.0))
        for row in slot.item.rows
        if isinstance(row.result, Measured)
    )
    item = replace(slot.item, rows=rows, word=word)
    slots = (replace(slot, item=item),)
    return replace(content, assessment=replace(content.assessment, slots=slots))


def _with_leg(content, leg_cm):
    set_up = replace(content.run.set_up, leg_cm=leg_cm, scale_px=None, scale_m=None)
    return replace(content, run=replace(content.run, set_up=set_up))


def _size(content):
    """The number that stands at the gap, e.g. "14 cm"; "" where none stands."""
    texts = [label.text for label in labels(page(content))]
    found = [t for t in texts if re.fullmatch(r"\d+(°| cm)", t)]
    assert len(found) == texts.count("about") <= 1
    return found[0] if found else ""


@pytest.mark.parametrize("item", [1, 3, 4, 8])
def test_the_gap_is_the_drawn_one_in_whole_cm(item):
    """Worked out from the drawn pair: a leg of 88 cm is 0.530 of a body height (1.08 · 0.491)."""
    content = _with_doubt(_with_leg(made(slots=(item,)), 88.0), 1.0)
    pair = pair_of(item, step_poses(content.run), content.assessment.slots[0].item.feet == "left")
    build = pair.you.build
    cm = 88.0 / (1.08 * (build.thigh + build.shank))
    gap = pair.away if item == 8 else abs(pair.measure.value(pair.you))
    assert _size(content) == f"{round(cm * gap)} cm"
    half = _with_leg(content, 44.0)
    assert int(_size(half).split()[0]) == pytest.approx(cm * gap / 2, abs=0.51)


def test_the_gap_of_an_angle_is_told_in_whole_degrees_whatever_the_leg():
    content = made(slots=(2,))
    for leg_cm in (None, 88.0):
        assert re.fullmatch(r"\d+°", _size(_with_leg(content, leg_cm)))


def test_a_gap_within_its_own_doubt_has_no_number():
    """1.64 u is the one-sided 95 % point of a normal distribution; u is that of one step."""
    content = _with_leg(made(slots=(1,)), 88.0)
    (slot,) = content.assessment.slots
    pair = pair_of(1, step_poses(content.run))
    build = pair.you.build
    own = max(row.result.u for row in slot.item.rows if row.result.key == "reach")
    steps = max(row.result.n_steps for row in slot.item.rows)
    step = own * steps**0.5 * 3.14159 / 180 * build.shank  # in body heights
    edge = pair.away / (1.64 * step)
    assert _size(_with_doubt(content, 0.97 * edge)) == _size(content) != ""
    assert _size(_with_doubt(content, 1.03 * edge)) == ""


@pytest.mark.parametrize("word", sorted(set(WORDS) - {SEEN}))
def test_only_what_was_seen_has_a_number(word):
    content = _with_leg(made(slots=(1,)), 88.0)
    assert _size(_with_doubt(content, 0.1, word)) == ""


def test_without_a_leg_length_or_a_scale_no_length_is_told():
    assert _size(_with_leg(made(slots=(1,)), None)) == ""


@pytest.mark.parametrize("item", [7, 15, 16, 17, 18])
def test_items_without_a_gap_name_none(item):
    assert _size(made(slots=(item,))) == ""
