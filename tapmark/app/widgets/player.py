"""Plays frames on the bench: each is prepared beside the window and shown when it is due."""

import tkinter as tk
from collections import deque
from collections.abc import Callable
from dataclasses import replace
from time import perf_counter
from typing import Any

from tapmark.app.jobs import Task
from tapmark.app.shell.context import Context
from tapmark.app.state.frames_shown import Gallery, Shown
from tapmark.app.state.playback import Due, Playback, begun, reel_of
from tapmark.app.state.session import AppState
from tapmark.app.widgets.pieces import soon
from tapmark.errors import TapmarkError

AHEAD = 4  # frames under way: enough to bridge a slow one, few enough to stop at once
POLL_S = 0.02  # a result of a worker waits so long to be taken
USUAL_S = 0.02  # to prepare a frame, before it was measured


class Player:
    """Begins, goes on and ends as the state says; every frame it shows is put into the state.

    show: shows a frame that is due, prepared already. ended: called when the last was shown.
    gallery_of: what is played, for the page at hand.
    """

    def __init__(
        self,
        widget: tk.Misc,
        context: Context,
        show: Callable[[Due], None],
        ended: Callable[[], None],
        gallery_of: Callable[[AppState], Gallery | None],
    ) -> None:
        self._widget, self._context, self._show, self._ended = widget, context, show, ended
        self._gallery_of = gallery_of
        self._play: Playback | None = None
        self._whose: tuple[Any, ...] = ()
        self._queue: deque[Due] = deque()
        self._under_way: set[int] = set()
        self._cost_s = USUAL_S
        self._timer = ""
        self.clock = perf_counter
        self.n_shown = 0

    @property
    def is_on(self) -> bool:
        """Say whether frames are played just now."""
        return self._play is not None

    def follow(self, state: AppState) -> None:
        """Begin, end or begin anew as the state asks; whatever moved the frame by hand ends it."""
        playing, gallery = state.marking.playing, self._gallery_of(state)
        if playing.is_on and (not gallery or not len(gallery.pictures) or not state.run):
            state.marking.playing = playing = replace(playing, is_on=False)
        whose = (state.marking, gallery, state.page, state.step, playing, state.marking.picture)
        if self.is_on and playing.is_on:
            same = [a is b for a, b in zip(whose[:3], self._whose[:3], strict=True)]
            if not all(same) or state.marking.picture != self._whose[5]:
                state.marking.playing = playing = replace(playing, is_on=False)
        if not playing.is_on:
            self.stop()
        elif not self.is_on or (state.step, playing) != self._whose[3:5]:
            self.stop()
            self._whose = whose
            assert state.run
            reel = reel_of(state.the_pictures, state.run.set_up.slow_factor)
            marking = state.marking
            self._play = begun(reel, state.step, marking.picture, playing, self.clock())
            self._queue.clear()
            self._last = self._play.begin()
            if self._last.picture != marking.picture:
                self._plan(self._last)
            self._tick()

    def stop(self) -> None:
        """Show nothing more."""
        if self._timer:
            self._widget.winfo_toplevel().after_cancel(self._timer)
        for i in self._under_way:
            self._context.painter.cancel(f"play {i}")
        self._timer, self._play, self._whose = "", None, ()  # or it would hold the run's frames
        self._queue.clear()
        self._under_way.clear()

    def _tick(self) -> None:
        self._timer = ""
        self.follow(self._context.state)  # a key may have held it before the page is drawn anew
        if self._timer or self._play is None:
            return
        due = self._due_now()
        if due:
            state = self._context.state
            state.marking.picture = due.picture
            self._whose = (*self._whose[:5], due.picture)
            self.n_shown += 1
            self._show(due)
        if due and due.is_last:
            self._ended()
        elif self._play:
            self._plan_ahead(self._play)
            wait_s = POLL_S
            if self._queue and self._is_ready(self._queue[0]):
                wait_s = self._queue[0].at_s - self.clock()
            self._timer = soon(self._widget, max(1, round(1000 * wait_s)), self._tick)

    def _due_now(self) -> Due | None:
        """Return the newest frame that is due and prepared; those before it are left out."""
        due, now = None, self.clock()
        while self._queue and self._queue[0].at_s <= now and self._is_ready(self._queue[0]):
            due = self._queue.popleft()
            if due.is_held or due.is_last:
                break
        return due

    def _plan_ahead(self, play: Playback) -> None:
        while len(self._queue) < AHEAD:
            late_s = self.clock() + POLL_S + self._cost_s * (1 + len(self._under_way))
            following = play.next(self._last, late_s)
            if following is None:
                break
            self._plan(following)
        for due in self._queue:  # a view that was changed meanwhile asks for another cut
            self._prepare(due)

    def _plan(self, due: Due) -> None:
        """Put a frame into the queue and let it be prepared."""
        self._last = due
        self._queue.append(due)
        self._prepare(due)

    def _prepare(self, due: Due) -> None:
        state, i = self._context.state, due.picture
        gallery = self._gallery_of(state)
        if self._is_ready(due) or i in self._under_way or gallery is None:
            return
        cut = gallery.later(i, state.viewport(i), state.tone)
        self._under_way.add(i)

        def prepare(task: Task) -> tuple[Shown, float]:
            start = self.clock()
            return cut(), self.clock() - start

        def done(prepared: tuple[Shown, float]) -> None:
            shown, cost_s = prepared
            self._under_way.discard(i)
            self._cost_s += 0.2 * (cost_s - self._cost_s)
            gallery.keep(shown)

        def failed(trouble: TapmarkError) -> None:
            self._under_way.discard(i)
            self._ended()
            self._context.failed(trouble)

        self._context.painter.run(f"play {i}", prepare, done, failed, by="run")

    def _is_ready(self, due: Due) -> bool:
        state = self._context.state
        gallery = self._gallery_of(state)
        view = state.viewport(due.picture)
        return gallery is not None and gallery.is_kept(due.picture, view, state.tone)
