"""No sentence of a page states as a fact what its verdict does not carry.

Goes through item × word × age × who chose × pain × first or later sheet. Words are put in by hand,
so that no number and no band counts here, and every word of the program takes part: a new one joins
by itself and then needs its words under [idea]. What a page may say is written here a second time.
"""

import re
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from html import unescape
from itertools import product

import pytest

from tapmark.checklist import verdict
from tapmark.checklist.assess import assess_items
from tapmark.checklist.situation import Situation
from tapmark.checklist.verdict import (
    CANT_TELL,
    FINE,
    NEAR_THE_LINE,
    NOT_MEASURED,
    PAST,
    SEEN,
    Assessment,
    ItemVerdict,
)
from tapmark.marks.people import Athlete, Slot, Visit
from tapmark.measures.result import Measured, Results
from tapmark.report.pages.athlete_page import athlete_shapes
from tapmark.report.pages.content import SheetContent, SinceLine
from tapmark.report.pages.html import athlete_html, coach_html
from tests.checklist.made import CRITERIA
from tests.report.golden import sample_run
from tests.report.made import fonts, said

DAY = date(2026, 5, 14)
WORDS = verdict.WORDS
AGES = {"11": 2015, "14": 2012, "17": 2009, "30": 1996, "unknown": None}
YOUNG = {"11", "14", "17", "unknown"}
NOBODY, RULE, COACH, KEPT = WHO = ("nobody", "rule", "coach", "kept")
PAINS = ("no", "yes", "not answered")
ITEMS = [rule.number for rule in CRITERIA.items if not rule.is_result]
FACTS = {  # every sentence about an item that says what the athlete does
    number: [
        CRITERIA.words.leaves[f"items.{number}.{kind}"].split(". ")[0]
        for kind in ("young", "adult", "parent", "with_young", "with_adult", "with_parent")
        if f"items.{number}.{kind}" in CRITERIA.words.leaves
    ]
    for number in ITEMS
}
FILM = Results({}, rate_hz=240.0, n_steps=1)


def items_of(words: dict[int, str], others: str) -> tuple[ItemVerdict, ...]:
    """Return 18 items; those of the last column of the list follow from the others."""
    return tuple(
        ItemVerdict(
            rule.number,
            CRITERIA.words.item(rule.number),
            words.get(rule.number, others),
            is_result=rule.is_result,
            once=True,
        )
        for rule in CRITERIA.items
    )


def assessed(
    words: dict[int, str],
    others: str = FINE,
    age: str = "30",
    who: str = RULE,
    pain: str = "no",
    *,
    is_first: bool = False,
    film: Results = FILM,
) -> Assessment:
    """Return an assessment of typed words."""
    number = next(iter(words), 8)
    slots = {COACH: (Slot(number),), NOBODY: ()}.get(who)
    kept = (Slot(number, since=(DAY - timedelta(days=7)).isoformat()),) if who == KEPT else ()
    situation = Situation(
        DAY, AGES[age], pain, is_first_sheet=is_first, slots=slots, kept=kept, reason="asked",
        accepted=frozenset(each.item for each in slots or ()),
    )  # fmt: skip
    items = items_of(words, others)
    return assess_items(items, (), situation, CRITERIA, ticks={}, results=(film,))


def content(found: Assessment, age: str = "30", since: tuple[SinceLine, ...] = ()) -> SheetContent:
    visit = Visit("K07", DAY.isoformat(), ("run-1",), sheet_number=1 if found.is_first_sheet else 2)
    run = sample_run()
    words = CRITERIA.words
    return SheetContent(Athlete("K07", AGES[age]), visit, run, FILM, found, words, since=since)


def text_of(page: str) -> str:
    """Return what a reader reads of an HTML page."""
    return " ".join(unescape(re.sub(r"<(style|title)>.*?</\1>|<[^>]+>", " ", page)).split())


@cache
def pdf_text(found: Assessment, age: str) -> str:
    return " ".join(said(athlete_shapes(content(found, age), fonts())).split())


def told(found: Assessment) -> str:
    """Return everything that an assessment gives the athlete's page and the coach's reasons."""
    parts = [found.heading, found.blocked, *found.instead, *found.cautions]
    parts += [each.words for each in found.strengths]
    for slot in found.slots:
        parts += [slot.phrase.name, slot.phrase.says, slot.phrase.to_parent, slot.phrase.cue]
    return " ".join([*parts, *found.reasons])


@pytest.mark.parametrize("age", AGES)
@pytest.mark.parametrize("who", WHO)
def test_a_fact_is_told_of_nothing_but_what_was_seen(age: str, who: str) -> None:
    for number, word, pain, is_first in product(ITEMS, WORDS, PAINS, (True, False)):
        found = assessed({number: word}, age=age, who=who, pain=pain, is_first=is_first)
        text = told(found)
        for other in ITEMS:
            is_seen = other == number and word == SEEN
            assert is_seen or not any(fact in text for fact in FACTS[other]), (number, word)
        assert ("Something to try" in text) or word in PAST or not found.slots


@pytest.mark.parametrize("others", WORDS)
@pytest.mark.parametrize("age", AGES)
def test_nothing_to_change_is_said_only_where_all_that_was_measured_is_fine(
    others: str, age: str
) -> None:
    for number, word, who, pain in product(ITEMS, WORDS, (NOBODY, RULE), PAINS):
        found = assessed({number: word}, others, age, who, pain)
        words = {each.word for each in found.items if not each.is_result} - {NOT_MEASURED}
        may = words == {FINE} and not found.slots and not found.blocked
        assert may == ("Nothing to change" in told(found)) == ("Keep this" in told(found))


@pytest.mark.parametrize("age", ["14", "17", "30", "unknown"])
def test_what_cant_be_told_is_said_in_one_line_and_what_would_tell(age: str) -> None:
    found = assessed({8: CANT_TELL, 11: CANT_TELL}, age=age)
    assert found.instead == (
        "This film can't tell yet",
        "Not clear so far: Sitting; Sinking.",
        "To be sure, we mark two more passes.",
    )
    nothing = assessed({}, NOT_MEASURED, age)
    assert nothing.instead[:2] == ("This film can't tell yet", "Nothing could be measured in it.")


@pytest.mark.parametrize(
    ("rate", "passes", "told"),
    [
        (240.0, 1, "To be sure, we mark two more passes."),
        (239.7, 3, "To be sure, we film again, with the camera side-on to the lane."),
        (120.0, 3, "To be sure, we film again at 240 frames per second."),
        (None, 1, "To be sure, we film at 240 frames per second and mark two more passes."),
    ],
)
def test_what_would_tell_fits_the_film(rate: float | None, passes: int, told: str) -> None:
    film = replace(FILM, rate_hz=rate, n_steps=passes)
    assert assessed({8: CANT_TELL}, film=film).instead[-1] == told


def test_many_things_that_cant_be_told_are_not_a_list() -> None:
    assert assessed({}, CANT_TELL).instead[1].endswith(", and 13 more.")


def test_under_16_a_fault_that_nobody_chose_waits_for_the_coach_in_words() -> None:
    for age, number in product(("14",), ITEMS):
        found = assessed({number: SEEN}, age=age)
        assert found.instead[0] == "Your coach has not chosen yet"
        assert CRITERIA.words.item(number) not in told(found).split(found.reasons[0])[0]


@pytest.mark.parametrize("age", ["11", "17", "30"])
@pytest.mark.parametrize("who", [RULE, COACH])
@pytest.mark.parametrize("word", WORDS)
def test_the_pages_read_by_people_say_no_more_than_the_film(age: str, who: str, word: str) -> None:
    """HTML and the coach's copy, item 1 and one from behind, with every answer about pain."""
    for number, pain, is_first in ((1, "no", True), (16, "no", False), (1, "yes", False)):
        found = assessed({number: word}, age=age, who=who, pain=pain, is_first=is_first)
        since = () if is_first else (SinceLine("Sitting", "same"),)
        sheet = text_of(athlete_html(content(found, age, since)))
        copy = text_of(coach_html(content(found, age, since)))
        _hold(found, sheet, number, word, age, pain, is_first)
        assert any(f in copy for f in FACTS[number]) <= (word == SEEN and bool(found.slots))


@pytest.mark.parametrize(("age", "pain"), [("11", "no"), ("17", "no"), ("30", "no"), ("30", "yes")])
@pytest.mark.parametrize("word", WORDS)
def test_the_printed_page_says_no_more_than_the_film(age: str, pain: str, word: str) -> None:
    for who, is_first in ((COACH, pain != "no"),):
        found = assessed({8: word}, age=age, who=who, pain=pain, is_first=is_first)
        _hold(found, pdf_text(found, age), 8, word, age, pain, is_first)


def _hold(
    found: Assessment, text: str, number: int, word: str, age: str, pain: str, is_first: bool
) -> None:
    """Hold one page against what it may say."""
    name, is_seen = CRITERIA.words.item(number), word == SEEN
    is_blocked = pain != "no" or age == "11"
    assert ("seen in one step" in text) == (is_seen and bool(found.slots))
    assert ("what we saw" in text) <= (is_seen and bool(found.slots))
    assert any(fact in text for fact in FACTS[number]) <= (is_seen and bool(found.slots))
    assert ("starting point" in text) == (is_first and not is_blocked)
    assert "let us film" not in text and "Clean runs" not in text
    assert is_blocked == (found.blocked in text and bool(found.blocked))
    if is_blocked:  # no task, no drill, no list of faults, nothing of last time's task
        assert name not in text and "Checklist" not in text and "Sitting" not in text
        drills = (CRITERIA.words.drill(d, True).name for d in CRITERIA.items[number - 1].drills)
        assert not any(drill in text for drill in drills)
    elif age in YOUNG:
        assert "Checklist" not in text


def test_every_word_of_the_program_takes_part_and_has_its_words() -> None:
    own = {n: w for n, w in vars(verdict).items() if n.isupper() and isinstance(w, str)}
    assert set(own.values()) - {verdict.SHOWN} == set(WORDS)
    for word in set(WORDS) - {SEEN}:
        assert CRITERIA.words.idea(word)


@pytest.mark.parametrize(
    ("near", "told"),
    [("30", "Near the line: Sitting."), ("17", "Not clearly past it, and not clear of it.")],
)
def test_near_the_line_is_not_called_fine(near: str, told: str) -> None:
    found = assessed({8: NEAR_THE_LINE}, age=near)
    assert found.instead[0] == "Close to the line" and told in " ".join(found.instead)


def test_no_part_of_a_phrase_is_a_strength_of_what_was_not_measured() -> None:
    for word, age in product(WORDS, AGES):
        assert assessed({}, word, age).strengths == ()  # no row, no strength


def test_a_sheet_of_numbers_names_the_measure_that_cant_be_told() -> None:
    from tests.checklist.made import adult
    from tests.checklist.made import assessed as from_numbers

    found = from_numbers({"leg_stack": 90.5}, adult(), u=3.0)
    assert isinstance(found.items[7].rows[0].result, Measured)
    assert found.instead[1] == "Not clear so far: Leg straightness at mid-stance."
