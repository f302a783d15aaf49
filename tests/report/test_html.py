"""The HTML twin: one file, nothing from outside, escaped, with headings, tables and alt texts."""

import html
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from tapmark.checklist.verdict import SHOWN
from tapmark.marks.people import Athlete
from tapmark.measures.result import Measured
from tapmark.report.drawing.svg import STYLE as DRAWING_STYLE
from tapmark.report.pages.athlete_page import athlete_shapes
from tapmark.report.pages.cards import POINTS, card_html, log_html
from tapmark.report.pages.html import STYLE, athlete_html, coach_html
from tests.checklist.made import GOOD
from tests.report.golden import content as typed_content
from tests.report.made import english, fonts, made, said, stretched

pytestmark = pytest.mark.usefixtures("plain_limbs")


def test_every_class_on_a_page_has_a_rule():
    full = replace(made(slots=(1, 4), since=3), has_list=True)
    text = coach_html(full) + athlete_html(made("good")) + log_html(english(), ["K07"])
    text += card_html(english())
    named = {each for found in re.findall(r'class="([^"]*)"', text) for each in found.split()}
    ruled = set(re.findall(r"\.([a-z][\w-]*)", STYLE + DRAWING_STYLE))
    assert len(named) > 15
    assert named - ruled == BARE


BARE = {"chain"}
"""Figures of a kind that stands as every figure does."""


class _Page(HTMLParser):
    """Tags in order, their attributes, and the text people read."""

    def __init__(self, text):
        super().__init__()
        self.tags: list[tuple[str, dict]] = []
        self.words: list[str] = []
        self.open: list[str] = []
        self.stray: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in ("meta", "br", "input", "path", "circle"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        if tag not in ("path", "circle") and (not self.open or self.open.pop() != tag):
            self.stray.append(tag)

    def handle_data(self, data):
        if not self.open or self.open[-1] != "style":
            self.words.append(data)

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())


@pytest.mark.parametrize("write", [athlete_html, coach_html])
def test_every_element_is_closed_in_order(write):
    page = _Page(write(made()))
    assert page.stray == []
    assert page.open == []


def test_headings_go_down_one_step_at_a_time_from_one_h1():
    tags = [tag for tag, _ in _Page(coach_html(made())).tags]
    levels = [int(tag[1]) for tag in tags if re.fullmatch("h[1-6]", tag)]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))


def test_tables_have_captions_or_headings_and_every_cell_its_header():
    for tag, attributes in _Page(coach_html(made())).tags:
        if tag == "th":
            assert attributes["scope"] in ("row", "col")


def test_every_drawing_has_a_text_or_is_hidden():
    for tag, attributes in _Page(coach_html(made())).tags:
        if tag == "svg":
            assert attributes.get("role") == "img" or attributes.get("aria-hidden") == "true"


def test_every_box_to_tick_has_a_name():
    boxes = [a for tag, a in _Page(athlete_html(made())).tags if tag == "input"]
    assert len(boxes) == 6 * 4 + 3
    assert len({a["aria-label"] for a in boxes}) == len(boxes)


def test_nothing_is_fetched_and_nothing_runs():
    text = coach_html(made())
    for reaching in (r"\b(?:src|href|action)\s*=", r"url\(|@import", "<script|<link", r"\son\w+="):
        assert re.findall(reaching, text) == []
    addresses = set(re.findall(r"https?://[^\s\"'<>]+", text))
    assert addresses == {"http://www.w3.org/2000/svg"}, "the name of SVG's vocabulary only"
    assert "default-src 'none'" in text


@pytest.mark.parametrize("nasty", ["<script>alert(1)</script>", "\"'><img src=x>", "a & b < c"])
def test_whatever_a_person_types_is_escaped(nasty):
    content = made(notes=nasty)
    content = replace(
        content,
        athlete=Athlete(nasty, 1990, own_cue=nasty),
        visit=replace(content.visit, retest_week=nasty),
        run=replace(content.run, set_up=replace(content.run.set_up, zone=nasty, shoes=nasty)),
    )
    for text in (athlete_html(content), coach_html(content)):
        assert nasty not in text
        assert html.escape(nasty) in text
        assert not [tag for tag, _ in _Page(text).tags if tag in ("script", "img")]


@pytest.mark.parametrize("style", ["good", "poor"])
def test_words_are_those_of_the_printed_page(style):
    content = made(style, since=2)
    text = _Page(athlete_html(content)).text
    for chosen in content.assessment.slots:
        assert chosen.phrase.says in text
        assert chosen.phrase.cue in text
        assert chosen.phrase.drills[0].dose in text
    for strength in content.assessment.strengths[:3]:
        assert strength.words in text
    for caution in content.assessment.cautions:
        assert caution in text
    assert "closer to the idea" in text


@pytest.mark.parametrize(
    ("case", "there", "missing"),
    [
        ({"born": 2009}, "Your step", "Checklist"),
        ({"pain": "yes"}, "so there is no task", "Do this"),
        ({"style": "good"}, "Keep this", "Tick at the next sessions"),
    ],
)
def test_the_rules_of_care_hold_here_too(case, there, missing):
    text = _Page(athlete_html(made(**case))).text
    assert there in text
    assert missing not in text


@pytest.mark.parametrize("n_known", [0, 1])
def test_what_a_priority_may_start_with_is_told_to_the_coach_and_to_nobody_else(n_known):
    """The athlete gets one thing; what may stand behind it would be a second and a third one."""
    content = made(slots=(1,))
    (slot,) = content.assessment.slots
    unsure = replace(slot, starts_with=(10,)[:n_known])
    told = ("Foot ahead of knee probably starts with Leaning back.",) * n_known
    told += ("Foot ahead of knee may start with Sitting, which this film can't tell.",)
    assessment = replace(content.assessment, slots=(unsure,), reasons=told)
    content = replace(content, assessment=assessment)

    assert " ".join(told) in _Page(coach_html(content)).text
    page = _Page(athlete_html(content)).text
    paper = " ".join(said(athlete_shapes(content, fonts())).split())
    assert "Foot ahead of knee" in page and "Foot ahead of knee" in paper
    for text in (page, paper):
        assert "Sitting" not in text and "Leaning back" not in text


def test_a_film_that_cant_tell_says_so_here_too():
    text = _Page(athlete_html(typed_content(GOOD, u=8.0))).text
    assert "This film can't tell yet" in text
    assert "Tick at the next sessions" not in text


def test_the_coach_s_copy_has_every_number():
    content = made()
    text = _Page(coach_html(content)).text
    for row in content.assessment.rows:
        result = row.result
        if isinstance(result, Measured):
            assert f"± {result.plus_minus:.{result.digits}f}" in text
        else:
            assert result.reason in text
        if row.band and row.word != SHOWN:
            assert row.band.basis.split(";")[0][:15] in text.replace("−", "-")


def test_drawings_inside_are_well_formed():
    for drawing in re.findall(r"<svg.*?</svg>", coach_html(made())):
        ET.fromstring(drawing)


def test_light_and_dark_and_print_are_provided():
    text = athlete_html(made(paper="letter"))
    for rule in ("prefers-color-scheme:dark", "@media print", "size:letter"):
        assert rule in text
    assert "size:A4" in athlete_html(made())


def test_the_language_is_declared():
    assert '<html lang="en">' in athlete_html(made())
    long = athlete_html(made(words=stretched()))
    assert _Page(long).stray == []


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_filming_card_has_every_point_and_its_plan_in_words(paper):
    page = _Page(card_html(english(), paper))
    assert (page.stray, page.open) == ([], [])
    assert [tag for tag, _ in page.tags if tag in ("h1", "h2")] == ["h1", *["h2"] * len(POINTS)]
    for name in POINTS:
        assert english().say(f"card.{name}_says") in page.text
    assert "right angles across the lane, from 10 to 15 m" in page.text


def test_the_shot_log_has_six_rows_for_everybody_and_a_named_box_in_each():
    nasty = "<b>&"
    codes = ("K07", nasty, *(f"M{i}" for i in range(8)))
    text = log_html(english(), codes)
    page = _Page(text)
    assert (page.stray, page.open) == ([], [])
    assert nasty not in text.replace("<b>&lt;", "")
    boxes = [a["aria-label"] for tag, a in page.tags if tag == "input"]
    assert len(boxes) == len(set(boxes)) == 60
    assert "9. <b>& 3: pain" in boxes
    assert all(
        attributes["scope"] in ("row", "col") for tag, attributes in page.tags if tag == "th"
    )


def test_the_athlete_s_own_word_stands_under_the_cue_as_on_paper():
    for slots in ((1,), (8, 1)):
        content = made(slots=slots)
        text = _Page(athlete_html(content)).text
        cue = content.assessment.slots[-1].phrase.cue
        assert text.index(cue) < text.index("My word for it") < text.index("Do this")
        own = replace(content, athlete=replace(content.athlete, own_cue="drop it"))
        assert "My word for it “drop it”" in _Page(athlete_html(own)).text
    assert "My word for it" not in athlete_html(typed_content(GOOD))


PHONE_PX, MARGINS_PX = 360, 2 * 19  # 5 mm each side, 96 px to an inch


def test_letters_of_every_drawing_are_12_px_high_or_more_on_a_phone():
    """It fills the width of the screen; the numerals of the time scale may be a px less."""
    page = coach_html(made(slots=(1,)))
    small = re.findall(r'<div class="small">(<svg.*?</svg>)</div>', page, re.DOTALL)
    assert len(small) == 3, "pair, step line, map of the chain"
    for drawing in small:
        wide = float(re.search(r'viewBox="0 0 (\d+)', drawing).group(1))
        sizes = {int(size) for size in re.findall(r'font-size="(\d+)"', drawing)}
        assert min(sizes) * (PHONE_PX - MARGINS_PX) / wide >= 11.0


def test_only_a_band_and_its_edges_are_kept_on_one_line():
    """A sentence that may not wrap reaches beyond the edge of a phone."""
    cells = re.findall(r'<td class="b">(.*?)</td>', coach_html(made(slots=(1,))))
    assert len(cells) > 15
    for cell in cells:
        assert re.fullmatch(r"[−\d…/ .→]*", re.sub(r"<svg.*?</svg>", "", cell))
