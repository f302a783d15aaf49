"""What one picture later would change: the catalogue's rate over the camera's."""

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.one_later import contact_s, later_words, signed
from tapmark.app.verdict_rows import Line, lines_of, number
from tapmark.errands.places import VisitPlace
from tapmark.errands.visits import VisitReading, read_visit
from tapmark.measures.catalogue import row
from tapmark.store.squad import open_squad
from tests.app.made import put_marked_run


@pytest.fixture
def reading(squad_folder: Path, truth: dict[str, Any]) -> VisitReading:
    put_marked_run(squad_folder, truth)
    return read_visit(VisitPlace(open_squad(squad_folder), "P02", "2026-05-14"), date(2026, 5, 14))


def line(reading: VisitReading, key: str, leg: str) -> Line:
    return next(each for each in lines_of(reading) if (each.key, each.leg) == (key, leg))


def test_a_reach_one_picture_later_changes_by_its_rate_over_the_cameras(
    reading: VisitReading,
) -> None:
    rate = row("reach").rates_of("near", contact_s(reading.results))["touchdown"]
    wanted = f"One picture later: touchdown {signed(rate / 240)}°."
    assert wanted == later_words(reading, line(reading, "reach", "near"))


def test_the_far_leg_speaks_of_the_other_touchdown(reading: VisitReading) -> None:
    assert "opposite touchdown" in later_words(reading, line(reading, "reach", "far"))


def test_a_row_without_a_number_says_nothing(reading: VisitReading) -> None:
    missing = next(each for each in lines_of(reading) if not each.value)
    assert later_words(reading, missing) == ""


def test_numbers_have_real_signs_and_no_minus_nought() -> None:
    assert [number(-0.04, 1), number(-1.25, 1), signed(0.5)] == ["0.0", "−1.2", "+0.5"]


def test_the_lines_put_what_is_judged_first_and_what_is_missing_last(
    reading: VisitReading,
) -> None:
    ranks = [
        0 if each.word not in ("", "not filmed") else 2 if not each.value else 1
        for each in lines_of(reading)
    ]
    assert sorted(ranks) == ranks
