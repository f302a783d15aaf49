"""Reading age by the Flesch-Kincaid grade level (Kincaid, Fishburne, Rogers, Chissom 1975).

grade = 0.39 · words ÷ sentences + 11.8 · syllables ÷ words − 15.59. Syllables are counted by
groups of vowels, common practice. The words of the checklist have their own tests; here the whole
page is counted as it prints.
"""

import re
from itertools import combinations

import pytest

from tests.sheet.made import english, made

MOST_WORDS = 180


def _syllables(word):
    groups = re.findall(r"[aeiouy]+", word.lower())
    silent = word.lower().endswith("e") and not word.lower().endswith(("le", "ee"))
    return max(1, len(groups) - (1 if silent and len(groups) > 1 else 0))


def _grade(sentences):
    words = [word for s in sentences for word in re.findall(r"[A-Za-z']+", s)]
    syllables = sum(map(_syllables, words))
    return 0.39 * len(words) / len(sentences) + 11.8 * syllables / len(words) - 15.59


def _sentences(text):
    return [part for part in re.split(r"(?<=[.!?])\s+", text) if part]


def _page_sentences(content):
    """Sentences of the page: names, signs, box labels and the foot apart."""
    found = []
    for chosen in content.assessment.slots:
        found += _sentences(chosen.phrase.says)
        for drill in chosen.phrase.drills[:2]:
            found += _sentences(f"{drill.stop} {drill.caution}")
    found += _sentences(english().say("page.pain_today"))
    return found


@pytest.mark.parametrize("born", [1990, 2009])
@pytest.mark.parametrize("item", [1, 4, 8, 12, 16])
def test_all_sentences_of_a_page_together_read_at_grade_8_at_most(item, born):
    assert _grade(_page_sentences(made(slots=(item,), born=born))) <= 8.0


@pytest.mark.parametrize("pair", list(combinations((1, 4, 8, 9, 16, 18), 2)))
def test_a_page_has_at_most_180_words_of_sentences(pair):
    content = made(slots=pair)
    words = sum(len(s.split()) for s in _page_sentences(content))
    assert words <= MOST_WORDS


def test_no_sentence_of_the_page_s_own_words_is_longer_than_15_words():
    page = {k: v for k, v in english().leaves.items() if k.startswith("page.")}
    for key, text in page.items():
        for sentence in _sentences(text):
            assert len(sentence.split()) <= 15, key
