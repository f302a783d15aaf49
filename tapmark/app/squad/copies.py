"""Back-up, restore, two copies merged, clips that moved, and export as plain files."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

from tapmark.app.jobs import Task
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.proposals import propose
from tapmark.app.shell.squads import forget_run, refresh_roster, use_squad
from tapmark.app.shell.why_disabled import needs_athlete, needs_squad, today
from tapmark.app.state.measure_lines import number
from tapmark.app.state.proposal import Choices, Line, Proposal
from tapmark.app.state.session import AroundSquad
from tapmark.app.state.titles import several, squad_name
from tapmark.checklist.words import Words
from tapmark.errors import NotThere, StoreError, TapmarkError
from tapmark.marks.days import long_day, run_words, short_day, whose_run
from tapmark.measures.catalogue import row
from tapmark.services import copies
from tapmark.services.clips import (
    ClipPlan,
    Relinked,
    RunAt,
    Sought,
    delete_marked_clip,
    look_for,
    note_found,
    plan_clip_deletion,
)
from tapmark.services.consent import who_goes_out
from tapmark.services.copies import (
    LEAVE,
    OURS,
    TAKE,
    THEIRS,
    BothSides,
    MergePlan,
    place_of,
)
from tapmark.services.exports import marks_csv, physio_note, season_csv, taps_csv
from tapmark.store.archive import Backup, Restored, back_up, check_backup, held_on_to, restore
from tapmark.store.check import Finding, check_squad
from tapmark.store.merge import CONFLICT, LEFT, SAFER, Difference
from tapmark.store.shown import shown_text
from tapmark.store.squad import Squad, open_squad

UNTOUCHED = "Stopped. Nothing was changed."
PLAIN = "The zip is not encrypted: keep the USB stick as you would keep the pictures."


def work_on(
    context: Context,
    said: str,
    work: Callable[[Task], Any],
    done: Callable[[Any], None],
    failed: Callable[[TapmarkError], None] | None = None,
    *,
    stopped: str = "",
    by: str = "squad",
) -> None:
    """Say what is done, do it beside the window, and take in what comes of it."""
    context.state.status = said

    def use(found: Any) -> None:
        context.attempt(partial(done, found))

    context.jobs.run("copy", work, use, failed or context.failed, stopped=stopped, by=by)


def ask_back_up(context: Context) -> None:
    """Ask where to, then write the whole squad into one zip and read it back."""
    squad, on = context.state.the_squad, today(context)
    context.saver.refuse_unsaved()
    path = context.ask.save_as("Back up: choose a USB stick", f"{squad.folder.name} {on}.zip")
    if path is None:
        return
    work_on(
        context,
        f"Backing up to “{path.name}” …",
        lambda task: back_up(open_squad(squad.folder), path, on, task.report),
        lambda done: _backed_up(context, squad, done),
        stopped="Stopped. No back-up was made.",
        by="window",
    )


def _backed_up(context: Context, squad: Squad, done: Backup) -> None:
    """Note the day with the squad that was backed up, open or not."""
    state = context.state
    is_open = state.squad is not None and state.squad.folder == squad.folder
    own = state.squad if is_open and state.squad else squad
    own.save_choices(
        replace(own.choices if is_open else own.reload_choices(), backed_up=today(context))
    )
    if is_open:
        refresh_roster(context)
    size = f"{several(done.n_files, 'file')}, {done.n_bytes / 1e6:.1f} MB, every one read back"
    if done.left_out:
        propose(context, left_out(done, size))
    else:
        state.status = f"{size}: {done.path}. {PLAIN}"


def left_out(done: Backup, size: str) -> Proposal:
    """Return what did not go into a back-up, and why."""
    return Proposal(
        "The back-up is made",
        (
            f"{size}: {done.path}",
            PLAIN,
            f"{several(len(done.left_out), 'file')} stayed out of it. They are still here.",
        ),
        (("file", 26), ("why it stayed out", 16)),
        tuple(Line(way, (way, why)) for way, why in done.left_out),
    )


def ask_restore(context: Context) -> None:
    """Ask for a back-up, read every byte of it, and only then offer to bring it back."""
    path, folder = context.ask.zip_file(), context.state.folder
    if path is None:
        return

    def check(task: Task) -> tuple[Backup, tuple[str, ...]]:
        return check_backup(path, task.report), held_on_to(path, folder).told() if folder else ()

    def show(found: tuple[Backup, tuple[str, ...]]) -> None:
        propose(context, whole(context, *found))

    work_on(context, f"Reading “{path.name}” …", check, show, stopped=UNTOUCHED, by="window")


def whole(context: Context, found: Backup, holds_on: tuple[str, ...] = ()) -> Proposal:
    """Return the offer to restore a checked back-up.

    holds_on: what was withdrawn or deleted since in the squad it may replace.
    """
    state = context.state
    into = ((f"In place of {squad_name(state)}…", lambda context: _replace(context, found)),)
    return Proposal(
        "This back-up is whole",
        (
            f"“{found.path.name}” holds {several(found.n_files, 'file')}, "
            f"{found.n_bytes / 1e6:.1f} MB. Every one fits its checksum.",
            "It can be unpacked into a new folder beside the squad you have. Put in place of this "
            "squad, the present folder is renamed and kept, never deleted.",
            "Athletes deleted after the back-up was made come back with the new folder.",
            *(f"In place of this squad: {words}" for words in holds_on),
        ),
        confirm="Unpack into a new folder…",
        action=lambda context, choices: _unpack(context, found),
        more=into if state.squad else (),
    )


def _unpack(context: Context, found: Backup) -> None:
    folder = context.ask.folder("Unpack: choose a new or an empty folder")
    if folder:
        _restore(context, found, folder, replace_old=False)


def _replace(context: Context, found: Backup) -> None:
    """Put a back-up in the place of the squad, which is closed until that is done."""
    state, folder = context.state, context.state.the_squad.folder
    forget_run(context)  # its lock lies in the folder that is renamed
    state.session.squad, state.session.athlete, state.around = None, None, AroundSquad()
    context.go("squad")

    def failed(trouble: TapmarkError) -> None:
        context.attempt(lambda: use_squad(context, folder))
        context.failed(trouble)

    _restore(context, found, folder, failed, replace_old=True)


def _restore(
    context: Context,
    found: Backup,
    folder: Path,
    failed: Callable[[TapmarkError], None] | None = None,
    *,
    replace_old: bool,
) -> None:
    now = context.now()

    def restored(done: Restored) -> None:
        use_squad(context, done.folder)
        kept = f" The old folder is kept as “{done.old_kept.name}”." if done.old_kept else ""
        context.state.status = f"Every file was checked and unpacked: {done.folder}.{kept}"

    work_on(
        context,
        f"Unpacking into “{folder.name}” …",
        lambda task: restore(found.path, folder, now, replace_old),
        restored,
        failed,
    )


def check_files(context: Context) -> None:
    """Check every file of the squad, in a job."""
    folder, on = context.state.the_squad.folder, today(context)
    work_on(
        context,
        "Checking the files …",
        lambda task: findings(folder, check_squad(open_squad(folder, []), on)),
        partial(propose, context),
        stopped=UNTOUCHED,
    )


def findings(folder: Path, found: tuple[Finding, ...]) -> Proposal:
    """Return what is odd about the files, or that all is well."""
    all_well = "Every file can be read, nothing is missing and nothing is left over."
    about = ("Nothing was changed. A damaged file stays as it is, a copy with its date beside it.",)
    return Proposal(
        "The files of this squad",
        about if found else (all_well,),
        (("where", 16), ("what was found", 30)),
        tuple(
            Line(
                f"{i}",
                (each.path.relative_to(folder).as_posix(), each.words),
                "To look at" if each.is_serious else "Good to know",
                about=each.words,
            )
            for i, each in enumerate(found)
        ),
    )


_SQUAD = ("squad", "group", "season", "proposal")
MOST_TOLD = 14


def ask_merge(context: Context) -> None:
    """Ask for the other copy and show what merging the two would do."""
    ours = context.state.the_squad.folder
    theirs = context.ask.folder("Merge: choose the folder of the other copy")
    if theirs is None:
        return
    now, words = context.now().date(), context.state.session.criteria().words
    work_on(
        context,
        f"Comparing with “{theirs.name}” …",
        lambda task: proposal_of(copies.plan(ours, theirs, now), theirs, words),
        partial(propose, context),
        stopped=UNTOUCHED,
    )


def proposal_of(plan: MergePlan, theirs: Path, words: Words) -> Proposal:
    """Return what merging would do, conflicts first."""
    order = {CONFLICT: 0, SAFER: 1}
    differences = sorted(plan.differences, key=lambda each: order.get(each.kind, 2))
    n = sum(each.kind == CONFLICT for each in plan.differences)
    return Proposal(
        f"Merge with “{theirs.name}”",
        tuple(_about(plan, n)),
        (("athlete", 5), ("visit", 5), ("what differs", 20)),
        (
            *(_difference(i, each, plan, words) for i, each in enumerate(differences)),
            *(_not_taken(words) for words in plan.left_out),
        ),
        "Merge" if differences else "",
        (lambda context, choices: _merge(context, theirs, tuple(differences), choices))
        if differences
        else None,
    )


def _about(plan: MergePlan, n_conflicts: int) -> Iterator[str]:
    if not plan.differences:
        yield "The two copies hold the same. There is nothing to merge."
    elif n_conflicts:
        yield (
            f"{several(n_conflicts, 'thing differs', 'things differ')} in both copies. Say which "
            "counts; the other one is kept beside it. Nothing is averaged, the other copy is only "
            "read."
        )
    else:
        yield "Nothing is in conflict. What only the other copy has comes in; it is only read."
    if plan.deleted:
        last = long_day(max(plan.deleted))
        yield (
            f"An athlete was deleted here, last on {last}. New athletes are left out unless you "
            "say otherwise, so that none comes back by mistake."
        )


def _difference(i: int, each: Difference, plan: MergePlan, words: Words) -> Line:
    group = {CONFLICT: "Both have it, and differ", SAFER: "A no wins over a yes", LEFT: "Not taken"}
    both = plan.sides.get(place_of(each))
    said = each.words.split(": ", 1)[-1]
    return Line(
        str(i),
        (each.code, short_day(each.dated), said.split(". ")[0]),
        group.get(each.kind, "Only in the other copy"),
        _choices(each, plan),
        about=_two_markings(both) if both else ONLY_PAPER if _is_consent(each) else each.words,
        table=tuple(_table(both, words)) if both else (),
    )


def _not_taken(words: str) -> Line:
    """Return a line for a sentence that begins with the code it is about."""
    code = words.split(maxsplit=1)[0].rstrip(":")
    told = words.removeprefix(code).lstrip(": ")
    return Line(f"left {words}", (code, "", told), "Not taken", about=words)


ONLY_PAPER = (
    "A yes is never taken over from another copy: enter it here from the paper. A no is taken over "
    "at once."
)


def _is_consent(each: Difference) -> bool:
    return each.kind == CONFLICT and each.words.endswith("differ in consents.")


def _choices(each: Difference, plan: MergePlan) -> tuple[str, ...]:
    if each.kind == CONFLICT and not _is_consent(each):
        return OURS, THEIRS
    if copies.is_new_athlete(each):
        return (LEAVE, TAKE) if plan.deleted else (TAKE, LEAVE)
    return ()


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


def _merge(
    context: Context, theirs: Path, differences: tuple[Difference, ...], choices: Choices
) -> None:
    ours = context.state.the_squad.folder
    forget_run(context)
    chosen = {place_of(differences[int(key)]): choice for key, choice in choices.items()}
    n = len(copies.put_together(ours, theirs, context.now().date(), chosen))
    use_squad(context, ours)
    context.state.status = f"Merged: {several(n, 'thing')} came in or is kept beside ours."


STAYS, GOES = "stays", "delete"


def find_again(context: Context) -> None:
    """Ask for a folder and look in it for clips that are not where they were."""
    context.saver.refuse_unsaved()
    home = context.state.the_squad.folder
    folder = context.ask.folder("Find clips again: choose the folder they lie in now")
    if folder is None:
        return
    forget_run(context)

    def note(sought: Sought) -> None:
        forget_run(context)  # one of them may have been opened meanwhile
        propose(context, found_again(note_found(context.state.the_squad, sought, context.now())))

    work_on(
        context,
        f"Searching “{folder.name}” …",
        lambda task: look_for(open_squad(home, []), [folder], []),
        note,
    )


def found_again(found: Relinked) -> Proposal:
    """Return which clips were found, and which are still missing."""
    lines = [
        *(Line(f"found {at}", (*_who(at), str(path)), "Found") for at, path in found.found),
        *(
            Line(f"missing {at}", (*_who(at), "not in that folder"), "Still missing")
            for at in found.missing
        ),
        *(Line(f"held {i}", ("", "", words), "In use") for i, words in enumerate(found.held)),
    ]
    n = len(found.found)
    about = f"{several(n, 'clip')} found by what is in them, whatever they are called now."
    return Proposal(
        "Clips found again",
        (about,) if lines else ("Every clip is where it was.",),
        (("athlete", 5), ("visit", 8), ("clip", 22)),
        tuple(lines),
    )


def _who(at: RunAt) -> tuple[str, str]:
    code, dated, name = at
    return code, f"{short_day(dated)}, {run_words(name)}"


def ask_delete_clips(context: Context) -> None:
    """Show the clips of the athlete's last visit and everything that came from each."""
    squad, code = context.state.the_squad, context.state.the_athlete.code
    dates = squad.visit_dates(code)
    plans = plans_of(squad, code, dates[-1]) if dates else ()
    propose(context, clips_to_delete(code, dates[-1] if dates else "", plans))


def plans_of(squad: Squad, code: str, dated: str) -> tuple[ClipPlan, ...]:
    """Return what deleting each clip of a visit would do; clips that are gone are left out."""
    plans: dict[Path, ClipPlan] = {}
    for name in squad.run_names(code, dated):
        try:
            plan = plan_clip_deletion(squad, (code, dated, name))
        except (NotThere, StoreError):
            continue
        plans.setdefault(plan.clip, plan)
    return tuple(plans.values())


def clips_to_delete(code: str, dated: str, plans: tuple[ClipPlan, ...]) -> Proposal:
    """Return the list of clips of a visit that may go after marking."""
    if not plans:
        return Proposal("No clip to delete", (f"No clip of {code}'s last visit is where it was.",))
    return Proposal(
        f"Clips of {code}, {long_day(dated)}",
        (
            "A clip may go once all its runs are marked. The kept stills and every point stay; "
            "key frames can then no longer be moved.",
            "Copies on the phone are out of reach.",
        ),
        (("clip", 14), ("also used by", 20), ("stills kept", 5)),
        tuple(_clip_line(i, plan) for i, plan in enumerate(plans)),
        "Delete the chosen clips",
        lambda context, choices: _delete_clips(context, plans, choices),
    )


def _clip_line(i: int, plan: ClipPlan) -> Line:
    others = [at for at in plan.uses if at != plan.run]
    named = "; ".join(whose_run(*at) for at in others)
    about = f"{plan.clip}\n\nUsed by {whose_run(*plan.run)}" + (
        f" and by {named}." if named else "."
    )
    cells = (plan.clip.name, named or "no other run", str(plan.n_stills))
    return Line(str(i), cells, choices=(STAYS, GOES), about=about)


def _delete_clips(context: Context, plans: tuple[ClipPlan, ...], choices: Choices) -> None:
    squad = context.state.the_squad
    forget_run(context)
    chosen = [plan for i, plan in enumerate(plans) if choices.get(str(i)) == GOES]
    said = [delete_marked_clip(squad, plan, context.cache_folder) for plan in chosen]
    context.go("squad")
    context.state.status = " ".join(said) or "No clip was chosen; all are where they were."


NO, POINT, COMMA = "not now", "decimal points", "decimal commas"
DECIMAL = {POINT: ".", COMMA: ","}


@dataclass(frozen=True)
class Export:
    """One file that can be written; write gets the squad, the folder and the decimal sign."""

    key: str
    what: str
    whose: str
    about: str
    write: Callable[[Squad, Path, str], Path]


def ask_export(context: Context) -> None:
    """Show what can be written for the athlete and for the squad."""
    context.saver.refuse_unsaved()
    code = context.state.the_athlete.code
    propose(context, export_page(exports_of(context.state.the_squad, code, context.now().date())))


def export_page(found: Iterable[Export]) -> Proposal:
    """Return the page on which the files are chosen."""
    exports = tuple(found)
    return Proposal(
        "Export tables and notes",
        (
            "Plain files that any spreadsheet or text editor opens. Choose decimal "
            "commas where your spreadsheet writes them.",
            "The files are not encrypted: keep them where you keep the consent forms.",
        ),
        (("what", 16), ("whose", 14)),
        tuple(
            Line(e.key, (e.what, e.whose), choices=(NO, POINT, COMMA), about=e.about)
            for e in exports
        ),
        "Export into a folder…",
        lambda context, choices: _write(context, exports, choices),
    )


def exports_of(squad: Squad, code: str, today: date) -> Iterator[Export]:
    """Yield every file that can be written."""
    yield Export(
        "season",
        "Season as a table",
        code,
        "One row for each measure of each run, with its ±, band, verdict and how it was filmed.",
        lambda s, folder, decimal: season_csv(s, (code,), folder, today, decimal),
    )
    yield Export(
        "taps",
        "Raw taps as a table",
        code,
        "One row for each tap: frame, time, place in pixels, how sure.",
        lambda s, folder, decimal: taps_csv(s, (code,), folder, today, decimal),
    )
    yield Export(
        "marks",
        "Own lines and paths as a table",
        code,
        "One row for each value of a line or angle with its ±, each note, each place of a path.",
        lambda s, folder, decimal: marks_csv(s, (code,), folder, today, decimal),
    )
    dates = squad.visit_dates(code)
    if dates:
        yield Export(
            "physio",
            "Note for a physio",
            f"{code}, last visit",
            "Numbers with their ±, no opinions. Needs the consent to share with a physio.",
            lambda s, folder, decimal: physio_note(s, code, dates[-1], folder, today, decimal),
        )
    may, left_out = who_goes_out("csv", squad, today, [])
    codes = tuple(athlete.code for athlete in may)
    if codes:
        out = "".join(f"\n{words}" for words in left_out)
        yield Export(
            "squad",
            "Season as a table",
            f"all who agreed: {several(len(codes), 'athlete')}",
            f"One file for the squad.{out}",
            lambda s, folder, decimal: season_csv(s, codes, folder, today, decimal),
        )


def _write(context: Context, exports: tuple[Export, ...], choices: Choices) -> None:
    chosen = [(each, choices[each.key]) for each in exports if choices[each.key] != NO]
    home = context.state.the_squad.folder
    if not chosen:
        raise NotThere("Nothing is chosen. Space on a line chooses how it is written.")
    folder = context.ask.folder("Export tables and notes: choose a folder")
    if folder is None:
        return

    def work() -> list[Path]:
        squad = open_squad(home, [])
        return [each.write(squad, folder, DECIMAL[how]) for each, how in chosen]

    def done(paths: list[Path]) -> None:
        if context.state.page == "proposal":
            context.go("squad")
        context.state.status = f"Written into “{folder}”: {', '.join(p.name for p in paths)}"
        context.state.notify()

    context.state.status = "Writing …"
    context.jobs.run("export", lambda task: work(), done, context.failed, by="squad")


_copy = partial(Action, group="Copies", why_disabled=needs_squad)
ACTIONS = (
    Action(
        "find clips", "Find moved clips again…", find_again, (), ("squad",), "Squad", needs_squad
    ),
    Action(
        "delete clips",
        "Delete clips after marking…",
        ask_delete_clips,
        (),
        ("squad",),
        "Athlete",
        needs_athlete,
    ),
    Action("export", "Export…", ask_export, ("Mod+Shift+E",), ("squad",), "Athlete", needs_athlete),
    _copy("back up", "Back up the squad…", ask_back_up, ("Mod+B",), _SQUAD),
    Action("restore", "Check a back-up, bring it back…", ask_restore, group="Copies"),
    _copy("check squad", "Check files", check_files),
    _copy("merge", "Merge two copies…", ask_merge),
)
