"""Putting the open run and the settings on the disk, and what happens when the disk refuses."""

import contextlib
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path

from tapmark.app.state.session import AppState, Work
from tapmark.disk import PATIENCE_S
from tapmark.errors import (
    CannotWrite,
    HeldByAnother,
    InUse,
    NotSaved,
    StoreError,
    TapmarkError,
)
from tapmark.marks.history import History
from tapmark.store.open_run import OpenRun, open_run
from tapmark.store.settings import Settings, save_settings
from tapmark.store.squad import RunAt

SAVE_MS = 20  # a tap that is being moved is written so long after: keys that are held must run
AT_ONCE_S = 0.1  # so long the window may stand still for a file that another program has open
BUSY_MS = (50, 100, 200, 400, 800)  # and then tries so often before it says anything
RETRY_MS = 2000  # a disk that refuses is tried again so often
BY_ITSELF = "It is tried again by itself."
PROGRAM = "the Tapmark window"
PLACE_MS = 400  # where we are is written so long after the last change
Later = Callable[[int, Callable[[], object]], object]
"""Of the event loop: (ms, action)."""


@dataclass(eq=False, repr=False)
class Saver:
    """Holds the open run for writing and saves every change of it.

    held:         the run that is open for writing.
    is_read_only: another window has it; held_words says which, and stays in the error line.
    when_saved:   called once when the disk takes what it had refused.
    """

    state: AppState
    later: Later
    now: Callable[[], datetime]
    held: OpenRun | None = None
    is_read_only: bool = False
    held_words: str = ""
    when_saved: Callable[[], None] | None = None
    _pending: tuple[Work, Work] | None = None  # what is on the disk, and what is not yet
    _n_refused: int = 0
    _is_trying_soon: bool = False

    def __post_init__(self) -> None:
        self.state.session.save = self._save
        self.state.session.refuse = self._refuse

    def hold(self, where: RunAt, *, take_over: bool = False) -> None:
        """Take a run for writing; when another window has it, nothing is saved."""
        squad = self.state.squad
        if not squad:
            return
        try:
            self.held = open_run(squad, *where, PROGRAM, self.now(), take_over)
            self.is_read_only, self.held_words = False, ""
        except (HeldByAnother, CannotWrite) as held:
            self.is_read_only, self.held_words = True, str(held)
        self.state.error = self.held_words

    def release(self) -> None:
        """Give the run free."""
        if self.held:
            self.held.close()
        self.held, self.is_read_only, self.held_words = None, False, ""

    def _save(self, old: Work, new: Work, is_moving: bool) -> None:
        """Put a change on the disk before it is painted; a tap that moves, once it pauses."""
        if self.state.squad is None or self.is_read_only:
            return
        self._pending = (self._pending or (old, new))[0], new
        if is_moving:
            self.state.session.saved_at = ""
            self._try_in(SAVE_MS)
        else:
            self.flush()

    def _refuse(self) -> None:
        """Raise HeldByAnother where the run can only be looked at: what is not kept is no mark."""
        if self.is_read_only:
            raise HeldByAnother(f"Nothing was changed. {self.held_words}")

    def flush(self, patience_s: float = AT_ONCE_S) -> bool:
        """Put what changed on the disk; return whether everything is there now.

        Nothing is written of a run that has no frames yet. What the disk refuses stays here and
        is tried again by itself. patience_s: how long a program that has a file open is waited for.
        """
        if self._pending is None:
            return True
        try:
            self._write(*self._pending, patience_s)
        except StoreError as trouble:
            self._not_saved(trouble)
            return False
        self._pending, self._n_refused = None, 0
        self.note_saved()
        if self.state.session.unsaved:
            self._saved_again()
        self.state.notify()
        return True

    def _saved_again(self) -> None:
        """Take back what was said of the disk, and the question that it led to."""
        self.state.session.unsaved, self.state.error = "", self.held_words
        when_saved, self.when_saved = self.when_saved, None
        if when_saved:
            when_saved()
        self.state.status = "Saved again: every mark is on the disk."

    def _write(self, old: Work, new: Work, patience_s: float) -> None:
        if new.visit != old.visit and self.state.squad:
            self.state.squad.save_visit(new.visit, patience_s)
            old = replace(old, visit=new.visit)
            self._pending = old, new
        if self.held and self.state.run_name and new.run != old.run:
            self.held.save(new.run, patience_s)

    def _not_saved(self, trouble: StoreError) -> None:
        """Try again later; say so unless another program may let go of the file in a moment."""
        state, n = self.state, self._n_refused
        state.session.saved_at, self._n_refused = "", n + 1
        is_passing = isinstance(trouble, InUse) and n < len(BUSY_MS) and not state.session.unsaved
        self._try_in(BUSY_MS[n] if is_passing else RETRY_MS)
        words = f"Not saved: your last marks are only in this window. {trouble} {BY_ITSELF}"
        if not is_passing and state.session.unsaved != words:
            state.session.unsaved = state.error = words
            state.notify()

    def _try_in(self, ms: int) -> None:
        if not self._is_trying_soon:
            self._is_trying_soon = True
            self.later(ms, self._try_now)

    def _try_now(self) -> None:
        self._is_trying_soon = False
        self.flush()

    @property
    def is_unsaved(self) -> bool:
        """True while a change is only in this window."""
        return self._pending is not None

    def refuse_unsaved(self) -> None:
        """Save; raise NotSaved where the disk refuses: then nothing may be left, closed or told."""
        if not self.flush(PATIENCE_S):
            raise NotSaved(self.state.session.unsaved or f"Not saved yet. {BY_ITSELF}")

    def give_up(self) -> None:
        """Go back to what was saved last: the coach said so in words, or has it elsewhere."""
        if self._pending is None:
            return
        saved, self._pending = self._pending[0], None
        state, self._n_refused = self.state, 0
        if state.history:
            state.session.history = History(saved)
            state.settle()
        state.session.unsaved = state.error = ""

    def note_saved(self) -> None:
        """Remember when it was saved."""
        self.state.session.saved_at = f"{self.now():%H:%M:%S}"


@dataclass(eq=False, repr=False)
class KeptSettings:
    """The settings of this computer, and the file they are kept in."""

    path: Path
    later: Later
    value: Settings = field(default_factory=Settings)
    _is_writing_soon: bool = False

    def change(self, settings: Settings) -> None:
        """Keep changed settings."""
        self.value = settings
        self.write()

    def write(self) -> None:
        """Put the settings on the disk; a disk that cannot be written is no reason to stop."""
        self._is_writing_soon = False
        with contextlib.suppress(TapmarkError):
            save_settings(self.path, self.value)

    def note_place(self, state: AppState) -> None:
        """Remember run, page and prompt for the next start; written a moment later."""
        place = place_words(state)
        if place == self.value.place:
            return
        self.value = replace(self.value, place=place)
        if not self._is_writing_soon:
            self._is_writing_soon = True
            self.later(PLACE_MS, self.write)


def place_words(state: AppState) -> str:
    """Return where we are as one line: code, date, run, page, key frame, point."""
    if not state.run_name:
        return ""
    point = state.marking.prompt.point if state.marking.prompt else ""
    return "/".join((*state.where, state.page, state.marking.event, point))
