"""What can be done on the Squad page: athletes, import, the yearly round, leaving."""

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.proposals import propose
from tapmark.app.shell.squads import (
    archive,
    ask_make_squad,
    ask_open_squad,
    find,
    forget_run,
    new_visit,
    open_form,
    open_last,
    refresh_roster,
    show_archived,
)
from tapmark.app.shell.why_disabled import needs_athlete, needs_squad, today
from tapmark.app.state.proposal import Choices, Line, Proposal
from tapmark.app.state.titles import several
from tapmark.clip.cache import Cache
from tapmark.marks.days import long_day
from tapmark.marks.people import Athlete
from tapmark.store.choices import SquadChoices
from tapmark.store.delete import DeletePlan, delete_athlete, plan_delete
from tapmark.store.files import read_bytes, write_bytes
from tapmark.store.import_csv import LARGEST, import_athletes, preview_athletes
from tapmark.store.retention import DueAthlete, months_later, retention_due

if TYPE_CHECKING:
    from tapmark.store.import_csv import Preview, Problem


_SQUAD = ("squad",)
DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs"}
ENCODINGS = {"utf-8-sig": "UTF-8", "cp1252": "an old western alphabet", "utf-16": "UTF-16"}


def ask_list(context: Context) -> None:
    """Ask for a list and show what it would bring; nothing is added yet."""

    path = context.ask.list_file()
    if path and context.state.squad:
        data = read_bytes(path, LARGEST)
        propose(
            context,
            preview(path, preview_athletes(data, context.state.squad.codes(), today(context))),
        )


def preview(path: Path, found: "Preview") -> Proposal:
    """Return what a list would bring, its problems first, each with its line."""
    n = len(found.athletes)
    return Proposal(
        f"Import “{path.name}”",
        _about(found),
        (("what", 8), ("code", 6), ("born", 4), ("event", 8), ("length", 7), ("note", 19)),
        (*map(_problem, found.problems), *(_athlete(i, a) for i, a in enumerate(found.athletes))),
        f"Add {several(n, 'athlete')}" if n else "",
        (lambda context, choices: _add(context, found)) if n else None,
    )


def _about(found: "Preview") -> tuple[str, ...]:
    n, bad = len(found.athletes), len(found.problems)
    counted = f"{several(n, 'athlete')} can be added" if n else "Nobody can be added"
    if bad:
        counted += f", {several(bad, 'line')} cannot be used and will be left out"
    read = f"{ENCODINGS.get(found.encoding, found.encoding)} with {DELIMITERS[found.delimiter]}"
    ignored = ", ".join(f"“{heading}”" for heading in found.ignored)
    return (
        f"{counted}. Read as {read}.",
        *([f"Columns that mean nothing here: {ignored}."] if ignored else []),
        "Nobody gets a consent from a list: enter it from the paper, athlete by athlete.",
    )


def _problem(problem: "Problem") -> Line:
    return Line(
        f"problem {problem.line}",
        (f"line {problem.line}: left out", "", "", "", "", problem.words),
        about=problem.words,
    )


def _athlete(i: int, athlete: Athlete) -> Line:
    lengths = ", ".join(f"{length.what} {length.cm:g} cm" for length in athlete.lengths)
    cells = (
        "added",
        athlete.code,
        str(athlete.birth_year or "–"),
        athlete.group,
        lengths,
        " ".join(athlete.notes.split()),
    )
    return Line(f"athlete {i}", cells)


def _add(context: Context, found: "Preview") -> None:

    state = context.state
    if not state.squad:
        return
    n = import_athletes(state.squad, found)
    context.note_saved()
    refresh_roster(context)
    context.go("squad")
    state.status = f"{several(n, 'athlete')} added. Ask each for consent before filming: C."
    state.notify()


STILL_ASK, ARCHIVE = "still to ask", "archive"


def ask_for_season(context: Context) -> None:
    """Show who has to be asked, or let go, now that the season is over."""
    squad = context.state.squad
    if squad:
        propose(context, round_of(squad.choices, retention_due(squad, today(context))))


def round_of(choices: SquadChoices, due: tuple[DueAthlete, ...]) -> Proposal:
    """Return the round of questions of a season."""
    return Proposal(
        "The round of a new season",
        _about_asking(choices, due),
        (("code", 8), ("what is to be done", 26)),
        tuple(
            Line(each.code, (each.code, each.why), choices=(STILL_ASK, ARCHIVE), about=HOW)
            for each in due
        ),
        "Archive those who left" if due else "",
        _archive if due else None,
        more=(("Dates of the season", lambda context: open_form(context, "squad")),),
    )


HOW = (
    "When the new paper is signed, press C on the Squad page and enter who signed and until when: "
    "the name leaves this list by itself. Deleting is Ctrl+Delete there."
)


def _about_asking(choices: SquadChoices, due: tuple[DueAthlete, ...]) -> tuple[str, ...]:
    if not choices.season_ends:
        return (
            "No end of the season is set, so nobody is asked again by itself. Set it once a year.",
        )
    last = long_day(months_later(choices.season_ends, choices.keep_months))
    ended = f"The season ended on {long_day(choices.season_ends)}."
    kept = f"{ended} Pictures and points are kept to {last}."
    if not due:
        return (kept.replace("ended", "ends"), "Nobody is to be asked now.")
    return (kept, f"{several(len(due), 'athlete')} to ask again, child and parent, or to let go.")


def _archive(context: Context, choices: Choices) -> None:
    squad = context.state.squad
    if squad is None:
        return
    leavers = [code for code, choice in choices.items() if choice == ARCHIVE]
    for code in leavers:
        squad.save_athlete(replace(squad.athlete(code), is_archived=True))
    context.note_saved()
    refresh_roster(context)
    context.go("squad")
    context.state.status = f"{several(len(leavers), 'athlete')} archived." if leavers else ""
    context.state.notify()


def ask_delete(context: Context) -> None:
    """Show what deleting the athlete would do; nothing is touched."""
    state = context.state
    if state.squad and state.athlete:
        plan = plan_delete(state.squad, state.athlete.code)
        propose(context, dry_run(plan, state.squad.folder))


def dry_run(plan: DeletePlan, folder: Path) -> Proposal:
    """Return the list of what deleting would do."""
    return Proposal(
        f"Delete {plan.code}, everywhere in this squad",
        (
            f"{several(len(plan.own), 'file')} of {plan.code} would go. Nothing brings them back.",
            "Back-ups, sticks, phones and printed pages are out of reach: see to them by hand. "
            "To put somebody aside and keep everything, archive instead.",
        ),
        (("what", 12), ("file", 30)),
        tuple(_lines(plan, folder)),
        f"Delete {plan.code}",
        lambda context, choices: _delete(context, plan),
        typed=plan.code,
    )


def _lines(plan: DeletePlan, folder: Path) -> Iterator[Line]:
    kinds = (
        ("goes", plan.own, f"Of {plan.code}"),
        ("goes", plan.clips, "Clips in the squad"),
        ("goes", plan.pages, "Pages and tables of several athletes; make them again"),
        ("the code is taken out", plan.changed, "Files of others"),
        ("stays: delete it yourself", plan.outside, "Outside the squad"),
        ("stays: look yourself", (path for path, _ in plan.left), "In the squad, not known"),
        ("stays: look yourself", plan.compare, "Copies of the squad beside it"),
        ("cannot be looked into", plan.unread, "Please check yourself"),
    )
    shared = {
        clip: f"also used by {code} on {long_day(dated)}" for clip, code, dated, _ in plan.shared
    }
    shared |= {path: f"stays: {why}" for path, why in plan.left}
    for what, paths, group in kinds:
        for path in paths:
            shown = path.relative_to(folder) if path.is_relative_to(folder) else path
            said = shared.get(path, what)
            yield Line(str(path), (said, shown.as_posix()), group)


def _delete(context: Context, plan: DeletePlan) -> None:
    state = context.state
    squad = state.squad
    if squad is None:
        return
    forget_run(context)
    state.session.athlete = None
    try:
        words = delete_athlete(squad, plan, context.now())
    finally:
        refresh_roster(context)
    if context.cache_folder.is_dir():
        Cache(context.cache_folder).empty()  # pictures prepared from clips; they can be made again
    context.note_saved()
    propose(context, receipt_of(plan.code, words))


def receipt_of(code: str, words: str) -> Proposal:
    """Return the receipt as a page."""
    return Proposal(
        f"{code} is deleted",
        tuple(words.strip().splitlines()),
        more=(("Save the receipt…", lambda context: _save_receipt(context, code, words)),),
    )


def _save_receipt(context: Context, code: str, words: str) -> None:
    path = context.ask.save_as("Save the receipt outside the squad", f"receipt-{code}.txt")
    if path:
        write_bytes(path, words.encode("utf-8"))
        context.state.status = f"Receipt saved: {path}"


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
IMPORT_ACTIONS = (
    Action("import list", "Import a list…", ask_list, ("I",), ("squad",), "Squad", needs_squad),
)
RETENTION_ACTIONS = (
    Action(
        "ask for the season",
        "The round of a new season",
        ask_for_season,
        (),
        (),
        "Squad",
        needs_squad,
    ),
)
LEAVING_ACTIONS = (
    Action(
        "delete athlete",
        "Delete the athlete: see first what would go",
        ask_delete,
        ("Mod+Delete",),
        ("squad",),
        "Athlete",
        needs_athlete,
    ),
)
