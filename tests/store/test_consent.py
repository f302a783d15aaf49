"""Consent opens each way in and out, and nothing else does."""

from dataclasses import replace

import pytest

from tapmark.errors import NoConsent
from tapmark.marks.people import CONSENT_WORDS, CONSENTS, Athlete, Consent
from tapmark.store import consent
from tests.store import made

TODAY = "2026-05-14"
ALL = made.consenting()


def without(use: str) -> Athlete:
    return replace(ALL, consents=tuple(c for c in ALL.consents if c.use != use))


NEEDED = {
    "pdf": {"film"},
    "html": {"film"},
    "png": {"film"},
    "film": {"film"},
    "csv": {"film"},
    "group sheet": {"film"},
    "side by side": {"film", "show to group"},
    "physio note": {"film", "share with physio"},
    "pictures in a back-up": {"film", "keep stills"},
}


@pytest.mark.parametrize("kind", consent.WAYS_OUT)
@pytest.mark.parametrize("use", CONSENTS)
def test_each_way_out_asks_for_its_own_consents(kind: str, use: str) -> None:
    """Our own decision, written twice: whoever changes it must mean to."""
    is_allowed = consent.is_allowed(consent.may_write, kind, without(use), TODAY)

    assert is_allowed == (use not in NEEDED[kind])
    assert consent.is_allowed(consent.may_write, kind, ALL, TODAY)


@pytest.mark.parametrize("kind", consent.WAYS_OUT)
def test_nothing_goes_out_for_somebody_who_was_never_asked(kind: str) -> None:
    with pytest.raises(NoConsent, match="K07: nobody has been asked for the consent “film”"):
        consent.may_write(kind, Athlete("K07"), TODAY)


CLOSED = [
    (Consent("film", False, "parent", "2026-02-01"), "refused (parent, 1 February 2026)"),
    (Consent("film", False), "refused (no date)"),
    (
        Consent("film", True, "parent", "2026-01-01", "2026-05-13"),
        "ran out on 13 May 2026. Ask again and enter the new date",
    ),
    (
        Consent("film", True, "parent", "2026-01-01", "", "2026-05-14"),
        "was withdrawn on 14 May 2026",
    ),
    (
        Consent("film", True, "parent", "2026-06-01"),
        "is dated 1 June 2026, after today, 14 May 2026",
    ),
]


@pytest.mark.parametrize(("answer", "words"), CLOSED)
def test_without_a_living_consent_nothing_comes_in_and_the_reason_is_told(
    answer: Consent, words: str
) -> None:
    athlete = replace(ALL, consents=(*ALL.consents, answer))

    with pytest.raises(NoConsent) as caught:
        consent.may_import(athlete, TODAY)

    assert words in str(caught.value)
    assert str(caught.value).endswith("No clip is brought in.")
    for kind in consent.WAYS_OUT:
        assert not consent.is_allowed(consent.may_write, kind, athlete, TODAY)
    assert not consent.is_allowed(consent.may_show_photo, athlete, TODAY)
    assert not consent.is_allowed(consent.may_keep_stills, athlete, TODAY)


def test_a_consent_holds_to_the_end_of_its_last_day() -> None:
    athlete = consent.give(Athlete("K07"), "film", "parent", "2026-05-14", "2026-05-20")

    assert consent.consent_state(athlete, "film", "2026-05-20") == "given"
    assert consent.consent_state(athlete, "film", "2026-05-21") == "expired"


def test_the_latest_answer_counts_and_the_earlier_ones_stay() -> None:
    athlete = consent.give(Athlete("K07"), "film", "parent", "2026-01-01")
    athlete = consent.withdraw(athlete, "film", "parent", "2026-03-01")
    assert consent.consent_state(athlete, "film", TODAY) == "withdrawn"

    athlete = consent.give(athlete, "film", "parent", "2026-04-01")
    assert consent.consent_state(athlete, "film", TODAY) == "given"
    athlete = consent.refuse(athlete, "film", "K07", "2026-05-01")
    assert consent.consent_state(athlete, "film", TODAY) == "refused"
    assert len(athlete.consents) == 4


def test_a_consent_withdrawn_before_it_was_given_stays_withdrawn() -> None:
    athlete = consent.withdraw(Athlete("K07"), "film", "parent", TODAY)

    assert consent.consent_state(athlete, "film", TODAY) == "withdrawn"


def test_no_photo_consent_means_the_line_figure() -> None:
    with pytest.raises(NoConsent, match="line figure instead of a photo"):
        consent.may_show_photo(without("print photo"), TODAY)
    consent.may_show_photo(ALL, TODAY)


def test_without_keep_stills_they_go_when_the_sheet_is_written() -> None:
    with pytest.raises(NoConsent, match="The stills go when the sheet is written"):
        consent.may_keep_stills(without("keep stills"), TODAY)
    consent.may_keep_stills(ALL, TODAY)


def test_nobody_is_filmed_from_the_archive() -> None:
    with pytest.raises(NoConsent, match="K07 is archived"):
        consent.may_import(replace(ALL, is_archived=True), TODAY)


def test_a_group_page_leaves_out_those_who_did_not_agree_and_says_so() -> None:
    others = (ALL, replace(without("film"), code="M12"), replace(ALL, code="P01"))

    may, sentences = consent.who_may("group sheet", others, TODAY)

    assert [athlete.code for athlete in may] == ["K07", "P01"]
    assert len(sentences) == 1 and sentences[0].startswith("M12: nobody has been asked")


def test_a_use_is_called_in_a_refusal_what_the_form_calls_it() -> None:
    assert set(CONSENTS) == set(CONSENT_WORDS)
    with pytest.raises(NoConsent, match="asked for the consent “photo on the sheet”"):
        consent.may_show_photo(without("print photo"), TODAY)


def test_a_closed_way_out_says_what_does_not_happen_in_words() -> None:
    nobody = Athlete("K07", 2009)
    for kind in consent.WAYS_OUT:
        with pytest.raises(NoConsent) as closed:
            consent.may_write(kind, nobody, TODAY)
        told = str(closed.value).rsplit(". ", 1)[1]
        assert told.endswith(".") and len(told.split()) > 3, kind
        assert not {"pdf", "html", "png", "csv"} & set(told.lower().strip(".").split()), told
