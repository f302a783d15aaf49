"""What a file says stands in our sentences on one line."""

import pytest
from hypothesis import given

from tapmark.store.import_csv import preview_athletes
from tapmark.store.shown import shown, shown_text
from tests.store import made


@given(made.junk | made.words.map(lambda word: word * 9))
def test_any_value_is_shown_short_and_printable(value: object) -> None:
    text = shown(value)

    assert text.isprintable()
    assert len(text) <= 62


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("a\nb", "“a?b”"),
        (1.0, "1.0"),
        (True, "true"),
        (None, "null"),
        ([1], "a list"),
        ({}, "an object"),
        (10**40, "a very long number"),
        ("x" * 61, "“" + "x" * 59 + "…”"),
    ],
)
def test_each_kind_of_value_has_its_words(value: object, text: str) -> None:
    assert shown(value) == text


def test_a_text_is_cut_with_a_sign_that_it_was() -> None:
    assert shown_text("abcdef", 6) == "abcdef"
    assert shown_text("abcdefg", 6) == "abcde…"


def test_cells_of_several_lines_are_told_in_one() -> None:
    """Found by fuzzing: a quote that opens in the first line swallows the next."""
    table = b'code,"born\nagain",measured\nK07,,"2026\n05"\n"K\n08",,\n'

    found = preview_athletes(table, (), "2026-05-14")

    assert found.ignored == ("born?again",)
    assert [p.line for p in found.problems] == [3, 5]
    assert all(problem.words.isprintable() for problem in found.problems)
