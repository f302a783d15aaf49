"""Whatever other rooms say in English stands in the words file, so any language can say it."""

import ast
from dataclasses import replace
from pathlib import Path

import pytest

import tapmark
from tapmark.checklist.phrasebook import translated
from tapmark.marks.points import DEEPER, EVENTS, SHOE, STANDARD, TURNING_LIMBS
from tapmark.marks.run import CAMERAS, CONTEXTS
from tapmark.measures.catalogue import ROWS
from tests.checklist.made import CRITERIA

ROOM = Path(tapmark.__file__).parent
SPEAKERS = (
    "measures/gates.py",
    "measures/requirements.py",
    "measures/rear.py",
    "measures/compute.py",
    "measures/result.py",
    "measures/checks_of_points.py",
    "measures/checks_of_times.py",
    "measures/likeness.py",
    "geometry/scale.py",
)
ABROAD = {key: f"<{text}>" for key, text in CRITERIA.words.leaves.items()}
LANGUAGE = replace(CRITERIA.words, language="Abroad", leaves=ABROAD)


def is_known(text):
    return translated(text, ABROAD) != text


def sentences_of(path):
    """Whole sentences in a module's code: strings with a full stop or a question mark at the end.

    What is filled in stands as "12" where it is formatted as a number, as "hip" elsewhere.
    """
    tree = ast.parse((ROOM / path).read_text("utf-8"))
    docs = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    inside = {
        id(part)
        for node in ast.walk(tree)
        if isinstance(node, ast.JoinedStr)
        for part in node.values
    }
    for node in ast.walk(tree):
        text = "" if id(node) in docs | inside else _text_of(node)
        if " " in text and text.endswith((".", "?")) and (text[0].isupper() or text[0] == "“"):
            yield text


def _text_of(node):
    if isinstance(node, ast.Constant):
        return node.value if isinstance(node.value, str) else ""
    if isinstance(node, ast.JoinedStr):
        return "".join(
            part.value if isinstance(part, ast.Constant) else "12" if part.format_spec else "hip"
            for part in node.values
        )
    return ""


PARTS_OF_A_SENTENCE = (  # put together in code; known as wholes, see below
    "hip lie on the same spot; tap them again.",
    "hip Then the slow-motion factor is 12, not 12.",
    "Look again at the key frames and at the capture rate.",
    "The hip knee at hip reads 12°, bent backwards; look again at hip, hip knee and hip ankle.",
    "Different runs: hip (hip, then hip).",
)


@pytest.mark.parametrize("path", SPEAKERS)
def test_every_sentence_in_the_code_of_the_measuring_rooms_is_known(path):
    said = set(sentences_of(path)) - set(PARTS_OF_A_SENTENCE)
    told = {text.replace("12 % hip than", "12 % longer than") for text in said}
    assert [text for text in sorted(told) if not is_known(text)] == []


def test_the_rooms_that_speak_are_those_with_sentences():
    """A new module with a reason in it has to be added above; these say nothing to a page."""
    silent = {
        "advice.py", "agreement.py", "change.py", "likely_rate.py", "repeatability.py",
        "sensitivity.py", "trend.py", "row.py", "student.py", "card.py",
    }  # fmt: skip
    speaking = {
        path.name
        for path in (ROOM / "measures").glob("*.py")
        if not path.name.startswith("rows_of") and list(sentences_of(f"measures/{path.name}"))
    }
    assert speaking - silent <= {Path(path).name for path in SPEAKERS}


@pytest.mark.parametrize(
    "whole",
    [
        "The hip and the near knee at toe-off lie on the same spot; tap them again.",
        "Contact reads 812 ms (usual: 60 to 280). Filmed at 240, saved at 30? "
        "Then the slow-motion factor is 8, not 1.",
        "The step rate reads 0.6 a second (usual: 2.3 to 5.5). "
        "Look again at the key frames and at the capture rate.",
        "Contact reads 812 ms (usual: 60 to 280) and the step rate reads 0.6 a second "
        "(usual: 2.3 to 5.5). Filmed at normal speed, not in slow motion? "
        "Then the slow-motion factor is 1, not 8.",
        "The far knee at touchdown reads 197°, bent backwards; look again at hip, far knee and "
        "far ankle.",
        "Different runs: another view (side, then rear).",
        "Different runs: another kind of running (sprint, then race pace).",
        "Different runs: another foot near the camera (right, then left).",
        "Different runs: another trunk point (shoulder, then neck base).",
        "shoes: spikes, then trainers",
        "near knee at touchdown (guess)",
        "the shoulder tap",
    ],
)
def test_sentences_put_together_in_code_are_known_as_wholes(whole):
    assert is_known(whole)


def test_every_name_that_may_stand_on_a_page_is_known():
    names = [row.name for row in ROWS] + [row.sign for row in ROWS]
    names += [event for events in EVENTS.values() for event in events]
    names += [point for points in STANDARD.values() for point in points]
    names += [*DEEPER, *SHOE, "neck base", *TURNING_LIMBS, *CONTEXTS, *CAMERAS]
    names += [tick for rule in CRITERIA.items for tick in rule.ticks]
    names += [row.unit for row in ROWS if "leg" in row.unit]
    assert [name for name in names if name and not is_known(name)] == []


def test_every_basis_of_a_band_is_known_word_for_word():
    bases = {
        band.basis
        for context in CONTEXTS
        for row in CRITERIA.graded
        if (band := CRITERIA.band(row, context))
    }
    assert len(bases) > 20
    assert [basis for basis in bases if basis and not is_known(basis)] == []


def test_what_stands_in_a_field_is_looked_up_too():
    told = translated("Needs the near knee at toe-off.", ABROAD)
    assert told == "<Needs the <near knee> at <toe-off>.>"


def test_what_a_person_typed_stays_as_it_is():
    assert LANGUAGE.told("she slept badly. Twice!") == "she slept badly. Twice!"


def test_english_says_what_was_said():
    for text in ("Needs the key frame toe-off.", "% leg", "About 30 pictures a second: below 60 "
                 "nothing is judged."):  # fmt: skip
        assert CRITERIA.words.told(text) == text


def test_fields_of_a_sentence_are_told_in_the_language_of_the_sentence():
    told = LANGUAGE.say("why.row_off", context="race pace")
    assert told.endswith("<race pace> is judged by other things.>")
