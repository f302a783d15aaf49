"""What one picture later would change: the catalogue's rate over the camera's."""

from dataclasses import replace

import pytest

from tapmark.app.state.measure_lines import Line, contact_s, later_words, lines_of, number, signed
from tapmark.checklist.judge import judge_value
from tapmark.checklist.verdict import Band
from tapmark.measures.catalogue import row
from tapmark.measures.result import Measured
from tapmark.services.visits import VisitReading


def line(reading: VisitReading, key: str, leg: str) -> Line:
    return next(each for each in lines_of(reading) if (each.key, each.leg) == (key, leg))


def test_a_reach_one_picture_later_changes_by_its_rate_over_the_cameras(
    reading: VisitReading,
) -> None:
    rate = row("reach").rates_of("near", contact_s(reading.results))["touchdown"]
    wanted = f"One frame later: touchdown {signed(rate / 240)}°."
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
        0 if each.word not in ("", "not measured") else 2 if not each.value else 1
        for each in lines_of(reading)
    ]
    assert sorted(ranks) == ranks


@pytest.mark.parametrize(
    ("u_set_up", "said"),
    [
        # ± 8.2 must shrink to the 5 between fine and limit: (8.2 ÷ 5)² = 2.7 steps
        (0.0, "Mark about 3 steps of this visit to tell."),
        (2.6, "More steps of this visit would hardly tell; film again by the filming card."),
    ],
)
def test_a_row_that_cannot_be_told_says_how_many_steps_would_tell(
    reading: VisitReading, u_set_up: float, said: str
) -> None:
    band = Band(fine_high=160.0, limit_high=165.0, key="knee_touchdown", context="sprint")
    wide = Measured("knee_touchdown", "near", 162.0, 4.2, "°", u_set_up=u_set_up)
    rows = (judge_value(wide, band), judge_value(replace(wide, value=190.0), band))
    assessment = replace(reading.assessment, rows=rows)

    lines = lines_of(replace(reading, assessment=assessment))

    assert [(line.said, line.why) for line in lines] == [("can't tell", said), ("seen", "")]
