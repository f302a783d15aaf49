"""What is found out while a clip is read: is it whole, its rate, frames that repeat or move."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from tapmark.app.shell.context import Context
from tapmark.clip.changes import Changes, background_moves, measure_changes, nothing_compared
from tapmark.clip.frames import Clip
from tapmark.clip.header import SILENCE_S
from tapmark.errors import TapmarkError
from tapmark.marks.run import SetUp
from tapmark.progress import Told

WATCH_MS = 150
COMPARED_AT_ONCE = 48
"""Frames; a full-size frame that is waited for gets its turn between two lots."""


@dataclass
class Watch:
    """Looks now and then how far the reading is, until it is over; pages follow each time.

    is_new:  the clip was brought in just now, so the rate is what the file says
    failed:  what to do when the reading came to nothing
    check:   raises TapmarkError when what was read is not what it should be
    """

    context: Context
    clip: Clip
    is_new: bool
    failed: Callable[[TapmarkError], None]
    check: Callable[[], None] = lambda: None
    _signs: int = -1
    _quiet_ms: int = 0

    def look(self) -> None:
        """Take one look and see to it that the next one follows."""
        if not self._is_still_open():
            return
        if not self.clip.is_done:
            self._listen()
            self.context.later(WATCH_MS, self.look)
            self.context.state.notify()
            return
        try:
            self.clip.check()
            self.check()
        except TapmarkError as trouble:
            self.failed(trouble)
            return
        self._settle()

    def _is_still_open(self) -> bool:
        gallery = self.context.state.marking.gallery
        return gallery is not None and gallery.pictures is self.clip

    def _listen(self) -> None:
        """Say so when the drive has not answered for long; nothing is given up."""
        state, signs = self.context.state, self.clip.n_signs_of_life
        self._quiet_ms = self._quiet_ms + WATCH_MS if signs == self._signs else 0
        self._signs = signs
        words = (
            f"The drive with “{self.clip.name}” has not answered for {SILENCE_S:.0f} seconds. "
            "Check that it is connected, or press Stop."
        )
        if self._quiet_ms >= 1000 * SILENCE_S:
            state.status = words
        elif state.status == words:
            state.status = ""

    def _settle(self) -> None:
        """Keep with the run what is only known now, and look for what is odd."""
        state, clip = self.context.state, self.clip
        if state.run and state.run_name:
            n, source = len(clip), state.run.source
            is_unknown = source.duration_s is None or n > source.n_pictures  # or was cut short
            if self.is_new or is_unknown:
                source = replace(source, n_pictures=n, duration_s=clip.time_s(n - 1))
            set_up = self._rate_now_known(state.run.set_up) if self.is_new else state.run.set_up
            state.amend(replace(state.run, source=source, set_up=set_up))
        state.marking.picture = min(state.marking.picture, max(0, len(clip) - 1))
        state.status = clip.shortfall or state.status
        state.notify()
        self._compare(nothing_compared())

    def _rate_now_known(self, set_up: SetUp) -> SetUp:
        """Put the rate that all stamps show in the place of the first guess of the header."""
        guess, known = self.clip.header.capture, self.clip.capture
        is_guessed = set_up.rate_source == guess.source[:200]
        if not is_guessed and "rate" not in set_up.unanswered:
            return set_up  # answered meanwhile
        source = "not known" if known.slow_factor is None else known.source
        return with_factor(set_up, known.slow_factor, source)

    def _compare(self, so_far: Changes) -> None:
        """Look for repeated frames and bent time, a lot at a time."""
        first = len(so_far)
        if not self._is_still_open() or first >= len(self.clip) - 1:
            self._tell_odd(so_far)
            return
        self.context.jobs.run(
            "comparison",
            lambda task: measure_changes(
                self.clip, first, first + COMPARED_AT_ONCE, Told(is_cancelled=task.is_cancelled)
            ),
            lambda found: self._compare(so_far.followed_by(found)),
            by="run",
        )

    def _tell_odd(self, changes: Changes) -> None:
        state, words = self.context.state, changes.notes()
        gallery = state.marking.gallery
        if not gallery or not self._is_still_open():
            return
        if words:
            gallery.compared, gallery.n_repeats = words, len(changes.repeats())
            state.status = words[0]
            state.notify()
        if len(self.clip) > 1:
            self.context.jobs.run(
                "comparison",
                lambda task: background_moves(self.clip, task),
                self._tell_moving,
                by="run",
            )

    def _tell_moving(self, moves: bool | None) -> None:
        gallery = self.context.state.marking.gallery
        if gallery and self._is_still_open() and moves is not None:
            gallery.moves = moves
            self.context.state.notify()


def with_factor(set_up: SetUp, factor: float | None, source: str) -> SetUp:
    """Return the answers with what the file says of its rate; where it says nothing it is asked."""
    others = tuple(name for name in set_up.unanswered if name != "rate")
    unanswered = others if factor is not None else (*others, "rate")
    return replace(set_up, slow_factor=factor, rate_source=source[:200], unanswered=unanswered)
