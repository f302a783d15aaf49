"""Reading age of what is printed, by the Flesch-Kincaid grade level; see checklist.reading_grade.

The words file has its own tests; here the sentences are those that stand on the page, for every
item and every two items that can be chosen, for the young and for adults.
"""

import ast
from itertools import combinations
from pathlib import Path

import pytest

import tapmark
from tapmark.checklist.words import Words
from tapmark.marks.points import SIDE_EVENTS
from tapmark.report.pages.athlete_page import athlete_shapes
from tapmark.report.pages.words import PageWords
from tests.checklist.reading_grade import grades, sentences
from tests.index import walked
from tests.report.made import criteria, english, fonts, made, said

pytestmark = pytest.mark.usefixtures("plain_limbs")

MOST_WORDS = 180


def _page_sentences(content):
    """Sentences of the page: names, signs, box labels and the foot apart."""
    found = []
    for chosen in content.assessment.slots:
        found += sentences(chosen.phrase.says)
        for drill in chosen.phrase.drills[:2]:
            found += sentences(f"{drill.stop} {drill.caution}")
    found += sentences(english().say("page.pain_today"))
    return found


ADULT, YOUNG = 1990, 2009
SLOT_ITEMS = {
    ADULT: [rule.number for rule in criteria().items if not rule.is_result],
    YOUNG: [r.number for r in criteria().items if not (r.is_result or r.adults_only)],
}
ONE = [(item, born) for born, items in SLOT_ITEMS.items() for item in items]


def pairs(born):
    """Every two items that may both take a priority at that age."""
    return list(combinations(SLOT_ITEMS[born], 2))


@pytest.mark.parametrize(("item", "born"), ONE)
def test_what_a_page_says_of_an_item_reads_at_grade_8_at_most(item, born):
    content = made(slots=(item,), born=born)
    text = content.assessment.slots[0].phrase.says
    printed = " ".join(said(athlete_shapes(content, fonts())).split())
    assert all(word in printed for word in text.split())
    assert max(grades(text)) <= 8.0


@pytest.mark.parametrize("born", SLOT_ITEMS)
def test_what_a_page_says_of_two_items_reads_at_grade_8_at_most(born):
    for pair in pairs(born):
        slots = made(slots=pair, born=born).assessment.slots
        text = " ".join(chosen.phrase.says for chosen in slots)
        assert [chosen.item.number for chosen in slots] == list(pair)
        assert max(grades(text)) <= 8.0, pair


@pytest.mark.parametrize(("item", "born"), ONE)
def test_all_sentences_of_a_page_together_read_at_grade_8_at_most(item, born):
    assert max(grades(" ".join(_page_sentences(made(slots=(item,), born=born))))) <= 8.0


def test_a_page_has_at_most_180_words_of_sentences():
    for pair in pairs(ADULT):
        words = sum(len(s.split()) for s in _page_sentences(made(slots=pair)))
        assert words <= MOST_WORDS, pair


def test_no_sentence_of_the_page_s_own_words_is_longer_than_15_words():
    page = {k: v for k, v in english().leaves.items() if k.startswith("page.")}
    for key, text in page.items():
        for sentence in sentences(text):
            assert len(sentence.split()) <= 15, key


def _asked() -> set[str]:
    """Names that the pages ask their words for: words.NAME, and self.NAME in words.py."""
    found = set()
    for file in (Path(tapmark.__file__).parent / "report/pages").glob("*.py"):
        owners = {"words", *(["self"] if file.name == "words.py" else [])}
        for node in walked(file):
            if isinstance(node, ast.Attribute):
                owner = getattr(node.value, "id", "") or getattr(node.value, "attr", "")
                found |= {node.attr} if owner in owners else set()
    return found - {*dir(Words), *dir(PageWords), "leaves", "language"}


def test_every_word_a_page_asks_for_is_there_and_every_word_is_asked_for():
    there = {key.removeprefix("page.") for key in english().leaves if key.startswith("page.")}
    by_name = {"sprint", "race_pace", "acceleration", "bend", "idea", "verdict"}
    by_name |= {"toe_off_on", "from_behind"}
    by_name |= {event.replace(" ", "_").replace("-", "_") for event in SIDE_EVENTS}
    by_name |= {name for name in there if name.startswith("row_")}
    asked = _asked()
    assert len(asked) > 80
    assert asked - there == set()
    assert there - asked - by_name == set()
