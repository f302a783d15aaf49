"""What can be done on the Squad page: athletes, import, new season, deleting."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

from tapmark import disk
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
from tapmark.errors import NotThere
from tapmark.marks.days import long_day
from tapmark.marks.people import Athlete
from tapmark.services.consent import hand_over
from tapmark.services.pages import FILES
from tapmark.store.choices import SquadChoices
from tapmark.store.delete import DeletePlan, delete_athlete, plan_delete
from tapmark.store.files import read_bytes, write_bytes
from tapmark.store.import_csv import LARGEST, Preview, Problem, import_athletes, preview_athletes
from tapmark.store.retention import DueAthlete, months_later, retention_due

_SQUAD = ("squad",)
DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs"}
ENCODINGS = {"utf-8-sig": "UTF-8", "cp1252": "an old western alphabet", "utf-16": "UTF-16"}


def ask_list(context: Context) -> None:
    """Ask for a list and show what it would bring; nothing is added yet."""
    path = context.ask.list_file()
    if path:
        codes = context.state.the_squad.codes()
        found = preview_athletes(read_bytes(path, LARGEST), codes, today(context))
        propose(context, preview(path, found))


def preview(path: Path, found: Preview) -> Proposal:
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


def _about(found: Preview) -> tuple[str, ...]:
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


def _problem(problem: Problem) -> Line:
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


def _add(context: Context, found: Preview) -> None:
    n = import_athletes(context.state.the_squad, found)
    _show_saved(
        context,
        f"{several(n, 'athlete')} added. Ask each for consent before filming: “Consent” on Squad.",
    )


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
            context.print_file(hand_over(squad, path, context.today()))
            context.state.status = f"Sent to the printer: the page of {long_day(dated)}."
            return
    raise NotThere(f"No page of {code} is written yet. Open the last visit and make the sheet.")


STILL_ASK, ARCHIVE = "still to ask", "archive"


def ask_for_season(context: Context) -> None:
    """Show which athletes have to be asked again or archived now that the season is over."""
    squad = context.state.the_squad
    propose(context, new_season(squad.choices, retention_due(squad, today(context))))


def new_season(choices: SquadChoices, due: tuple[DueAthlete, ...]) -> Proposal:
    """Return what a new season asks of each athlete."""
    return Proposal(
        "Start a new season",
        _season_words(choices, due),
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
    "When the new paper is signed, press “Consent” on the Squad page and enter who signed and "
    "until when: the name leaves this list by itself. Deleting is Ctrl+Delete there."
)


def _season_words(choices: SquadChoices, due: tuple[DueAthlete, ...]) -> tuple[str, ...]:
    if not choices.season_ends:
        return ("No end of the season is set, so no athlete comes up here. Set it once a year.",)
    last = long_day(months_later(choices.season_ends, choices.keep_months))
    ended = f"The season ended on {long_day(choices.season_ends)}."
    kept = f"{ended} Pictures and points are kept to {last}."
    if not due:
        return (kept.replace("ended", "ends"), "There is no athlete to ask now.")
    return (kept, f"{several(len(due), 'athlete')} to ask again, child and parent, or to archive.")


def _archive(context: Context, choices: Choices) -> None:
    squad = context.state.the_squad
    leavers = [code for code, choice in choices.items() if choice == ARCHIVE]
    for code in leavers:
        squad.save_athlete(replace(squad.athlete(code), is_archived=True))
    _show_saved(context, f"{several(len(leavers), 'athlete')} archived." if leavers else "")


def ask_delete(context: Context) -> None:
    """Show what deleting the athlete would do; nothing is touched."""
    squad = context.state.the_squad
    plan = plan_delete(squad, context.state.the_athlete.code)
    propose(context, dry_run(plan, squad.folder))


def dry_run(plan: DeletePlan, folder: Path) -> Proposal:
    """Return the list of what deleting would do."""
    return Proposal(
        f"Delete {plan.code}, everywhere in this squad",
        (
            f"{several(len(plan.own), 'file')} of {plan.code} would go. Nothing brings them back.",
            "Back-ups, USB sticks, phones and printed pages are out of reach: see to them by hand. "
            "To keep everything and only hide the athlete, archive instead.",
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
            said = shared.get(path, what)
            yield Line(str(path), (said, shown.as_posix()), group)


def _delete(context: Context, plan: DeletePlan) -> None:
    squad = context.state.the_squad
    forget_run(context)
    context.state.session.athlete = None
    try:
        words = delete_athlete(squad, plan, context.now())
    finally:
        refresh_roster(context)
    if context.cache_folder.is_dir():
        Cache(context.cache_folder).empty()  # pictures prepared from clips; they can be made again
    context.saver.note_saved()
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


_of_squad = partial(Action, pages=_SQUAD, group="Squad", why_disabled=needs_squad)
_of_athlete = partial(Action, pages=_SQUAD, group="Athlete", why_disabled=needs_athlete)


def _form(name: str) -> Callable[[Context], None]:
    return lambda context: open_form(context, name)


ACTIONS = (
    Action("open squad", "Open a squad…", ask_open_squad, ("Mod+O",), _SQUAD, "Squad"),
    Action("make squad", "Make a squad…", ask_make_squad, ("Mod+Shift+N",), _SQUAD, "Squad"),
    _of_squad(
        "change squad", "Rota, season and names of the squad", _form("squad"), ("Mod+Comma",)
    ),
    _of_squad("find athlete", "Find an athlete", find, ("Mod+F", "/")),
    _of_squad("show archived", "Show or hide the archived", show_archived, ("Mod+Shift+H",)),
    _of_squad("import list", "Import a list…", ask_list, ("Mod+I",)),
    _of_squad("ask for the season", "Start a new season", ask_for_season, pages=()),
    Action(
        "add athlete",
        "Add athlete",
        _form("new athlete"),
        ("Mod+Shift+A",),
        _SQUAD,
        "Athlete",
        needs_squad,
    ),
    _of_athlete("edit athlete", "Change the athlete", _form("athlete"), ("Mod+E",)),
    _of_athlete("consent", "Consent: give, renew, withdraw", _form("consent"), ("Mod+Shift+C",)),
    _of_athlete("new visit", "New visit", new_visit, ("Mod+N",)),
    _of_athlete("open last", "Open the last visit", open_last, ("Return",)),
    _of_athlete("print last page", "Print the last page", print_last, ("Mod+P",)),
    _of_athlete("archive", "Archive or restore", archive, ("Mod+Shift+X",)),
    _of_athlete(
        "delete athlete", "Delete the athlete: see first what would go", ask_delete, ("Mod+Delete",)
    ),
)
