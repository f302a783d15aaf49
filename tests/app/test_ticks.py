"""Boxes of a sheet typed back in: letters and dates to sessions, and back."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark.app.season.actions import LETTERS, ticks_from, ticks_text, ticks_words
from tapmark.app.state.form import FieldTrouble
from tests.examples import examples

SHEET, TODAY = "2025-11-20", "2026-02-14"


def test_six_boxes_are_read_with_their_dates_and_the_year_follows() -> None:
    assert ticks_from("24.11 e, 1.12. s; 7/1h n d 14.2E", SHEET, TODAY) == (
        ("2025-11-24", True, "easier"),
        ("2025-12-01", True, "same"),
        ("2026-01-07", True, "harder"),
        ("", False, ""),
        ("", True, ""),
        ("2026-02-14", True, "easier"),
    )


def test_letters_alone_stay_without_a_date() -> None:
    assert ticks_from("esn", SHEET, TODAY) == (
        ("", True, "easier"),
        ("", True, "same"),
        ("", False, ""),
    )


@pytest.mark.parametrize(
    "text", ["7.4 e", "15.2 s", "19.11 s", "31.2 s", "x", "e 7", "24.11", "24.11.2025 e", "ë"]
)
def test_what_is_no_box_is_refused_with_what_was_typed(text: str) -> None:
    with pytest.raises(FieldTrouble) as found:
        ticks_from(text, SHEET, TODAY)
    assert found.value.field == "ticks"
    assert any(part in str(found.value) for part in text.split())


dates = st.just("") | st.dates(date(2025, 11, 20), date(2026, 2, 14)).map(lambda d: d.isoformat())
sessions = st.lists(st.tuples(dates, st.sampled_from(list(LETTERS.values()))), max_size=8)


@settings(max_examples=examples(100))
@given(sessions)
def test_what_was_typed_can_be_typed_again(found: list[tuple[str, tuple[bool, str]]]) -> None:
    ticked = tuple((dated, *did) for dated, did in found)

    assert ticked == ticks_from(ticks_text(ticked), SHEET, TODAY)


def test_what_was_typed_is_said_back_in_words() -> None:
    said = ticks_words(ticks_from("24.11 e, n, d", SHEET, TODAY))

    assert said == "1.  24 November: did it, easier\n2.  no date: not done\n3.  no date: did it"
