"""What an action is, everything it may use, and the one catch for errors a coach may read."""

import contextlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from tapmark import disk
from tapmark.app.jobs import Jobs
from tapmark.app.state.session import AppState, Work
from tapmark.checklist.criteria import load
from tapmark.errors import Cancelled, HeldByAnother, InUse, NotSaved, StoreError, TapmarkError
from tapmark.marks.history import History
from tapmark.services.places import criteria_of
from tapmark.store.files import PATIENCE_S
from tapmark.store.open_run import OpenRun
from tapmark.store.settings import Settings, save_settings
from tapmark.store.squad import Squad

if TYPE_CHECKING:
    from tapmark.app.state.proposal import Proposal
    from tapmark.checklist.criteria import Criteria


def always(context: "Context") -> str:
    """Nothing stands in the way."""
    return ""


@dataclass(frozen=True)
class Action:
    """One thing a person can do, with its words and keys.

    name:      fixed name in code. label: in menus and on the help page.
    keys:      e.g. "Mod+Z"; pages: where the keys act, () = everywhere.
    group:     heading in the menu and on the help page; every action has one.
    hindrance: why it cannot be done now, "" when it can.
    in_menu:   False for keys that would only make the menu long; the help page shows them all.
    """

    name: str
    label: str
    run: Callable[["Context"], None]
    keys: tuple[str, ...] = ()
    pages: tuple[str, ...] = ()
    group: str = ""
    why_disabled: Callable[["Context"], str] = always
    in_menu: bool = True

    def is_available(self, context: "Context") -> bool:
        """Say whether it can be done now."""
        return not self.why_disabled(context)

    def is_on(self, page: str) -> bool:
        """Say whether its keys act on a page."""
        return not self.pages or page in self.pages


class Asker(Protocol):
    """Asks for files and folders; None = thought better of it."""

    def clip(self) -> Path | None:
        """Ask for one clip."""

    def folder(self, title: str) -> Path | None:
        """Ask for a folder that exists or will be made."""

    def stills(self) -> tuple[Path, ...]:
        """Ask for loose stills, none when thought better of it."""

    def list_file(self) -> Path | None:
        """Ask for a list of athletes (CSV)."""

    def zip_file(self) -> Path | None:
        """Ask for a back-up."""

    def save_as(self, title: str, name: str) -> Path | None:
        """Ask where to write a file."""


class Places(Protocol):
    """The window's own movements that an action may ask for."""

    def next_pane(self) -> None:
        """Move the keyboard to the next part of the page."""

    def lay_out_again(self) -> None:
        """Build the pages anew: the text size or the handedness changed."""

    def close(self) -> None:
        """Close the window."""


SAVE_MS = 20  # a tap that is being moved is written so long after: keys that are held must run
AT_ONCE_S = 0.1  # so long the window may stand still for a file that another program has open
BUSY_MS = (50, 100, 200, 400, 800)  # and then tries so often before it says anything
RETRY_MS = 2000  # a disk that refuses is tried again so often
BY_ITSELF = "It is tried again by itself."
PLACE_MS = 400  # where we are is written so long after the last change
WHILE_TYPING = frozenset({"leave", "help", "next pane"})
"""Actions that touch nothing and may be wanted in the middle of a word."""


@dataclass(eq=False, repr=False)
class Context:
    """State, workers and helpers of one window.

    jobs:    long work, painter: drawings; each has one worker, so neither waits for the other.
    now:     the clock. actions: the table by name. open_file, print_file: hand a file over.
    later:   of the event loop: (ms, action).
    held:    the run that is open for writing; is_read_only: another window has it, held_words
             says who and stays in the error line.
    fields:  for each field to type in, what keeps its text; gives why it cannot, "" when it did.
    when_unsaved: shows why an action waits for marks that are not saved, and what can be done.
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
    when_unsaved: Callable[["Context", Callable[[], None]], None]
    settings: Settings = field(default_factory=Settings)
    held: OpenRun | None = None
    is_read_only: bool = False
    held_words: str = ""
    places: Places | None = None
    fields: dict[str, Callable[[], str]] = field(default_factory=dict)
    _is_committing: bool = False
    asked_about: "Proposal | None" = None  # the page that asks what to do with unsaved marks
    _pending: tuple[Work, Work] | None = None  # what is on the disk, and what is not yet
    _n_refused: int = 0
    _is_trying_soon: bool = False
    _is_writing_soon: bool = False
    _criteria: "Criteria | None" = None
    _criteria_of: Squad | None = None

    def __post_init__(self) -> None:
        self.state.session.save = self._save
        self.state.session.refuse = self._refuse
        self.state.listen(self.note_place)
        self.jobs.at_hand = self.painter.at_hand = self.state.at_hand

    def perform(self, name: str) -> None:
        """Do a named action, or say why it cannot be done."""
        action = self.actions[name]
        if name not in WHILE_TYPING and not self.commit():
            return
        why = action.why_disabled(self)
        if why:
            self.state.status = why
            self.state.notify()
            return
        self._run(lambda: action.run(self))

    def attempt(self, action: Callable[[], None]) -> bool:
        """Run an action; what a coach may read becomes the error line. True when it went well.

        Whatever is typed counts first; what cannot be used is told, and the action is not done.
        """
        return self.commit() and self._run(action)

    def commit(self) -> bool:
        """Keep what is typed in every field; return False, and say why, where that cannot be.

        Nothing is touched where no hand acts: a job that comes back finds somebody typing.
        """
        is_late = self.jobs.is_handing_over or self.painter.is_handing_over
        if self._is_committing or is_late:
            return True
        self._is_committing = True
        try:
            whys = [why for keep in tuple(self.fields.values()) if (why := keep())]
        finally:
            self._is_committing = False
        if whys:
            self.state.error = whys[0]
            self.state.notify()
        return not whys

    def _run(self, action: Callable[[], None]) -> bool:
        self.state.error = self.held_words
        try:
            action()
        except NotSaved:
            self.when_unsaved(self, action)
            return False
        except TapmarkError as trouble:
            self.state.error = str(trouble)
            self.state.notify()
            return False
        except OSError as trouble:  # a disk that went away, or was closed to us, in the middle
            self.state.error = disk.sentence(trouble.filename or "The disk", trouble)
            self.state.notify()
            return False
        except Cancelled:
            return False
        self.state.notify()
        return self.state.error == self.held_words  # an action may leave a trouble of its own

    def failed(self, trouble: TapmarkError) -> None:
        """Show the trouble of a job."""
        self.state.error, self.state.status = str(trouble), ""
        self.state.notify()

    def why_disabled(self, name: str) -> str:
        """Why a named action cannot be done now, "" when it can."""
        return self.actions[name].why_disabled(self)

    def go(self, page: str) -> None:
        """Bring a page to the front."""
        state = self.state
        if page == "taps" and not state.marking.prompt:
            state.settle()
        if page == "taps" and state.frame:
            state.marking.picture = state.frame.picture
        state.page, state.status, state.film.picking, state.around.squad.form = page, "", "", ""
        state.notify()

    @property
    def paper(self) -> str:
        """The paper of this squad."""
        return self.state.squad.choices.paper if self.state.squad else "a4"

    def criteria(self) -> "Criteria":
        """Return bands and words of the squad, read once."""
        squad = self.state.squad
        if self._criteria is None or self._criteria_of is not squad:
            self._criteria, self._criteria_of = criteria_of(squad) if squad else load(), squad
        return self._criteria

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

        Nothing is written of a run that has no pictures yet. What the disk refuses stays here and
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
        state, asked, self.asked_about = self.state, self.asked_about, None
        state.session.unsaved, state.error = "", self.held_words
        if asked and state.page == "proposal" and state.around.proposal.proposal is asked:
            self.go(asked.back)
        state.status = "Saved again: every mark is on the disk."

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
    point = state.marking.prompt.point if state.marking.prompt else ""
    where = (
        state.visit.code,
        state.visit.dated,
        state.run_name,
        state.page,
        state.marking.event,
        point,
    )
    return "/".join(where)
