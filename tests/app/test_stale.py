"""A window that has stood open while another program changed the squad: what that wrote stays."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from tapmark.app.shell.context import Context
from tapmark.app.shell.squads import choose_athlete, refresh_roster, use_squad
from tapmark.app.squad.forms import form_of
from tapmark.store.consent import consent_state, withdraw
from tapmark.store.delete import delete_athlete, plan_delete
from tapmark.store.squad import open_squad
from tests.app.made import bare_context

TODAY = "2026-05-14"


def context_on(folder: Path, home: Path) -> Context:
    context = bare_context(home)
    use_squad(context, folder)
    choose_athlete(context, "P02")
    return context


def archive(context: Context) -> None:
    context.perform("archive")


def read_again_and_archive(context: Context) -> None:
    refresh_roster(context)
    context.perform("archive")


def saving(name: str, **answers: str) -> Callable[[Context], Callable[[Context], None]]:
    """Fill a form in, and save it later."""

    def opened(context: Context) -> Callable[[Context], None]:
        form = form_of(context, name)
        entries = {**dict.fromkeys((f.key for f in form.fields), ""), **form.entries, **answers}
        return lambda later: (later.attempt(lambda: form.save(entries)), None)[1]

    return opened


DEEDS = {
    "archive": lambda context: archive,
    "archive after the list was read again": lambda context: read_again_and_archive,
    "change": saving("athlete", notes="left"),
    "renew consent": saving("consent", reach="renew every yes", by="K. M."),
    "another yes": saving("consent", **{"print photo": "yes", "by": "K. M."}),
}


@pytest.mark.parametrize("action", DEEDS)
def test_consent_withdrawn_meanwhile_stays_withdrawn_and_the_window_shows_it(
    action: str, squad_folder: Path, tmp_path: Path
) -> None:
    context = context_on(squad_folder, tmp_path)
    act = DEEDS[action](context)
    other = open_squad(squad_folder)
    other.save_athlete(withdraw(other.athlete("P02"), "film", "K. M.", TODAY))

    act(context)

    now = open_squad(squad_folder).athlete("P02")
    assert consent_state(now, "film", TODAY) == "withdrawn"
    assert context.state.athlete == now
    assert not context.state.error


@pytest.mark.parametrize("action", DEEDS)
def test_an_athlete_deleted_meanwhile_does_not_come_back(
    action: str, squad_folder: Path, tmp_path: Path
) -> None:
    context = context_on(squad_folder, tmp_path)
    act = DEEDS[action](context)
    other = open_squad(squad_folder)
    delete_athlete(other, plan_delete(other, "P02"), datetime(2026, 5, 14, 20, 30))

    act(context)
    context.attempt(lambda: form_of(context, "squad").save(form_of(context, "squad").entries))

    now = open_squad(squad_folder)
    assert now.codes() == () and now.choices.deleted_on == (TODAY,)


def test_the_form_of_the_squad_changes_only_what_was_changed_in_it(
    squad_folder: Path, tmp_path: Path
) -> None:
    context = context_on(squad_folder, tmp_path)
    form = form_of(context, "squad")
    other = open_squad(squad_folder)
    other.save_choices(replace(other.choices, keep_months=3, deleted_on=("2026-05-01",)))

    context.attempt(lambda: form.save({**form.entries, "rota_weeks": "9"}))

    now = open_squad(squad_folder).choices
    assert (now.rota_weeks, now.keep_months, now.deleted_on) == (9, 3, ("2026-05-01",))


def test_with_the_folder_gone_the_list_stays_and_says_what_happened(
    squad_folder: Path, tmp_path: Path
) -> None:
    context = context_on(squad_folder, tmp_path)
    rows = context.state.around.squad.rows
    squad_folder.rename(tmp_path / "unplugged")

    context.attempt(lambda: refresh_roster(context))

    assert context.state.around.squad.rows == rows and [row.code for row in rows] == ["P02"]
    assert "is gone. Plug the disk in again" in context.state.error
