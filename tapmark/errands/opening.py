"""Opening a squad to work in it: what cannot be read is told, and pictures whose time is up go.

Window and command line both open a squad this way, so the week after which stills go without
consent to keep them is kept by whoever opens the squad next.
"""

import os
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path

from tapmark import leftovers
from tapmark.errors import CannotWrite, StoreError
from tapmark.marks.days import long_day
from tapmark.store.choices import backup_reminder
from tapmark.store.delete import finish_deletion
from tapmark.store.merge import finish_merge
from tapmark.store.retention import DueStills, copies_itself, retention_due, stills_due, sweep
from tapmark.store.squad import Squad, open_squad


@dataclass(frozen=True)
class Opened:
    """A squad that was opened to work in.

    troubles: files that cannot be read; the rest is there.
    went:     stills that were deleted because their time was up.
    notices:  sentences for the coach, the most pressing first.
    """

    squad: Squad
    troubles: tuple[StoreError, ...] = ()
    went: tuple[DueStills, ...] = ()
    notices: tuple[str, ...] = ()


def open_for_work(folder: Path, today: date) -> Opened:
    """Open a squad, let stills go whose time is up, and say what the coach should know.

    Raises NotThere, StoreError, FileTooNew for what is no squad that can be read.
    """
    troubles: list[StoreError] = []
    squad, day = open_squad(folder, troubles), today.isoformat()
    leftovers.remove_left(leftovers.left_in_squad(folder, day), day)
    broken_off = _finished(squad, today)
    went, stuck = _swept(squad, day)
    notices = [*broken_off, *_read_only(squad), *stuck, *_clock(squad, day), *map(_gone, went)]
    notices += [f"{due.code}: {due.why}." for due in retention_due(squad, day)]
    notices += filter(None, (backup_reminder(squad.choices, day), copies_itself(folder)))
    return Opened(squad, tuple(troubles), went, tuple(notices))


def is_read_only(squad: Squad) -> bool:
    """Say whether nothing can be written into the squad's folder."""
    return not os.access(squad.folder, os.W_OK)


def _swept(squad: Squad, day: str) -> tuple[tuple[DueStills, ...], list[str]]:
    try:
        return sweep(squad, day), []
    except CannotWrite as refused:
        left = ", ".join(dict.fromkeys(due.code for due in stills_due(squad, day)))
        return (), [f"Stills of {left} should go and cannot be deleted: {refused}"]


def _finished(squad: Squad, today: date) -> list[str]:
    """Finish a merge or a deletion that was killed in the middle, or say that it is not done."""
    now, told = datetime.combine(today, time()), list[str]()
    for what in ("Putting two copies together", "A deletion"):
        try:
            is_deletion = what == "A deletion"
            told.append(finish_deletion(squad, now) if is_deletion else finish_merge(squad))
        except StoreError as refused:
            told.append(f"{what} was broken off and cannot be finished now: {refused}")
    return [words for words in told if words]


def _read_only(squad: Squad) -> Iterator[str]:
    if is_read_only(squad):
        yield (
            f"“{squad.folder.name}” can only be read: look at everything, but nothing can be "
            "saved. Copy the folder to a disk that can be written to work in it."
        )


def _clock(squad: Squad, day: str) -> Iterator[str]:
    """Say when the squad knows a later day than this computer does."""
    latest = max((squad.visit_dates(code)[-1:] or ("",) for code in squad.codes()), default=("",))
    if latest[0] > day:
        yield (
            f"This computer's clock says {long_day(day)}, but there is a visit of "
            f"{long_day(latest[0])}. "
            "Set the clock right: consent, due dates and the week for stills go by it."
        )


def _gone(due: DueStills) -> str:
    n = due.n_pictures
    what, more = ("still", "stills") if due.name else ("page with a photo", "pages with a photo")
    stills = f"{n} {what if n == 1 else more}"
    return f"{due.code} on {long_day(due.dated)}: {stills} went, {due.why}. The points stay."
