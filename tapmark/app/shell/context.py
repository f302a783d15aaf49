"""What an action is, what all actions may use, and the one catch for errors a coach may read."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from tapmark import disk
from tapmark.app.jobs import Jobs, Task
from tapmark.app.shell.saving import KeptSettings, Later, Saver
from tapmark.app.state.session import AppState
from tapmark.errors import Cancelled, NotSaved, TapmarkError
from tapmark.services.consent import hand_over

if TYPE_CHECKING:
    from tapmark.app.shell.dialogs import Dialogs


def always(context: "Context") -> str:
    """Nothing stands in the way."""
    return ""


@dataclass(frozen=True)
class Action:
    """One thing a person can do, with its words and keys.

    name:      fixed name in code. label: in menus and on the help page.
    keys:      e.g. "Mod+Z"; pages: where the keys act, () = everywhere.
    group:     heading on the help page, and what stands together in a menu; every action has one.
    why_disabled: why it cannot be done now, "" when it can.
    in_menu:   False for small movements that would make a menu long: they stand one level down.
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


class Places(Protocol):
    """The window's own movements that an action may ask for."""

    def next_pane(self) -> None:
        """Move the keyboard to the next part of the page."""

    def lay_out_again(self) -> None:
        """Build the pages anew: the text size or the handedness changed."""

    def close(self) -> None:
        """Close the window."""


WHILE_TYPING = frozenset({"leave", "help", "next pane"})
"""Actions that touch nothing and may be wanted in the middle of a word."""


class TypedFields(dict[str, Callable[[], str]]):
    """For each field to type in, what keeps its text; gives why it cannot, "" when it did."""

    _is_committing = False

    def commit(self) -> str:
        """Keep what is typed in every field; return why that cannot be, "" when it can."""
        if self._is_committing:
            return ""
        self._is_committing = True
        try:
            whys = [why for keep in tuple(self.values()) if (why := keep())]
        finally:
            self._is_committing = False
        return whys[0] if whys else ""


@dataclass(eq=False, repr=False)
class Context:
    """State, workers and helpers of one window.

    jobs:    long work, painter: drawings; each has one worker, so neither waits for the other.
    now:     the clock. actions: the table by name. open_file, print_file: hand a file over.
    when_unsaved: shows why an action waits for marks that are not saved, and what can be done.
    """

    state: AppState
    jobs: Jobs
    painter: Jobs
    ask: "Dialogs"
    now: Callable[[], datetime]
    actions: Mapping[str, Action]
    cache_folder: Path
    later: Later
    open_file: Callable[[Path], None]
    print_file: Callable[[Path], None]
    when_unsaved: Callable[["Context", Callable[[], None]], None]
    saver: Saver
    settings: KeptSettings
    places: Places | None = None
    fields: TypedFields = field(default_factory=TypedFields)

    def __post_init__(self) -> None:
        self.state.listen(lambda: self.settings.note_place(self.state))
        self.jobs.at_hand = self.painter.at_hand = self.state.at_hand

    def today(self) -> date:
        """Return the day of the clock."""
        return self.now().date()

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

        What is typed is kept first; where it cannot be used, nothing is done and the error line
        says so.
        """
        return self.commit() and self._run(action)

    def commit(self) -> bool:
        """Keep what is typed in every field; return False, and say why, where that cannot be.

        Nothing is touched while a job hands over its result: the coach may be typing.
        """
        if self._is_handing_over:
            return True
        why = self.fields.commit()
        if why:
            self.state.error = why
            self.state.notify()
        return not why

    @property
    def _is_handing_over(self) -> bool:
        return self.jobs.is_handing_over or self.painter.is_handing_over

    def _run(self, action: Callable[[], None]) -> bool:
        """Run an action; the error of the last one goes, but not because a job was done."""
        before = self.state.error if self._is_handing_over else self.saver.held_words
        self.state.error = before
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
        return self.state.error == before  # an action may leave a trouble of its own

    def work_on(
        self,
        channel: str,
        said: str,
        work: Callable[[Task], Any],
        done: Callable[[Any], None],
        failed: Callable[[TapmarkError], None] | None = None,
        *,
        by: str = "squad",
        **how: Any,
    ) -> None:
        """Say what is done, do it beside the window, and take in what comes of it as an action.

        by, how: as of `Jobs.run`.
        """
        self.state.status = said

        def use(found: Any) -> None:
            self.attempt(partial(done, found))

        self.jobs.run(channel, work, use, failed or self.failed, by=by, **how)
        self.state.notify()

    def failed(self, trouble: TapmarkError) -> None:
        """Show the trouble of a job."""
        self.state.error, self.state.status = str(trouble), ""
        self.state.notify()

    def hand_out(self, path: Path, told: str, *, prints: bool = False) -> None:
        """Open or print a file of the squad that may leave it today, and tell about it."""
        checked = hand_over(self.state.the_squad, path, self.today())
        (self.print_file if prints else self.open_file)(checked)
        self.state.status = told

    def why_disabled(self, name: str) -> str:
        """Why a named action cannot be done now, "" when it can."""
        return self.actions[name].why_disabled(self)

    def go(self, page: str) -> None:
        """Bring a page to the front."""
        state = self.state
        prompt = state.marking.prompt
        if page == "taps" and not prompt:
            state.settle()
        elif page == "taps" and prompt and prompt.event != state.marking.event:
            state.go_to(prompt.event, prompt)
        if page == "taps" and state.frame:
            state.marking.picture = state.frame.picture
        if page != "compare":
            state.compare.pair = None  # what was cut of both takes more room than it is worth
        state.page, state.status, state.film.picking, state.around.squad.form = page, "", "", ""
        state.notify()
