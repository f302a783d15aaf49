"""No sentence of a page states as a fact what its verdict does not carry.

Goes through item × word × age × who chose × pain × first or later sheet. Words are put in by hand,
so that no number and no band counts here, and every word of the program takes part: a new one joins
by itself and then needs its words under [idea]. What a page may say is written here a second time.
"""

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from datetime import date, timedelta
from functools import cache
from html import unescape
from itertools import cycle, product
from typing import Any

import pytest
from PIL import Image

from tapmark.checklist import verdict
from tapmark.checklist.assess import assess_items
from tapmark.checklist.situation import Situation
from tapmark.checklist.verdict import (
    CANT_TELL,
    FINE,
    LIKELY,
    NEAR_THE_LINE,
    NOT_MEASURED,
    PAST,
    SEEN,
    Assessment,
    ItemVerdict,
)
from tapmark.marks.people import Athlete, Slot, Visit
from tapmark.measures.change import Trend
from tapmark.measures.result import Measured, NotMeasured, Results
from tapmark.report.drawing.shapes import Shapes
from tapmark.report.pages import html
from tapmark.report.pages.athlete_page import athlete_shapes
from tapmark.report.pages.content import SheetContent, SinceLine
from tapmark.report.pages.html import athlete_html, coach_html
from tapmark.report.pages.photo import Photo
from tapmark.report.pages.sections import athlete_sections, coach_sections, foot
from tapmark.report.pages.words import page_words
from tapmark.services import season
from tapmark.services.season import SeasonMeasure
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


@pytest.fixture(scope="module", autouse=True)
def drawn_once(plain_limbs: None) -> Iterator[None]:
    """The same drawing stands on hundreds of pages here: it becomes text once."""
    made: dict[tuple[object, ...], str] = {}
    svg = html.svg

    def once(shapes: Shapes, size: tuple[float, float], alt: str, **how: Any) -> str:
        key = shapes, size, alt, *(value for name, value in how.items() if name != "text_width")
        if key not in made:
            made[key] = svg(shapes, size, alt, **how)
        return made[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(html, "svg", once)
        yield


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


States = Iterable[tuple[Any, ...]]
Pairs = Callable[[States, States], States]


def in_turn(states: States, turns: States) -> States:
    """Every state of the first kind, those of the second by turns: each word meets all of them."""
    return ((*state, *turn) for state, turn in zip(states, cycle(turns), strict=False))


def every_pair(states: States, turns: States) -> States:
    """The whole product, for the long run."""
    return ((*state, *turn) for state, turn in product(states, turns))


PAIRS = pytest.mark.parametrize(
    "pairs", [in_turn, pytest.param(every_pair, marks=pytest.mark.long)], ids=lambda p: p.__name__
)


@PAIRS
@pytest.mark.parametrize("age", AGES)
@pytest.mark.parametrize("who", WHO)
def test_a_fact_is_told_of_nothing_but_what_was_seen(age: str, who: str, pairs: Pairs) -> None:
    states = pairs(product(WORDS, ITEMS), product(PAINS, (True, False)))
    for word, number, pain, is_first in states:
        found = assessed({number: word}, age=age, who=who, pain=pain, is_first=is_first)
        text = told(found)
        for other in ITEMS:
            is_seen = other == number and word == SEEN
            assert is_seen or not any(fact in text for fact in FACTS[other]), (number, word)
        assert ("Something to try" in text) or word in PAST or not found.slots


@PAIRS
@pytest.mark.parametrize("others", WORDS)
@pytest.mark.parametrize("age", AGES)
def test_nothing_to_change_is_said_only_where_all_that_was_measured_is_fine(
    others: str, age: str, pairs: Pairs
) -> None:
    for word, number, who, pain in pairs(product(WORDS, ITEMS), product((NOBODY, RULE), PAINS)):
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


# --- every sentence of the language file against every state --------------------------------------


@dataclass(frozen=True)
class State:
    """What is true of one page; slot: whether its item fills the place of the one thing."""

    number: int
    word: str
    age: str
    who: str
    pain: str
    is_first: bool
    slot: bool

    @property
    def cause(self) -> str:
        """Why nothing may be given, by the rules of care: pain first, then the age."""
        if self.pain != "no":
            return "pain" if self.pain == "yes" else "not_answered"
        return "under_12" if self.age == "11" else ""

    @property
    def told(self) -> str:
        """The word of its item; under 16 what is past the line waits for the coach to accept it."""
        is_capped = self.age == "14" and self.who != COACH and self.word in PAST
        return NEAR_THE_LINE if is_capped else self.word

    @property
    def own(self) -> bool:
        """Whether the page has this item as its task."""
        return self.slot and not self.cause

    @property
    def is_adult(self) -> bool:
        """Whether the words for 18 and over hold."""
        return self.age == "30"


def _item(state: State, number: str, kind: str) -> bool:
    if number != str(state.number) or state.cause:
        return False
    reader = "adult" if state.is_adult else "young"
    is_fact = kind == reader and state.told == SEEN
    return (state.own and (is_fact or kind in ("cue", "caution", "name"))) or (
        kind == "name" and (state.is_adult or state.told == CANT_TELL)
    )


def _drill(state: State, key: str, kind: str) -> bool:
    mine = state.own and key in CRITERIA.items[state.number - 1].drills
    return mine and kind != ("young" if state.is_adult else "adult")


def _idea(state: State, key: str) -> bool:
    whose = {"by_coach": (COACH,), "by_rule": (RULE, COACH), "kept": (KEPT,)}
    if key in whose:
        return state.own and state.told != SEEN and state.who in whose[key]
    text = CRITERIA.words.leaves[f"idea.{key}"]
    return state.own and state.told != SEEN and text == CRITERIA.words.idea(state.told)


def _caution(state: State, key: str) -> bool:
    needs = {"growing": not state.is_adult, "today": state.own, "warm_up": state.own}
    return needs.get(key, key != "back_from_injury")


def _page(state: State, key: str) -> bool:
    needs = {"starting_point": state.is_first and not state.cause, "saw": state.own}
    return needs.get(key, True)


def verdict_of(key: str) -> str:
    """Return the word of the program that a key under [verdicts] prints."""
    text = CRITERIA.words.leaves[f"verdicts.{key}"]
    return next((word for word in WORDS if CRITERIA.words.verdict(word) == text), "")


MAY_STAND: dict[str, Callable[..., bool]] = {
    "items": _item,
    "drills": _drill,
    "gaps": lambda state, number, kind: state.own and number == str(state.number),
    "idea": _idea,
    "no_task": lambda state, key: not state.own and not state.cause,
    "blocked": lambda state, key: key == state.cause,
    "headings": lambda state, key: not state.cause if key == "keep_this" else state.own,
    "cautions": _caution,
    "page": _page,
    "verdicts": lambda state, key: state.own and verdict_of(key) == state.told != SEEN,
    "events": lambda state, key: state.own,  # the moment that is drawn
}
"""Part of the language file -> whether a text of it may stand on a page; what is not here never
does. Written here a second time."""


def _why(state: State, key: str) -> bool:
    """Whether a reason may stand on the coach's copy; what is not here never does."""
    own, is_past, chose = state.own, state.word in PAST, state.who in (RULE, COACH)
    needs = {
        "accept": state.age == "14" and state.who != COACH and is_past,
        "adults_only": CRITERIA.items[state.number - 1].adults_only and not state.is_adult,
        "chance": own and chose and is_past,
        "chosen": own and chose and is_past,
        "chosen_alone": own and chose and is_past,
        "item_3": state.number == 3 and is_past,
        "kept": own and state.who == KEPT,
        "kept_over": not own and state.who == KEPT and state.word == FINE,
        "likely": own and state.word == LIKELY,
        "none_left": own,
        "nothing_seen": not own,
        "one_first": state.is_first,
        "one_young": state.age == "14",
        "override": state.who in (COACH, NOBODY),
        "seen_once": own and state.word == SEEN,
        "unsure": state.word == CANT_TELL,
    }
    return needs.get(key, False) and not state.cause


COPY: dict[str, Callable[..., bool]] = {
    "items": lambda state, number, kind: kind == "name" or (
        "parent" in kind and state.own and state.told == SEEN and number == str(state.number)
        and not state.is_adult
    ),
    "idea": lambda state, key: key == "parent" and state.own and state.told != SEEN,
    "blocked": lambda state, key: key == state.cause,
    "why": _why,
    "page": lambda state, key: state.own or key not in ("by_rule", "family"),
    "verdicts": lambda state, key: key == "follows"
    or verdict_of(key) in (state.word, NEAR_THE_LINE if state.word in PAST else FINE, FINE),
}  # fmt: skip
"""The same of the coach's copy behind the page."""


def may_stand(key: str, state: State, table: dict[str, Callable[..., bool]]) -> bool:
    """Whether a text may stand on the athlete's page, or on the copy, in a state."""
    part, *rest = key.split(".")
    return part in table and table[part](state, *rest)


BY_PARTS = ("rows.", "page.row_", "card.", "log.", "note.", "page.months", "page.day")


def longest(text: str) -> str:
    """Return the longest piece of a text between its fields."""
    return max((piece.strip() for piece in re.split(r"\{\w+\}", text)), key=len)


SENTENCES = {
    key: longest(text)
    for key, text in CRITERIA.words.leaves.items()
    if longest(text) and not key.startswith(BY_PARTS)
    if len(longest(text).split()) >= 3 or key.endswith((".cue", ".name"))
}


@cache
def found_in(text: str) -> tuple[str, ...]:
    """Return the keys of the sentences that stand in a text."""
    return tuple(key for key, said in SENTENCES.items() if said in text)


def states() -> Iterator[tuple[State, Assessment]]:
    """Every age × word × who chose × pain × first or later, an item by turns; and every item."""
    turns = product(AGES, WORDS, WHO, PAINS, (True, False))
    every = [(ITEMS[i % len(ITEMS)], *each) for i, each in enumerate(turns)]
    seen = product(ITEMS, ("14", "30"), WORDS, (RULE, COACH), ("no",), (False,))
    for number, age, word, who, pain, is_first in [*every, *seen]:
        found = assessed({number: word}, age=age, who=who, pain=pain, is_first=is_first)
        yield State(number, word, age, who, pain, is_first, bool(found.slots)), found


def _texts(value: object) -> Iterator[str]:
    """Every text in the sections of a page; what stands in a drawing is in its alternative text."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for each in value:
            yield from _texts(each)
    elif is_dataclass(value):
        for each in fields(value):
            yield from _texts(getattr(value, each.name))


def untrue(text: str, state: State, table: dict[str, Callable[..., bool]]) -> tuple[set, set]:  # type: ignore[type-arg]
    """Return the keys of the sentences in a text that are true, and those that are not.

    The same words may stand under a key that is true.
    """
    keys = found_in(text)
    true = {key for key in keys if may_stand(key, state, table)}
    said = [CRITERIA.words.leaves[key] for key in true]
    return true, {k for k in keys if k not in true and not any(SENTENCES[k] in t for t in said)}


def test_every_sentence_of_the_language_stands_on_a_page_only_where_it_is_true() -> None:
    """The sections of page and coach's copy are read, which paper and HTML set alike."""
    shown: set[str] = set()
    words = page_words(CRITERIA.words)
    for state, found in states():
        sheet = content(found, state.age)
        parts = athlete_sections(sheet, words)
        text = " | ".join(_texts((*parts.values(), *foot(sheet, words, "items" in parts))))
        copy = " | ".join(_texts(tuple(coach_sections(sheet, words).values())))
        for told, table in ((text, MAY_STAND), (copy, COPY)):
            true, false = untrue(told, state, table)
            assert not false, (false, state)
            shown |= true
        assert state.own or "One priority" not in copy, state
        if state.cause:  # the referral, or the rule, is there
            assert CRITERIA.words.say(f"blocked.{state.cause}") in text
    told_of = ("items.1.adult", "items.8.young", "idea.by_coach", "no_task.not_chosen")
    behind = ("why.chosen_alone", "why.accept", "why.kept", "why.kept_over", "why.one_first")
    assert {*told_of, *behind, "blocked.pain", "blocked.not_answered"} <= shown
    assert {"blocked.under_12", "items.1.parent", "why.nothing_seen", "why.unsure"} <= shown


@pytest.mark.parametrize("age", ["11", "14", "30"])
def test_a_page_with_a_photo_says_so_only_where_the_photo_stands(age: str) -> None:
    """Every word and answer about pain; the photo is of touchdown, and of another key frame."""
    photos = [Photo(event, Image.new("L", (40, 40)), (20.0, 20.0), 20.0) for event in (
        "touchdown", "toe-off")]  # fmt: skip
    for i, (word, pain) in enumerate(product(WORDS, PAINS)):  # first and later sheets in turn
        found = assessed({1: word}, age=age, who=COACH, pain=pain, is_first=i % 2 == 0)
        sheet = content(found, age)
        plain = athlete_html(sheet)
        for photo in photos:
            page = athlete_html(replace(sheet, photo=photo))
            is_there = bool(found.slots) and photo.event == "touchdown"
            assert ("<image" in page) == is_there == ("Your photo" in page)
            assert is_there or page == plain
            bare = re.sub(r"<svg.*?</svg>", "", page), re.sub(r"<svg.*?</svg>", "", plain)
            assert bare[0] == bare[1], "nothing else is said of a photo"


JUDGED = re.compile(r"\b(seen|likely|near the line|can't tell|fine|priority|task|drill)\b")


def test_a_note_for_a_physio_has_no_word_that_judges() -> None:
    """Its fixed words; the numbers between them are those of test_exports."""
    words = CRITERIA.words
    note = " ".join(text for key, text in words.leaves.items() if key.startswith("note."))
    assert "No diagnosis and no advice." in note and JUDGED.findall(note.lower()) == []
    names = [words.row(key) for key in CRITERIA.graded]
    assert not {words.item(number) for number in ITEMS} & set(names)
    assert JUDGED.findall(" ".join(names).lower()) == []


def test_the_season_tells_no_change_that_is_not_clear() -> None:
    """A trend within its ± is called no steady change; one that is clear is never called so.

    Without a trend its reason stands and no change a month; days are left out only where some are.
    """
    none = NotMeasured("reach", "near", "Too few visits for a trend.")
    trends = [Trend(s, u) for s, u in product((-2.0, 0.5, 3.0), (0.2, 1.0, 4.0))]
    for trend, missing in product((none, *trends), ((), (("2026-05-14", "not filmed"),))):
        measure = SeasonMeasure("reach", "Shin angle", "°", 0, "right", (), None, trend, missing)
        text = " ".join(season.trend_words(measure))
        is_known = isinstance(trend, Trend)
        is_unclear = isinstance(trend, Trend) and abs(trend.slope_a_month) <= trend.plus_minus
        assert ("no steady change is shown" in text) == is_unclear
        assert ("Change a month" in text) == is_known == (none.reason not in text)
        assert ("Not measured, or not comparable: 2026-05-14." in text) == bool(missing)
