"""The words: readable, kind, complete, and replaceable by another language.

Reading grade: Flesch-Kincaid, see reading_grade; syllables from a pronouncing dictionary, and where
it has two ways to say a word the grade has to hold for both.
"""

import ast
import itertools
import re
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from tapmark.checklist import criteria as criteria_of
from tapmark.checklist.reading import Table
from tapmark.checklist.verdict import (
    CANT_TELL,
    FINE,
    LIKELY,
    NEAR_THE_LINE,
    NOT_MEASURED,
    SEEN,
)
from tapmark.checklist.words import ENGLISH, fields_of, load_words, override_words
from tapmark.errors import CriteriaUnreadable
from tapmark.marks.points import SIDE_EVENTS
from tapmark.measures.catalogue import ROWS
from tapmark.report.drawing.signs import CHANGES
from tapmark.report.pages.words import page_words
from tests.checklist.made import CRITERIA, GOOD, adult, assessed
from tests.checklist.reading_grade import grades, sentences, words_in
from tests.checklist.syllables import ALOUD, COUNTS, EITHER, ONCE
from tests.index import parsed

WORDS = CRITERIA.words
READERS = ("young", "adult")
SLOT_ITEMS = [rule.number for rule in CRITERIA.items if not rule.is_result]
LONGEST_SENTENCE = 15
FOR_ATHLETES = [
    key
    for key in WORDS.leaves
    if re.match(r"(items|drills|cautions|blocked|process|no_task)\.", key)
    and not key.endswith("parent")
]


def says(number, is_young, is_wider=False):
    return WORDS.phrase(number, (), is_young, is_wider).says


def test_grade_of_a_sentence_worked_out_by_hand():
    # 6 words in one sentence, 6 syllables: 0.39 * 6 + 11.8 - 15.59
    assert grades("The foot is on the track.") == pytest.approx((-1.45, -1.45))
    # 5 words in 2 sentences, 4 + 2 + 2 (or 3) + 2 + 2 syllables: 0.39 * 2.5 + 11.8 * 2.4 - 15.59
    assert grades("Ordinary running. Every doctor today.") == pytest.approx((13.705, 16.065))


def test_the_list_of_syllables_knows_no_word_twice():
    listed = [word for words in (*ONCE.values(), *EITHER.values()) for word in words.split()]
    assert len(listed) + len(ALOUD) == len(COUNTS)
    assert all(1 <= fewest <= most <= fewest + 1 for fewest, most in COUNTS.values())


@pytest.mark.parametrize("is_young", [True, False])
def test_athlete_sentences_read_at_grade_8_at_most_for_every_choice_of_items(is_young):
    single = [says(n, is_young) for n in range(1, 19)] + [says(1, is_young, is_wider=True)]
    both = [f"{a} {b}" for a, b in itertools.combinations(single, 2)]
    for text in single + both:
        assert max(grades(text)) <= 8, text


def test_nothing_an_athlete_reads_is_long_or_hard():
    assert len(FOR_ATHLETES) > 150
    for key in FOR_ATHLETES:
        text = re.sub(r"\{\w+\}", "", WORDS.leaves[key])
        for sentence in sentences(text):
            assert len(words_in(sentence)) <= LONGEST_SENTENCE, key
        if words_in(text) and not re.search(r"\.(name|cue|adult|young)$", key):
            assert max(grades(text)) <= 8, key


def test_a_task_that_the_film_does_not_show_reads_at_grade_8_at_most():
    """Whichever words come together: what the film says, and whose idea it is."""
    whose = ("by_coach", "by_rule", "kept")
    film = [t for k, t in WORDS.leaves.items() if k.startswith("idea.") and k[5:] not in whose]
    for text, other in itertools.product(film, whose):
        if "{" not in text:
            both = f"{text} {WORDS.leaves[f'idea.{other}']}"
            assert max(grades(both)) <= 8, both


@pytest.mark.parametrize("reader", READERS)
def test_two_slots_stay_within_the_180_words_of_a_page(reader):
    is_young = reader == "young"
    told = []
    for rule in CRITERIA.items:
        phrase = WORDS.phrase(rule.number, rule.drills, is_young)
        texts = [phrase.says, phrase.caution]
        texts += [text for drill in phrase.drills for text in (drill.stop, drill.caution)]
        told.append(sum(len(words_in(text)) for text in dict.fromkeys(texts)))
    standing = sum(len(words_in(WORDS.say(f"cautions.{key}"))) for key in ("today", "stop"))
    assert sum(sorted(told)[-2:]) + standing <= 180


NEVER = (
    r"weigh\w*|fat|thin|slim|heav\w+|skinny|bod(y|ies)|shape\w*|overweight|muscle\w*|"
    r"prevent\w*|risk\w*|will (hurt|injure)|get injured|avoid injur\w+|wrong|bad|"
    r"poor|ugly|fault\w*|lazy|weak\w*|must|score\w*|better than|ideal"
)


def test_no_word_judges_a_person_a_body_or_the_future():
    never = re.compile(rf"\b({NEVER})\b")
    found = {key: never.findall(text.lower()) for key, text in WORDS.leaves.items()}
    assert {key: words for key, words in found.items() if words} == {}


@pytest.mark.parametrize("number", SLOT_ITEMS)
def test_every_item_that_can_take_a_slot_has_all_its_words(number):
    rule = CRITERIA.items[number - 1]
    for is_young in (True, False):
        phrase = WORDS.phrase(number, rule.drills, is_young)
        texts = (phrase.name, phrase.cue, phrase.says, phrase.to_parent, phrase.caution)
        assert all(texts)
        assert 1 <= len(phrase.drills) <= 2
        assert all(drill.name and drill.dose and drill.stop for drill in phrase.drills)


def test_results_have_no_cue_of_their_own():
    assert [WORDS.phrase(number, (), True).cue for number in (13, 14)] == ["", ""]


def test_cue_is_short_enough_for_large_type():
    assert max(len(words_in(WORDS.leaves[f"items.{n}.cue"])) for n in range(1, 19)) <= 7


def test_young_athletes_are_invited_to_try():
    tried = [n for n in SLOT_ITEMS if re.search(r"\b(Try|try|Imagine)\b", says(n, True))]
    assert tried == SLOT_ITEMS


def test_every_drill_can_be_done_alone():
    """How much per what, how to set it up, what to feel, and when to stop."""
    for key in sorted({key for rule in CRITERIA.items for key in rule.drills}):
        for is_young in (True, False):
            drill = WORDS.drill(key, is_young)
            assert re.search(r"per session|after training", drill.dose), key
            first, *more = sentences(drill.how)
            assert first and re.search(r"\b[Ff]eel\b", " ".join(more)), key
            assert drill.stop.startswith("Stop "), key


def volume(dose):
    """Return repetitions times metres or counts: the first two numbers of a dose."""
    first, second, *_ = (int(number) for number in re.findall(r"\d+", dose))
    return first * second


@pytest.mark.parametrize("key", sorted({key for rule in CRITERIA.items for key in rule.drills}))
def test_young_athletes_do_less_of_every_drill(key):
    assert volume(WORDS.drill(key, True).dose) < volume(WORDS.drill(key, False).dose)


def test_cautions_stand_with_their_drills():
    def cautions(number):
        phrase = WORDS.phrase(number, CRITERIA.items[number - 1].drills, True)
        return " ".join([phrase.caution, *(drill.caution for drill in phrase.drills)])

    assert all("amstring" in cautions(number) for number in (1, 2, 5))
    assert "physio" in cautions(1) and "physio" in cautions(5)
    assert "2 × 10" in cautions(11)
    assert WORDS.drill("flying_runs", True).dose.startswith("3 ×")


def test_every_row_of_the_catalogue_has_a_printed_name():
    assert [row.key for row in ROWS if f"rows.{row.key}.name" not in WORDS.leaves] == []


def test_graded_rows_say_what_was_measured_in_other_people():
    assert all(WORDS.measured(row).startswith("measured in ") for row in CRITERIA.graded)


# --- another language -----------------------------------------------------------------------

ACCENTS = str.maketrans("aeiouncAEIOU", "áéîöüñçÂÊÏÓÛ")


def pseudo(text):
    """Return a text 40 % longer and full of accents, with its {fields} untouched."""
    parts = re.split(r"(\{\w+\})", text)
    told = "".join(part if part.startswith("{") else part.translate(ACCENTS) for part in parts)
    return told + " " + "ẅö" * round(len(text) * 0.2) if text else ""


def written(leaves, path):
    tree = {}
    for key, text in leaves.items():
        *at, name = key.split(".")
        table = tree
        for each in at:
            table = table.setdefault(each, {})
        table[name] = text
    lines = ["format = 1", 'language = "Ẅö"', *_lines(tree, "")]
    path.write_text("\n".join(lines), "utf-8")
    return path


def _lines(tree, at):
    for name, value in tree.items():
        if isinstance(value, str):
            yield f'{name} = "{value}"'
    for name, value in tree.items():
        if isinstance(value, dict):
            yield f"[{at}{name}]"
            yield from _lines(value, f"{at}{name}.")


@pytest.fixture
def other_language(tmp_path):
    leaves = {key: pseudo(text) for key, text in WORDS.leaves.items()}
    return written(leaves, tmp_path / "xx.toml")


def test_second_language_is_one_file(other_language):
    other = criteria_of.load(language=other_language)
    assert other.words.language == "Ẅö"
    found = assessed(GOOD | {"reach": 20, "hip_share": 30}, adult(), other)
    texts = [*found.reasons, *found.cautions, found.heading]
    texts += [text for slot in found.slots for text in (slot.phrase.cue, slot.phrase.says)]
    texts += [item.name for item in found.items] + [each.words for each in found.strengths]
    assert all("ẅö" in text for text in texts)


def test_pseudo_language_is_40_percent_longer(other_language):
    other = load_words(other_language)
    long_ones = [key for key, text in WORDS.leaves.items() if len(text) > 20]
    ratio = [len(other.leaves[key]) / len(WORDS.leaves[key]) for key in long_ones]
    assert min(ratio) > 1.38 and max(ratio) < 1.5


def test_language_may_carry_words_of_the_page(tmp_path):
    path = written(WORDS.leaves | {"page.you": "toi"}, tmp_path / "xx.toml")
    assert load_words(path).leaves["page.you"] == "toi"


@pytest.mark.parametrize(
    ("names", "changed"),
    [
        ("items.1.cue", {"items.1.cue": None}),
        ("items.1.kue", {"items.1.kue": "x"}),
        ("why.kept", {"why.kept": "{name} bleibt."}),
        ("why.kept", {"why.kept": "{name} {date} {strange}"}),
        ("why.kept", {"why.kept": "{name} {date} {"}),
    ],
)
def test_language_that_lost_a_key_or_a_field_is_refused_by_name(tmp_path, names, changed):
    leaves = {key: text for key, text in (WORDS.leaves | changed).items() if text is not None}
    path = written(leaves, tmp_path / "xx.toml")
    with pytest.raises(CriteriaUnreadable, match=rf"xx\.toml.*{names}"):
        load_words(path)


def test_language_without_a_file_is_refused_by_name():
    with pytest.raises(CriteriaUnreadable, match=r"words/zz\.toml"):
        load_words("zz")


def test_squad_may_replace_one_phrase():
    own = {"words": {"dated": tomllib.loads("d = 2026-04-01")["d"], "reason": "our word"}}
    own["words"]["items"] = {"1": {"cue": "Quick feet"}}
    changed = override_words(WORDS, Table("checks.toml", "", own))
    assert changed.leaves["items.1.cue"] == "Quick feet"
    assert changed.leaves["items.2.cue"] == WORDS.leaves["items.2.cue"]


def test_fields_are_the_names_in_curly_brackets():
    assert fields_of("{name} stays: {date}") == {"name", "date"}
    assert fields_of("a lone { bracket") == {"{"}


def test_english_file_is_the_model_of_all_others():
    assert load_words(ENGLISH).leaves == replace(WORDS).leaves


REPEATED = {  # what stands in the window and on paper: (module, its words) -> key
    ("review/view.py", "Checklist"): "page.checklist",
    ("review/priority.py", "Why this one"): "page.why_this",
    ("review/priority.py", "Probably starts with"): "page.chain_head",
    ("review/view.py", "± mostly "): "page.mostly_head",
    **{("review/view.py", word): f"verdicts.{key}" for key, word in {
        "seen": SEEN, "likely": LIKELY, "near_the_line": NEAR_THE_LINE, "fine": FINE,
        "cant_tell": CANT_TELL, "not_filmed": NOT_MEASURED}.items()},
    ("season/actions.py", "did it"): "page.tick_did",
    ("season/actions.py", "easier"): "page.tick_easier",
    ("season/actions.py", "same"): "page.tick_same",
    ("season/actions.py", "harder"): "page.tick_harder",
    ("season/actions.py", "not yet"): "page.not_yet",
    ("season/actions.py", "sometimes"): "page.sometimes",
    ("season/actions.py", "mostly"): "page.mostly",
    ("season/group_view.py", "Film this week"): "page.film_this_week",
    ("squad/roster.py", "since last time"): "page.since",
    **{("mark/frames_view.py", event): f"events.{event.replace(' ', '_').replace('-', '_')}"
       for event in SIDE_EVENTS},
}  # fmt: skip


def test_the_window_calls_a_thing_of_the_page_what_the_page_calls_it():
    """The window speaks English only: its own words are held against the English of the pages."""
    app = Path(criteria_of.__file__).parents[1] / "app"
    for (module, said), key in REPEATED.items():
        tree = parsed(app / module)
        texts = {n.value for n in ast.walk(tree) if isinstance(n, ast.Constant)}
        assert said in texts, (module, said)
        assert WORDS.say(key).lower() == said.strip().lower(), key
    printed = page_words(WORDS)
    assert [printed.change(word) for word in CHANGES] == list(CHANGES)
    names = {WORDS.item(rule.number) for rule in CRITERIA.items}
    for path in app.rglob("*.py"):
        tree = parsed(path)
        texts = {n.value for n in ast.walk(tree) if isinstance(n, ast.Constant)}
        assert not texts & names, f"{path.name} names an item itself"
