"""The forms around Squad: what they make of what is typed, and what they refuse, field by field."""

from dataclasses import replace
from typing import Any

import pytest

from tapmark.app.squad.forms import (
    CHOICES,
    athlete_entries,
    athlete_fields,
    athlete_from,
    choices_entries,
    choices_from,
    consent_entries,
    consent_fields,
    state_words,
    with_consents,
    withdrawn_uses,
)
from tapmark.app.state.form import FieldTrouble, day_of, number, whole
from tapmark.marks.people import CONSENTS, Athlete, Length
from tapmark.store.choices import SquadChoices
from tapmark.store.consent import consent_state, give

TODAY = "2026-05-14"
KNOWN = Athlete(
    "K07",
    2009,
    "800",
    "jumps off the left",
    (Length("leg", 84.0, "2026-01-10"), Length("leg", 86.5, "2026-04-01")),
    52.5,
    clearance="cleared",
    goal_race="2026-06-20",
    own_cue="push the track away",
)


def refused(field: str, action: Any) -> str:
    with pytest.raises(FieldTrouble) as found:
        action()
    assert field == found.value.field
    return str(found.value)


@pytest.mark.parametrize("old", [None, KNOWN])
def test_every_field_of_the_athlete_form_is_filled_from_a_known_key(old: Athlete | None) -> None:
    keys = {field.key for field in athlete_fields(old)}

    assert set(athlete_entries(old)) <= keys


def test_a_form_saved_as_it_stands_changes_nothing() -> None:
    assert athlete_from(athlete_entries(KNOWN), KNOWN, ("K07",), TODAY) == KNOWN


def test_a_new_athlete_is_made_from_what_was_typed() -> None:
    typed = {"code": " K08 ", "birth_year": "2010", "group": "400", "leg_cm": "86,5"}
    typed |= {"measured": "2.5.2026", "clearance": "under treatment", "goal_race": "2026-07-01"}

    made = athlete_from(typed, None, ("K07",), TODAY)

    assert made == Athlete(
        "K08",
        2010,
        "400",
        lengths=(Length("leg", 86.5, "2026-05-02"),),
        clearance="under treatment",
        goal_race="2026-07-01",
    )


def test_a_new_length_is_added_and_one_of_the_same_day_is_mended() -> None:
    longer = athlete_from({**athlete_entries(KNOWN), "leg_cm": "88"}, KNOWN, (), TODAY)
    mended = athlete_from(
        {**athlete_entries(KNOWN), "leg_cm": "86", "measured": "2026-04-01"}, KNOWN, (), TODAY
    )

    assert (*KNOWN.lengths, Length("leg", 88.0, TODAY)) == longer.lengths
    assert (KNOWN.lengths[0], Length("leg", 86.0, "2026-04-01")) == mended.lengths


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("code", ""),
        ("code", "k07"),
        ("code", "Nonesuch"),
        ("code", "con"),
        ("birth_year", "09"),
        ("birth_year", "2026"),
        ("birth_year", "²⁰⁰⁹"),
        ("leg_cm", "tall"),
        ("leg_cm", "865"),
        ("height_cm", "1.80"),
        ("mass_kg", "-3"),
        ("measured", "2026-05-15"),
        ("measured", "31.2.2026"),
        ("goal_race", "June"),
    ],
)
def test_what_cannot_be_used_is_told_below_its_field(field: str, text: str) -> None:
    typed = {"code": "K08", "birth_year": "2009", field: text}

    assert len(refused(field, lambda: athlete_from(typed, None, ("K07",), TODAY))) > 10


@pytest.mark.parametrize(
    ("text", "iso"),
    [("", ""), ("2026-05-14", "2026-05-14"), ("4.5.2026", "2026-05-04"), (" 14.05.2026 ", TODAY)],
)
def test_a_date_is_read_in_two_ways(text: str, iso: str) -> None:
    assert iso == day_of(text, "day")


@pytest.mark.parametrize("text", ["5/4/2026", "20260514", "2026-W20-4", "14.5.26", "today"])
def test_a_date_that_could_be_another_is_refused(text: str) -> None:
    assert text in refused("day", lambda: day_of(text, "day"))


def test_numbers_take_a_comma_and_an_empty_field_is_none() -> None:
    assert number(" 86,5", "x", "x", 0, 100) == 86.5 and number(" ", "x", "x", 0, 1) is None
    assert whole("8", "x", "x", 1, 9) == 8
    refused("x", lambda: whole("", "x", "x", 1, 9))
    refused("x", lambda: number("nan", "x", "x", 0, 1))


# consent


def asked(**answers: str) -> dict[str, str]:
    """What the consent form holds when these answers were chosen by K. M."""
    entries = consent_entries(KNOWN, "2026-09-30", TODAY)
    return {**entries, "by": "K. M.", **{use.replace("_", " "): a for use, a in answers.items()}}


NONE = dict.fromkeys(CONSENTS, "no")


def test_a_yes_says_who_when_and_until_when() -> None:
    agreed = with_consents(KNOWN, asked(film="yes", keep_stills="no"), TODAY)

    film, stills = agreed.consent("film"), agreed.consent("keep stills")
    assert film and (film.is_given, film.by, film.dated, film.expires) == (
        True,
        "K. M.",
        TODAY,
        "2026-09-30",
    )
    assert stills and not stills.is_given
    assert consent_state(agreed, "print photo", TODAY) == "refused"  # it stood on the same paper
    assert state_words(agreed, "film", TODAY) == "until 30 Sep 2026, K. M., since 14 May 2026"


def test_a_yes_withdrawn_uses_is_withdrawn_and_the_answers_before_stay_on_record() -> None:
    agreed = with_consents(KNOWN, asked(film="yes", keep_stills="yes"), TODAY)
    taken = {**consent_entries(agreed, "", TODAY), "keep stills": "no"}
    back = with_consents(agreed, taken, TODAY)

    assert consent_state(back, "film", TODAY) == "given"
    assert consent_state(back, "keep stills", TODAY) == "withdrawn"
    assert agreed.consents == back.consents[:-1]
    assert withdrawn_uses(agreed, back) == ("keep stills",)
    assert state_words(back, "keep stills", TODAY) == "withdrawn 14 May 2026"
    assert back.consents[0].by == "K. M."  # who signed for film did not change


def test_no_to_everything_takes_every_yes_back() -> None:
    agreed = with_consents(KNOWN, asked(film="yes", print_photo="yes"), TODAY)
    entries = {**consent_entries(agreed, "", TODAY), **NONE, "by": "father"}

    none = with_consents(agreed, entries, TODAY)

    states = {use: consent_state(none, use, TODAY) for use in ("film", "print photo")}
    assert states == {"film": "withdrawn", "print photo": "withdrawn"}
    assert consent_state(none, "show to group", TODAY) == "refused"


def test_an_answer_that_ran_out_is_offered_for_renewal_and_renewed_with_one_signature() -> None:
    old = give(
        give(KNOWN, "film", "K", "2025-05-01", "2026-05-01"), "print photo", "K", "2025-05-01"
    )
    entries = {**consent_entries(old, "2026-09-30", TODAY), "by": "K. M. and mother"}

    new = with_consents(old, entries, TODAY)

    assert state_words(old, "film", TODAY) == "ran out 1 May 2026, K: ask again"
    assert [consent_state(new, use, TODAY) for use in ("film", "print photo")] == ["given"] * 2
    assert {"K. M. and mother"} == {new.consents[-1].by, new.consents[-2].by}


def test_a_consent_form_saved_as_it_stands_changes_nothing() -> None:
    agreed = with_consents(KNOWN, asked(film="yes"), TODAY)

    assert agreed == with_consents(agreed, consent_entries(agreed, "2026-09-30", TODAY), TODAY)


def test_an_unsigned_form_without_a_tick_says_what_is_missing() -> None:
    entries = {**consent_entries(KNOWN, "", TODAY), **NONE}

    assert "who signed" in refused("by", lambda: with_consents(KNOWN, entries, TODAY))


def test_one_date_counts_for_every_tick() -> None:
    first = with_consents(KNOWN, {**asked(film="yes"), "dated": "2026-05-01"}, TODAY)
    both = with_consents(first, asked(film="yes", keep_stills="yes"), TODAY)

    dates = {use: both.consent(use).dated for use in ("film", "keep stills")}  # type: ignore[union-attr]
    assert set(dates.values()) == {TODAY}


@pytest.mark.parametrize(
    ("field", "text"),
    [("by", " "), ("dated", "2026-05-15"), ("dated", "yesterday"), ("until", TODAY)],
)
def test_a_yes_needs_a_signature_and_dates_that_can_be(field: str, text: str) -> None:
    entries = {**asked(film="yes"), field: text}

    refused(field, lambda: with_consents(KNOWN, entries, TODAY))


def test_the_consent_form_has_a_field_for_every_entry() -> None:
    keys = {field.key for field in consent_fields(KNOWN, TODAY)}

    assert keys >= set(consent_entries(KNOWN, "", TODAY))


# the squad's own


def test_the_squads_choices_survive_their_form_and_take_new_ones() -> None:
    choices = SquadChoices("Thursday", marker="AB", season_ends="2026-09-30")
    entries = choices_entries(choices)

    assert choices == choices_from(entries, choices)
    assert {field.key for field in CHOICES} == set(entries)
    changed = choices_from({**entries, "rota_weeks": "4", "neck_base": "shoulder"}, choices)
    assert replace(choices, rota_weeks=4, neck_base="no") == changed


@pytest.mark.parametrize(
    ("field", "text"),
    [("name", " "), ("rota_weeks", "0"), ("per_evening", "six"), ("season_ends", "autumn")],
)
def test_a_squads_choice_that_cannot_be_is_told(field: str, text: str) -> None:
    choices = SquadChoices("Thursday")

    refused(field, lambda: choices_from({**choices_entries(choices), field: text}, choices))
