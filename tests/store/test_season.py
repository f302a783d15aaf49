"""What was worked on, races, growth."""

from dataclasses import replace

import pytest

from tapmark.marks.people import Athlete, Length, Visit
from tapmark.store import season
from tapmark.store.season import Growth, Spell


def test_a_priority_held_over_visits_is_one_spell_and_a_break_ends_it() -> None:
    chosen = [
        ("2026-01-10", (1,)),
        ("2026-02-14", (1, 5)),
        ("2026-03-20", (5,)),
        ("2026-04-25", (1,)),
    ]

    assert season.spells(chosen) == (
        Spell(1, "2026-01-10", "2026-02-14", 2),
        Spell(5, "2026-02-14", "2026-03-20", 2),
        Spell(1, "2026-04-25", "2026-04-25", 1),
    )


def test_ticks_typed_back_in_are_counted() -> None:
    ticked = (("2026-05-19", True, "easier"), ("2026-05-21", False, ""), ("", True, "same"))

    assert season.adherence(Visit("K07", "2026-05-14", ticked=ticked)) == (2, 3)


@pytest.mark.parametrize(
    ("today", "words"),
    [
        ("2026-06-19", ""),
        ("2026-06-20", "Goal race in 14 days (4 July 2026)"),
        ("2026-07-03", "Goal race in 1 day (4 July 2026)"),
        ("2026-07-04", "Goal race today"),
        ("2026-07-05", ""),
    ],
)
def test_two_weeks_before_a_goal_race_nothing_new_is_started(today: str, words: str) -> None:
    said = season.quiet_period(Athlete("K07", goal_race="2026-07-04"), today)

    assert said.startswith(words)
    assert bool(said) == bool(words)


def test_no_goal_race_means_no_quiet_period() -> None:
    assert season.quiet_period(Athlete("K07"), "2026-07-04") == ""


GREW = Athlete(
    "K07",
    2011,
    lengths=(
        Length("leg", 90.0, "2026-05-10"),
        Length("leg", 84.0, "2025-11-02"),
        Length("height", 165.0, "2025-11-02"),
        Length("height", 165.9, "2026-05-10"),
    ),
)


def test_growth_is_told_between_two_dates() -> None:
    """Six centimetres since last time."""
    grown = season.growth(GREW, "2026-01-15", "2026-05-14")

    assert grown == Growth(GREW.lengths[1], GREW.lengths[0])
    assert grown is not None and grown.cm == 6.0


def test_less_than_a_tape_errs_is_no_growth() -> None:
    assert season.growth(GREW, "2026-01-15", "2026-05-14", "height") is None
    assert season.growth(GREW, "2026-05-11", "2026-05-14") is None
    assert season.growth(GREW, "2025-01-01", "2026-05-14") is None


def test_a_minor_is_measured_each_term_an_adult_once() -> None:
    assert season.length_asked(GREW, "2026-09-10") == ""
    assert "Last measured on 10 May 2026" in season.length_asked(GREW, "2026-09-11")
    assert season.length_asked(replace(GREW, birth_year=1990), "2029-01-01") == ""
    assert season.length_asked(Athlete("K07", 1990), "2026-05-14").startswith("No leg length")
