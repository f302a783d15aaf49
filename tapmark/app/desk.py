"""Everything a deed may use, in one place, and the one catch for errors a coach may read."""

import contextlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from tapmark.app.action import Action, Asker, Places
from tapmark.app.jobs import Jobs
from tapmark.app.state import AppState, Work
from tapmark.errors import Cancelled, HeldByAnother, StoreError, TapmarkError
from tapmark.store.open_run import OpenRun
from tapmark.store.settings import Settings, save_settings
from tapmark.store.squad import Squad

if TYPE_CHECKING:
    from tapmark.checklist.criteria import Criteria

SAVE_MS = 20  # a tap is painted first, then written: a slow disk must not make it feel late
PLACE_MS = 400  # where we are is written so long after the last change


@dataclass(eq=False, repr=False)
class Desk:
    """State, workers and helpers of one window.

    jobs:    long work, painter: drawings; each has one worker, so neither waits for the other.
    now:     the clock. actions: the table by name. open_file, print_file: hand a file over.
    later:   of the event loop: (ms, deed).
    held:    the run that is open for writing; is_read_only: another window has it, held_words
             says who and stays in the error line.
    is_unsaved: the disk refused the last change; it is kept here and tried again.
    """

    state: AppState
    jobs: Jobs
    painter: Jobs
    ask: Asker
    now: Callable[[], datetime]
    actions: Mapping[str, Action]
    settings_path: Path
    cache_folder: Path
    later: Callable[[int, Callable[[], None]], object]
    open_file: Callable[[Path], None]
    print_file: Callable[[Path], None]
    settings: Settings = field(default_factory=Settings)
    held: OpenRun | None = None
    is_read_only: bool = False
    held_words: str = ""
    is_unsaved: bool = False
    places: Places | None = None
    _pending: tuple[Work, Work] | None = None
    _is_writing_soon: bool = False
    _criteria: "Criteria | None" = None
    _criteria_of: Squad | None = None

    def __post_init__(self) -> None:
        self.state.save = self._save
        self.state.refuse = self._refuse
        self.state.listen(self.note_place)

    def perform(self, name: str) -> None:
        """Do a named action, or say why it cannot be done."""
        action = self.actions[name]
        why = action.hindrance(self)
        if why:
            self.state.said = why
            self.state.tell()
            return
        self.attempt(lambda: action.run(self))

    def attempt(self, deed: Callable[[], None]) -> bool:
        """Run a deed; what a coach may read becomes the error line. Return whether it went well."""
        self.state.trouble = self.held_words
        try:
            deed()
        except TapmarkError as trouble:
            self.state.trouble = str(trouble)
            self.state.tell()
            return False
        except Cancelled:
            return False
        self.state.tell()
        return self.state.trouble == self.held_words  # a deed may leave a trouble of its own

    def failed(self, trouble: TapmarkError) -> None:
        """Show the trouble of a job."""
        self.state.trouble, self.state.said = str(trouble), ""
        self.state.tell()

    def hindrance(self, name: str) -> str:
        """Why a named action cannot be done now, "" when it can."""
        return self.actions[name].hindrance(self)

    def go(self, page: str) -> None:
        """Bring a page to the front."""
        state = self.state
        if page == "taps" and not state.prompt:
            state.settle()
        if page == "taps" and state.frame:
            state.picture = state.frame.picture
        state.page, state.said, state.picking, state.form = page, "", "", ""
        state.tell()

    @property
    def paper(self) -> str:
        """The paper of this squad."""
        return self.state.squad.choices.paper if self.state.squad else "a4"

    def criteria(self) -> "Criteria":
        """Return bands and words of the squad, read once."""
        squad = self.state.squad
        if self._criteria is None or self._criteria_of is not squad:
            from tapmark.checklist.criteria import load
            from tapmark.errands.own_bands import criteria_of

            self._criteria, self._criteria_of = criteria_of(squad) if squad else load(), squad
        return self._criteria

    def _save(self, old: Work, new: Work) -> None:
        """See to it that a change is on the disk once it has been painted."""
        if self.state.squad is None or self.is_read_only:
            return
        is_first = self._pending is None
        self._pending = (self._pending or (old, new))[0], new
        if is_first:
            self.later(SAVE_MS, self.flush)

    def _refuse(self) -> None:
        """Raise HeldByAnother where the run can only be looked at: what is not kept is no mark."""
        if self.is_read_only:
            raise HeldByAnother(f"Nothing was changed. {self.held_words}")

    def flush(self) -> None:
        """Put what changed on the disk now; nothing of a run that has no pictures yet.

        When the disk refuses, the work stays here and the next save tries again.
        """
        squad, pending, self._pending = self.state.squad, self._pending, None
        if squad is None or pending is None:
            return
        old, new = pending
        try:
            if new.visit != old.visit or self.is_unsaved:
                squad.save_visit(new.visit)
            if self.held and self.state.run_name and (new.run != old.run or self.is_unsaved):
                self.held.save(new.run)
        except StoreError as trouble:
            self.is_unsaved = True
            self.state.trouble = str(trouble)
        else:
            self.is_unsaved = False
            self.note_saved()
        self.state.tell()

    def note_saved(self) -> None:
        """Remember when it was saved."""
        self.state.saved_at = f"{self.now():%H:%M:%S}"

    def note_place(self) -> None:
        """Remember run, page and prompt for the next start; written a moment later."""
        place = place_words(self.state)
        if place == self.settings.place:
            return
        self.settings = replace(self.settings, place=place)
        if not self._is_writing_soon:
            self._is_writing_soon = True
            self.later(PLACE_MS, self.write_settings)

    def remember(self, settings: Settings) -> None:
        """Keep changed settings."""
        self.settings = settings
        self.write_settings()

    def write_settings(self) -> None:
        """Put the settings on the disk; a disk that cannot be written is no reason to stop."""
        self._is_writing_soon = False
        with contextlib.suppress(TapmarkError):
            save_settings(self.settings_path, self.settings)


def place_words(state: AppState) -> str:
    """Return where we are as one line: code, date, run, page, key frame, point."""
    if not state.visit or not state.run_name:
        return ""
    point = state.prompt.point if state.prompt else ""
    where = (state.visit.code, state.visit.dated, state.run_name, state.page, state.event, point)
    return "/".join(where)
