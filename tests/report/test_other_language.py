"""A second language is one file: no English is left on any page once the words are in another.

The made-up language has Cyrillic letters only. What is Latin on a page afterwards was typed by a
person (listed here), is the symbol of a unit, or is English that somebody left in the code.
"""

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from tapmark.marks.points import MID_STANCE, PEAK_KNEE_LIFT
from tapmark.marks.run import KeyFrame, Tap
from tapmark.report.drawing.step_line import StepLook, step_line
from tapmark.report.pages.athlete_page import athlete_shapes
from tapmark.report.pages.cards import card_html, card_shapes, log_html, log_shapes
from tapmark.report.pages.coach_page import coach_shapes
from tapmark.report.pages.content import SinceLine
from tapmark.report.pages.group_page import group_html, group_shapes
from tapmark.report.pages.html import athlete_html, coach_html
from tapmark.report.pages.words import page_words
from tests.drawn_runner.camera import View
from tests.drawn_runner.runs import drawn_run
from tests.report.made import STYLES, cyrillic, fonts, made, runs, said
from tests.report.test_group_page import squad

SYMBOLS = {"ms", "cm", "m", "s"}  # units of the SI: the same in every language


def latin(text, typed=()):
    """Every word in Latin letters that nobody typed."""
    known = {word.lower() for each in typed for word in _words(each)} | SYMBOLS
    return sorted({word for word in _words(text) if word.lower() not in known})


def _words(text):
    return re.findall(r"[A-Za-z][A-Za-z'’-]*", text)


def typed_on(content):
    set_up, visit = content.run.set_up, content.visit
    return [
        content.athlete.code,
        *filter(None, (set_up.zone, set_up.shoes, visit.reason, visit.notes)),
    ]


def _changed(run, **answers):
    return replace(run, set_up=replace(run.set_up, **answers))


def _without(run, *events):
    step = run.steps[0]
    frames = tuple(f for f in step.key_frames if f.event not in events)
    return replace(run, steps=(replace(step, key_frames=frames),))


def _tapped(run, event, point, certainty):
    step = run.steps[0]
    frames = tuple(
        replace(f, taps=tuple(_retapped(t, point, certainty) for t in f.taps))
        if f.event == event
        else f
        for f in step.key_frames
    )
    return replace(run, steps=(replace(step, key_frames=frames),))


def _retapped(tap: Tap, point, certainty):
    if tap.point != point:
        return tap
    return Tap(point, None if certainty in ("hidden", "behind") else tap.at_px, certainty)


def _far_off(run):
    """One ankle tapped outside the picture, both knees crossed: the marking checks speak."""
    step = run.steps[0]
    frames = tuple(_moved(frame) for frame in step.key_frames)
    return replace(run, steps=(replace(step, key_frames=frames),))


def _moved(frame: KeyFrame):
    far = {"near ankle": (5000.0, 300.0)} if frame.event == "toe-off" else {}
    taps = tuple(replace(t, at_px=far.get(t.point, t.at_px)) for t in frame.taps)
    return replace(frame, taps=taps)


def _rear(run):
    return replace(run, view="rear", steps=(replace(run.steps[0], ticks=(("hand crosses", 2),)),))


PASSES = {
    "as filmed": lambda: None,
    "without a rate": lambda: tuple(_changed(r, slow_factor=None) for r in runs("poor")),
    "slow camera": lambda: tuple(_changed(r, slow_factor=0.2) for r in runs("poor")),
    "hand-held": lambda: tuple(_changed(r, camera="hand-held") for r in runs("poor")),
    "bend": lambda: tuple(_changed(r, context="bend") for r in runs("poor")),
    "accelerating": lambda: tuple(_changed(r, context="acceleration") for r in runs("poor")),
    "race pace": lambda: tuple(_changed(r, context="race pace") for r in runs("poor")),
    "half marked": lambda: (_without(runs("poor")[0], MID_STANCE, PEAK_KNEE_LIFT),),
    "guessed": lambda: (_tapped(runs("poor")[0], "touchdown", "elbow", "guess"),),
    "hidden": lambda: (_tapped(runs("poor")[0], "touchdown", "hip", "hidden"),),
    "behind": lambda: (_tapped(runs("poor")[0], "touchdown", "far knee", "behind"),),
    "far off": lambda: (_far_off(runs("poor")[0]),),
    "slowed down twice": lambda: (_changed(runs("poor")[0], slow_factor=8.0, scale_px=None),),
    "other way": lambda: (runs("poor")[0], drawn_run(STYLES["poor"], View(direction=-1))),
    "from behind": lambda: (runs("poor")[0], _rear(runs("poor")[1])),
}
CASES = {
    **{name: {"passes": name} for name in PASSES},
    "well": {"style": "good"},
    "young and grown": {"born": 2011, "has_grown": True},
    "pain": {"pain": "yes"},
    "pain not asked": {"pain": "not answered"},
    "overridden": {"slots": (8, 16), "since": 3, "notes": "Windy."},
    "from the front": {"slots": (17,)},
}


def content_of(case):
    asked = dict(CASES[case])
    if "passes" in asked:
        asked["passes"] = PASSES[asked["passes"]]()
    return made(words=cyrillic(), **asked)


@pytest.mark.parametrize("case", list(CASES))
def test_no_english_is_left_on_athlete_s_page_and_coach_s_copy(case):
    content = content_of(case)
    for shapes in (athlete_shapes(content, fonts()), *coach_shapes(content, fonts())):
        assert latin(said(shapes), typed_on(content)) == []


class _Spoken(HTMLParser):
    """Everything a reader or a screen reader is told: text, titles, labels."""

    SPOKEN = ("aria-label", "alt", "title", "placeholder")

    def __init__(self, text):
        super().__init__()
        self.told = []
        self.tag = ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tag = tag
        self.told += [value for name, value in attrs if name in self.SPOKEN]

    def handle_endtag(self, tag):
        self.tag = ""

    def handle_data(self, data):
        if self.tag != "style":
            self.told.append(data)


@pytest.mark.parametrize("write", [athlete_html, coach_html])
@pytest.mark.parametrize("case", list(CASES))
def test_no_english_is_left_in_the_html_twin(case, write):
    content = content_of(case)
    text = " ".join(_Spoken(write(content)).told)
    assert latin(text, typed_on(content)) == []


def test_no_english_is_left_on_the_group_sheet():
    content = squad(25, cyrillic())
    typed = [content.name, "ask for consent", *(line.code for line in content.lines)]
    for shapes in group_shapes(content, fonts()):
        assert latin(said(shapes), typed) == []
    assert latin(" ".join(_Spoken(group_html(content)).told), typed) == []


def test_no_english_is_left_on_the_cards():
    codes = ("K07", "M12")
    for shapes in (
        card_shapes(cyrillic(), "a4", fonts()),
        *log_shapes(cyrillic(), codes, "a4", fonts()),
    ):
        assert latin(said(shapes), codes) == []
    for text in (card_html(cyrillic()), log_html(cyrillic(), codes)):
        assert latin(" ".join(_Spoken(text).told), codes) == []


def test_no_english_is_left_on_the_step_line_as_a_picture():
    look = StepLook(25.0, 3.88, 0.43, 1.15, 0.43, min_outline=0.43)
    run = _without(runs("poor")[0], MID_STANCE)
    drawn = step_line(run, 0, 180.0, look, fonts().width, page_words(cyrillic()).step)
    assert latin(said(drawn.shapes)) == []


def test_a_sentence_left_in_english_would_be_found():
    content = replace(content_of("as filmed"), since=(SinceLine("Sitting", "same", "Windy."),))
    assert latin(said(athlete_shapes(content, fonts())), typed_on(content)) == ["Sitting", "Windy"]
