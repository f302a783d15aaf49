"""A window that has stood open while another program changed the squad: what that wrote stays."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from tapmark.app.desk import Desk
from tapmark.app.squad_deeds import choose_athlete, refresh_roster, use_squad
from tapmark.app.squad_forms import form_of
from tapmark.store.delete import delete_athlete, plan_delete
from tapmark.store.gates import consent_state, withdraw
from tapmark.store.squad import open_squad
from tests.app.made import bare_desk

TODAY = "2026-05-14"


def desk_on(folder: Path, home: Path) -> Desk:
    desk = bare_desk(home)
    use_squad(desk, folder)
    choose_athlete(desk, "P02")
    return desk


def archive(desk: Desk) -> None:
    desk.perform("archive")


def read_again_and_archive(desk: Desk) -> None:
    refresh_roster(desk)
    desk.perform("archive")


def saving(name: str, **answers: str) -> Callable[[Desk], Callable[[Desk], None]]:
    """Fill a form in, and save it later."""

    def opened(desk: Desk) -> Callable[[Desk], None]:
        form = form_of(desk, name)
        entries = {**dict.fromkeys((f.key for f in form.fields), ""), **form.entries, **answers}
        return lambda later: (later.attempt(lambda: form.save(entries)), None)[1]

    return opened


DEEDS = {
    "archive": lambda desk: archive,
    "archive after the list was read again": lambda desk: read_again_and_archive,
    "change": saving("athlete", notes="left"),
    "renew consent": saving("consent", reach="renew every yes", by="K. M."),
    "another yes": saving("consent", **{"print photo": "yes", "by": "K. M."}),
}


@pytest.mark.parametrize("deed", DEEDS)
def test_consent_withdrawn_meanwhile_stays_withdrawn_and_the_window_shows_it(
    deed: str, squad_folder: Path, tmp_path: Path
) -> None:
    desk = desk_on(squad_folder, tmp_path)
    act = DEEDS[deed](desk)
    other = open_squad(squad_folder)
    other.save_athlete(withdraw(other.athlete("P02"), "film", "K. M.", TODAY))

    act(desk)

    now = open_squad(squad_folder).athlete("P02")
    assert consent_state(now, "film", TODAY) == "withdrawn"
    assert desk.state.athlete == now
    assert not desk.state.trouble


@pytest.mark.parametrize("deed", DEEDS)
def test_an_athlete_deleted_meanwhile_does_not_come_back(
    deed: str, squad_folder: Path, tmp_path: Path
) -> None:
    desk = desk_on(squad_folder, tmp_path)
    act = DEEDS[deed](desk)
    other = open_squad(squad_folder)
    delete_athlete(other, plan_delete(other, "P02"), datetime(2026, 5, 14, 20, 30))

    act(desk)
    desk.attempt(lambda: form_of(desk, "squad").save(form_of(desk, "squad").entries))

    now = open_squad(squad_folder)
    assert now.codes() == () and now.choices.deleted_on == (TODAY,)


def test_the_form_of_the_squad_changes_only_what_was_changed_in_it(
    squad_folder: Path, tmp_path: Path
) -> None:
    desk = desk_on(squad_folder, tmp_path)
    form = form_of(desk, "squad")
    other = open_squad(squad_folder)
    other.save_choices(replace(other.choices, keep_months=3, deleted_on=("2026-05-01",)))

    desk.attempt(lambda: form.save({**form.entries, "rota_weeks": "9"}))

    now = open_squad(squad_folder).choices
    assert (now.rota_weeks, now.keep_months, now.deleted_on) == (9, 3, ("2026-05-01",))


def test_with_the_folder_gone_the_list_stays_and_says_what_happened(
    squad_folder: Path, tmp_path: Path
) -> None:
    desk = desk_on(squad_folder, tmp_path)
    rows = desk.state.side.rows
    squad_folder.rename(tmp_path / "unplugged")

    desk.attempt(lambda: refresh_roster(desk))

    assert desk.state.side.rows == rows and [row.code for row in rows] == ["P02"]
    assert "is gone. Plug the disk in again" in desk.state.trouble
