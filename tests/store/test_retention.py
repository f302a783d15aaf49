"""Stills go when they must, points stay, and folders that copy themselves are told."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapmark.marks.people import Athlete, Consent
from tapmark.store import consent, pictures, retention
from tapmark.store.squad import Squad
from tests.store import made
from tests.store.test_jpeg import jpeg

WHERE = ("K07", "2026-03-14", "run-1")


def squad_with_stills(tmp_path: Path, keeps: bool) -> Squad:
    squad = made.squad_of(tmp_path / "squad", ("K07", "M12"))
    for code in ("K07", "M12"):
        stills = {(0, "touchdown", 0): jpeg(), (0, "toe-off", 0): jpeg()}
        pictures.keep_stills(squad, code, *WHERE[1:], stills, "2026-03-20")
    if not keeps:
        athlete = squad.athlete("K07")
        squad.save_athlete(consent.refuse(athlete, "keep stills", "parent", "2026-03-01"))
    return squad


def n_stills(squad: Squad, code: str = "K07") -> int:
    return len(pictures.kept_stills(squad.stills_folder(code, *WHERE[1:])))


def test_with_consent_stills_stay(tmp_path: Path) -> None:
    squad = squad_with_stills(tmp_path, keeps=True)

    assert retention.sweep(squad, "2027-01-01") == ()
    assert retention.drop_after_sheet(squad, *WHERE[:2], "2027-01-01") == ()
    assert n_stills(squad) == 2


def test_without_consent_they_go_when_the_sheet_is_written(tmp_path: Path) -> None:
    squad = squad_with_stills(tmp_path, keeps=False)
    run = squad.load_run(*WHERE)

    gone = retention.drop_after_sheet(squad, *WHERE[:2], "2026-03-20")

    assert len(gone) == 2
    assert (n_stills(squad), n_stills(squad, "M12")) == (0, 2)
    assert squad.load_run(*WHERE) == run


@pytest.mark.parametrize(("today", "left"), [("2026-03-26", 2), ("2026-03-27", 0)])
def test_without_consent_they_go_a_week_after_they_came(
    today: str, left: int, tmp_path: Path
) -> None:
    squad = squad_with_stills(tmp_path, keeps=False)

    due = retention.stills_due(squad, today)
    assert n_stills(squad) == 2
    assert retention.sweep(squad, today) == due

    assert n_stills(squad) == left
    assert [each.code for each in due] == ([] if left else ["K07"])
    assert all(each.why == "there is no consent “keep stills”" for each in due)


def test_a_withdrawn_consent_means_today(tmp_path: Path) -> None:
    squad = squad_with_stills(tmp_path, keeps=True)
    squad.save_athlete(consent.withdraw(squad.athlete("K07"), "film", "parent", "2026-03-21"))

    (due,) = retention.sweep(squad, "2026-03-21")

    assert (due.n_pictures, due.why) == (2, "the consent “film” was withdrawn")
    assert n_stills(squad) == 0


def test_a_clock_set_back_deletes_nothing(tmp_path: Path) -> None:
    squad = squad_with_stills(tmp_path, keeps=False)

    assert retention.sweep(squad, "2020-01-01") == ()
    assert n_stills(squad) == 2


def test_a_lost_date_falls_back_to_the_day_of_filming(tmp_path: Path) -> None:
    squad = squad_with_stills(tmp_path, keeps=False)
    (squad.stills_folder(*WHERE) / "since.txt").write_bytes(b"\xffjunk")

    assert len(retention.stills_due(squad, "2026-03-21")) == 1
    assert retention.stills_due(squad, "2026-03-20") == ()


def season_squad(tmp_path: Path, athlete: Athlete) -> Squad:
    squad = made.squad_of(tmp_path / "squad", ("K07",))
    squad.save_athlete(athlete)
    squad.save_choices(replace(squad.choices, season_ends="2026-09-30", keep_months=12))
    return squad


def test_minors_are_asked_again_each_season_and_adults_are_not(tmp_path: Path) -> None:
    squad = season_squad(tmp_path, made.consenting())
    assert retention.retention_due(squad, "2026-09-30") == ()
    (due,) = retention.retention_due(squad, "2026-10-01")
    assert due.why == "asked on 10 January 2026: ask for this season"

    squad.save_athlete(consent.give(squad.athlete("K07"), "film", "parent", "2026-10-05"))
    assert retention.retention_due(squad, "2026-10-06") == ()
    squad.save_athlete(replace(made.consenting(), birth_year=1990))
    assert retention.retention_due(squad, "2026-10-06") == ()


def test_who_left_long_ago_is_told(tmp_path: Path) -> None:
    squad = season_squad(tmp_path, replace(made.consenting(), birth_year=1990))

    assert retention.retention_due(squad, "2027-09-30") == ()
    (due,) = retention.retention_due(squad, "2027-10-01")
    assert due.why == "kept beyond 30 September 2027: delete, or ask and set a later date"
    squad.new_run("K07", "2027-03-01", made.standard_run())
    assert retention.retention_due(squad, "2027-10-01") == ()


@given(st.dates(date(2000, 1, 1), date(2050, 1, 1)), st.integers(0, 60))
def test_months_later_is_the_same_day_or_the_last_of_its_month(day: date, months: int) -> None:
    later = date.fromisoformat(retention.months_later(day.isoformat(), months))

    assert later.year * 12 + later.month == day.year * 12 + day.month + months
    is_last = (later + timedelta(days=1)).day == 1
    assert later.day == day.day or (later.day < day.day and is_last)


@pytest.mark.parametrize(("born", "is_minor"), [(None, True), (2008, True), (2007, False)])
def test_the_year_in_which_one_turns_18_counts_as_under_18(
    born: int | None, is_minor: bool
) -> None:
    assert retention.is_minor(Athlete("K07", born), "2026-05-14") == is_minor


@pytest.mark.parametrize(
    "folder", ["/u/My Cloud/squad", "/u/CloudStorage/x/squad", "/u/Some Drive/s", "/u/filesync/s"]
)
def test_a_folder_that_copies_itself_is_told(folder: str) -> None:
    assert "copies itself to the internet" in retention.copies_itself(Path(folder))


@pytest.mark.parametrize("folder", ["/u/Documents/squad", "/media/stick/squad", "/u/drives/s"])
def test_an_ordinary_folder_gives_no_warning(folder: str) -> None:
    assert retention.copies_itself(Path(folder)) == ""


def test_a_consent_dated_in_the_future_deletes_nothing(tmp_path: Path) -> None:
    squad = squad_with_stills(tmp_path, keeps=True)
    later = Consent("keep stills", True, "parent", "2027-01-01")
    athlete = squad.athlete("K07")
    squad.save_athlete(replace(athlete, consents=(*athlete.consents, later)))

    assert retention.sweep(squad, "2026-06-01") == ()
