"""Back-up, restore, two copies merged, clips that moved, and export as plain files."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path

from tapmark.app.jobs import Task
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.proposals import propose
from tapmark.app.shell.squads import forget_run, of_athlete, of_squad, refresh_roster, use_squad
from tapmark.app.shell.why_disabled import needs_squad, today
from tapmark.app.state.measure_lines import number
from tapmark.app.state.pages import AroundSquad
from tapmark.app.state.proposal import Choices, Line, Proposal
from tapmark.app.state.titles import squad_name
from tapmark.checklist.words import Words
from tapmark.errors import NotThere, StoreError, TapmarkError
from tapmark.marks.days import long_day, run_words, several, short_day, whose_run
from tapmark.measures.catalogue import row
from tapmark.services import copies
from tapmark.services.clips import (
    ClipPlan,
    Sought,
    delete_marked_clip,
    look_for,
    note_found,
    plan_clip_deletion,
)
from tapmark.services.consent import who_goes_out
from tapmark.services.copies import LEAVE, OURS, TAKE, THEIRS, BothSides, MergePlan, place_of
from tapmark.services.exports import marks_csv, physio_note, season_csv, taps_csv
from tapmark.store.archive import (
    NOT_ENCRYPTED,
    Backup,
    Restored,
    back_up,
    check_backup,
    held_on_to,
    restore,
)
from tapmark.store.check import Finding, check_squad
from tapmark.store.merge import CONFLICT, LEFT, SAFER, Difference
from tapmark.store.shown import shown_text
from tapmark.store.squad import RunAt, Squad, open_squad

UNTOUCHED = "Stopped. Nothing was changed."


def ask_back_up(context: Context) -> None:
    """Ask where to, then write the whole squad into one zip and read it back."""
    squad, on = context.state.the_squad, today(context)
    context.saver.refuse_unsaved()
    path = context.ask.save_as("Back up: choose a USB stick", f"{squad.folder.name} {on}.zip")
    if path is None:
        return

    def backed_up(done: Backup) -> None:
        """Note the day with the squad that was backed up, open or not."""
        state = context.state
        now_open = state.squad if state.squad and state.squad.folder == squad.folder else None
        choices = now_open.choices if now_open else squad.reload_choices()
        (now_open or squad).save_choices(replace(choices, backed_up=today(context)))
        if now_open:
            refresh_roster(context)
        size = f"{done.size}, every one read back"
        if not done.left_out:
            state.status = f"{size}: {done.path}. {NOT_ENCRYPTED}"
            return
        stayed = f"{several(len(done.left_out), 'file')} stayed out of it. They are still here."
        lines = tuple(Line(way, (way, why)) for way, why in done.left_out)
        columns = "file", "why it stayed out"
        about = f"{size}: {done.path}", NOT_ENCRYPTED, stayed
        propose(context, Proposal("The back-up is made", about, columns, lines))

    context.work_on(
        "copy",
        f"Backing up to “{path.name}” …",
        lambda task: back_up(open_squad(squad.folder), path, on, task),
        backed_up,
        stopped="Stopped. No back-up was made.",
        by="window",
    )


def ask_restore(context: Context) -> None:
    """Ask for a back-up, read every byte of it, and only then offer to bring it back."""
    path, folder = context.ask.zip_file(), context.state.folder
    if path is None:
        return

    def check(task: Task) -> tuple[Backup, tuple[str, ...]]:
        return check_backup(path, task), held_on_to(path, folder).told() if folder else ()

    def offer(checked: tuple[Backup, tuple[str, ...]]) -> None:
        """Offer to restore; what was withdrawn or deleted since in the squad at hand holds."""
        (found, holds_on), state = checked, context.state
        into = f"In place of {squad_name(state)}…", partial(_restore, found=found, replace_old=True)
        about = (
            f"“{found.path.name}” holds {found.size}. Every one fits its checksum.",
            "It can be unpacked into a new folder beside the squad you have. Put in place of this "
            "squad, the present folder is renamed and kept, never deleted.",
            "Athletes deleted after the back-up was made come back with the new folder.",
            *(f"In place of this squad: {words}" for words in holds_on),
        )
        proposal = Proposal(
            "This back-up is whole",
            about,
            confirm="Unpack into a new folder…",
            action=lambda context, choices: _restore(context, found, replace_old=False),
            more=(into,) if state.squad else (),
        )
        propose(context, proposal)

    said = f"Reading “{path.name}” …"
    context.work_on("copy", said, check, offer, stopped=UNTOUCHED, by="window")


def _restore(context: Context, found: Backup, *, replace_old: bool) -> None:
    """Unpack a back-up, or put it in the place of the squad, which is closed until that is done."""
    state = context.state
    if replace_old:
        folder: Path | None = state.the_squad.folder
        forget_run(context)  # its lock lies in the folder that is renamed
        state.session.squad, state.session.athlete, state.around = None, None, AroundSquad()
        context.go("squad")
    else:
        folder = context.ask.folder("Unpack: choose a new or an empty folder")
    if folder is None:
        return
    now = context.now()

    def restored(done: Restored) -> None:
        use_squad(context, done.folder)
        kept = f" The old folder is kept as “{done.old_kept.name}”." if done.old_kept else ""
        context.state.status = f"Every file was checked and unpacked: {done.folder}.{kept}"

    def failed(trouble: TapmarkError) -> None:
        if replace_old:
            context.attempt(lambda: use_squad(context, folder))
        context.failed(trouble)

    context.work_on(
        "copy",
        f"Unpacking into “{folder.name}” …",
        lambda task: restore(found.path, folder, now, replace_old),
        restored,
        failed,
    )


def check_files(context: Context) -> None:
    """Check every file of the squad, in a job."""
    folder, on = context.state.the_squad.folder, today(context)
    context.work_on(
        "copy",
        "Checking the files …",
        lambda task: findings(folder, check_squad(open_squad(folder, []), on)),
        partial(propose, context),
        stopped=UNTOUCHED,
    )


def findings(folder: Path, found: tuple[Finding, ...]) -> Proposal:
    """Return what is odd about the files, or that all is well."""
    about = "Nothing was changed. A damaged file stays as it is, a copy with its date beside it."
    if not found:
        about = "Every file can be read, nothing is missing and nothing is left over."
    lines = (
        Line(
            f"{i}",
            (each.path.relative_to(folder).as_posix(), each.words),
            "To look at" if each.is_serious else "Good to know",
            about=each.words,
        )
        for i, each in enumerate(found)
    )
    columns = "where", "what was found"
    return Proposal("The files of this squad", (about,), columns, tuple(lines))


MOST_TOLD = 14
ONLY_PAPER = (
    "A yes is never taken over from another copy: enter it here from the paper. A no is taken over "
    "at once."
)


def ask_merge(context: Context) -> None:
    """Ask for the other copy and show what merging the two would do."""
    ours = context.state.the_squad.folder
    theirs = context.ask.folder("Merge: choose the folder of the other copy")
    if theirs is None:
        return
    now, words = context.now().date(), context.state.session.criteria().words
    context.work_on(
        "copy",
        f"Comparing with “{theirs.name}” …",
        lambda task: merging(copies.plan(ours, theirs, now), theirs, words),
        partial(propose, context),
        stopped=UNTOUCHED,
    )


def merging(plan: MergePlan, theirs: Path, words: Words) -> Proposal:
    """Return what merging would do, conflicts first."""
    order = {CONFLICT: 0, SAFER: 1}
    differences = sorted(plan.differences, key=lambda each: order.get(each.kind, 2))
    n = sum(each.kind == CONFLICT for each in plan.differences)
    about = ["Nothing is in conflict. What only the other copy has comes in; it is only read."]
    if not plan.differences:
        about = ["The two copies hold the same. There is nothing to merge."]
    elif n:
        about = [
            f"{several(n, 'thing differs', 'things differ')} in both copies. Say which counts; "
            "the other one is kept beside it. Nothing is averaged, the other copy is only read."
        ]
    if plan.deleted:
        about.append(
            f"An athlete was deleted here, last on {long_day(max(plan.deleted))}. New athletes are "
            "left out unless you say otherwise, so that none comes back by mistake."
        )
    lines = [_difference(i, each, plan, words) for i, each in enumerate(differences)]
    for left in plan.left_out:  # each begins with the code it is about
        code = left.split(maxsplit=1)[0].rstrip(":")
        told = left.removeprefix(code).lstrip(": ")
        lines.append(Line(f"left {left}", (code, "", told), "Not taken", about=left))

    def merge(context: Context, choices: Choices) -> None:
        ours = context.state.the_squad.folder
        forget_run(context)
        chosen = {place_of(differences[int(key)]): choice for key, choice in choices.items()}
        n = len(copies.put_together(ours, theirs, context.now().date(), chosen))
        use_squad(context, ours)
        context.state.status = f"Merged: {several(n, 'thing')} came in or is kept beside ours."

    return Proposal(
        f"Merge with “{theirs.name}”",
        tuple(about),
        ("athlete", "visit", "what differs"),
        tuple(lines),
        "Merge",
        merge if differences else None,
    )


def _difference(i: int, each: Difference, plan: MergePlan, words: Words) -> Line:
    group = {CONFLICT: "Both have it, and differ", SAFER: "A no wins over a yes", LEFT: "Not taken"}
    about, both = each.words, plan.sides.get(place_of(each))
    choices: tuple[str, ...] = ()
    if each.kind == CONFLICT and each.words.endswith("differ in consents."):
        about = ONLY_PAPER
    elif each.kind == CONFLICT:
        choices = OURS, THEIRS
    elif copies.is_new_athlete(each):
        choices = (LEAVE, TAKE) if plan.deleted else (TAKE, LEAVE)
    said = each.words.split(": ", 1)[-1]
    return Line(
        str(i),
        (each.code, short_day(each.dated), said.split(". ")[0]),
        group.get(each.kind, "Only in the other copy"),
        choices,
        about=_two_markings(both) if both else about,
        table=tuple(_table(both, words)) if both else (),
    )


def _two_markings(marked: BothSides) -> str:
    who = [shown_text(run.marked_by) or "no name" for run in (marked.ours, marked.theirs)]
    taps = [sum(1 for _ in run.taps()) for run in (marked.ours, marked.theirs)]
    apart = (
        f" Their taps lie {marked.apart_pct_leg:.1f} % of a leg apart on average."
        if marked.apart_pct_leg is not None
        else " They chose other frames, so their taps are not compared."
    )
    return f"Here {taps[0]} taps by {who[0]}, there {taps[1]} by {who[1]}.{apart}"


def _table(marked: BothSides, words: Words) -> Iterator[tuple[str, ...]]:
    """Yield headings and rows: both values, the difference and how much marking allows."""
    yield ("measure", "leg", "here", "there", "apart")
    for each in sorted(marked.rows, key=lambda r: -abs(r.difference / r.plus_minus))[:MOST_TOLD]:
        digits = row(each.key).digits
        apart = f"{number(each.difference, digits)} ± {number(each.plus_minus, digits)}"
        values = (number(value, digits) for value in (each.by_a, each.by_b))
        yield (words.row(each.key), each.leg, *values, apart)


STAYS, GOES = "stays", "delete"


def find_again(context: Context) -> None:
    """Ask for a folder and look in it for clips that are not where they were."""
    context.saver.refuse_unsaved()
    home = context.state.the_squad.folder
    folder = context.ask.folder("Find clips again: choose the folder they lie in now")
    if folder is None:
        return
    forget_run(context)

    def line(at: RunAt, clip: str, group: str) -> Line:
        code, dated, name = at
        cells = code, f"{short_day(dated)}, {run_words(name)}", clip
        return Line(f"{group} {at}", cells, group)

    def note(sought: Sought) -> None:
        forget_run(context)  # one of them may have been opened meanwhile
        found = note_found(context.state.the_squad, sought, context.now())
        lines = [
            *(line(at, str(path), "Found") for at, path in found.found),
            *(line(at, "not in that folder", "Still missing") for at in found.missing),
            *(Line(f"held {i}", ("", "", words), "In use") for i, words in enumerate(found.held)),
        ]
        about = (
            f"{several(len(found.found), 'clip')} found by what is in them, whatever they are "
            "called now."
        )
        said = about if lines else "Every clip is where it was."
        columns = "athlete", "visit", "clip"
        propose(context, Proposal("Clips found again", (said,), columns, tuple(lines)))

    said = f"Searching “{folder.name}” …"
    context.work_on("copy", said, lambda task: look_for(open_squad(home, []), [folder], []), note)


def ask_delete_clips(context: Context) -> None:
    """Show the clips of the athlete's last visit and everything that came from each."""
    propose(context, clips_to_delete(context.state.the_squad, context.state.the_athlete.code))


def clips_to_delete(squad: Squad, code: str) -> Proposal:
    """Return the list of clips of the last visit that may go after marking."""
    plans: dict[Path, ClipPlan] = {}
    dated = next(reversed(squad.visit_dates(code)), "")
    for name in squad.run_names(code, dated) if dated else ():
        try:
            plan = plan_clip_deletion(squad, (code, dated, name))
        except (NotThere, StoreError):
            continue  # the clip is gone
        plans.setdefault(plan.clip, plan)
    if not plans:
        return Proposal("No clip to delete", (f"No clip of {code}'s last visit is where it was.",))
    lines = []
    for i, (clip, plan) in enumerate(plans.items()):
        named = "; ".join(whose_run(*at) for at in plan.uses if at != plan.run)
        about = f"{clip}\n\nUsed by {whose_run(*plan.run)}{f' and by {named}' if named else ''}."
        cells = (clip.name, named or "no other run", str(plan.n_stills))
        lines.append(Line(str(i), cells, choices=(STAYS, GOES), about=about))

    def delete(context: Context, choices: Choices) -> None:
        squad = context.state.the_squad
        forget_run(context)
        chosen = [plan for i, plan in enumerate(plans.values()) if choices[str(i)] == GOES]
        said = [delete_marked_clip(squad, plan, context.cache_folder) for plan in chosen]
        context.go("squad")
        context.state.status = " ".join(said) or "No clip was chosen; all are where they were."

    return Proposal(
        f"Clips of {code}, {long_day(dated)}",
        (
            "A clip may go once all its runs are marked. The kept stills and every point stay; "
            "key frames can then no longer be moved.",
            "Copies on the phone are out of reach.",
        ),
        ("clip", "also used by", "stills kept"),
        tuple(lines),
        "Delete the chosen clips",
        delete,
    )


NO, POINT, COMMA = "not now", "decimal points", "decimal commas"
DECIMAL = {POINT: ".", COMMA: ","}


def exports_of(
    squad: Squad, code: str, on: date
) -> Iterator[tuple[str, str, str, str, Callable[..., Path]]]:
    """Yield key, name, whose it is, what it is, and writer of every file that can be written.

    A writer gets a squad, and by name folder, today and the decimal sign.
    """
    mine = (code,)
    about = "One row for each measure of each run, with its ±, band, verdict and how it was filmed."
    yield "season", "Season as a table", code, about, partial(season_csv, codes=mine)
    about = "One row for each tap: frame, time, place in pixels, how sure."
    yield "taps", "Raw taps as a table", code, about, partial(taps_csv, codes=mine)
    about = "One row for each value of a line or angle with its ±, each note, each place of a path."
    yield "marks", "Own lines and paths as a table", code, about, partial(marks_csv, codes=mine)
    if dates := squad.visit_dates(code):
        about = "Numbers with their ±, no opinions. Needs the consent to share with a physio."
        write = partial(physio_note, code=code, dated=dates[-1])
        yield "physio", "Note for a physio", f"{code}, last visit", about, write
    may, left_out = who_goes_out("csv", squad, on, [])
    if codes := tuple(athlete.code for athlete in may):
        whose = f"all who agreed: {several(len(codes), 'athlete')}"
        about = "\n".join(("One file for the squad.", *left_out))
        yield "squad", "Season as a table", whose, about, partial(season_csv, codes=codes)


def ask_export(context: Context) -> None:
    """Show what can be written for the athlete and for the squad."""
    context.saver.refuse_unsaved()
    squad, code, on = context.state.the_squad, context.state.the_athlete.code, context.today()
    lines, writers = [], {}
    for key, what, whose, about, writer in exports_of(squad, code, on):
        lines.append(Line(key, (what, whose), choices=(NO, POINT, COMMA), about=about))
        writers[key] = writer

    def write(context: Context, choices: Choices) -> None:
        chosen = [(writers[key], DECIMAL[how]) for key, how in choices.items() if how != NO]
        if not chosen:
            raise NotThere("Nothing is chosen. Space on a line chooses how it is written.")
        folder = context.ask.folder("Export tables and notes: choose a folder")
        if folder is None:
            return

        def work(task: Task) -> list[Path]:
            at_hand = open_squad(squad.folder, [])
            return [w(at_hand, folder=folder, today=on, decimal=decimal) for w, decimal in chosen]

        def done(paths: list[Path]) -> None:
            if context.state.page == "proposal":
                context.go("squad")
            context.state.status = f"Written into “{folder}”: {', '.join(p.name for p in paths)}"

        context.work_on("export", "Writing …", work, done)

    about_all = (
        "Plain files that any spreadsheet or text editor opens. Choose decimal commas where your "
        "spreadsheet writes them.",
        "The files are not encrypted: keep them where you keep the consent forms.",
    )
    columns, confirm = ("what", "whose"), "Export into a folder…"
    title = "Export tables and notes"
    propose(context, Proposal(title, about_all, columns, tuple(lines), confirm, write))


AROUND_SQUAD = ("squad", "group", "season", "proposal")
_copy = partial(Action, group="Copies", why_disabled=needs_squad)
ACTIONS = (
    of_squad("find clips", "Find moved clips again…", find_again),
    of_athlete("delete clips", "Delete clips after marking…", ask_delete_clips),
    of_athlete("export", "Export…", ask_export, ("Mod+Shift+E",)),
    _copy("back up", "Back up the squad…", ask_back_up, ("Mod+B",), AROUND_SQUAD),
    Action("restore", "Check a back-up, bring it back…", ask_restore, group="Copies"),
    _copy("check squad", "Check files", check_files),
    _copy("merge", "Merge two copies…", ask_merge),
)
