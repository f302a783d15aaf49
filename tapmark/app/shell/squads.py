"""Opening a squad, reading its list and its notices, choosing an athlete."""

import contextlib
from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.run_lock import let_go
from tapmark.app.shell.runs import open_run, start_run
from tapmark.app.shell.why_disabled import needs_athlete, needs_squad, today
from tapmark.app.state.pages import ARCHIVED, GROUPS, LATER, NOT_NOW, NOW, Notice, Row
from tapmark.app.state.titles import several
from tapmark.checklist.situation import PAIN
from tapmark.errors import NotThere, StoreError
from tapmark.marks.days import long_day
from tapmark.marks.people import CONSENTS, Athlete
from tapmark.services.consent import let_in
from tapmark.services.squads import open_for_work
from tapmark.store.choices import backup_reminder
from tapmark.store.consent import FILM, consent_state
from tapmark.store.files import json_value, read_bytes
from tapmark.store.retention import copies_itself, is_minor, retention_due
from tapmark.store.rota import RotaLine, due, evenings, rota
from tapmark.store.squad import Squad, make_squad

if TYPE_CHECKING:
    from tapmark.checklist.words import Words


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
        a.code for a in roster if a.clearance != "cleared" and _hurts(state.squad, a.code, lines)
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


def thing_of(squad: Squad, words: "Words") -> Callable[[str], tuple[str, str]]:
    """Return a function code -> what the athlete works on and its cue, "" for nothing chosen.

    It is the first choice of the newest visit that left any.
    """

    def named(code: str) -> tuple[str, str]:
        for dated in reversed(squad.visit_dates(code)):
            with contextlib.suppress(StoreError):
                for slot in squad.visit(code, dated).slots or ():
                    return words.item(slot.item), slot.cue
        return "", ""

    return named


def _hurts(squad: Squad, code: str, lines: Sequence[RotaLine]) -> bool:
    """Say whether pain was answered at the athlete's last visit; a file that cannot be read: no."""
    dated = next((line.last for line in lines if line.code == code), "")
    for name in squad.run_names(code, dated) if dated else ():
        with contextlib.suppress(StoreError, NotThere):
            path = squad.run_path(code, dated, name)
            plain = json_value(read_bytes(path, follow=False), path.name)
            if isinstance(plain, dict) and (plain.get("set_up") or {}).get("pain") == PAIN:
                return True
    return False


def told_once(squad: Squad, told: tuple[str, ...], today: date) -> tuple[str, ...]:
    """Return the sentences of the opening that notices_of does not say with a button."""
    day = today.isoformat()
    own = {copies_itself(squad.folder), backup_reminder(squad.choices, day)}
    own |= {f"{due.code}: {due.why}." for due in retention_due(squad, day)}
    return tuple(words for words in told if words not in own)


def notices_of(
    squad: Squad, told: tuple[str, ...], n_troubles: int, today: date
) -> tuple[Notice, ...]:
    """Return what to say above the list, what may be lost first.

    told: sentences of the opening that have no button of their own, see told_once.
    """
    day = today.isoformat()
    found = []
    if n_troubles:
        files = several(n_troubles, "file")
        words = f"{files} of this squad cannot be read. Nothing was changed; the rest is here."
        found.append(Notice("Damaged", words, "check squad", "See which"))
    copies, late = copies_itself(squad.folder), backup_reminder(squad.choices, day)
    asked = retention_due(squad, day)
    found += [Notice("Note", words) for words in told]
    if copies:
        found.append(Notice("Copies itself", copies))
    if asked:
        words = f"The season is over: {several(len(asked), 'athlete')} to ask, or to let go."
        found.append(Notice("New season", words, "ask for the season", "Go through"))
    if late and squad.codes():
        found.append(Notice("Back-up", late, "back up", "Back up…"))
    return tuple(found)


on_squad = partial(Action, pages=("squad",), group="Squad")
of_squad = partial(on_squad, why_disabled=needs_squad)
of_athlete = partial(on_squad, group="Athlete", why_disabled=needs_athlete)
"""Actions of the Squad page: of any, of the squad that is open, of the athlete who is chosen."""

CHILD = 12  # called a child in the words to coaches up to that age: ours
SHORT = {
    "film": "film",
    "keep stills": "stills",
    "print photo": "print",
    "share with physio": "physio",
    "show to group": "group",
}


def rows(
    athletes: Sequence[Athlete],
    lines: Sequence[RotaLine],
    thing_of: Callable[[str], tuple[str, str]],
    today: date,
    rota_weeks: int,
    per_evening: int,
    hurt: Collection[str] = (),
) -> tuple[Row, ...]:
    """Return the list in the order of its groups, the longest not filmed first.

    lines: the rota. thing_of: code -> what is worked on and its cue, "" for nothing. hurt: codes of
    those with pain at their last visit. Archived ones come last.
    """
    by_code = {athlete.code: athlete for athlete in athletes}
    refused = {code for code, each in by_code.items() if why_not(each, today)} | {*hurt}
    waiting = [line for line in due(lines) if line.code not in refused]
    nights = evenings(waiting, per_evening) if waiting else ()
    evening_of = {
        line.code: f"evening {i}/{len(nights)}" if len(nights) > 1 else ""
        for i, night in enumerate(nights, start=1)
        for line in night
    }
    made = [
        _row(
            by_code[line.code],
            line,
            thing_of,
            today,
            rota_weeks,
            evening_of.get(line.code, ""),
            line.code in hurt,
        )
        for line in lines
        if line.code in by_code
    ]
    made.sort(key=lambda row: GROUPS.index(row.group))
    archived = (each for each in athletes if each.is_archived)
    return (*made, *(Row(ARCHIVED, each.code, each.group, "", "", "", "") for each in archived))


def _row(
    athlete: Athlete,
    line: RotaLine,
    thing_of: Callable[[str], tuple[str, str]],
    today: date,
    rota_weeks: int,
    evening: str,
    is_hurt: bool,
) -> Row:
    why = why_not(athlete, today)
    if why:
        thing, about = why, what_to_do(athlete, today)
    elif is_hurt:
        why = thing = f"Pain on {long_day(line.last, with_year=False)}"
        about = "no drills until cleared"
    elif line.last:
        thing, about = thing_of(athlete.code)
    else:
        thing, about = "first visit", f"consent: {consent_words(athlete, today)}"
    return Row(
        NOT_NOW if why else NOW if line.is_due else LATER,
        athlete.code,
        athlete.group,
        long_day(line.last, with_year=line.last[:4] != str(today.year)) if line.last else "–",
        _when(line, today, rota_weeks, is_stopped=bool(why)),
        thing,
        about,
        evening,
    )


def _when(line: RotaLine, today: date, rota_weeks: int, *, is_stopped: bool) -> str:
    """Return how long ago the last visit is, or when the next is due: past the squad's weeks."""
    if not line.last:
        return "never filmed"
    if line.weeks is not None and (line.is_due or is_stopped):
        return f"{several(line.weeks, 'week')} ago" if line.weeks else "this week"
    first = date.fromisoformat(line.last) + timedelta(weeks=rota_weeks, days=1)
    if first.isocalendar()[:2] == today.isocalendar()[:2]:
        return f"from {first:%A}"
    return f"week {first.isocalendar().week}"


def why_not(athlete: Athlete, today: date) -> str:
    """Return why the athlete cannot be filmed now, "" when they can."""
    if athlete.is_archived:
        return "archived"
    state = consent_state(athlete, FILM, today.isoformat())
    if state == "expired":
        answer = athlete.consent(FILM)
        return f"consent ended {long_day(answer.expires, with_year=False)}" if answer else ""
    if athlete.clearance == "under treatment" and state == "given":
        return "under treatment"
    words = {
        "never asked": "consent missing",
        "refused": "consent refused",
        "withdrawn": "consent withdrawn",
        "not yet": "consent starts later",
    }
    return words.get(state, "")


def what_to_do(athlete: Athlete, today: date) -> str:
    """Return what has to happen before the athlete can be filmed again."""
    if consent_state(athlete, FILM, today.isoformat()) == "given":
        return "no drills until cleared"
    return f"ask {whom_to_ask(athlete, today)}"


def due_rule(rota_weeks: int) -> str:
    """Return the rule by which an athlete is due, in words."""
    return f"never filmed, or more than {several(rota_weeks, 'week')} ago"


def consent_words(athlete: Athlete, today: date) -> str:
    """Return what is allowed in short words, or what to do."""
    given = [
        SHORT[use] for use in CONSENTS if consent_state(athlete, use, today.isoformat()) == "given"
    ]
    if len(given) == len(CONSENTS):
        return "all five uses"
    if "film" in given:
        return ", ".join(given)
    return "ask again" if athlete.consents else f"ask {whom_to_ask(athlete, today)}"


def whom_to_ask(athlete: Athlete, today: date) -> str:
    """Return who gives consent, by this year − birth year: the birthday is not known.

    Who may be under 18 answers together with a parent; at an unknown age that is asked first.
    """
    if athlete.birth_year is None:
        return "athlete; under 18 a parent too"
    if not is_minor(athlete, today.isoformat()):
        return "athlete"
    return f"{'child' if today.year - athlete.birth_year <= CHILD else 'athlete'} and parent"
