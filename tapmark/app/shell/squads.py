"""Opening a squad and reading its list; choosing an athlete and opening their visits."""

from dataclasses import replace
from functools import partial
from pathlib import Path

from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.run_lock import let_go
from tapmark.app.shell.runs import open_run, start_run
from tapmark.app.shell.why_disabled import needs_athlete, needs_squad, today
from tapmark.app.state.roster_lines import hurts, notices_of, rows, thing_of, told_once
from tapmark.errors import StoreError
from tapmark.services.consent import let_in
from tapmark.services.squads import open_for_work
from tapmark.store.rota import rota
from tapmark.store.squad import make_squad


def use_squad(context: Context, folder: Path) -> None:
    """Open the squad in a folder; what cannot be read is told, the rest is there."""
    state = context.state
    context.saver.refuse_unsaved()
    opened = open_for_work(folder, context.today())
    forget_run(context)
    state.session.squad, state.session.athlete = opened.squad, None
    state.around.squad.told = told_once(opened.squad, opened.notices, context.today())
    state.around.squad.with_archived = False
    refresh_roster(context)
    context.settings.change(context.settings.value.with_recent(str(folder)))
    context.go("squad")


def forget_run(context: Context) -> None:
    """Close the run that is open; raise NotSaved where not everything of it is saved."""
    let_go(context)
    context.state.session.history, context.state.session.run_name = None, ""
    context.state.show_nothing()


def refresh_roster(context: Context) -> None:
    """Read all athletes, the list and what is to be told about it again.

    Raises NotThere when the squad's folder is gone: the list stays as it was read last.
    """
    state, troubles = context.state, list[StoreError]()
    if state.squad is None:
        return
    state.squad.refuse_gone()
    now = context.today()
    roster = state.session.roster = state.squad.athletes(troubles)
    page = state.around.squad
    thing, choices = thing_of(state.squad, state.session.criteria().words), state.squad.choices
    lines = rota(state.squad, now.isoformat(), [])  # files that cannot be read are left out
    hurt = {
        a.code for a in roster if a.clearance != "cleared" and hurts(state.squad, a.code, lines)
    }
    page.rows = rows(roster, lines, thing, now, choices.rota_weeks, choices.per_evening, hurt)
    page.notices = notices_of(state.squad, page.told, len(troubles), now)


def ask_open_squad(context: Context) -> None:
    """Ask for the folder of a squad and open it."""
    context.saver.refuse_unsaved()
    folder = context.ask.folder("Open a squad: choose its folder")
    if folder:
        use_squad(context, folder)


def ask_make_squad(context: Context) -> None:
    """Ask for a new folder and make a squad in it."""
    context.saver.refuse_unsaved()
    folder = context.ask.folder("Make a squad: choose a new or an empty folder")
    if folder:
        make_squad(folder, folder.name)
        use_squad(context, folder)


def choose_athlete(context: Context, code: str) -> None:
    """Show an athlete beside the list."""
    state = context.state
    if state.squad and (state.athlete is None or state.athlete.code != code):
        context.saver.refuse_unsaved()
        athlete = state.squad.athlete(code)
        forget_run(context)
        state.session.athlete = athlete
    state.notify()


def new_visit(context: Context) -> None:
    """Begin today's visit of the athlete, or another run of it."""
    squad, code = context.state.the_squad, context.state.the_athlete.code
    context.saver.refuse_unsaved()
    let_in(squad, code, context.today())
    start_run(context, code, today(context))
    context.go("film")


def open_last(context: Context) -> None:
    """Open the newest run of the athlete's newest visit."""
    squad = context.state.the_squad
    squad.refuse_gone()
    dates = squad.visit_dates(context.state.the_athlete.code)
    if dates:
        open_visit(context, dates[-1])
    else:
        context.state.status = "No visit yet. Start one."


def open_visit(context: Context, dated: str) -> None:
    """Open a visit at its last run, or at Film when it has none."""
    code = context.state.the_athlete.code
    names = context.state.the_squad.run_names(code, dated)
    if names:
        open_run(context, code, dated, names[-1])
    else:
        start_run(context, code, dated)
        context.go("film")


def archive(context: Context) -> None:
    """Put the athlete among those not trained now, or take them back."""
    state, squad, old = context.state, context.state.the_squad, context.state.the_athlete
    squad.save_athlete(replace(old, is_archived=not old.is_archived), old)
    context.saver.note_saved()
    refresh_roster(context)
    changed = state.session.athlete = squad.athlete(old.code)
    how = "back in the list"
    if changed.is_archived:
        how = "archived; “Archive or restore” takes them back"
        state.around.squad.with_archived = True
    state.status = f"{changed.code} is {how}."


def show_archived(context: Context) -> None:
    """Show those who are archived in the list, or hide them again."""
    page = context.state.around.squad
    page.with_archived = not page.with_archived


def find(context: Context) -> None:
    """Put the keyboard into the field to find an athlete."""
    context.state.around.squad.wants_find = True


def open_form(context: Context, name: str) -> None:
    """Open a form in the place of the athlete's panel."""
    if context.state.page != "squad":
        context.go("squad")
    context.state.around.squad.form = name
    context.state.notify()


on_squad = partial(Action, pages=("squad",), group="Squad")
of_squad = partial(on_squad, why_disabled=needs_squad)
of_athlete = partial(on_squad, group="Athlete", why_disabled=needs_athlete)
"""Actions of the Squad page: of any, of the squad that is open, of the athlete who is chosen."""
