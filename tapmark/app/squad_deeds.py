"""What can be done on the Squad page: open a squad, choose and change athletes, open a visit.

What a visit needs (clips, measures) is read when one is opened: the window stands sooner.
"""

from dataclasses import replace
from functools import partial
from pathlib import Path

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.holding import let_go
from tapmark.app.squad_reading import list_of, notices_of, told_once
from tapmark.errands.gate import let_in
from tapmark.errands.opening import open_for_work
from tapmark.errors import StoreError
from tapmark.store.squad import make_squad


def needs_squad(desk: Desk) -> str:
    """Why nothing can be done with athletes."""
    return "" if desk.state.squad else "Open or make a squad first."


def needs_athlete(desk: Desk) -> str:
    """Why nothing can be done with one athlete."""
    return needs_squad(desk) or ("" if desk.state.athlete else "Choose an athlete first.")


def today(desk: Desk) -> str:
    """Return today's date, ISO."""
    return desk.now().date().isoformat()


def use_squad(desk: Desk, folder: Path) -> None:
    """Open the squad in a folder; what cannot be read is told, the rest is there."""
    state = desk.state
    desk.refuse_unsaved()
    opened = open_for_work(folder, desk.now().date())
    forget_run(desk)
    state.squad, state.athlete = opened.squad, None
    state.side.told = told_once(opened.squad, opened.notices, desk.now().date())
    state.side.with_archived = False
    refresh_roster(desk)
    desk.remember(desk.settings.with_recent(str(folder)))
    desk.go("squad")


def forget_run(desk: Desk) -> None:
    """Close the run that is open; raise NotSaved where not everything of it is saved."""
    let_go(desk)
    desk.state.history, desk.state.run_name = None, ""
    desk.state.show_nothing()


def refresh_roster(desk: Desk) -> None:
    """Read all athletes, the list and what is to be told about it again.

    Raises NotThere when the squad's folder is gone: the list stays as it was read last.
    """
    state, troubles = desk.state, list[StoreError]()
    if state.squad is None:
        return
    state.squad.refuse_gone()
    now = desk.now().date()
    state.roster = state.squad.athletes(troubles)
    state.side.rows = list_of(state.squad, state.roster, desk.criteria().words, now)
    state.side.notices = notices_of(state.squad, state.side.told, len(troubles), now)


def ask_open_squad(desk: Desk) -> None:
    """Ask for the folder of a squad and open it."""
    desk.refuse_unsaved()
    folder = desk.ask.folder("Open a squad: choose its folder")
    if folder:
        use_squad(desk, folder)


def ask_make_squad(desk: Desk) -> None:
    """Ask for a new folder and make a squad in it."""
    desk.refuse_unsaved()
    folder = desk.ask.folder("Make a squad: choose a new or an empty folder")
    if folder:
        make_squad(folder, folder.name)
        use_squad(desk, folder)


def choose_athlete(desk: Desk, code: str) -> None:
    """Show an athlete beside the list."""
    state = desk.state
    if state.squad and (state.athlete is None or state.athlete.code != code):
        desk.refuse_unsaved()
        athlete = state.squad.athlete(code)
        forget_run(desk)
        state.athlete = athlete
    state.tell()


def new_visit(desk: Desk) -> None:
    """Begin today's visit of the athlete, or another run of it."""
    state = desk.state
    if state.squad and state.athlete:
        from tapmark.app.run_deeds import start_run

        desk.refuse_unsaved()
        let_in(state.squad, state.athlete.code, desk.now().date())
        start_run(desk, state.athlete.code, today(desk))
        desk.go("film")


def open_last(desk: Desk) -> None:
    """Open the newest run of the athlete's newest visit."""
    state = desk.state
    if state.squad and state.athlete:
        state.squad.refuse_gone()
        dates = state.squad.visit_dates(state.athlete.code)
        if not dates:
            state.said = "No visit yet. Start one."
            return
        open_visit(desk, dates[-1])


def open_visit(desk: Desk, dated: str) -> None:
    """Open a visit at its last run, or at Film when it has none."""
    state = desk.state
    if state.squad and state.athlete:
        from tapmark.app.run_deeds import open_run, start_run

        names = state.squad.run_names(state.athlete.code, dated)
        if names:
            open_run(desk, state.athlete.code, dated, names[-1])
        else:
            start_run(desk, state.athlete.code, dated)
            desk.go("film")


def archive(desk: Desk) -> None:
    """Put the athlete among those not trained now, or take them back."""
    state = desk.state
    if state.squad and state.athlete:
        old = state.athlete
        state.squad.save_athlete(replace(old, is_archived=not old.is_archived), old)
        desk.note_saved()
        refresh_roster(desk)
        changed = state.athlete = state.squad.athlete(old.code)
        how = "archived; X takes them back" if changed.is_archived else "back in the list"
        state.said = f"{changed.code} is {how}."
        state.side.with_archived = state.side.with_archived or changed.is_archived


def show_archived(desk: Desk) -> None:
    """Show those who are archived in the list, or hide them again."""
    side = desk.state.side
    side.with_archived = not side.with_archived
    desk.state.tell()


def find(desk: Desk) -> None:
    """Put the keyboard into the field to find somebody."""
    desk.state.side.wants_find = True
    desk.state.tell()


def open_form(desk: Desk, name: str) -> None:
    """Open a form in the place of the athlete's panel."""
    if desk.state.page != "squad":
        desk.go("squad")
    desk.state.form = name
    desk.state.tell()


_SQUAD = ("squad",)

ACTIONS = (
    Action("open squad", "Open a squad…", ask_open_squad, ("Mod+O",), _SQUAD, "Squad"),
    Action("make squad", "Make a squad…", ask_make_squad, ("Mod+N",), _SQUAD, "Squad"),
    Action(
        "change squad",
        "Rota, season and names of the squad",
        partial(open_form, name="squad"),
        ("Q",),
        _SQUAD,
        "Squad",
        needs_squad,
    ),
    Action("find athlete", "Find somebody", find, ("Mod+F", "/"), _SQUAD, "Squad", needs_squad),
    Action(
        "show archived",
        "Show or hide the archived",
        show_archived,
        ("H",),
        _SQUAD,
        "Squad",
        needs_squad,
    ),
    Action(
        "add athlete",
        "Add athlete",
        partial(open_form, name="new athlete"),
        ("A",),
        _SQUAD,
        "Athlete",
        needs_squad,
    ),
    Action(
        "edit athlete",
        "Change the athlete",
        partial(open_form, name="athlete"),
        ("E",),
        _SQUAD,
        "Athlete",
        needs_athlete,
    ),
    Action(
        "consent",
        "Consent: give, renew, take back",
        partial(open_form, name="consent"),
        ("C",),
        _SQUAD,
        "Athlete",
        needs_athlete,
    ),
    Action("new visit", "New visit", new_visit, ("N",), _SQUAD, "Athlete", needs_athlete),
    Action(
        "open last", "Open the last visit", open_last, ("Return",), _SQUAD, "Athlete", needs_athlete
    ),
    Action("archive", "Archive, or take back", archive, ("X",), _SQUAD, "Athlete", needs_athlete),
)
