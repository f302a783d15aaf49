"""A whole squad: opened, in words, backed up, restored, deleted from."""

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from pathlib import Path

from tapmark import disk, leftovers
from tapmark.clip.cache import Cache
from tapmark.errors import CannotWrite, StoreError
from tapmark.marks.days import long_day, several
from tapmark.services.places import criteria_of
from tapmark.store import archive, check, delete
from tapmark.store.choices import backup_reminder
from tapmark.store.delete import finish_deletion
from tapmark.store.files import finish_together
from tapmark.store.merge import finish_merge
from tapmark.store.retention import DueStills, copies_itself, retention_due, stills_due, sweep
from tapmark.store.rota import evenings, rota
from tapmark.store.season import quiet_period
from tapmark.store.settings import load_settings, save_settings
from tapmark.store.squad import Squad, Troubles, collected, open_squad


@dataclass(frozen=True)
class Opened:
    """A squad that was opened to work in.

    troubles: files that cannot be read; the rest is there.
    notices:  sentences for the coach, the most pressing first.
    """

    squad: Squad
    troubles: tuple[StoreError, ...] = ()
    notices: tuple[str, ...] = ()


def open_for_work(folder: Path, today: date) -> Opened:
    """Open a squad, let stills go whose time is up, and say what the coach should know.

    Raises NotThere, StoreError, FileTooNew for what is no squad that can be read.
    """
    troubles: Troubles = []
    squad, day = open_squad(folder, troubles), today.isoformat()
    broken_off = [*_tidied(folder, day)[0], *_finished(squad, today)]
    went, stuck = tuple[DueStills, ...](), list[str]()
    try:
        went = sweep(squad, day)
    except CannotWrite as refused:
        left = ", ".join(dict.fromkeys(due.code for due in stills_due(squad, day)))
        stuck.append(f"Stills of {left} should go and cannot be deleted: {refused}")
    notices = [*broken_off]
    if is_read_only(squad):
        notices.append(
            f"“{squad.folder.name}” can only be read: look at everything, but nothing can be "
            "saved. Copy the folder to a disk that can be written to work in it."
        )
    notices += [*stuck, *_clock(squad, day)]
    for due in went:
        n, what = due.n_pictures, "still" if due.name else "page with a photo"
        stills = several(n, what, "stills" if due.name else "pages with a photo")
        notices.append(
            f"{due.code} on {long_day(due.dated)}: {stills} went, {due.why}. The points stay."
        )
    notices += [f"{due.code}: {due.why}." for due in retention_due(squad, day)]
    notices += filter(None, (backup_reminder(squad.choices, day), copies_itself(folder)))
    return Opened(squad, tuple(troubles), tuple(notices))


def _tidied(folder: Path, day: str) -> tuple[list[str], list[str]]:
    """Finish or remove what killed programs left half made; return sentences on either."""
    left = leftovers.left_in_squad(folder, day)
    waiting = (leftovers.left_together(each, day) for each in {path.parent for path in left})
    done = finish_together(path for paths in waiting for path in paths)
    gone = leftovers.remove_left([path for path in left if path.exists()], day)
    return (
        [
            f"“{path.name}” was half written by a program that was killed. It is whole now."
            for path in done
        ],
        [f"{path.name}: left half made by a program that was killed; removed." for path in gone],
    )


def is_read_only(squad: Squad) -> bool:
    """Say whether nothing can be written into the squad's folder."""
    return not os.access(squad.folder, os.W_OK)


def _finished(squad: Squad, today: date) -> list[str]:
    """Finish a merge or a deletion that was killed in the middle, or say that it is not done."""
    now, told = datetime.combine(today, time()), list[str]()
    begun: dict[str, Callable[[], str]] = {
        "A merge of two copies": lambda: finish_merge(squad),
        "A deletion": lambda: finish_deletion(squad, now),
    }
    for what, finish in begun.items():
        try:
            told.append(finish())
        except StoreError as refused:
            told.append(f"{what} was broken off and cannot be finished now: {refused}")
    return [words for words in told if words]


def _clock(squad: Squad, day: str) -> Iterator[str]:
    """Say when the squad knows a later day than this computer does."""
    days = collected(squad.codes(), squad.visit_dates, [])
    latest = max((dates[-1:] or ("",) for dates in days), default=("",))
    if latest[0] > day:
        yield (
            f"This computer's clock says {long_day(day)}, but there is a visit of "
            f"{long_day(latest[0])}. "
            "Set the clock right: consent, due dates and the week for stills go by it."
        )


Say = Callable[[str], None]
NOTHING_CHOSEN = "nothing chosen yet"


def opened(folder: Path, today: date, say: Say) -> Squad:
    """Open a squad to work in and say what the coach should know about it."""
    found = open_for_work(folder, today)
    for words in (*map(str, found.troubles), *found.notices):
        say(words)
    return found.squad


def describe(folder: Path, today: date, say: Say) -> Iterator[str]:
    """Yield who is due, who has to be asked first, and what each one works on."""
    squad = opened(folder, today, say)
    day = today.isoformat()
    troubles: Troubles = []
    lines = rota(squad, day, troubles)
    for trouble in troubles:
        say(f"Left out: {trouble}")
    due = [line for line in lines if line.is_due and line.can_be_filmed]
    yield f"{squad.choices.name or folder.name}: {several(len(lines), 'athlete')}, {len(due)} due"
    for number, evening in enumerate(evenings(due, squad.choices.per_evening) if due else (), 1):
        yield f"Evening {number}: " + ", ".join(line.code for line in evening)
    item = criteria_of(squad).words.item
    for line in lines:
        said = f"ask first: consent {line.consent}"
        if line.can_be_filmed:
            chosen = [visit.slots for visit in squad.visits(line.code, []) if visit.slots]
            said = ", ".join(item(slot.item) for slot in chosen[-1]) if chosen else NOTHING_CHOSEN
            quiet = quiet_period(squad.athlete(line.code), day)
            said += f"; {quiet}" if quiet else ""
        yield f"  {line.code:8} {long_day(line.last) or 'never filmed':12} {said}"


def check_squad(folder: Path, today: date) -> Iterator[str]:
    """Yield everything odd about a squad's files, or one line that all is well.

    folder: a squad, or a back-up of one: then every byte of it is read against its checksums.
    """
    if disk.exists(folder) and not disk.is_folder(folder):
        held = archive.check_backup(folder)
        yield f"{held.size}: every one is as it was put in."
        return
    squad, day = open_squad(folder, []), today.isoformat()
    for told in _tidied(folder, day):
        yield from told
    found = check.check_squad(squad, day)
    yield from (f"{each.path.relative_to(folder)}: {each.words}" for each in found)
    due = stills_due(squad, day)
    for each in due:
        what = "stills" if each.name else "pages with a photo"
        yield f"{each.code} on {long_day(each.dated)}: {what} have to go."
    if not found and not due:
        athletes = several(len(squad.codes()), "athlete")
        yield f"{athletes}: every file can be read, nothing is left over."


def back_up(folder: Path, target: Path, today: date, say: Say) -> Iterator[str]:
    """Back a squad up and yield what went in, what stayed out and that it is not encrypted."""
    reminder = backup_reminder(open_squad(folder, []).choices, today.isoformat())
    squad = opened(folder, today, lambda words: None if words == reminder else say(words))
    done = archive.back_up(squad, target, today.isoformat())
    squad.save_choices(replace(squad.choices, backed_up=today.isoformat()))
    yield f"{done.size}, every one checked: {done.path}"
    yield from (f"Left out: {way} ({why})" for way, why in done.left_out)
    yield archive.NOT_ENCRYPTED


def restore_backup(
    zip_path: Path, folder: Path, now: datetime, replace_old: bool = False, is_dry_run: bool = False
) -> Iterator[str]:
    """Restore a back-up and yield where it lies, or yield what would happen.

    replace_old: a squad that lies there is renamed and kept. Raises StoreError.
    """
    if replace_old:  # what holds on is told before anything is done
        yield from archive.restore(zip_path, folder, now, True, is_dry_run=True).carried
    done = archive.restore(zip_path, folder, now, replace_old, is_dry_run)
    kept = done.old_kept
    if is_dry_run:
        yield f"“{zip_path.name}” is whole; nothing has been touched."
        yield f"It would be unpacked into {folder}"
        if kept:
            yield f"What lies there would be kept as “{kept.name}”."
        if not kept:
            yield "Athletes deleted after the back-up was made would be back in it."
        return
    yield f"Every file was checked and unpacked: {folder}"
    if kept:
        yield f"The old folder is kept as “{kept.name}”."


def delete_athlete(
    folder: Path,
    code: str,
    is_dry_run: bool,
    now: datetime,
    cache_folder: Path,
    settings_file: Path | None = None,
) -> Iterator[str]:
    """Delete an athlete and yield the receipt, or yield what would go.

    cache_folder: pictures prepared from clips lie there; all of them go, they can be made again.
    settings_file: of this computer, which remembers the run that was open last.
    """
    squad = open_squad(folder)
    plan = delete.plan_delete(squad, code)
    if is_dry_run:
        yield from _plan(plan, folder)
        return
    words = delete.delete_athlete(squad, plan, now)
    if disk.is_folder(cache_folder):
        Cache(cache_folder).empty()
    if settings_file and disk.is_file(settings_file):
        known, _ = load_settings(settings_file)
        last = "" if code in Path(known.last_folder).parts else known.last_folder
        if (known.place, known.last_folder) != ("", last):
            save_settings(settings_file, replace(known, place="", last_folder=last))
    yield from words.splitlines()


def _plan(plan: delete.DeletePlan, folder: Path) -> Iterator[str]:
    yield f"This would be deleted for {plan.code}; nothing has been touched:"
    for path in (*plan.own, *plan.clips, *plan.pages):
        yield f"  {path.relative_to(folder)}"
    for path in plan.changed:
        yield f"  {path.relative_to(folder)} (the code is taken out)"
    for clip, other, dated, _ in plan.shared:
        yield f"  {clip.name} is also used by {other} on {long_day(dated)}"
    for path in plan.outside:
        yield f"  {path} lies outside the squad and stays: delete it yourself"
    for path, why in plan.left:
        yield f"  {path.relative_to(folder)} stays ({why}): look yourself"
    for path in plan.copies:
        yield f"  {path} is a copy of the squad with {plan.code} in it and stays: look yourself"
    yield "Back-ups and paper are out of reach."
