"""What can be done on the Squad page: athletes, import, new season, deleting."""

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

from tapmark import disk
from tapmark.app.shell.context import Context
from tapmark.app.shell.proposals import propose
from tapmark.app.shell.squads import (
    archive,
    ask_make_squad,
    ask_open_squad,
    find,
    forget_run,
    new_visit,
    of_athlete,
    of_squad,
    on_squad,
    open_form,
    open_last,
    refresh_roster,
    show_archived,
)
from tapmark.app.shell.why_disabled import today
from tapmark.app.state.proposal import Choices, Line, Proposal
from tapmark.clip.cache import Cache
from tapmark.errors import NotThere
from tapmark.marks.days import long_day, several
from tapmark.services.pages import FILES
from tapmark.store.delete import DeletePlan, delete_athlete, plan_delete
from tapmark.store.files import read_bytes, write_bytes
from tapmark.store.import_csv import LARGEST, Preview, import_athletes, preview_athletes
from tapmark.store.retention import months_later, retention_due

DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs"}
ENCODINGS = {"utf-8-sig": "UTF-8", "cp1252": "an old western alphabet", "utf-16": "UTF-16"}


def ask_list(context: Context) -> None:
    """Ask for a list and show what it would bring; nothing is added yet."""
    path = context.ask.list_file()
    if path is None:
        return
    codes = context.state.the_squad.codes()
    found = preview_athletes(read_bytes(path, LARGEST), codes, today(context))
    n = len(found.athletes)

    def add(context: Context, choices: Choices) -> None:
        added = several(import_athletes(context.state.the_squad, found), "athlete")
        asks = "Ask each for consent before filming: “Consent” on Squad."
        _show_saved(context, f"{added} added. {asks}")

    proposal = Proposal(
        f"Import “{path.name}”",
        _about_list(found),
        ("what", "code", "born", "event", "length", "note"),
        tuple(_list_lines(found)),
        f"Add {several(n, 'athlete')}",
        add if n else None,
    )
    propose(context, proposal)


def _about_list(found: Preview) -> tuple[str, ...]:
    n, bad = len(found.athletes), len(found.problems)
    counted = f"{several(n, 'athlete')} can be added" if n else "No athlete can be added"
    if bad:
        counted += f", {several(bad, 'line')} cannot be used and will be left out"
    read = f"{ENCODINGS.get(found.encoding, found.encoding)} with {DELIMITERS[found.delimiter]}"
    ignored = ", ".join(f"“{heading}”" for heading in found.ignored)
    return (
        f"{counted}. Read as {read}.",
        *([f"Columns that mean nothing here: {ignored}."] if ignored else []),
        "A list never brings a consent: enter it from the paper, athlete by athlete.",
    )


def _list_lines(found: Preview) -> Iterator[Line]:
    """Yield the problems first, each with its line of the file, then who would be added."""
    for problem in found.problems:
        cells = (f"line {problem.line}: left out", "", "", "", "", problem.words)
        yield Line(f"problem {problem.line}", cells, about=problem.words)
    for i, athlete in enumerate(found.athletes):
        born, notes = str(athlete.birth_year or "–"), " ".join(athlete.notes.split())
        lengths = ", ".join(f"{length.what} {length.cm:g} cm" for length in athlete.lengths)
        cells = ("added", athlete.code, born, athlete.group, lengths, notes)
        yield Line(f"athlete {i}", cells)


def _show_saved(context: Context, words: str) -> None:
    """Go back to the list, read anew, and say what was written."""
    context.saver.note_saved()
    refresh_roster(context)
    context.go("squad")
    context.state.status = words


def print_last(context: Context) -> None:
    """Print the newest page that was written for the athlete, where it may leave today."""
    squad, code = context.state.the_squad, context.state.the_athlete.code
    for dated in reversed(squad.visit_dates(code)):
        path = squad.visit_folder(code, dated) / f"{FILES['athlete']}.pdf"
        if disk.is_file(path):
            told = f"Sent to the printer: the page of {long_day(dated)}."
            context.hand_out(path, told, prints=True)
            return
    raise NotThere(f"No page of {code} is written yet. Open the last visit and make the sheet.")


STILL_ASK, ARCHIVE = "still to ask", "archive"
HOW = (
    "When the new paper is signed, press “Consent” on the Squad page and enter who signed and "
    "until when: the name leaves this list by itself. Deleting is Ctrl+Delete there."
)


def ask_for_season(context: Context) -> None:
    """Show which athletes have to be asked again or archived now that the season is over."""
    squad, ends = context.state.the_squad, context.state.the_squad.choices.season_ends
    due = retention_due(squad, today(context))
    about = ["No end of the season is set, so no athlete comes up here. Set it once a year."]
    if ends:
        last = long_day(months_later(ends, squad.choices.keep_months))
        kept = f"{long_day(ends)}. Pictures and points are kept to {last}."
        asks = f"{several(len(due), 'athlete')} to ask again, child and parent, or to archive."
        about = [f"The season ends on {kept}", "There is no athlete to ask now."]
        if due:
            about = [f"The season ended on {kept}", asks]

    def archive_leavers(context: Context, choices: Choices) -> None:
        squad = context.state.the_squad
        leavers = [code for code, choice in choices.items() if choice == ARCHIVE]
        for code in leavers:
            squad.save_athlete(replace(squad.athlete(code), is_archived=True))
        _show_saved(context, f"{several(len(leavers), 'athlete')} archived." if leavers else "")

    choices = STILL_ASK, ARCHIVE
    proposal = Proposal(
        "Start a new season",
        tuple(about),
        ("code", "what is to be done"),
        tuple(Line(e.code, (e.code, e.why), choices=choices, about=HOW) for e in due),
        "Archive those who left",
        archive_leavers if due else None,
        more=(("Dates of the season", partial(open_form, name="squad")),),
    )
    propose(context, proposal)


def ask_delete(context: Context) -> None:
    """Show what deleting the athlete would do; nothing is touched."""
    squad = context.state.the_squad
    plan = plan_delete(squad, context.state.the_athlete.code)
    proposal = Proposal(
        f"Delete {plan.code}, everywhere in this squad",
        (
            f"{several(len(plan.own), 'file')} of {plan.code} would go. Nothing brings them back.",
            "Back-ups, USB sticks, phones and printed pages are out of reach: see to them by hand. "
            "To keep everything and only hide the athlete, archive instead.",
        ),
        ("what", "file"),
        tuple(_files_of(plan, squad.folder)),
        f"Delete {plan.code}",
        lambda context, choices: _delete(context, plan),
        typed=plan.code,
    )
    propose(context, proposal)


def _files_of(plan: DeletePlan, folder: Path) -> Iterator[Line]:
    """Yield what deleting would do to each file."""
    kinds = (
        ("goes", plan.own, f"Of {plan.code}"),
        ("goes", plan.clips, "Clips in the squad"),
        ("goes", plan.pages, "Pages and tables of several athletes; make them again"),
        ("the code is taken out", plan.changed, "Files of others"),
        ("stays: delete it yourself", plan.outside, "Outside the squad"),
        ("stays: look yourself", (path for path, _ in plan.left), "In the squad, not known"),
        ("stays: look yourself", plan.copies, "Copies of the squad beside it"),
        ("cannot be looked into", plan.unread, "Please check yourself"),
    )
    shared = {
        clip: f"also used by {code} on {long_day(dated)}" for clip, code, dated, _ in plan.shared
    }
    shared |= {path: f"stays: {why}" for path, why in plan.left}
    for what, paths, group in kinds:
        for path in paths:
            shown = path.relative_to(folder) if path.is_relative_to(folder) else path
            yield Line(str(path), (shared.get(path, what), shown.as_posix()), group)


def _delete(context: Context, plan: DeletePlan) -> None:
    """Delete the athlete and show the receipt."""
    squad, code = context.state.the_squad, plan.code
    forget_run(context)
    context.state.session.athlete = None
    try:
        words = delete_athlete(squad, plan, context.now())
    finally:
        refresh_roster(context)
    if context.cache_folder.is_dir():
        Cache(context.cache_folder).empty()  # pictures prepared from clips; they can be made again
    context.saver.note_saved()

    def save_receipt(context: Context) -> None:
        path = context.ask.save_as("Save the receipt outside the squad", f"receipt-{code}.txt")
        if path:
            write_bytes(path, words.encode("utf-8"))
            context.state.status = f"Receipt saved: {path}"

    about, more = tuple(words.strip().splitlines()), (("Save the receipt…", save_receipt),)
    propose(context, Proposal(f"{code} is deleted", about, more=more))


_form = {
    name: partial(open_form, name=name) for name in ("squad", "new athlete", "athlete", "consent")
}
ACTIONS = (
    on_squad("open squad", "Open a squad…", ask_open_squad, ("Mod+O",)),
    on_squad("make squad", "Make a squad…", ask_make_squad, ("Mod+Shift+N",)),
    of_squad("change squad", "Rota, season and names of the squad", _form["squad"], ("Mod+Comma",)),
    of_squad("find athlete", "Find an athlete", find, ("Mod+F", "/")),
    of_squad("show archived", "Show or hide the archived", show_archived, ("Mod+Shift+H",)),
    of_squad("import list", "Import a list…", ask_list, ("Mod+I",)),
    of_squad("ask for the season", "Start a new season", ask_for_season, pages=()),
    of_squad("add athlete", "Add athlete", _form["new athlete"], ("Mod+Shift+A",), group="Athlete"),
    of_athlete("edit athlete", "Change the athlete", _form["athlete"], ("Mod+E",)),
    of_athlete("consent", "Consent: give, renew, withdraw", _form["consent"], ("Mod+Shift+C",)),
    of_athlete("new visit", "New visit", new_visit, ("Mod+N",)),
    of_athlete("open last", "Open the last visit", open_last, ("Return",)),
    of_athlete("print last page", "Print the last page", print_last, ("Mod+P",)),
    of_athlete("archive", "Archive or restore", archive, ("Mod+Shift+X",)),
    of_athlete(
        "delete athlete", "Delete the athlete: see first what would go", ask_delete, ("Mod+Delete",)
    ),
)
