"""What was written earlier leaves only while nothing that was agreed has changed since."""

import os
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import pytest

from tapmark.errors import NoConsent, NotThere
from tapmark.marks.people import Consent
from tapmark.services.consent import hand_over
from tapmark.services.group import write_group
from tapmark.services.pages import write_sheet
from tapmark.store.squad import Squad
from tests.services.made import TODAY, agreed, place, squad_of, with_answer

DAY = date.fromisoformat(TODAY)


@pytest.fixture
def squad(tmp_path: Path) -> Squad:
    return squad_of(tmp_path / "squad", [agreed(), agreed("M12")])


def test_a_page_written_before_consent_was_taken_back_cannot_be_handed_over(
    squad: Squad,
) -> None:
    page = write_sheet(place(squad), "a4", "athlete", DAY)
    stand_at_noon(page)
    assert hand_over(squad, page, DAY) == page

    squad.save_athlete(with_answer(agreed(), "film", "withdrawn"))

    with pytest.raises(NoConsent, match="withdrawn"):
        hand_over(squad, page, DAY)


def test_a_page_written_before_any_answer_changed_is_made_again_first(squad: Squad) -> None:
    page = write_sheet(place(squad), "a4", "athlete", DAY)
    stand_at_noon(page)

    squad.save_athlete(with_answer(agreed(), "print photo", "withdrawn"))
    stand_at_noon(squad.athlete_folder("K07") / "athlete.json", later_s=60)

    with pytest.raises(NoConsent, match="Make it again"):
        hand_over(squad, page, DAY)


def test_a_page_is_made_again_when_an_answer_ran_out_since(squad: Squad) -> None:
    ends = Consent("print photo", True, "parent", "2026-01-10", "2026-07-10")
    squad.save_athlete(replace(agreed(), consents=(*agreed().consents, ends)))
    page = write_sheet(place(squad), "a4", "athlete", DAY)
    stand_at_noon(page)

    assert hand_over(squad, page, DAY) == page
    with pytest.raises(NoConsent, match="Make it again"):
        hand_over(squad, page, date(2026, 7, 11))


def test_a_group_sheet_is_made_again_when_anybody_changed(squad: Squad) -> None:
    page, _ = write_group(squad, DAY)
    stand_at_noon(page)
    assert hand_over(squad, page, DAY) == page

    squad.save_athlete(with_answer(agreed("M12"), "film", "refused"))
    stand_at_noon(squad.athlete_folder("M12") / "athlete.json", later_s=60)

    with pytest.raises(NoConsent, match="M12"):
        hand_over(squad, page, DAY)


def test_a_page_that_is_gone_is_told(squad: Squad) -> None:
    with pytest.raises(NotThere, match="Make it again"):
        hand_over(squad, place(squad).folder / "none.pdf", DAY)


def stand_at_noon(path: Path, later_s: float = 0.0) -> None:
    """Date a file at noon of the day of these tests, and the athletes' files an hour before."""
    noon = datetime.fromisoformat(f"{TODAY}T12:00:00").timestamp()
    os.utime(path, (noon + later_s, noon + later_s))
    if not later_s:
        squad = next(parent for parent in path.parents if (parent / "squad.json").exists())
        for answers in squad.glob("athletes/*/athlete.json"):
            os.utime(answers, (noon - 3600, noon - 3600))
